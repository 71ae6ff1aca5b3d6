#include "purchase/search.h"

#include <algorithm>
#include <cmath>

#include "purchase/branch.h"
#include "purchase/model.h"
#include "purchase/pack_sizes.h"
#include "purchase/reduce.h"
#include "purchase/repair.h"
#include "purchase/supplier_choice.h"

namespace kitgap {
namespace {

constexpr double kBetweenTellings = 0.25;  // seconds
constexpr std::int64_t kTieNodes = 300;
constexpr std::size_t kTieColumns = 800;
constexpr std::int64_t kChoiceNodes = 1'000'000;
constexpr std::size_t kLargeOffers = 200;  // from here on a second, smaller relaxation pays

BranchOptions branch_options(const ScaledPurchase& purchase, const PurchaseModel& model, const SearchControl& control) {
  BranchOptions options;
  options.should_stop = [&control] { return control.should_stop(); };
  options.seconds_left = [&control] { return control.seconds_left(); };
  options.repair = [&purchase, &model](std::span<const double> values) {
    std::optional<Packs> best;
    std::optional<Wide> best_cost;
    for (const double up_from : {0.999, 0.6, 0.3}) {
      Packs start(purchase.offers.size());
      for (std::size_t at = 0; at < start.size(); ++at) {
        start[at] = static_cast<std::int64_t>(std::floor(values[at] + 1 - up_from));
      }
      const Packs packs = repair_packs(purchase, start);
      const auto cost = cost_of_packs(purchase, packs);
      if (cost && (!best_cost || *cost < *best_cost)) {
        best = packs;
        best_cost = cost;
      }
    }
    return best ? model.solution_of(*best) : std::vector<std::int64_t>{};
  };
  return options;
}

// One row, packs of any number at a price each and nothing else.
bool is_pack_sizes(const ScaledPurchase& purchase) {
  if (purchase.rows.size() != 1) return false;
  return std::all_of(purchase.offers.begin(), purchase.offers.end(), [&](const ScaledOffer& offer) {
    const ScaledSupplier& supplier = purchase.suppliers[offer.supplier];
    const bool plain = supplier.shipping == 0 && !supplier.minimum && !purchase.max_suppliers;
    return plain && !offer.limited && offer.least <= 1 && !purchase.items[0].one_batch;
  });
}

std::optional<SearchOutcome> search_pack_sizes(const ScaledPurchase& purchase) {
  if (!is_pack_sizes(purchase)) return std::nullopt;
  std::vector<PackSize> sizes;
  for (const ScaledOffer& offer : purchase.offers) sizes.push_back({offer.price, offer.contents.front().second});
  const auto packs = cheapest_pack_sizes(sizes, purchase.rows[0].least);
  if (!packs) return std::nullopt;
  SearchOutcome outcome;
  outcome.packs = *packs;
  outcome.cost = *cost_of_packs(purchase, *packs);
  outcome.bound = outcome.cost;
  outcome.proven = true;
  return outcome;
}

BranchResult run_branch(const ScaledPurchase& purchase, const PurchaseModel& model, const SearchControl& control,
                        const std::vector<std::int64_t>& first, std::int64_t node_limit) {
  BranchOptions options = branch_options(purchase, model, control);
  options.progress = [&control](std::optional<Wide> best, Wide bound) { control.tell(best, bound); };
  options.first = first;
  options.node_limit = node_limit;
  return branch(model.program(), options);
}

SearchOutcome outcome_of(const ScaledPurchase& purchase, const PurchaseModel& model, const BranchResult& result) {
  SearchOutcome outcome;
  outcome.bound = result.bound;
  outcome.proven = result.proven;
  outcome.nodes = result.nodes;
  if (result.best.empty()) return outcome;
  outcome.packs = model.packs_of(result.best);
  // A solution may leave free shipping unclaimed; the packs' own cost counts, and is never more.
  outcome.cost = *cost_of_packs(purchase, *outcome.packs);
  return outcome;
}

// The search again on what the root left open: a smaller relaxation is solved faster, node after node.
SearchOutcome search_rest(const ScaledPurchase& purchase, const SearchControl& control, const BranchResult& root,
                          SearchOutcome outcome) {
  std::vector<bool> keep(purchase.offers.size());
  for (std::size_t at = 0; at < keep.size(); ++at) {
    keep[at] = root.bounds.upper[at] > 0 || (outcome.packs && (*outcome.packs)[at] > 0);
  }
  std::vector<std::size_t> kept;
  const ScaledPurchase rest = with_offers(purchase, keep, kept);
  const PurchaseModel model(rest);
  std::vector<std::int64_t> first;
  if (outcome.packs) {
    Packs packs;
    for (const std::size_t at : kept) packs.push_back((*outcome.packs)[at]);
    first = model.solution_of(packs);
  }
  const BranchResult result = run_branch(rest, model, control, first, control.node_limit - 1);
  const SearchOutcome found = outcome_of(rest, model, result);
  outcome.nodes += found.nodes;
  outcome.proven = found.proven;
  if (found.packs) {
    outcome.packs = Packs(purchase.offers.size());
    for (std::size_t at = 0; at < kept.size(); ++at) (*outcome.packs)[kept[at]] = (*found.packs)[at];
    outcome.cost = found.cost;
  }
  // What was left out costs at least as much as the plan the root knew, so the rest's bound holds up to there.
  outcome.bound = std::max(outcome.bound, outcome.packs ? std::min(found.bound, outcome.cost) : found.bound);
  return outcome;
}

SearchOutcome search_program(const ScaledPurchase& purchase, const SearchControl& control, const Packs* first) {
  const PurchaseModel model(purchase);
  const std::vector<std::int64_t> start = first ? model.solution_of(*first) : std::vector<std::int64_t>{};
  const bool in_two = purchase.offers.size() >= kLargeOffers;
  const BranchResult result = run_branch(purchase, model, control, start, in_two ? 1 : control.node_limit);
  const SearchOutcome outcome = outcome_of(purchase, model, result);
  if (outcome.proven || !in_two || control.should_stop()) return outcome;
  return search_rest(purchase, control, result, outcome);
}

// Some plan, were the search stopped before it found one.
void fall_back(const ScaledPurchase& purchase, SearchOutcome& outcome) {
  if (outcome.packs || outcome.proven) return;
  Packs packs = repair_packs(purchase, Packs(purchase.offers.size()));
  const auto cost = cost_of_packs(purchase, packs);
  if (!cost) return;
  outcome.cost = *cost;
  outcome.packs = std::move(packs);
}

SearchOutcome search_part(const ScaledPurchase& purchase, const SearchControl& control) {
  if (auto outcome = search_pack_sizes(purchase)) return *outcome;
  const Packs start = repair_packs(purchase, Packs(purchase.offers.size()));
  const bool start_holds = cost_of_packs(purchase, start).has_value();
  if (const auto choice = purchase.offers.size() >= kLargeOffers && start_holds ? SupplierChoice::of(purchase) : std::nullopt) {
    const SearchOutcome chosen = choose_suppliers(*choice, start, purchase.offers.size(), control, std::min(kChoiceNodes, control.node_limit));
    if (chosen.packs) return chosen;
  }
  SearchOutcome outcome = search_program(purchase, control, start_holds ? &start : nullptr);
  fall_back(purchase, outcome);
  return outcome;
}

}  // namespace

SearchControl::SearchControl(const PlanOptions& options, std::int64_t money_scale)
    : options_(options), money_scale_(money_scale), start_(std::chrono::steady_clock::now()) {}

double SearchControl::seconds() const {
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - start_).count();
}

