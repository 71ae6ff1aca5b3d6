#include "analyse/fact_grid.h"

#include <algorithm>

#include "analyse/holes.h"

namespace kitgap {

namespace {

void sort_unique(std::vector<FactId>& facts) {
  std::sort(facts.begin(), facts.end());
  facts.erase(std::unique(facts.begin(), facts.end()), facts.end());
}

}  // namespace

// The rows that derive one of the grid's facts, of the topmost layer that does; the facts they read join the grid.
std::vector<const FactRow*> FactGrid::derived_rows(const Rules& rules) {
  std::vector<const FactRow*> rows;
  for (std::size_t at = 0; at < facts_.size(); ++at) {
    std::uint32_t top = 0;
    for (const FactRow& row : rules.fact_rows) {
      if (row.fact == facts_[at]) top = std::max(top, rules.layer(row.place));
    }
    for (const FactRow& row : rules.fact_rows) {
      const Condition& condition = rules.condition(row.condition);
      if (row.fact != facts_[at] || rules.layer(row.place) != top || !condition.residues.empty()) continue;
      rows.push_back(&row);
      for (const auto& test : condition.tests) {
        if (std::find(facts_.begin(), facts_.end(), test.fact) == facts_.end()) facts_.push_back(test.fact);
      }
    }
  }
  return rows;
}

FactGrid::FactGrid(const Rules& rules, const std::vector<ConditionId>& conditions) {
  for (const ConditionId id : conditions) {
    for (const auto& test : rules.condition(id).tests) facts_.push_back(test.fact);
    exact_.push_back(rules.condition(id).residues.empty());
  }
  sort_unique(facts_);
  // Where no row asks anything there is still one car: a grid of one cell.
  if (facts_.empty()) {
    grid_.columns.emplace_back();
    grid_.sets.assign(conditions.size(), 0);
    return;
  }
  const std::vector<const FactRow*> derived = derived_rows(rules);
  sort_unique(facts_);
  const std::size_t rows = conditions.size() + derived.size();
  grid_.sets.assign(rows * facts_.size(), 0);
  for (std::size_t column = 0; column < facts_.size(); ++column) {
    const ValueSet& space = rules.fact_spaces[facts_[column].index];
    std::vector<ValueSet> sets;
    const auto set = [&](std::size_t row, const ValueSet& values) {
      sets.push_back(values);
      grid_.sets[row * facts_.size() + column] = static_cast<std::uint32_t>(sets.size());
    };
    for (std::size_t row = 0; row < rows; ++row) {
      const ConditionId id = row < conditions.size() ? conditions[row] : derived[row - conditions.size()]->condition;
      for (const auto& test : rules.condition(id).tests) {
        if (test.fact == facts_[column]) set(row, test.values);
      }
      if (row >= conditions.size() && derived[row - conditions.size()]->fact == facts_[column]) {
        set(row, space - derived[row - conditions.size()]->values);
      }
    }
    columns_.emplace_back(space, sets);
    grid_.columns.push_back(columns_.back().column());
  }
  for (std::size_t row = conditions.size(); row < rows; ++row) impossible_.push_back(static_cast<std::uint32_t>(row));
}

WitnessCar FactGrid::witness(const Box& box) const {
  WitnessCar car;
  for (std::size_t column = 0; column < facts_.size(); ++column) {
    if (const auto value = columns_[column].values(box[column]).witness()) car.emplace_back(facts_[column], *value);
  }
  return car;
}

std::string FactGrid::in_words(const Rules& rules, const Box& box) const {
  std::string words;
  for (std::size_t column = 0; column < facts_.size(); ++column) {
    const ValueSet values = columns_[column].values(box[column]);
    if (values == rules.fact_spaces[facts_[column].index]) continue;
    words += (words.empty() ? "" : ", ") + rules.facts[facts_[column].index].name + " " + values.to_unary_test();
  }
  return words.empty() ? "any car" : words;
}

std::optional<Box> FactGrid::common_box(std::size_t a, std::size_t b) const {
  Box box;
  for (std::size_t column = 0; column < grid_.columns.size(); ++column) {
    box.push_back(common(grid_.cells(a, column), grid_.cells(b, column)));
    if (box.back().empty()) return std::nullopt;
  }
  return box;
}

std::optional<WitnessCar> find_car(const Rules& rules, const std::vector<ConditionId>& conditions) {
  const FactGrid grid(rules, conditions);
  Box box = everything(grid.grid());
  for (std::size_t row = 0; row < conditions.size(); ++row) {
    for (std::size_t column = 0; column < box.size(); ++column) box[column] = common(box[column], grid.grid().cells(row, column));
  }
  const Holes cars = uncovered(grid.grid(), grid.impossible(), box, 1);
  if (cars.boxes.empty()) return std::nullopt;
  return grid.witness(cars.boxes.front());
}

}  // namespace kitgap
