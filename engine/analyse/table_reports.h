#pragma once

#include <string>
#include <utility>
#include <vector>

#include "analyse/fact_grid.h"
#include "pack/rules.h"

namespace kitgap {

// What one table of a pack leaves out or says twice, in the terms of a bare table: the same questions, asked per key.
struct TableReport {
  using Tests = std::vector<std::pair<std::string, std::string>>;  // fact, unary test; facts left open are not named
  struct Hole {
    std::string key;  // `parent car, at front, part door-panel`
    Tests box;
    WitnessCar witness;
  };
  struct Overlap {
    RowPlace first, second;
    Tests box;
    WitnessCar witness;
    bool same_output = false;
  };
  struct Hidden {
    RowPlace row;
    std::vector<RowPlace> by;
  };
  std::uint32_t table = 0;
  std::vector<Hole> holes;           // of `needs` and `facts`: cars of which no row of a key speaks
  std::vector<Overlap> overlaps;     // two rows of one key and layer that speak of one car
  std::vector<RowPlace> never_apply;
  std::vector<Hidden> hidden;        // by rows of higher layers
  bool truncated = false;            // more than `kMostListed` of something
};

inline constexpr std::size_t kMostListed = 1'000;  // holes or overlaps of one table

// A report for each table, in the order of reading. Boxes are exact but for rows that relate several facts, which take no
// part; cars that the `facts` tables rule out are in no hole of `needs`.
std::vector<TableReport> table_reports(const Rules& rules);

}  // namespace kitgap
