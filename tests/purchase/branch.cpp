#include "purchase/branch.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <random>
#include <string>

namespace kitgap {
namespace {

// A small program, and all its solutions by going through every point: the textbook way.
struct Small {
  IntegerProgram program;
  std::vector<std::pair<std::int64_t, std::vector<std::int64_t>>> solutions;  // cheapest first

  explicit Small(std::uint64_t seed) {
    std::mt19937_64 random(seed);
    const auto below = [&](std::uint64_t end) { return static_cast<std::int64_t>(random() % end); };
    const std::size_t columns = 2 + random() % 4;
    const std::int64_t factor = 1 + below(3);
    for (std::size_t column = 0; column < columns; ++column) {
      const std::int64_t low = below(3) == 0 ? below(2) : 0;
      program.add_column(factor * below(30), low, low + 1 + below(5), static_cast<std::uint8_t>(below(2)));
    }
    const std::size_t rows = 1 + random() % 4;
    for (std::size_t row = 0; row < rows; ++row) {
      ProgramRow made;
      for (std::size_t column = 0; column < columns; ++column) {
        if (below(4) != 0) made.terms.push_back({static_cast<std::int32_t>(column), below(12) - (below(4) == 0 ? 8 : 0)});
      }
      made.least = below(30);
      program.rows.push_back(std::move(made));
    }
    std::vector<std::int64_t> at = program.lower;
    for (bool more = true; more;) {
      add(at);
      more = false;
      for (std::size_t column = 0; column < columns && !more; ++column) {
        more = at[column] < program.upper[column];
        at[column] = more ? at[column] + 1 : program.lower[column];
      }
    }
    std::sort(solutions.begin(), solutions.end());
  }

