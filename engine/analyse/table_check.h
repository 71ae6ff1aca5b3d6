#pragma once

#include <cstdint>
#include <string>
#include <utility>
#include <vector>

#include "analyse/bare_tables.h"
#include "text/json.h"

namespace kitgap {

inline constexpr std::size_t kMaxOverlaps = 10'000;

// What one table leaves out or says twice. Rules count from 1, as people count them.
struct TableFindings {
  // A box in values, a set per input, and one car in it.
  struct Region {
    std::vector<ValueSet> box;
    std::vector<FactValue> witness;
  };
  struct Overlap {
    std::uint32_t first = 0;
    std::uint32_t second = 0;
    Region region;
    bool same_output = false;
  };
  struct Hidden {
    std::uint32_t rule = 0;
    std::vector<std::uint32_t> by;  // none of them can be left out
  };
  struct Merge {
    std::uint32_t first = 0;
    std::uint32_t second = 0;  // says the same with `first` narrowed to `test` in one column
    std::size_t column = 0;
    ValueSet test;
  };
  std::vector<Region> holes;
  std::uint64_t hole_count = 0;
  std::vector<Overlap> overlaps;  // clashes first to be kept when there are too many; sorted by rule
  std::uint64_t overlap_count = 0;
  std::vector<std::uint32_t> never_apply;
  std::vector<Hidden> hidden;  // by others, under the hit policy
  std::vector<Merge> merges;   // pairs that one rule could say without changing any answer
  bool truncated = false;      // more holes or overlaps than are listed
  // Anything that makes the table answer wrongly or not at all. Overlaps count where the hit policy allows none
  // (`U`) or none that differ (`A`).
  bool finds_wrong(const BareTable& table) const;
};

TableFindings check_table(const BareTable& table);

// The forms of FORMATS `rules check`.
void write_json(JsonWriter& writer, const BareTable& table, const TableFindings& findings);
std::string in_words(const BareTable& table, const TableFindings& findings);

// A set as a person could type it as S-FEEL unary tests, dates included; `-` where it is all that is allowed.
std::string unary_tests_of(const ValueSet& set, const ValueSet& within);

}  // namespace kitgap
