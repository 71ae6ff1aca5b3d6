#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "value/value_set.h"

namespace kitgap {

// A table as boxes on a grid: each column is cut into the elementary cells that its rows can tell apart, numbered from
// 0, and each row asks for a set of cells per column. Whole numbers only, so that everything that follows (holes,
// overlaps, differences) is exact and quick.

struct CellRange {
  std::uint32_t lo = 0;
  std::uint32_t hi = 0;  // included
  friend bool operator==(const CellRange&, const CellRange&) = default;
  friend auto operator<=>(const CellRange&, const CellRange&) = default;
};
// Sorted, disjoint, no two touching.
using Cells = std::vector<CellRange>;

struct GridColumn {
  std::uint32_t cell_count = 1;
  bool is_ordered = true;               // neighbouring cells may be named together as one interval
  std::vector<std::uint32_t> first{0, 1};  // set s has the ranges first[s] up to first[s + 1]; set 0 is every cell
  std::vector<CellRange> ranges{{0, 0}};

  std::uint32_t set_count() const { return static_cast<std::uint32_t>(first.size() - 1); }
  std::span<const CellRange> set(std::uint32_t id) const {
    return std::span(ranges).subspan(first[id], first[id + 1] - first[id]);
  }
  bool is_any(std::uint32_t id) const {
    return first[id + 1] - first[id] == 1 && ranges[first[id]].lo == 0 && ranges[first[id]].hi + 1 == cell_count;
  }
};

struct Grid {
  std::vector<GridColumn> columns;
  std::vector<std::uint32_t> sets;  // row by row, a set id per column
  std::size_t row_count() const { return columns.empty() ? 0 : sets.size() / columns.size(); }
  std::uint32_t set_of(std::size_t row, std::size_t column) const { return sets[row * columns.size() + column]; }
  std::span<const CellRange> cells(std::size_t row, std::size_t column) const {
    return columns[column].set(set_of(row, column));
  }
  bool never_applies(std::size_t row) const;
};

// A product of cells, one set per column.
using Box = std::vector<Cells>;

bool meet(std::span<const CellRange> a, std::span<const CellRange> b);
bool covers(std::span<const CellRange> a, std::span<const CellRange> b);  // b lies within a
Cells common(std::span<const CellRange> a, std::span<const CellRange> b);
Cells united(std::span<const CellRange> a, std::span<const CellRange> b);

// Cuts one column's values into elementary cells, and turns cells back into values.
class ColumnCells {
 public:
  // `within` bounds what is looked at (all values of the domain, or those allowed); `sets` are what the rows ask for.
  // Set s + 1 of `column()` is sets[s]; several may be equal. The domain of `within` must outlive this.
  ColumnCells(const ValueSet& within, std::span<const ValueSet> sets);
  const GridColumn& column() const { return column_; }
  ValueSet values(std::span<const CellRange> cells) const;
  // Some value of the cell.
  FactValue witness(std::uint32_t cell) const;

 private:
  // A place between values: just before `value`, or just after it; or before or after all.
  struct Cut {
    int side = 0;  // -1 before all values, 1 after all
    Fraction value;
    bool after = false;
    friend bool operator==(const Cut&, const Cut&) = default;
    bool operator<(const Cut& other) const;
  };
  struct Stretch {
    Cut begin;
    Cut end;
  };
  Stretch stretch_of(const ValueSet::Interval& interval) const;
  ValueSet::Interval interval_of(const Cut& begin, const Cut& end) const;
  void cut_numbers(std::span<const ValueSet> sets);
  void cut_values(std::span<const ValueSet> sets);
  void add_set(const Cells& cells);

  ValueSet within_;
  bool is_whole_ = false;
  GridColumn column_;
  std::vector<Stretch> stretches_;  // numbers and dates: a cell each, in order
  std::vector<ValueSet> cells_;     // text and booleans: a cell each
};

}  // namespace kitgap
