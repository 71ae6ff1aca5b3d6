#include "analyse/joint_facts.h"

#include <algorithm>
#include <numeric>

#include "analyse/holes.h"

namespace kitgap {

ValueSet set_in(const FactDomain& domain, const ValueSet& set) {
  ValueSet result = ValueSet::none(domain);
  if (domain.type == FactType::Number || domain.type == FactType::Date) {
    for (const ValueSet::Interval& interval : set.intervals()) result = result | ValueSet::of(domain, interval);
    return result & ValueSet::all(domain);
  }
  if (const auto all = ValueSet::all(domain); all.size() && *all.size() <= 100'000) {
    for (const FactValue& value : all.values()) {
      if (set.contains(value)) result = result | ValueSet::of(domain, value);
    }
    return result;
  }
  if (set.size()) {
    for (const FactValue& value : set.values()) result = result | ValueSet::of(domain, value);
    return result;
  }
  // Texts without end but a few.
  const ValueSet without = ValueSet::all(set.domain()) - set;
  result = ValueSet::all(domain);
  if (!without.size()) return result;
  for (const FactValue& value : without.values()) result = result - ValueSet::of(domain, value);
  return result;
}

JointFacts::JointFacts(const Rules& before, const Rules& after) : before_(before), after_(after) {
  for (std::uint32_t index = 0; index < before.facts.size(); ++index) {
    Fact fact{.name = before.facts[index].name, .domain = std::make_unique<FactDomain>(before.facts[index].domain), .space = {}, .before = FactId{index}, .after = {}};
    fact.space = set_in(*fact.domain, before.fact_spaces[index]);
    const auto same = after.find_fact(fact.name);
    if (same && after.facts[same->index].domain.type == fact.domain->type) {
      fact.after = same;
      fact.domain->whole = fact.domain->whole && after.facts[same->index].domain.whole;
      fact.space = set_in(*fact.domain, before.fact_spaces[index]) & set_in(*fact.domain, after.fact_spaces[same->index]);
      of_after_[*same] = facts_.size();
    }
    of_before_[FactId{index}] = facts_.size();
    facts_.push_back(std::move(fact));
  }
  for (std::uint32_t index = 0; index < after.facts.size(); ++index) {
    if (of_after_.contains(FactId{index})) continue;
    Fact fact{.name = after.facts[index].name, .domain = std::make_unique<FactDomain>(after.facts[index].domain), .space = {}, .before = {}, .after = FactId{index}};
    fact.space = set_in(*fact.domain, after.fact_spaces[index]);
    of_after_[FactId{index}] = facts_.size();
    facts_.push_back(std::move(fact));
  }
}

std::optional<JointFacts::Box> JointFacts::box_of(Side side, const std::vector<std::pair<FactId, ValueSet>>& narrowed) const {
  Box box;
  for (const auto& [own, set] : narrowed) {
    const std::size_t fact = (side == Side::Before ? of_before_ : of_after_).at(own);
    const ValueSet values = set_in(*facts_[fact].domain, set) & facts_[fact].space;
    if (values.is_empty()) return std::nullopt;
    if (values != facts_[fact].space) box.insert_or_assign(fact, values);
  }
  return box;
}

std::optional<JointFacts::Box> JointFacts::box_of(Side side, const Condition& condition) const {
  std::vector<std::pair<FactId, ValueSet>> narrowed;
  for (const Condition::Test& test : condition.tests) narrowed.emplace_back(test.fact, test.values);
  return box_of(side, narrowed);
}

std::optional<JointFacts::Box> JointFacts::common(const Box& a, const Box& b) {
  Box box = a;
  for (const auto& [fact, values] : b) {
    const auto known = box.find(fact);
    const ValueSet both = known == box.end() ? values : known->second & values;
    if (both.is_empty()) return std::nullopt;
    box.insert_or_assign(fact, both);
  }
  return box;
}

std::vector<JointFacts::Box> JointFacts::minus(const std::vector<Box>& from, const std::vector<Box>& cover) const {
  std::vector<Box> all(cover);
  all.insert(all.end(), from.begin(), from.end());
  std::vector<std::size_t> facts;
  for (const Box& box : all) {
    for (const auto& [fact, values] : box) facts.push_back(fact);
  }
  std::sort(facts.begin(), facts.end());
  facts.erase(std::unique(facts.begin(), facts.end()), facts.end());
  if (facts.empty()) return from.empty() || !cover.empty() ? std::vector<Box>{} : std::vector<Box>{Box{}};
  Grid grid;
  grid.sets.assign(all.size() * facts.size(), 0);
  std::vector<ColumnCells> columns;
  for (std::size_t column = 0; column < facts.size(); ++column) {
    std::vector<ValueSet> sets;
    for (std::size_t row = 0; row < all.size(); ++row) {
      const auto values = all[row].find(facts[column]);
      if (values == all[row].end()) continue;
      sets.push_back(values->second);
      grid.sets[row * facts.size() + column] = static_cast<std::uint32_t>(sets.size());
    }
    columns.emplace_back(facts_[facts[column]].space, sets);
    grid.columns.push_back(columns.back().column());
  }
  // Each of `from` without those before it, so that the pieces are disjoint.
  std::vector<std::uint32_t> covering(cover.size());
  std::iota(covering.begin(), covering.end(), 0U);
  std::vector<kitgap::Box> pieces;
  for (std::uint32_t row = static_cast<std::uint32_t>(cover.size()); row < all.size(); ++row) {
    const Holes rest = uncovered(grid, covering, kitgap::box_of(grid, row));
    pieces.insert(pieces.end(), rest.boxes.begin(), rest.boxes.end());
    covering.push_back(row);
  }
  merge_boxes(grid, pieces);
  std::sort(pieces.begin(), pieces.end());
  std::vector<Box> result;
  for (const kitgap::Box& piece : pieces) {
    Box box;
    for (std::size_t column = 0; column < facts.size(); ++column) {
      const ValueSet values = columns[column].values(piece[column]);
      if (values != facts_[facts[column]].space) box.emplace(facts[column], values);
    }
    result.push_back(std::move(box));
  }
  return result;
}

bool JointFacts::is_possible(const Box& box, const Knowledge& knowledge, Side side) const {
  FactSets sets = knowledge.sets();
  for (const auto& [fact, values] : box) {
    const auto id = own(fact, side);
    if (!id) continue;
    sets[id->index] = sets[id->index] & set_in(knowledge.rules().facts[id->index].domain, values);
    if (sets[id->index].is_empty()) return false;
  }
  return knowledge.is_consistent(sets);
}

std::optional<std::vector<std::pair<std::size_t, FactValue>>> JointFacts::find_car(const Box& box, const Knowledge& before, const Knowledge& after) const {
  Box left = box;
  if (!is_possible(left, before, Side::Before) || !is_possible(left, after, Side::After)) return std::nullopt;
  std::vector<std::pair<std::size_t, FactValue>> car;
  for (const auto& [fact, values] : box) {
    // Values as far as the derivations can tell them apart, one after the other, until a car has them.
    std::vector<ValueSet> sets;
    for (const Side side : {Side::Before, Side::After}) {
      const Rules& rules = side == Side::Before ? before_ : after_;
      for (const FactRow& row : rules.fact_rows) {
        if (row.fact == own(fact, side)) sets.push_back(set_in(*facts_[fact].domain, row.values));
        for (const Condition::Test& test : rules.condition(row.condition).tests) {
          if (test.fact == own(fact, side)) sets.push_back(set_in(*facts_[fact].domain, test.values));
        }
      }
    }
    const ColumnCells cells(values, sets);
    for (std::uint32_t cell = 0; cell < cells.column().cell_count; ++cell) {
      const FactValue value = cells.witness(cell);
      left.insert_or_assign(fact, ValueSet::of(*facts_[fact].domain, value));
      if (!is_possible(left, before, Side::Before) || !is_possible(left, after, Side::After)) continue;
      car.emplace_back(fact, value);
      break;
    }
    if (car.empty() || car.back().first != fact) return std::nullopt;
  }
  return car;
}

std::string JointFacts::in_words(const Box& box) const {
  std::string words;
  for (const auto& [fact, values] : box) words += (words.empty() ? "" : ", ") + facts_[fact].name + " " + values.to_unary_test();
  return words.empty() ? "every car" : words;
}

}  // namespace kitgap
