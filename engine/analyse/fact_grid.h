#pragma once

#include <span>
#include <string>
#include <utility>
#include <vector>

#include "match/grid.h"
#include "pack/rules.h"

namespace kitgap {

// Values of facts that together show a finding; facts that do not matter are left out.
using WitnessCar = std::vector<std::pair<FactId, FactValue>>;

// The conditions of some rows as boxes over the facts they name. A row whose condition relates several facts is
// covered by its box but may be smaller: `is_exact` says so.
class FactGrid {
 public:
  FactGrid(const Rules& rules, const std::vector<ConditionId>& conditions);
  const Grid& grid() const { return grid_; }
  // Further rows of the grid: cars that the `facts` tables rule out (an estate with two doors). To be taken with what
  // covers, so that no witness is a car that cannot be.
  const std::vector<std::uint32_t>& impossible() const { return impossible_; }
  bool is_exact(std::size_t row) const { return exact_[row]; }
  std::size_t column_count() const { return facts_.size(); }
  FactId fact(std::size_t column) const { return facts_[column]; }
  // One car of the box.
  WitnessCar witness(const Box& box) const;
  ValueSet values(std::size_t column, std::span<const CellRange> cells) const { return columns_[column].values(cells); }
  // The box as a person would say it: `model year 1970, body style "drophead"`; facts left open are not named.
  std::string in_words(const Rules& rules, const Box& box) const;
  std::optional<Box> common_box(std::size_t a, std::size_t b) const;

 private:
  std::vector<const FactRow*> derived_rows(const Rules& rules);
  std::vector<FactId> facts_;
  std::vector<std::uint32_t> impossible_;
  std::vector<ColumnCells> columns_;
  Grid grid_;
  std::vector<bool> exact_;
};

// A car that meets all the conditions and that the `facts` tables allow; nothing when there is none. Conditions that
// relate several facts count as their boxes.
std::optional<WitnessCar> find_car(const Rules& rules, const std::vector<ConditionId>& conditions);

}  // namespace kitgap
