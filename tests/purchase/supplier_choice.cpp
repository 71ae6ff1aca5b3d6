#include <doctest/doctest.h>

#include <random>

#include "purchase/plan.h"
#include "purchase/supplier_choice.h"

namespace kitgap {
namespace {

// Suppliers and needs with prices without pattern; some needs are not sold everywhere.
PurchaseProblem scattered(std::uint64_t seed, int suppliers, int needs, int charge) {
  std::mt19937_64 random(seed);
  const auto pick = [&](int low, int high) { return low + static_cast<int>(random() % static_cast<std::uint64_t>(high - low + 1)); };
  PurchaseProblem problem;
  for (int need = 0; need < needs; ++need) problem.needs.push_back({"i" + std::to_string(need), Fraction(1)});
  for (int supplier = 0; supplier < suppliers; ++supplier) {
    const std::string name = "s" + std::to_string(supplier);
    problem.suppliers.push_back({name, Fraction(pick(charge / 2, charge * 3 / 2))});
    for (int need = 0; need < needs; ++need) {
      if (supplier > 0 && pick(0, 9) == 0) continue;
      problem.offers.push_back({name, "p" + std::to_string(need), Fraction::of(pick(1, 4000), 4), {{"i" + std::to_string(need), Fraction(1)}}});
    }
  }
  return problem;
}

// Source of the right answers: the general search, which a limit that never binds sends the problem to.
TEST_CASE("order: choosing suppliers gives what the general search gives") {
  std::int64_t nodes = 0;
  for (std::uint64_t seed = 1; seed <= 12; ++seed) {
    CAPTURE(seed);
    PurchaseProblem problem = scattered(seed, 12, 22, 100 + static_cast<int>(seed % 4) * 300);
    const Plan chosen = plan_purchase(problem);
    nodes += chosen.nodes;
    problem.max_suppliers = 12;
    const Plan searched = plan_purchase(problem);
    CHECK(chosen.status == PlanStatus::Optimal);
    CHECK(chosen.total == searched.total);
    CHECK(chosen.bound == searched.total);
  }
  CHECK(nodes <= 40);  // as when this was written
}

TEST_CASE("order: what is a choice of suppliers, and what is not") {
  const auto is_choice = [](const PurchaseProblem& problem) { return SupplierChoice::of(scale_purchase(problem)).has_value(); };
  const PurchaseProblem plain = scattered(3, 4, 6, 100);
  CHECK(is_choice(plain));
  PurchaseProblem problem = plain;
  problem.offers[2].minimum_packs = 2;
  problem.needs[2].quantity = 3;
  CHECK_FALSE(is_choice(problem));
  problem = plain;
  problem.suppliers[1].minimum_order = Fraction(50);
  CHECK_FALSE(is_choice(problem));
  problem = plain;
  problem.suppliers[1].free_shipping_from = Fraction(500);
  CHECK_FALSE(is_choice(problem));
  problem = plain;
  problem.needs[0].one_batch = true;
  CHECK_FALSE(is_choice(problem));
  problem = plain;
  problem.max_suppliers = 3;
  CHECK_FALSE(is_choice(problem));
  problem = plain;
  problem.offers[0].contents.push_back({"i1", Fraction(1)});
  CHECK_FALSE(is_choice(problem));
}

TEST_CASE("order: a choice of suppliers that is stopped keeps a bound that holds") {
  const PurchaseProblem problem = scattered(7, 30, 60, 900);
  const Plan whole = plan_purchase(problem);
  REQUIRE(whole.status == PlanStatus::Optimal);
  PlanOptions options;
  const std::atomic<bool> stop{true};
  options.stop = &stop;
  const Plan early = plan_purchase(problem, options);
  CHECK(early.status == PlanStatus::Feasible);
  CHECK(early.bound <= whole.total);
  CHECK(early.total >= whole.total);
}

// Fewer are welcome: what makes the bounds worse shows here, and nowhere in the answer.
TEST_CASE("order: choosing among many suppliers takes no more nodes than it did") {
  std::int64_t nodes = 0;
  for (std::uint64_t seed = 21; seed <= 30; ++seed) {
    const Plan plan = plan_purchase(scattered(seed, 40, 80, 800));
    CHECK(plan.status == PlanStatus::Optimal);
    nodes += plan.nodes;
  }
  CHECK(nodes <= 966);
}

}  // namespace
}  // namespace kitgap
