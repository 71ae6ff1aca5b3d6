#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "match/sweep_cars.h"
#include "match/sweep_cells.h"
#include "match/sweep_places.h"
#include "match/text_ids.h"
#include "text/diagnostics.h"

namespace kitgap {

// A column of conditions: each different cell is a set of ranges of places, parsed once.
struct SweepColumn {
  std::string name;
  SweepType type = SweepType::Text;
  bool is_whole = true;            // a number or a day is its own place
  NamedValues named;               // else these have places
  std::vector<std::string> words;  // of a text column: word i has place i
  Kept<std::uint32_t> first;       // set s has the ranges first[s] up to first[s + 1]; set 0 is any
  Kept<PlaceRange> ranges;
  Kept<std::uint32_t> row_sets;    // per row

  std::size_t set_count() const { return first.size() - 1; }
  std::span<const PlaceRange> set(std::uint32_t number) const {
    return ranges.span().subspan(first[number], first[number + 1] - first[number]);
  }
  bool is_any(std::uint32_t number) const { return set(number).size() == 1 && set(number).front().is_any(); }
  bool holds(std::uint32_t number, std::int64_t place) const {
    for (const PlaceRange& range : set(number)) {
      if (range.holds(place)) return true;
    }
    return false;
  }
};

// Where the cars stand on a column's line.
struct CarPlaces {
  std::vector<std::int64_t> place;  // per car; meaningless where unknown
  std::vector<bool> unknown;
  bool any_unknown = false;
};
CarPlaces places_of(const SweepColumn& column, const CarFact& fact);

struct SweepTable {
  std::vector<SweepColumn> columns;
  std::vector<std::uint32_t> row_items;
  std::vector<std::int64_t> row_counts;  // times 10 to the power of `count_places`
  unsigned count_places = 0;
  TextIds items;
  std::vector<std::string> passed_over;  // columns that are neither conditions nor read
  std::string content;  // where it was asked for: the SHA-256 of the bytes that were read
};

// Reads the rows. Which columns are conditions, and of which type, the cars say; `on_header`, where there is one, may still
// say what the cars know, by the columns that there are, and false refuses them. Nothing when something was reported.
// `with_content` asks for the bytes' hash.
[[nodiscard]] std::unique_ptr<SweepTable> read_sweep_table(const std::filesystem::path& path, const SweepCars& cars,
                                                           Sources& sources, Diagnostics& diagnostics,
                                                           const std::function<bool(const std::vector<std::string>&)>& on_header = {},
                                                           bool with_content = false);

}  // namespace kitgap
