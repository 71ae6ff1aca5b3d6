#pragma once

#include <string>
#include <vector>

#include "analyse/fact_grid.h"
#include "pack/rules.h"

namespace kitgap {

// Who leads to whom, by rows under conditions.
struct RingEdge {
  std::uint32_t from = 0;
  std::uint32_t to = 0;
  RowPlace place;
  ConditionId condition;
};

// A way round on which all rows can apply to one car, with the fewest rows that there are.
struct Ring {
  std::vector<std::uint32_t> nodes;  // in order; the last leads to the first
  std::vector<RowPlace> rows;
  WitnessCar witness;
};

// One ring for each group of nodes that lie on cycles together; groups whose rows meet on no car are left out.
std::vector<Ring> rings_among(const Rules& rules, const std::vector<RingEdge>& edges, std::size_t node_count);

}  // namespace kitgap
