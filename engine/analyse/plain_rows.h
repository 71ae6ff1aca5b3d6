#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "text/diagnostics.h"

namespace kitgap {

// What of a plain table of rows (conditions, then `item,count`, as `sweep` takes it) is to be worked out.
struct PlainRowsQuestion {
  std::vector<std::string> facts;  // the columns that are conditions; none named: all but `item`, `count`, `source`, `note`
  bool wants_overlaps = true;
  bool wants_holes = true;
};

// Where the rows of a plain table meet, and what none of them covers. The table declares no values, so holes are looked
// for among those that its rows name: from the least to the greatest number or date, and the words.
struct PlainRowsFindings {
  using Tests = std::vector<std::pair<std::string, std::string>>;  // column, unary tests
  std::uint64_t rows = 0;
  std::uint64_t never_apply = 0;
  std::optional<std::uint64_t> overlaps;  // pairs of rows that apply to some car together
  std::optional<std::uint64_t> holes;     // boxes, disjoint; at least so many where `is_cut_short`
  bool is_cut_short = false;
  Tests within;
  std::vector<Tests> boxes;  // of the holes; a column that is open in all of `within` is left out
  double load_seconds = 0;
  double overlap_seconds = 0;
  double hole_seconds = 0;
};

// Nothing when something was reported.
[[nodiscard]] std::optional<PlainRowsFindings> check_plain_rows(const std::filesystem::path& path, const PlainRowsQuestion& question,
                                                                Sources& sources, Diagnostics& diagnostics);

}  // namespace kitgap
