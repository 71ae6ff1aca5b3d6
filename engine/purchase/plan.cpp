#include "purchase/plan.h"

#include <algorithm>
#include <map>
#include <set>

#include "purchase/audit.h"
#include "purchase/branch.h"
#include "purchase/constraints.h"
#include "purchase/explain.h"
#include "purchase/model.h"
#include "purchase/search.h"
#include "value/internal_error.h"

namespace kitgap {
namespace {

constexpr std::int64_t kShortNodes = 20'000;

class Planner {
 public:
  Planner(const PurchaseProblem& problem, const PlanOptions& options)
      : problem_(problem),
        options_(options),
        purchase_(scale_purchase(problem)),
        control_(options, purchase_.money_scale) {}

  Plan run() {
    SearchOutcome outcome = search_purchase(purchase_, control_);
    const bool impossible = outcome.proven && !outcome.packs;
    const bool too_dear = purchase_.budget && outcome.bound > *purchase_.budget;
    if (impossible || too_dear) {
      leave_short();
      outcome = search_purchase(purchase_, control_);
    }
    if (outcome.packs && purchase_.budget && outcome.cost > *purchase_.budget) outcome.packs = std::nullopt;
    outcome.proven &= short_proven_;
    if (!outcome.packs) outcome = buy_nothing();
    if (outcome.proven) outcome.packs = settle_ties(purchase_, *outcome.packs, outcome.cost, control_);
    fill(outcome);
    name_conflict(impossible || too_dear);
    check();
    if (options_.explain) explain_plan(problem_, purchase_, options_, plan_);
    return std::move(plan_);
  }

 private:
  // Lowers the rows by as little as lets all constraints hold.
  void leave_short() {
    const PurchaseModel model(purchase_, PurchaseModel::Aim::LeastShort);
    BranchOptions options;
    options.node_limit = kShortNodes;
    options.should_stop = [this] { return control_.should_stop(); };
    options.seconds_left = [this] { return control_.seconds_left(); };
    options.first = model.all_short();
    const BranchResult least = branch(model.program(), options);
    options.first = least.best;
    const IntegerProgram cheapest = model.cost_program(static_cast<std::int64_t>(least.cost));
    const BranchResult result = branch(cheapest, options);
    short_proven_ = least.proven && result.proven;
    const std::vector<std::int64_t> units = model.short_of(result.best);
    for (std::size_t item = 0; item < units.size(); ++item) lower_item(purchase_, purchase_.items[item], units[item]);
    purchase_ = with_lower_rows(std::move(purchase_));
  }

  // An interrupt before any plan was found: everything stays uncovered.
  SearchOutcome buy_nothing() {
    std::map<std::string, Fraction> needed;
    for (const PurchaseNeed& need : problem_.needs) needed[need.item] += need.quantity;
    for (ScaledItem& item : purchase_.items) {
      item.uncovered = needed[item.name];
      for (const std::size_t row : item.rows) purchase_.rows[row].least = 0;
    }
    SearchOutcome nothing;
    nothing.packs = Packs(purchase_.offers.size());
    return nothing;
  }

  void fill(const SearchOutcome& outcome) {
    const auto money = [&](Wide amount) { return Fraction::of(amount, purchase_.money_scale); };
    plan_.nodes = outcome.nodes;
    plan_.stopped_early = !outcome.proven;
    plan_.total = money(outcome.cost);
    plan_.bound = money(std::clamp<Wide>(outcome.bound, 0, outcome.cost));
    for (std::size_t at = 0; at < purchase_.offers.size(); ++at) {
      const std::int64_t packs = (*outcome.packs)[at];
      if (packs == 0) continue;
      const std::size_t source = purchase_.offers[at].source;
      const Fraction cost = problem_.offers[source].price * Fraction(packs);
      plan_.goods += cost;
      plan_.buy.push_back({"o" + std::to_string(plan_.buy.size() + 1), source, packs, cost});
    }
    plan_.shipping = plan_.total - plan_.goods;
    plan_.status = outcome.proven ? PlanStatus::Optimal : PlanStatus::Feasible;
    quantities();
  }

  void quantities() {
    std::map<std::string, Fraction> over;
    bool any_covered = purchase_.items.empty();
    for (const PurchaseLine& line : plan_.buy) {
      for (const PackContents& content : problem_.offers[line.offer].contents) {
        over[content.item] += content.quantity * Fraction(line.packs);
      }
    }
    for (const PurchaseNeed& need : problem_.needs) over[need.item] -= need.quantity;
    for (const ScaledItem& item : purchase_.items) {
      over[item.name] += item.uncovered;
      if (item.uncovered.sign() > 0) plan_.uncovered.push_back({item.name, item.uncovered});
      any_covered |= purchase_.rows[item.rows.back()].least > 0;
    }
    std::set<std::string> shares;
    for (const PurchaseNeed& need : problem_.needs) {
      if (need.is_share) shares.insert(need.item);
    }
    for (const auto& [item, quantity] : over) {
      if (quantity.sign() > 0 && !shares.contains(item)) plan_.spare.push_back({item, quantity});
    }
    if (!any_covered) plan_.status = plan_.status == PlanStatus::Optimal ? PlanStatus::NothingCovers : plan_.status;
  }

  // Also when a constraint alone keeps some offers out, so that the rows were lowered from the start.
  void name_conflict(bool searched) {
    if (plan_.uncovered.empty() && !searched) return;
    for (const PurchaseConstraint& constraint : smallest_conflict(problem_, options_)) {
      plan_.conflict.push_back(words_of(problem_, constraint));
    }
  }

  void check() const {
    const std::vector<std::string> wrong = audit_purchase(problem_, plan_);
    if (!wrong.empty()) throw InternalError("the purchase plan is wrong: " + wrong.front());
  }

  const PurchaseProblem& problem_;
  const PlanOptions& options_;
  ScaledPurchase purchase_;
  SearchControl control_;
  bool short_proven_ = true;
  Plan plan_;
};

}  // namespace

Plan plan_purchase(const PurchaseProblem& problem, const PlanOptions& options) {
  return Planner(problem, options).run();
}

}  // namespace kitgap
