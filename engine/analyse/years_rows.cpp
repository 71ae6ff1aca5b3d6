#include "analyse/years_rows.h"

#include <algorithm>
#include <set>

namespace kitgap {
namespace {

ConditionId condition_of(const Rules& rules, RowPlace place) {
  const auto find_in = [&](const auto& rows) -> std::optional<ConditionId> {
    const auto row = std::ranges::find_if(rows, [&](const auto& candidate) { return candidate.place == place; });
    return row == rows.end() ? std::nullopt : std::optional(row->condition);
  };
  const TableKind kind = rules.tables[place.table].kind;
  if (kind == TableKind::Needs) return find_in(rules.needs).value_or(ConditionId{});
  if (kind == TableKind::Consumes) return find_in(rules.consumes).value_or(ConditionId{});
  if (kind == TableKind::Facts) return find_in(rules.fact_rows).value_or(ConditionId{});
  return ConditionId{};
}

std::string conditions_in_words(const Rules& rules, const Condition& condition) {
  std::string text;
  for (const Condition::Test& test : condition.tests) {
    text += (text.empty() ? "" : ", ") + rules.facts[test.fact.index].name + " " + test.values.to_unary_test();
  }
  for (const Condition::Residue& residue : condition.residues) {
    std::string facts;
    for (const FactId fact : residue.facts) facts += (facts.empty() ? "" : " and ") + rules.facts[fact.index].name;
    text += (text.empty() ? "" : ", ") + ("a test of " + facts);
  }
  return text;
}

std::vector<FactId> facts_read(const Condition& condition) {
  std::vector<FactId> facts;
  for (const Condition::Test& test : condition.tests) facts.push_back(test.fact);
  for (const Condition::Residue& residue : condition.residues) facts.insert(facts.end(), residue.facts.begin(), residue.facts.end());
  return facts;
}

}  // namespace

YearsRow years_row(const Rules& rules, RowPlace place) {
  const TableInfo& info = rules.tables[place.table];
  YearsRow row{.pack = rules.packs[info.pack].name, .file = info.file, .line = rules.line_of(place), .says = {},
               .source = std::string(rules.source_of(place))};
  const std::string conditions = conditions_in_words(rules, rules.condition(condition_of(rules, place)));
  if (info.kind == TableKind::Needs) {
    const std::string effect = rules.cell_of(place, "effect");
    const std::string parent = rules.cell_of(place, "parent");
    const std::string at = rules.cell_of(place, "at");
    row.says = effect == "drops" ? "none" : (effect == "adds" || effect == "takes away" ? effect + " " : "") + rules.cell_of(place, "quantity");
    row.says += (parent == "car" ? " to the car" : " to each " + parent) + (at.empty() ? "" : " at " + at);
  } else if (info.kind == TableKind::Consumes) {
    row.says = rules.cell_of(place, "quantity") + " to each " + rules.cell_of(place, "assembly");
  } else {
    row.says = rules.cell_of(place, "fact") + " " + rules.cell_of(place, "value");
  }
  if (!conditions.empty()) row.says += ", for " + conditions;
  return row;
}

bool tells_apart(const Rules& rules, RowPlace place, FactId fact, const ValueSet& before, const ValueSet& after) {
  const FactValue last = *before.witness();
  const FactValue first = *after.witness();
  return std::ranges::any_of(rules.condition(condition_of(rules, place)).tests, [&](const Condition::Test& test) {
    return test.fact == fact && test.values.contains(last) != test.values.contains(first);
  });
}

std::vector<RowPlace> tying_rows(const Rules& rules, const std::vector<RowPlace>& rows, FactId fact, const ValueSet& before,
                                 const ValueSet& after) {
  const FactValue last = *before.witness();
  const FactValue first = *after.witness();
  std::vector<FactId> waiting;
  std::set<FactId> met;
  const auto meet = [&](const Condition& condition) {
    for (const FactId read : facts_read(condition)) {
      if (read != fact && met.insert(read).second) waiting.push_back(read);
    }
  };
  for (const RowPlace place : rows) meet(rules.condition(condition_of(rules, place)));
  std::vector<RowPlace> found;
  while (!waiting.empty()) {
    const FactId derived = waiting.back();
    waiting.pop_back();
    for (const FactRow& row : rules.fact_rows) {
      if (row.fact != derived) continue;
      const Condition& condition = rules.condition(row.condition);
      meet(condition);
      const bool tells_apart = std::ranges::any_of(condition.tests, [&](const Condition::Test& test) {
        return test.fact == fact && !test.values.contains(last) && test.values.contains(first);
      });
      if (tells_apart) found.push_back(row.place);
    }
  }
  std::ranges::sort(found);
  return found;
}

}  // namespace kitgap