 private:
  void add(const std::vector<std::int64_t>& at) {
    std::int64_t cost = 0;
    for (std::size_t column = 0; column < at.size(); ++column) cost += program.cost[column] * at[column];
    for (const ProgramRow& row : program.rows) {
      std::int64_t sum = 0;
      for (const ProgramTerm& term : row.terms) sum += term.factor * at[static_cast<std::size_t>(term.column)];
      if (sum < row.least) return;
    }
    solutions.emplace_back(cost, at);
  }
};

bool is_within(const ProgramBounds& bounds, const std::vector<std::int64_t>& solution) {
  for (std::size_t column = 0; column < solution.size(); ++column) {
    if (solution[column] < bounds.lower[column] || solution[column] > bounds.upper[column]) return false;
  }
  return true;
}

constexpr std::uint64_t kSeeds = 300;

}  // namespace

TEST_CASE("branch: the least cost, or that there is none, as by going through every point") {
  for (std::uint64_t seed = 1; seed <= kSeeds; ++seed) {
    CAPTURE(seed);
    const Small small(seed);
    const BranchResult result = branch(small.program, {});
    CHECK(result.proven);
    REQUIRE(result.best.empty() == small.solutions.empty());
    if (small.solutions.empty()) continue;
    CHECK(result.cost == small.solutions.front().first);
    CHECK(cost_of(small.program, result.best) == result.cost);
    CHECK(result.bound == result.cost);
  }
}

// Wherever it is stopped: what it calls proven holds.
TEST_CASE("branch: stopped early, the bound still holds") {
  std::size_t stopped = 0, told = 0;
  for (std::uint64_t seed = 1; seed <= kSeeds; ++seed) {
    CAPTURE(seed);
    const Small small(seed);
    for (const std::int64_t most : {1, 2, 3, 5, 8, 13}) {
      BranchOptions options;
      options.node_limit = most;
      if (seed % 3 == 0 && !small.solutions.empty()) options.first = small.solutions.back().second;
      const BranchResult result = branch(small.program, options);
      CHECK(result.nodes <= most);
      stopped += result.proven ? 0 : 1;
      if (small.solutions.empty()) {
        CHECK(result.best.empty());
        continue;
      }
      const std::int64_t least = small.solutions.front().first;
      CHECK(result.bound <= least);
      if (result.best.empty()) {
        CHECK_FALSE(result.proven);
      } else {
        CHECK(result.cost >= least);
        CHECK(cost_of(small.program, result.best) == result.cost);
        CHECK((!result.proven || result.cost == least));
        for (const auto& [cost, solution] : small.solutions) CHECK((cost >= result.cost || is_within(result.bounds, solution)));
      }
    }
    BranchOptions options;
    options.progress = [&](std::optional<Wide> best, Wide bound) {
      ++told;
      if (small.solutions.empty()) return;
      CHECK(bound <= small.solutions.front().first);
      if (best) CHECK(*best >= small.solutions.front().first);
    };
    branch(small.program, options);
  }
  CHECK(stopped > 100);
  CHECK(told > 0);
}

// Weak duality: any prices prove a bound that holds.
TEST_CASE("branch: a price proof holds for every solution, and drawing in loses none within the limit") {
  std::size_t drawn = 0;
  for (std::uint64_t seed = 1; seed <= kSeeds; ++seed) {
    CAPTURE(seed);
    const Small small(seed);
    std::mt19937_64 random(seed + 1000);
    const std::int64_t step = std::max<std::int64_t>(1, cost_step(small.program));
    for (const auto& [cost, solution] : small.solutions) CHECK(cost % step == 0);
    for (int round = 0; round < 6; ++round) {
      std::vector<double> prices;
      for (std::size_t row = 0; row < small.program.rows.size(); ++row) prices.push_back(static_cast<double>(random() % 400) / 100.0 - 0.5);
      for (const std::int64_t scale : {1, 12, 2520}) {
        ProgramBounds bounds{small.program.lower, small.program.upper};
        const auto proof = price_proof(small.program, bounds, prices, scale);
        REQUIRE(proof);
        if (small.solutions.empty()) continue;
        const std::int64_t least = small.solutions.front().first;
        CHECK(proof->bound(1) <= least);
        CHECK(proof->bound(step) <= least);
        CHECK(proof->bound(step) >= proof->bound(1));
        CHECK(proof->bound(step) % step == 0);
        const std::int64_t limit = least + static_cast<std::int64_t>(random() % 10);
        std::vector<std::int32_t> changed;
        CHECK(tighten(*proof, limit, bounds, &changed));
        drawn += changed.size();
        for (const auto& [cost, solution] : small.solutions) {
          if (cost <= limit) CHECK(is_within(bounds, solution));
        }
        for (std::size_t column = 0; column < small.program.columns(); ++column) {
          const bool is_changed = bounds.lower[column] != small.program.lower[column] || bounds.upper[column] != small.program.upper[column];
          CHECK(is_changed == (std::find(changed.begin(), changed.end(), static_cast<std::int32_t>(column)) != changed.end()));
        }
      }
    }
  }
  CHECK(drawn > 100);
}

TEST_CASE("branch: a ray proves empty only what is") {
  std::size_t proven = 0;
  for (std::uint64_t seed = 1; seed <= kSeeds; ++seed) {
    CAPTURE(seed);
    const Small small(seed);
    std::mt19937_64 random(seed + 2000);
    for (int round = 0; round < 6; ++round) {
      std::vector<double> ray;
      for (std::size_t row = 0; row < small.program.rows.size(); ++row) ray.push_back(static_cast<double>(random() % 5) / 4.0 * (round % 2 == 0 ? 1.0 : -1.0));
      const bool says_empty = ray_proves_empty(small.program, {small.program.lower, small.program.upper}, ray);
      proven += says_empty ? 1 : 0;
      if (says_empty) CHECK(small.solutions.empty());
    }
  }
  CHECK(proven > 10);
  // 2 x + 3 y >= 11 with x and y at most 2: 10 at most.
  IntegerProgram program;
  program.add_column(1, 0, 2);
  program.add_column(1, 0, 2);
  program.rows.push_back({{{0, 2}, {1, 3}}, 11});
  const double ray[] = {1.0}, other[] = {-1.0}, none[] = {0.0};
  CHECK(ray_proves_empty(program, {program.lower, program.upper}, ray));
  CHECK(ray_proves_empty(program, {program.lower, program.upper}, other));
  CHECK_FALSE(ray_proves_empty(program, {program.lower, program.upper}, none));
  program.rows[0].least = 10;
  CHECK_FALSE(ray_proves_empty(program, {program.lower, program.upper}, ray));
}

TEST_CASE("branch: the step of costs, and what a solution costs") {
  IntegerProgram program;
  program.add_column(6, 0, 4);
  program.add_column(-9, 0, 4);
  program.add_column(0, 0, 1);
  CHECK(cost_step(program) == 3);
  program.rows.push_back({{{0, 1}, {1, 1}}, 3});
  const auto cost = [&](std::vector<std::int64_t> solution) { return cost_of(program, solution); };
  CHECK(cost({1, 2, 0}) == Wide(-12));
  CHECK(cost({4, 0, 1}) == Wide(24));
  CHECK_FALSE(cost({1, 1, 0}));
  CHECK_FALSE(cost({5, 0, 0}));
  CHECK_FALSE(cost({-1, 4, 0}));
  CHECK_FALSE(cost({3, 0, 2}));
  IntegerProgram free;
  free.add_column(0, 0, 4);
  CHECK(cost_step(free) == 0);
}

}  // namespace kitgap
