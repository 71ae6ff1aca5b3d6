#include "analyse/row_merges.h"

#include <algorithm>
#include <map>
#include <set>

#include "analyse/keyed_rows.h"

namespace kitgap {
namespace {

// A bare word that a cell takes for a value: no sign of the language in it.
bool is_bare_word(const std::string& word) {
  const auto is_plain = [](char c) { return static_cast<unsigned char>(c) >= 0x80 || std::isalnum(static_cast<unsigned char>(c)) != 0 || c == ' ' || c == '-' || c == '_'; };
  return !word.empty() && std::isalpha(static_cast<unsigned char>(word.front())) != 0 && std::all_of(word.begin(), word.end(), is_plain) &&
         word != "not" && word != "null" && word != "true" && word != "false";
}

class MergeFinder {
 public:
  explicit MergeFinder(const Rules& rules) : rules_(rules) {}

  std::vector<RowMerge> run() {
    for (const KindWord& word : table_kinds()) {
      const std::vector<KeyedRow> rows = keyed_rows(rules_, word.kind);
      for (const FactId fact : facts_asked(rows)) merge_along(rows, fact);
      if (word.kind == TableKind::Needs) merge_places(rows);
    }
    std::sort(merges_.begin(), merges_.end(), [](const RowMerge& a, const RowMerge& b) { return a.rows.front() < b.rows.front(); });
    return std::move(merges_);
  }

 private:
  std::vector<FactId> facts_asked(const std::vector<KeyedRow>& rows) const {
    std::set<FactId> facts;
    for (const KeyedRow& row : rows) {
      for (const Condition::Test& test : rules_.condition(row.condition).tests) facts.insert(test.fact);
    }
    return {facts.begin(), facts.end()};
  }

  // All that the row says and asks, but for one column.
  std::string rest_of(RowPlace place, ConditionId condition, std::string_view column) const {
    const TableInfo& info = rules_.tables[place.table];
    std::string rest = std::to_string(place.table) + "\x1f";
    for (std::size_t at = 0; at < info.table.header().size(); ++at) {
      const std::string& name = info.table.header()[at];
      const bool is_fact = std::any_of(info.fact_columns.begin(), info.fact_columns.end(), [&](const auto& fact) { return fact.first == at; });
      if (name == column || is_fact || info.when_column == at) continue;
      rest += std::string(info.table.cell(place.row, at)) + "\x1f";
    }
    for (const Condition::Test& test : rules_.condition(condition).tests) {
      if (rules_.facts[test.fact.index].name != column) rest += std::to_string(test.fact.index) + "=" + test.values.to_unary_test() + "\x1f";
    }
    return rest;
  }

  // The fact's test stands in the fact's own column, and nothing else of the row reads the fact.
  bool is_simple(const KeyedRow& row, FactId fact) const {
    const Condition& condition = rules_.condition(row.condition);
    const TableInfo& info = rules_.tables[row.place.table];
    const auto column = info.table.find_column(rules_.facts[fact.index].name);
    const bool has_when = info.when_column && !info.table.cell(row.place.row, *info.when_column).empty();
    if (!condition.residues.empty() || !column || has_when || taken_.contains(row.place)) return false;
    return std::any_of(condition.tests.begin(), condition.tests.end(), [&](const Condition::Test& test) { return test.fact == fact && !test.values.is_empty(); });
  }

  const ValueSet& values_of(const KeyedRow& row, FactId fact) const {
    const auto& tests = rules_.condition(row.condition).tests;
    return std::find_if(tests.begin(), tests.end(), [&](const Condition::Test& test) { return test.fact == fact; })->values;
  }

  bool adds_up(RowPlace place) const {
    if (rules_.tables[place.table].kind != TableKind::Needs) return true;
    const std::string effect = rules_.cell_of(place, "effect");
    return effect == "adds" || effect == "takes away";
  }

  void merge_along(const std::vector<KeyedRow>& rows, FactId fact) {
    const std::string& name = rules_.facts[fact.index].name;
    std::map<std::string, std::vector<const KeyedRow*>> groups;
    for (const KeyedRow& row : rows) {
      if (is_simple(row, fact)) groups[rest_of(row.place, row.condition, name)].push_back(&row);
    }
    for (const auto& [rest, group] : groups) {
      if (group.size() < 2) continue;
      ValueSet all = values_of(*group.front(), fact);
      RowMerge merge{.rows = {group.front()->place}, .column = name, .cell = {}, .cells = {rules_.cell_of(group.front()->place, name)}};
      for (std::size_t at = 1; at < group.size(); ++at) {
        const ValueSet& values = values_of(*group[at], fact);
        if (adds_up(group[at]->place) && all.meets(values)) continue;
        all = all | values;
        merge.rows.push_back(group[at]->place);
        merge.cells.push_back(rules_.cell_of(group[at]->place, name));
      }
      merge.cell = cell_of_set(rules_, fact, all);
      take(std::move(merge));
    }
  }

  void merge_places(const std::vector<KeyedRow>& rows) {
    std::map<std::string, std::vector<const KeyedRow*>> groups;
    for (const KeyedRow& row : rows) {
      const bool is_simple = rules_.condition(row.condition).residues.empty() && !rules_.cell_of(row.place, "at").empty() && !taken_.contains(row.place);
      if (is_simple) groups[rest_of(row.place, row.condition, "at")].push_back(&row);
    }
    for (const auto& [rest, group] : groups) {
      if (group.size() < 2) continue;
      RowMerge merge{.rows = {}, .column = "at", .cell = {}, .cells = {}};
      std::set<PositionId> met;
      for (const KeyedRow* row : group) {
        const auto need = std::find_if(rules_.needs.begin(), rules_.needs.end(), [&](const NeedRow& candidate) { return candidate.place == row->place; });
        const auto& leaves = rules_.places_of(need->at);
        const bool is_apart = std::none_of(leaves.begin(), leaves.end(), [&](PositionId leaf) { return met.contains(leaf); });
        if (!is_apart) continue;
        met.insert(leaves.begin(), leaves.end());
        merge.rows.push_back(row->place);
        merge.cells.push_back(rules_.cell_of(row->place, "at"));
        merge.cell += (merge.cell.empty() ? "" : "; ") + merge.cells.back();
      }
      take(std::move(merge));
    }
  }

  void take(RowMerge merge) {
    if (merge.rows.size() < 2) return;
    taken_.insert(merge.rows.begin(), merge.rows.end());
    merges_.push_back(std::move(merge));
  }

  const Rules& rules_;
  std::set<RowPlace> taken_;
  std::vector<RowMerge> merges_;
};

}  // namespace

std::string cell_of_set(const Rules& rules, FactId fact, const ValueSet& values) {
  if (values == ValueSet::all(rules.facts[fact.index].domain)) return "";
  if (rules.facts[fact.index].domain.type != FactType::Text || !values.size() || *values.size() > 50) return values.to_unary_test();
  std::string cell;
  for (const FactValue& value : values.values()) {
    const std::string& word = std::get<std::string>(value);
    if (!is_bare_word(word) || rules.facts[fact.index].domain.allowed.empty()) return values.to_unary_test();
    cell += (cell.empty() ? "" : ", ") + word;
  }
  return cell;
}

std::vector<RowMerge> find_merges(const Rules& rules) { return MergeFinder(rules).run(); }

}  // namespace kitgap
