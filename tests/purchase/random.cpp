#include <doctest/doctest.h>

#include <algorithm>
#include <map>

#include "purchase/brute_force.h"
#include "purchase/constraints.h"
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

// Every other plan that is told, and what each constraint costs, against trying everything under that other problem.
TEST_CASE("order: what else could be done, and what it costs, is what trying everything gives") {
  int told = 0, never = 0, costs = 0;
  for (std::uint64_t seed = 1; seed <= 900; ++seed) {
    PurchaseProblem problem = random_problem(seed);
    CAPTURE(seed);
    CAPTURE(text_of(problem));
    PlanOptions options;
    options.explain = true;
    const Plan plan = plan_purchase(problem, options);
    if (!plan.uncovered.empty()) continue;
    for (const NextBest& choice : plan.next_best) {
      CAPTURE(choice.name);
      PurchaseProblem other = problem;
      if (choice.kind == NextBest::Kind::WithoutSupplier) other.excluded_suppliers.push_back(choice.name);
      if (choice.kind == NextBest::Kind::OneParcelLess) other.max_suppliers = std::stoll(choice.name);
      if (choice.kind == NextBest::Kind::WithoutKit) {
        for (PurchaseOffer& offer : other.offers) {
          if (offer.supplier + " " + offer.part_number == choice.name) offer.available = 0;
        }
      }
      const BruteAnswer best = brute_force(other);
      CHECK(choice.exact);
      CHECK(choice.extra.has_value() == best.uncovered.is_zero());
      if (choice.extra) CHECK(*choice.extra == best.total - plan.total);
      ++(choice.extra ? told : never);
    }
    for (const PurchaseConstraint& constraint : constraints_of(problem)) {
      const std::string words = words_of(problem, constraint);
      const auto cost = std::find_if(plan.constraint_costs.begin(), plan.constraint_costs.end(), [&](const ConstraintCost& each) { return each.constraint == words; });
      REQUIRE(cost != plan.constraint_costs.end());
      CHECK(cost->exact);
      CHECK(cost->cost == plan.total - brute_force(without_constraint(problem, constraint)).total);
      costs += cost->cost.sign() > 0 ? 1 : 0;
    }
    std::map<std::string, Fraction> spent;
    for (const PurchaseLine& line : plan.buy) spent[problem.offers[line.offer].supplier] += line.cost;
    const auto without = std::count_if(plan.next_best.begin(), plan.next_best.end(), [](const NextBest& choice) { return choice.kind == NextBest::Kind::WithoutSupplier; });
    CHECK(static_cast<std::size_t>(without) == spent.size());
    // The dearest first.
    for (std::size_t at = 1; at < static_cast<std::size_t>(without); ++at) CHECK(spent[plan.next_best[at - 1].name] >= spent[plan.next_best[at].name]);
  }
  CHECK(told > 100);
  CHECK(never > 100);
  CHECK(costs > 20);
}

}  // namespace
}  // namespace kitgap