double SearchControl::seconds_left() const {
  return options_.time_limit_seconds ? *options_.time_limit_seconds - seconds() : 1e6;
}

bool SearchControl::should_stop() const { return (options_.stop && *options_.stop) || seconds_left() <= 0; }

void SearchControl::tell(std::optional<Wide> best, Wide bound) const {
  if (quiet || !options_.progress || seconds() - told_ < kBetweenTellings) return;
  told_ = seconds();
  PlanProgress progress;
  if (best) progress.best = Fraction::of(*best, money_scale_);
  if (bound > -(Wide{1} << 100) && bound < (Wide{1} << 100)) progress.bound = Fraction::of(bound, money_scale_);
  progress.seconds = told_;
  options_.progress(progress);
}

SearchOutcome search_purchase(const ScaledPurchase& purchase, const SearchControl& control) {
  std::vector<std::size_t> kept;
  const ScaledPurchase reduced = without_beaten_offers(purchase, kept);
  SearchOutcome whole;
  whole.proven = true;
  whole.packs = Packs(purchase.offers.size());
  Wide fixed_cost = 0;
  const std::vector<PurchasePart> parts = parts_of(reduced, fixed_cost);
  whole.bound = fixed_cost;
  for (const PurchasePart& part : parts) {
    const SearchOutcome outcome = search_part(part.purchase, control);
    whole.nodes += outcome.nodes;
    if (!outcome.packs && outcome.proven) {  // this part cannot be met, so the whole cannot
      whole.packs = std::nullopt;
      whole.proven = true;
      return whole;
    }
    whole.bound += std::max<Wide>(0, outcome.bound);
    whole.proven &= outcome.proven;
    if (!outcome.packs) whole.packs = std::nullopt;
    if (!whole.packs) continue;
    for (std::size_t at = 0; at < part.offers.size(); ++at) (*whole.packs)[kept[part.offers[at]]] = (*outcome.packs)[at];
  }
  if (!whole.packs) return whole;
  const auto cost = cost_of_packs(purchase, *whole.packs);
  if (!cost) {
    whole.packs = std::nullopt;
    whole.proven = false;
    return whole;
  }
  whole.cost = *cost;
  whole.proven &= whole.bound == whole.cost;
  return whole;
}

Packs settle_ties(const ScaledPurchase& purchase, const Packs& packs, Wide cost, const SearchControl& control) {
  if (purchase.offers.size() > kTieColumns || purchase.offers.empty()) return packs;
  const PurchaseModel model(purchase);
  const auto program = model.tie_program(cost);
  if (!program || program->columns() > 2 * kTieColumns) return packs;
  BranchOptions options;
  options.node_limit = kTieNodes;
  options.should_stop = [&control] { return control.should_stop(); };
  options.seconds_left = [&control] { return control.seconds_left(); };
  options.first = model.tie_solution_of(packs, program->columns());
  const BranchResult result = branch(*program, options);
  if (result.best.empty()) return packs;
  Packs best = model.packs_of(result.best);
  return cost_of_packs(purchase, best) == std::optional<Wide>(cost) ? best : packs;
}

}  // namespace kitgap
