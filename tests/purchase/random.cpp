#include <doctest/doctest.h>

#include <algorithm>

#include "purchase/brute_force.h"
#include "purchase/plan.h"

namespace kitgap {
namespace {

Fraction sum_of(const std::vector<ItemQuantity>& quantities) {
  Fraction sum;
  for (const ItemQuantity& quantity : quantities) sum += quantity.quantity;
  return sum;
}

// Source of the right answers: every purchase tried, by rules written anew (brute_force.cpp).
TEST_CASE("order: a thousand tiny problems give what trying everything gives") {
  for (std::uint64_t seed = 1; seed <= 1000; ++seed) {
    const PurchaseProblem problem = random_problem(seed);
    CAPTURE(seed);
    CAPTURE(text_of(problem));
    const BruteAnswer best = brute_force(problem);
    const Plan plan = plan_purchase(problem);
    REQUIRE(sum_of(plan.uncovered) == best.uncovered);
    REQUIRE(plan.total == best.total);
    REQUIRE(plan.bound == plan.total);
    REQUIRE(plan.status != PlanStatus::Feasible);
    if (!plan.uncovered.empty()) continue;
    std::vector<std::string> parcels;
    for (const PurchaseLine& line : plan.buy) parcels.push_back(problem.offers[line.offer].supplier);
    std::sort(parcels.begin(), parcels.end());
    parcels.erase(std::unique(parcels.begin(), parcels.end()), parcels.end());
    CHECK(static_cast<std::int64_t>(parcels.size()) == best.parcels);
    CHECK(sum_of(plan.spare) == best.spare);
  }
}

TEST_CASE("order: the order of the input does not matter") {
  for (std::uint64_t seed = 1; seed <= 100; ++seed) {
    PurchaseProblem problem = random_problem(seed);
    CAPTURE(seed);
    const Plan plan = plan_purchase(problem);
    const std::size_t last = problem.offers.size() - 1;
    std::reverse(problem.offers.begin(), problem.offers.end());
    std::reverse(problem.suppliers.begin(), problem.suppliers.end());
    std::reverse(problem.needs.begin(), problem.needs.end());
    const Plan again = plan_purchase(problem);
    REQUIRE(plan.buy.size() == again.buy.size());
    for (std::size_t at = 0; at < plan.buy.size(); ++at) {
      CHECK(plan.buy[at].offer == last - again.buy[at].offer);
      CHECK(plan.buy[at].packs == again.buy[at].packs);
    }
  }
}

}  // namespace
}  // namespace kitgap
