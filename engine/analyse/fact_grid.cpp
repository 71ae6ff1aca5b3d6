#include "analyse/fact_grid.h"

#include <algorithm>

namespace kitgap {

FactGrid::FactGrid(const Rules& rules, const std::vector<ConditionId>& conditions) {
  for (const ConditionId id : conditions) {
    for (const auto& test : rules.condition(id).tests) facts_.push_back(test.fact);
    exact_.push_back(rules.condition(id).residues.empty());
  }
  std::sort(facts_.begin(), facts_.end());
  facts_.erase(std::unique(facts_.begin(), facts_.end()), facts_.end());
  // Where no row asks anything there is still one car: a grid of one cell.
  if (facts_.empty()) {
    grid_.columns.emplace_back();
    grid_.sets.assign(conditions.size(), 0);
    return;
  }
  grid_.sets.assign(conditions.size() * facts_.size(), 0);
  for (std::size_t column = 0; column < facts_.size(); ++column) {
    std::vector<ValueSet> sets;
    for (std::size_t row = 0; row < conditions.size(); ++row) {
      for (const auto& test : rules.condition(conditions[row]).tests) {
        if (test.fact != facts_[column]) continue;
        sets.push_back(test.values);
        grid_.sets[row * facts_.size() + column] = static_cast<std::uint32_t>(sets.size());
      }
    }
    columns_.emplace_back(rules.fact_spaces[facts_[column].index], sets);
    grid_.columns.push_back(columns_.back().column());
  }
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

}  // namespace kitgap
