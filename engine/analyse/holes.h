#pragma once

#include <cstdint>
#include <vector>

#include "match/grid.h"

namespace kitgap {

struct Holes {
  std::vector<Box> boxes;   // disjoint, together exactly what is not covered; a column may hold several ranges only
                            // where it is not ordered
  std::uint64_t count = 0;  // of boxes before merging, also of those past the limit
  bool truncated = false;   // more boxes than the limit, or more work than the bound: `boxes` are then a part
};

inline constexpr std::size_t kMaxHoles = 10'000;

// What of `within` none of `rows` covers. Goes down the columns one by one, each cut only where the rows left can
// tell its cells apart, and stops where one row covers all that remains; equal rests are joined. Exact unless
// truncated.
Holes uncovered(const Grid& grid, const std::vector<std::uint32_t>& rows, const Box& within,
                std::size_t limit = kMaxHoles);
// Whether nothing of it is left; false as well when that took too much work to tell.
bool is_covered(const Grid& grid, const std::vector<std::uint32_t>& rows, const Box& within);

Box everything(const Grid& grid);
Box box_of(const Grid& grid, std::size_t row);
// Joins boxes that differ in one column only, while that makes fewer.
void merge_boxes(const Grid& grid, std::vector<Box>& boxes);

}  // namespace kitgap
