#pragma once

#include <cstdint>
#include <functional>
#include <span>
#include <utility>
#include <vector>

#include "match/grid.h"

namespace kitgap {

// How many pairs of rows apply to some car together. Rows that never apply take no part. Time: in the worst case a
// word of 64 rows per row and column, less by far where one column is made of intervals.
std::uint64_t count_overlaps(const Grid& grid);

// Every such pair, the lower row first, until `visit` returns false. In no stated order, but always the same.
void for_each_overlap(const Grid& grid, const std::function<bool(std::uint32_t, std::uint32_t)>& visit);

}  // namespace kitgap
