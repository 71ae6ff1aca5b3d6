#include "purchase/constraints.h"

#include <algorithm>
#include <map>
#include <set>

namespace kitgap {
namespace {

using Constraints = std::vector<PurchaseConstraint>;

constexpr std::int64_t kNodesPerCheck = 2000;
constexpr std::size_t kPairsUpTo = 40;    // constraints, for which all pairs are tried
constexpr std::size_t kTriplesUpTo = 12;

class ConflictFinder {
 public:
  ConflictFinder(const PurchaseProblem& problem, const PlanOptions& options)
      : problem_(problem), options_(options), all_(constraints_of(problem)) {
    uncovered_ = uncovered_of(scale_purchase(with_only({})));
  }

  Constraints run() {
    if (!conflicts(all_)) return {};
    for (std::size_t a = 0; a < all_.size(); ++a) {
      if (conflicts({all_[a]})) return {all_[a]};
    }
    if (all_.size() <= kPairsUpTo) {
      for (std::size_t a = 0; a < all_.size(); ++a) {
        for (std::size_t b = a + 1; b < all_.size(); ++b) {
          if (conflicts({all_[a], all_[b]})) return {all_[a], all_[b]};
        }
      }
    }
    if (all_.size() <= kTriplesUpTo) {
      for (std::size_t a = 0; a < all_.size(); ++a) {
        for (std::size_t b = a + 1; b < all_.size(); ++b) {
          for (std::size_t c = b + 1; c < all_.size(); ++c) {
            if (conflicts({all_[a], all_[b], all_[c]})) return {all_[a], all_[b], all_[c]};
          }
        }
      }
    }
    return leave_out_one_by_one();
  }

 private:
  static std::map<std::string, Fraction> uncovered_of(const ScaledPurchase& purchase) {
    std::map<std::string, Fraction> uncovered;
    for (const ScaledItem& item : purchase.items) {
      if (item.uncovered.sign() > 0) uncovered[item.name] = item.uncovered;
    }
    return uncovered;
  }

  PurchaseProblem with_only(const Constraints& kept) const {
    PurchaseProblem problem = problem_;
    for (const PurchaseConstraint& constraint : all_) {
      const auto is_it = [&](const auto& k) { return k.kind == constraint.kind && k.name == constraint.name; };
      if (std::none_of(kept.begin(), kept.end(), is_it)) problem = without_constraint(std::move(problem), constraint);
    }
    return problem;
  }

  bool conflicts(const Constraints& kept) const {
    const ScaledPurchase purchase = scale_purchase(with_only(kept));
    if (uncovered_of(purchase) != uncovered_) return true;
    SearchControl control(options_, purchase.money_scale);
    control.node_limit = kNodesPerCheck;
    control.quiet = true;
    const SearchOutcome outcome = search_purchase(purchase, control);
    if (outcome.proven && !outcome.packs) return true;
    return purchase.budget && outcome.bound > *purchase.budget;
  }

  Constraints leave_out_one_by_one() const {
    Constraints left = all_;
    for (std::size_t at = left.size(); at-- > 0;) {
      Constraints fewer = left;
      fewer.erase(fewer.begin() + static_cast<std::ptrdiff_t>(at));
      if (conflicts(fewer)) left = std::move(fewer);
    }
    return left;
  }

  const PurchaseProblem& problem_;
  const PlanOptions& options_;
  Constraints all_;
  std::map<std::string, Fraction> uncovered_;
};

}  // namespace

std::vector<PurchaseConstraint> constraints_of(const PurchaseProblem& problem) {
  using Kind = PurchaseConstraint::Kind;
  Constraints constraints;
  if (problem.budget) constraints.push_back({Kind::Budget, ""});
  if (problem.max_suppliers) constraints.push_back({Kind::MaxSuppliers, ""});
  const std::set<std::string> excluded(problem.excluded_suppliers.begin(), problem.excluded_suppliers.end());
  for (const std::string& name : excluded) constraints.push_back({Kind::Excluded, name});
  std::set<std::string> dated;
  std::set<std::string> batched;
  std::set<std::string> minimums;
  for (const PurchaseNeed& need : problem.needs) {
    if (need.needed_by_days) dated.insert(need.item);
    if (need.one_batch) batched.insert(need.lot.empty() ? need.item : need.lot);
  }
  for (const PurchaseSupplier& supplier : problem.suppliers) {
    if (supplier.minimum_order && !excluded.count(supplier.name)) minimums.insert(supplier.name);
  }
  for (const std::string& name : dated) constraints.push_back({Kind::Date, name});
  for (const std::string& name : batched) constraints.push_back({Kind::OneBatch, name});
  for (const std::string& name : minimums) constraints.push_back({Kind::MinimumOrder, name});
  return constraints;
}

std::string words_of(const PurchaseProblem& problem, const PurchaseConstraint& constraint) {
  switch (constraint.kind) {
    case PurchaseConstraint::Kind::Budget: return "budget " + problem.budget->to_text();
    case PurchaseConstraint::Kind::MaxSuppliers:
      return "at most " + std::to_string(*problem.max_suppliers) +
             (*problem.max_suppliers == 1 ? " supplier" : " suppliers");
    case PurchaseConstraint::Kind::Excluded: return "without " + constraint.name;
    case PurchaseConstraint::Kind::Date: return constraint.name + " by its date";
    case PurchaseConstraint::Kind::OneBatch: return constraint.name + " from one batch";
    case PurchaseConstraint::Kind::MinimumOrder: return "minimum order of " + constraint.name;
  }
  return {};
}

PurchaseProblem without_constraint(PurchaseProblem problem, const PurchaseConstraint& constraint) {
  switch (constraint.kind) {
    case PurchaseConstraint::Kind::Budget: problem.budget = std::nullopt; break;
    case PurchaseConstraint::Kind::MaxSuppliers: problem.max_suppliers = std::nullopt; break;
    case PurchaseConstraint::Kind::Excluded: std::erase(problem.excluded_suppliers, constraint.name); break;
    case PurchaseConstraint::Kind::Date:
      for (auto& need : problem.needs) {
        if (need.item == constraint.name) need.needed_by_days = std::nullopt;
      }
      break;
    case PurchaseConstraint::Kind::OneBatch:
      for (auto& need : problem.needs) {
        if ((need.lot.empty() ? need.item : need.lot) == constraint.name) need.one_batch = false;
      }
      break;
    case PurchaseConstraint::Kind::MinimumOrder:
      for (auto& supplier : problem.suppliers) {
        if (supplier.name == constraint.name) supplier.minimum_order = std::nullopt;
      }
      break;
  }
  return problem;
}

std::vector<PurchaseConstraint> smallest_conflict(const PurchaseProblem& problem, const PlanOptions& options) {
  return ConflictFinder(problem, options).run();
}

}  // namespace kitgap
