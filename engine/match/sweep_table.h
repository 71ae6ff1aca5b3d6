#pragma once

#include <cstdint>
#include <filesystem>
#include <limits>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "match/sweep_cells.h"
#include "match/text_ids.h"
#include "text/diagnostics.h"

namespace kitgap {

// Every value of a fact is a place on a line of whole numbers: a whole number stands for itself, of a fact with
// decimals every value and every gap between values that are named has its place, a word its number. So every test is
// a few ranges of places.
inline constexpr std::int64_t kFirstPlace = std::numeric_limits<std::int64_t>::min();
inline constexpr std::int64_t kLastPlace = std::numeric_limits<std::int64_t>::max();

struct PlaceRange {
  std::int64_t lo = kFirstPlace;
  std::int64_t hi = kLastPlace;
  bool is_any() const { return lo == kFirstPlace && hi == kLastPlace; }
  bool holds(std::int64_t place) const { return lo <= place && place <= hi; }
};

struct SweepColumn {
  std::string name;
  SweepType type = SweepType::Text;
  std::vector<std::uint32_t> first{0, 1};  // set s has the ranges first[s] up to first[s + 1]; set 0 is any
  std::vector<PlaceRange> ranges{{}};
  std::vector<std::uint32_t> row_sets;      // per row
  std::vector<std::int64_t> car_places;     // per car; meaningless where unknown
  std::vector<bool> car_unknown;

  std::size_t set_count() const { return first.size() - 1; }
  bool is_any(std::uint32_t set) const { return first[set + 1] == first[set] + 1 && ranges[first[set]].is_any(); }
  bool holds(std::uint32_t set, std::int64_t place) const {
    for (std::uint32_t at = first[set]; at < first[set + 1]; ++at) {
      if (ranges[at].holds(place)) return true;
    }
    return false;
  }
};

struct SweepInput {
  std::vector<SweepColumn> columns;
  std::vector<std::uint32_t> row_items;
  std::vector<std::int64_t> row_counts;  // times 10 to the power of `count_places`
  unsigned count_places = 0;
  TextIds items;
  std::vector<std::string> car_ids;      // in the order of the answer: by number where they are numbers
  std::vector<std::string> passed_over;  // columns of the rows that are neither conditions nor read
  std::vector<std::string> unused_facts;  // of the cars, that no column of the rows asks about
};

// Reads both files. Each different cell text is parsed once. Nothing when something was reported.
[[nodiscard]] std::unique_ptr<SweepInput> read_sweep(const std::filesystem::path& rows, const std::filesystem::path& cars,
                                                     Sources& sources, Diagnostics& diagnostics);

// Orders texts as numbers where both are plain numbers, numbers before other texts, else by bytes.
bool comes_before(std::string_view a, std::string_view b);

}  // namespace kitgap
