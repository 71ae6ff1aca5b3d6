#include "purchase/explain.h"

#include <algorithm>
#include <map>

#include "purchase/constraints.h"
#include "purchase/repair.h"

namespace kitgap {
namespace {

constexpr std::int64_t kNodesPerChoice = 400;
constexpr std::size_t kMostChoices = 10;  // of a kind, the dearest first

struct OtherPlan {
  bool covers = true;  // false: nothing covers what the plan covers
  Fraction total;
  bool exact = true;
};

class Explanation {
 public:
  Explanation(const PurchaseProblem& problem, const PlanOptions& options, Plan& plan)
      : problem_(problem), options_(options), plan_(plan), control_(options, 1) {}

  void choices() {
    for (const auto& [cost, name] : dearest(suppliers_used())) {
      PurchaseProblem other = problem_;
      other.excluded_suppliers.push_back(name);
      add(NextBest::Kind::WithoutSupplier, name, other);
    }
    for (const auto& [cost, offer] : dearest(kits_bought())) {
      PurchaseProblem other = problem_;
      other.offers[offer].available = 0;
      const PurchaseOffer& of = problem_.offers[offer];
      add(NextBest::Kind::WithoutKit, of.supplier + " " + of.part_number, other);
    }
    const auto used = suppliers_used();
    const auto is_parcel = [&](const PurchaseSupplier& supplier) { return supplier.is_shop && used.contains(supplier.name); };
    const auto parcels = std::count_if(problem_.suppliers.begin(), problem_.suppliers.end(), is_parcel);
    if (parcels > 1) {
      PurchaseProblem other = problem_;
      other.max_suppliers = parcels - 1;
      add(NextBest::Kind::OneParcelLess, std::to_string(parcels - 1), other);
    }
  }

  void constraint_costs() {
    if (!plan_.conflict.empty() || plan_.status != PlanStatus::Optimal) return;
    for (const PurchaseConstraint& constraint : constraints_of(problem_)) {
      if (control_.should_stop()) return;
      const OtherPlan other = total_of(without_constraint(problem_, constraint));
      if (!other.covers) continue;
      plan_.constraint_costs.push_back({words_of(problem_, constraint), plan_.total - other.total, other.exact});
    }
  }

 private:
  template <class Name>
  static std::vector<std::pair<Fraction, Name>> dearest(const std::map<Name, Fraction>& costs) {
    std::vector<std::pair<Fraction, Name>> sorted;
    for (const auto& [name, cost] : costs) sorted.emplace_back(cost, name);
    std::stable_sort(sorted.begin(), sorted.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
    if (sorted.size() > kMostChoices) sorted.resize(kMostChoices);
    return sorted;
  }

  std::map<std::string, Fraction> suppliers_used() const {
    std::map<std::string, Fraction> used;
    for (const PurchaseLine& line : plan_.buy) used[problem_.offers[line.offer].supplier] += line.cost;
    return used;
  }

  std::map<std::size_t, Fraction> kits_bought() const {
    std::map<std::size_t, Fraction> kits;
    for (const PurchaseLine& line : plan_.buy) {
      if (problem_.offers[line.offer].contents.size() > 1) kits[line.offer] = line.cost;
    }
    return kits;
  }

  bool covers_as_much(const ScaledPurchase& purchase) const {
    for (const ScaledItem& item : purchase.items) {
      const auto is_it = [&](const ItemQuantity& quantity) { return quantity.item == item.name; };
      const auto known = std::find_if(plan_.uncovered.begin(), plan_.uncovered.end(), is_it);
      if (item.uncovered > (known == plan_.uncovered.end() ? Fraction(0) : known->quantity)) return false;
    }
    return true;
  }

  OtherPlan total_of(const PurchaseProblem& problem) const {
    const ScaledPurchase purchase = scale_purchase(problem);
    if (!covers_as_much(purchase)) return {false, {}, true};
    SearchControl control(options_, purchase.money_scale);
    control.node_limit = kNodesPerChoice;
    control.quiet = true;
    const SearchOutcome outcome = search_purchase(purchase, control);
    if (outcome.proven && !outcome.packs) return {false, {}, true};
    const Wide known = outcome.proven ? outcome.cost : outcome.bound;
    if (purchase.budget && known > *purchase.budget) return {false, {}, true};
    return {true, Fraction::of(known, purchase.money_scale), outcome.proven};
  }

  void add(NextBest::Kind kind, const std::string& name, const PurchaseProblem& problem) {
    if (control_.should_stop()) return;
    const OtherPlan other = total_of(problem);
    NextBest choice{kind, name, std::nullopt, other.exact};
    if (other.covers) choice.extra = std::max(Fraction(0), other.total - plan_.total);
    plan_.next_best.push_back(std::move(choice));
  }

  const PurchaseProblem& problem_;
  const PlanOptions& options_;
  Plan& plan_;
  SearchControl control_;
};

}  // namespace

void explain_plan(const PurchaseProblem& problem, const ScaledPurchase& purchase, const PlanOptions& options,
                  Plan& plan) {
  if (const auto packs = greedy_packs(purchase)) {
    if (const auto cost = cost_of_packs(purchase, *packs)) {
      plan.greedy_total = Fraction::of(*cost, purchase.money_scale);
    }
  }
  if (plan.status != PlanStatus::Optimal) return;
  Explanation explanation(problem, options, plan);
  if (plan.conflict.empty()) explanation.choices();
  explanation.constraint_costs();
}

}  // namespace kitgap
