#pragma once

#include <cstdint>
#include <functional>
#include <vector>

#include "purchase/integer_program.h"

namespace kitgap {

// Where to split: column at most `below`, or at least `below` + 1. Column -1: nothing is fractional.
struct BranchChoice {
  std::int32_t column = -1;
  std::int64_t below = 0;
  bool up_first = false;
};

// What pushing a column down or up by one has cost before, per column: a guess at where splitting pays.
class Pseudocosts {
 public:
  explicit Pseudocosts(std::size_t columns) : down_(columns), up_(columns) {}

  // `probe` solves with the column's bounds changed and gives the rise of the objective, if it must be asked.
  using Probe = std::function<double(std::int32_t column, std::int64_t lower, std::int64_t upper)>;
  // `room`: a rise above it closes the child. Higher `rank` first.
  BranchChoice choose(const std::vector<double>& values, const ProgramBounds& bounds,
                      const std::vector<std::uint8_t>& rank, double room, int depth, const Probe& probe);

 private:
  struct Average {
    double sum = 0;
    int count = 0;
    void add(double per_unit) {
      sum += per_unit;
      ++count;
    }
  };
  struct Candidate {
    std::int32_t column = 0;
    double fraction = 0;
    double score = 0;
  };
  double estimate(const Average& average) const;
  double score(std::int32_t column, double fraction) const;
  double probe_score(const Candidate& candidate, double value, const ProgramBounds& bounds, double room,
                     const Probe& probe);
  std::vector<Average> down_;
  std::vector<Average> up_;
  Average any_;
};

}  // namespace kitgap
