#pragma once

#include <cstdint>
#include <functional>
#include <limits>
#include <optional>
#include <span>
#include <vector>

#include "purchase/integer_program.h"

namespace kitgap {

struct BranchOptions {
  // A first solution within the limits, if one is known.
  std::vector<std::int64_t> first = {};
  std::int64_t node_limit = std::numeric_limits<std::int64_t>::max();
  // Asked between nodes; true ends the search.
  std::function<bool()> should_stop = {};
  std::function<double()> seconds_left = {};
  // Best cost so far (if any) and proven bound.
  std::function<void(std::optional<Wide> best, Wide bound)> progress = {};
  // Makes a whole solution of a fractional one, or nothing: tried at the root and now and then. Need not be right:
  // what it gives is checked.
  std::function<std::vector<std::int64_t>(std::span<const double>)> repair = {};
};

struct BranchResult {
  std::vector<std::int64_t> best;  // empty: none found
  Wide cost = 0;                   // of `best`
  // No solution costs less: proven in whole numbers; at most `cost` with `best`.
  Wide bound = 0;
  bool proven = false;  // `best` is the least, or there is none
  std::int64_t nodes = 0;
  // Where any solution cheaper than `best` must lie: proven too.
  ProgramBounds bounds;
};

// Branch and bound that closes a node only by a proof in whole numbers (`price_proof`, `ray_proves_empty`). The linear
// solver only hints at prices and at where to branch; were it wrong everywhere, the search would be slow, not wrong.
BranchResult branch(const IntegerProgram& program, const BranchOptions& options);

}  // namespace kitgap
