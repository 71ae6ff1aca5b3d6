#pragma once

#include <cstdint>
#include <optional>
#include <string_view>
#include <utility>
#include <vector>

#include "match/recent_cells.h"
#include "match/sweep_table.h"
#include "match/text_ids.h"

namespace kitgap {

// A column of conditions while its cells are read: the cells' sets, numbered in the order of their first coming.
class ColumnReading {
 public:
  // What came of a cell that was not met before.
  enum class Cell : std::uint8_t { Known, NoTest, IsDate, IsText };

  ColumnReading(std::string name, SweepType type, const CarFact& fact) : name_(std::move(name)), type_(type), fact_(&fact) {}
  const std::string& name() const { return name_; }
  void reserve(std::size_t rows) { row_sets_.reserve(rows); }
  const CarFact& fact() const { return *fact_; }

  // Takes the next row's cell if it needs no parsing.
  bool add_quickly(std::string_view raw) {
    if (const std::uint32_t* number = recent_.find(raw)) {
      row_sets_.push_back(*number);
      return true;
    }
    if (type_ != SweepType::Number || first_.size() <= kLookedUp) return false;
    const auto range = plain_range(raw);
    if (!range) return false;
    row_sets_.push_back(add_range(*range));
    return true;
  }
  // Takes it by its text; `raw` is the same in quotes. `IsDate` and `IsText`: the column is of that type instead.
  Cell add(std::string_view raw, std::string_view text);
  // Gives every value its place. Once all rows are read.
  SweepColumn take();

 private:
  static constexpr std::size_t kLookedUp = 4'096;  // different cells that are looked up; past it each is its own

  // `[a..b]`, `>= a`, `<= b` and `a` in plain digits, the cells of great tables, without a detour.
  static std::optional<PlaceRange> plain_range(std::string_view raw);
  std::uint32_t add_range(const PlaceRange& range) {
    ranges_.push_back(range);
    first_.push_back(static_cast<std::uint32_t>(ranges_.size()));
    return static_cast<std::uint32_t>(first_.size() - 2);
  }
  Cell set_of(std::string_view text, std::uint32_t& number);
  std::vector<PlaceRange> ranges_of(const std::vector<std::string>& words, bool is_negated);
  void name_values();

  std::string name_;
  SweepType type_;
  const CarFact* fact_;
  std::vector<std::uint32_t> first_{0, 1};
  std::vector<PlaceRange> ranges_{{}};
  std::vector<std::uint32_t> row_sets_;
  RecentCells recent_;
  TextIds texts_;  // raw cells, while there are few
  std::vector<std::uint32_t> set_of_text_;
  TextIds words_;
  // Sets of numbers or days whose places hang on the whole column.
  std::vector<std::pair<std::uint32_t, SweepTests>> later_;
  NamedValues named_;
};

}  // namespace kitgap
