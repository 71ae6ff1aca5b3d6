#include "cover/assign.h"

#include <doctest/doctest.h>

#include <functional>
#include <optional>
#include <random>

using namespace kitgap;

namespace {

// The worth of a flow level by level: the sum of its costs, small first.
std::vector<std::int64_t> cost_of(const std::vector<AssignArc>& arcs, const std::vector<std::int64_t>& flow) {
  std::vector<std::int64_t> cost(4, 0);
  for (std::size_t arc = 0; arc < arcs.size(); ++arc) {
    for (const auto& [level, amount] : arcs[arc].cost) cost[level] += *amount.to_integer() * flow[arc];
  }
  return cost;
}

std::vector<std::int64_t> least_cost(std::vector<std::int64_t> supplies, std::vector<std::int64_t> needs, const std::vector<AssignArc>& arcs) {
  std::vector<std::int64_t> flow(arcs.size(), 0);
  std::optional<std::vector<std::int64_t>> best;
  const std::function<void(std::size_t)> try_from = [&](std::size_t at) {
    if (at == arcs.size()) {
      auto cost = cost_of(arcs, flow);
      if (!best || cost < *best) best = std::move(cost);
      return;
    }
    std::int64_t& supply = supplies[arcs[at].supply];
    std::int64_t& need = needs[arcs[at].need];
    for (std::int64_t amount = std::min(supply, need); amount >= 0; --amount) {
      flow[at] = amount;
      supply -= amount;
      need -= amount;
      try_from(at + 1);
      supply += amount;
      need += amount;
    }
  };
  try_from(0);
  return *best;
}

}  // namespace

// The second opinion: all flows of whole pieces tried. A flow problem with whole bounds has a whole best answer.
TEST_CASE("assign: the flow of least cost, level by level, on random small benches") {
  for (std::uint64_t seed = 1; seed <= 600; ++seed) {
    CAPTURE(seed);
    std::mt19937_64 random(seed);
    const auto below = [&](std::uint64_t bound) { return static_cast<std::int64_t>(random() % bound); };
    std::vector<std::int64_t> supplies, needs;
    for (std::int64_t count = 1 + below(3); count > 0; --count) supplies.push_back(below(4));
    for (std::int64_t count = 1 + below(3); count > 0; --count) needs.push_back(below(4));
    std::vector<AssignArc> arcs;
    for (std::uint32_t supply = 0; supply < supplies.size(); ++supply) {
      for (std::uint32_t need = 0; need < needs.size(); ++need) {
        if (below(4) == 0) continue;
        AssignArc arc{.supply = supply, .need = need, .cost = {}};
        for (std::uint32_t level = 0; level < 4; ++level) {
          if (const std::int64_t amount = below(5) - 3; amount != 0) arc.cost.emplace_back(level, Fraction(amount));
        }
        arcs.push_back(std::move(arc));
      }
    }
    const std::vector<Fraction> capacities(supplies.begin(), supplies.end());
    const std::vector<Fraction> wanted(needs.begin(), needs.end());
    std::vector<std::int64_t> flow;
    for (const Fraction& amount : assign(capacities, wanted, arcs)) flow.push_back(amount.to_integer().value_or(-1));
    std::vector<std::int64_t> left = supplies, open = needs;
    for (std::size_t arc = 0; arc < arcs.size(); ++arc) {
      REQUIRE(flow[arc] >= 0);
      left[arcs[arc].supply] -= flow[arc];
      open[arcs[arc].need] -= flow[arc];
    }
    for (const std::int64_t rest : left) CHECK(rest >= 0);
    for (const std::int64_t rest : open) CHECK(rest >= 0);
    CHECK(cost_of(arcs, flow) == least_cost(supplies, needs, arcs));
  }
}
