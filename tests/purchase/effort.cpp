#include <doctest/doctest.h>

#include <algorithm>
#include <random>
#include <string>

#include "purchase/plan.h"
#include "purchase/repair.h"

// What only makes a search quick is seen by no right answer. So it is counted: how near the first plans come to the
// cheapest, and how many nodes a proof takes, each no more than it was when this was written, and a little room.
namespace kitgap {
namespace {

// A shelf of bags, kits and thresholds: some twenty needs, six shops.
PurchaseProblem shelf(std::uint64_t seed) {
  std::mt19937_64 random(seed);
  const auto upto = [&](std::int64_t most) { return static_cast<std::int64_t>(random() % static_cast<std::uint64_t>(most + 1)); };
  const auto chance = [&](std::int64_t percent) { return upto(99) < percent; };
  const auto name_of = [](char letter, std::int64_t at) { return std::string(1, letter) + std::to_string(at); };
  PurchaseProblem problem;
  const std::int64_t items = 8 + upto(10), suppliers = 3 + upto(3);
  for (std::int64_t at = 0; at < items; ++at) {
    PurchaseNeed need{.item = name_of('i', at), .quantity = Fraction(1 + upto(chance(40) ? 60 : 6))};
    need.one_batch = chance(12);
    if (need.one_batch && chance(50)) need.lot = "cloth";
    if (chance(15)) need.needed_by_days = 3;
    problem.needs.push_back(need);
  }
  for (std::int64_t at = 0; at < suppliers; ++at) {
    PurchaseSupplier supplier{.name = name_of('s', at), .shipping_charge = Fraction(chance(15) ? 0 : 2 + upto(20))};
    if (chance(30)) supplier.free_shipping_from = Fraction(40 + upto(200));
    if (chance(25)) supplier.minimum_order = Fraction(15 + upto(80));
    supplier.lead_time_days = chance(70) ? 2 : 9;
    problem.suppliers.push_back(supplier);
  }
  for (std::int64_t at = 0; at < items * 4; ++at) {
    const std::int64_t pack = chance(50) ? 1 : 2 + upto(24);
    PurchaseOffer offer{.supplier = name_of('s', upto(suppliers - 1)), .part_number = name_of('p', at),
                        .price = Fraction::of((20 + upto(300)) * (3 + pack), 100), .contents = {{name_of('i', at % items), Fraction(pack)}}};
    for (std::int64_t more = chance(20) ? 1 + upto(3) : 0; more > 0; --more) {
      const std::string other = name_of('i', upto(items - 1));
      const bool is_in = std::ranges::any_of(offer.contents, [&](const PackContents& content) { return content.item == other; });
      if (!is_in) offer.contents.push_back({other, Fraction(1 + upto(5))});
    }
    if (chance(25)) offer.available = 1 + upto(8);
    if (chance(10)) offer.minimum_packs = 2;
    if (chance(30)) offer.batch = "b";
    problem.offers.push_back(offer);
  }
  if (chance(20)) problem.max_suppliers = 2 + upto(1);
  return problem;
}

struct Effort {
  int plans = 0;         // cheapest plans that cover everything
  int first_plans = 0;   // of these, how many first plans hold
  double first_excess = 0;  // what the first plans that hold cost more, each as a share of the cheapest
  int greedy_plans = 0;
  double greedy_excess = 0;
  std::int64_t nodes = 0;
};

Effort effort_of(std::uint64_t seeds) {
  Effort effort;
  for (std::uint64_t seed = 1; seed <= seeds; ++seed) {
    const PurchaseProblem problem = shelf(seed);
    const Plan plan = plan_purchase(problem);
    CHECK(plan.status == PlanStatus::Optimal);
    effort.nodes += plan.nodes;
    if (!plan.uncovered.empty()) continue;
    ++effort.plans;
    const ScaledPurchase purchase = scale_purchase(problem);
    const double least = (plan.total * Fraction(purchase.money_scale)).to_approximate();
    const auto take = [&](const std::optional<Packs>& packs, int& plans, double& excess) {
      const auto cost = packs ? cost_of_packs(purchase, *packs) : std::nullopt;
      if (!cost) return;
      CHECK(static_cast<double>(*cost) >= least);
      ++plans;
      excess += static_cast<double>(*cost) / least - 1;
    };
    take(repair_packs(purchase, Packs(purchase.offers.size())), effort.first_plans, effort.first_excess);
    take(greedy_packs(purchase), effort.greedy_plans, effort.greedy_excess);
  }
  return effort;
}

TEST_CASE("effort: first plans are as near to the cheapest as they were, and proofs as short") {
  const Effort effort = effort_of(80);
  CHECK(effort.plans == 62);
  CHECK(effort.first_plans >= 51);
  CHECK(effort.first_excess < 12.08);
  CHECK(effort.greedy_plans == 29);
  CHECK(effort.greedy_excess == doctest::Approx(4.20214));
  CHECK(effort.nodes <= 7850);
}

}  // namespace
}  // namespace kitgap
