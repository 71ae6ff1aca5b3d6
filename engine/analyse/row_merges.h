#pragma once

#include <optional>
#include <string>
#include <vector>

#include "pack/rules.h"

namespace kitgap {

// Rows of one table that one row could say: they agree in every cell but one, and that one cell can hold what all of
// them ask. No answer changes: a car meets the new row exactly if it meets one of the old ones.
struct RowMerge {
  std::vector<RowPlace> rows;       // the first is kept
  std::string column;               // a fact, or `at`
  std::string cell;                 // what to write there; empty: any
  std::vector<std::string> cells;   // what the rows have there now
};

// Each row is in one merge at most. Where rows add up (needs that add or take away, and all kinds but needs), only rows
// that share no car are put together. Linear in the rows, times the columns.
std::vector<RowMerge> find_merges(const Rules& rules);

// A set as a cell of a pack's table: `[1966..1968]`, `saloon, estate`, empty for any.
std::string cell_of_set(const Rules& rules, FactId fact, const ValueSet& values);

}  // namespace kitgap
