#include "analyse/table_reports.h"

#include <algorithm>
#include <map>
#include <numeric>
#include <set>

#include "analyse/holes.h"
#include "analyse/keyed_rows.h"
#include "analyse/overlaps.h"

namespace kitgap {
namespace {

class Reporter {
 public:
  explicit Reporter(const Rules& rules) : rules_(rules), reports_(rules.tables.size()) {
    for (std::uint32_t table = 0; table < reports_.size(); ++table) reports_[table].table = table;
  }

  std::vector<TableReport> run() {
    for (const KindWord& word : table_kinds()) {
      std::map<std::string, std::vector<KeyedRow>> by_key;
      for (KeyedRow& row : rows_by_leaf(word.kind)) {
        if (never_applies(row.condition)) {
          if (said_never_.insert(row.place).second) reports_[row.place.table].never_apply.push_back(row.place);
        } else if (!row.key.empty() && rules_.condition(row.condition).residues.empty()) {
          by_key[row.key].push_back(std::move(row));
        }
      }
      for (const auto& [key, rows] : by_key) look_at(word.kind, rows);
    }
    for (TableReport& report : reports_) sort(report);
    return std::move(reports_);
  }

 private:
  // Needs compete per leaf; all other kinds by their cells.
  std::vector<KeyedRow> rows_by_leaf(TableKind kind) const {
    std::vector<KeyedRow> rows = keyed_rows(rules_, kind);
    if (kind != TableKind::Needs) return rows;
    std::vector<KeyedRow> by_leaf;
    for (const NeedRow& need : rules_.needs) {
      const std::string key = std::to_string(need.parent.index) + "/" + std::to_string(need.part.index) + "/";
      const auto& places = rules_.places_of(need.at);
      if (places.empty()) by_leaf.push_back({need.place, need.condition, key});
      for (const PositionId leaf : places) by_leaf.push_back({need.place, need.condition, key + std::to_string(leaf.index)});
    }
    return by_leaf;
  }

  bool never_applies(ConditionId condition) const {
    const auto& tests = rules_.condition(condition).tests;
    return std::any_of(tests.begin(), tests.end(), [&](const Condition::Test& test) { return (test.values & rules_.fact_spaces[test.fact.index]).is_empty(); });
  }

  void look_at(TableKind kind, const std::vector<KeyedRow>& rows) {
    std::vector<ConditionId> conditions;
    for (const KeyedRow& row : rows) conditions.push_back(row.condition);
    const FactGrid grid(rules_, conditions);
    if (kind == TableKind::Needs || kind == TableKind::Facts) find_holes(kind, rows, grid);
    if (rows.size() < 2) return;
    find_overlaps(rows, grid);
    find_hidden(rows, grid);
  }

  TableReport::Tests tests_of(const FactGrid& grid, const Box& box) const {
    TableReport::Tests tests;
    for (std::size_t column = 0; column < grid.column_count(); ++column) {
      const ValueSet values = grid.values(column, box[column]);
      if (values != rules_.fact_spaces[grid.fact(column).index]) tests.emplace_back(rules_.facts[grid.fact(column).index].name, values.to_unary_test());
    }
    return tests;
  }

  void find_holes(TableKind kind, const std::vector<KeyedRow>& rows, const FactGrid& grid) {
    std::vector<std::uint32_t> covering(rows.size());
    std::iota(covering.begin(), covering.end(), 0U);
    // What derives a fact cannot rule out the cars it does not speak of.
    if (kind == TableKind::Needs) covering.insert(covering.end(), grid.impossible().begin(), grid.impossible().end());
    TableReport& report = reports_[rows.front().place.table];
    const Holes holes = uncovered(grid.grid(), covering, everything(grid.grid()), kMostListed);
    report.truncated |= holes.truncated;
    const std::string key = key_in_words(rules_, rows.front().place);
    for (const Box& box : holes.boxes) {
      TableReport::Hole hole{.key = key, .box = tests_of(grid, box), .witness = grid.witness(box)};
      // The leaves of one cell `at` leave out the same.
      if (!said_hole_.insert({rows.front().place, hole.box}).second) continue;
      if (report.holes.size() == kMostListed) report.truncated = true;
      else report.holes.push_back(std::move(hole));
    }
  }

  // Rows of the grid that are the key's own, without those that rule out cars.
  void find_overlaps(const std::vector<KeyedRow>& rows, const FactGrid& grid) {
    std::size_t looked_at = 0;
    for_each_overlap(grid.grid(), [&](std::uint32_t a, std::uint32_t b) {
      if (b >= rows.size()) return ++looked_at < 1'000'000;
      const RowPlace first = std::min(rows[a].place, rows[b].place);
      const RowPlace second = std::max(rows[a].place, rows[b].place);
      if (rules_.layer(first) != rules_.layer(second) || !said_pair_.insert({first, second}).second) return ++looked_at < 1'000'000;
      TableReport& report = reports_[first.table];
      const auto box = grid.common_box(a, b);
      const Holes cars = uncovered(grid.grid(), grid.impossible(), *box, 1);
      if (cars.boxes.empty()) return true;
      if (report.overlaps.size() == kMostListed) report.truncated = true;
      else {
        report.overlaps.push_back({.first = first, .second = second, .box = tests_of(grid, *box), .witness = grid.witness(cars.boxes.front()),
                                   .same_output = said_by(rules_, first) == said_by(rules_, second)});
      }
      return ++looked_at < 1'000'000;
    });
  }

  void find_hidden(const std::vector<KeyedRow>& rows, const FactGrid& grid) {
    for (std::uint32_t row = 0; row < rows.size(); ++row) {
      std::vector<std::uint32_t> above;
      for (std::uint32_t other = 0; other < rows.size(); ++other) {
        if (rules_.layer(rows[other].place) > rules_.layer(rows[row].place) && grid.common_box(row, other)) above.push_back(other);
      }
      if (above.empty() || !is_covered(grid.grid(), above, box_of(grid.grid(), row)) || !said_hidden_.insert(rows[row].place).second) continue;
      TableReport::Hidden hidden{.row = rows[row].place, .by = {}};
      for (const std::uint32_t other : above) hidden.by.push_back(rows[other].place);
      reports_[rows[row].place.table].hidden.push_back(std::move(hidden));
    }
  }

  static void sort(TableReport& report) {
    std::sort(report.never_apply.begin(), report.never_apply.end());
    std::sort(report.overlaps.begin(), report.overlaps.end(), [](const auto& a, const auto& b) { return std::tie(a.first, a.second) < std::tie(b.first, b.second); });
    std::sort(report.hidden.begin(), report.hidden.end(), [](const auto& a, const auto& b) { return a.row < b.row; });
    std::stable_sort(report.holes.begin(), report.holes.end(), [](const auto& a, const auto& b) { return a.key < b.key; });
  }

  const Rules& rules_;
  std::vector<TableReport> reports_;
  std::set<RowPlace> said_never_, said_hidden_;
  std::set<std::pair<RowPlace, RowPlace>> said_pair_;
  std::set<std::pair<RowPlace, TableReport::Tests>> said_hole_;
};

}  // namespace

std::vector<TableReport> table_reports(const Rules& rules) { return Reporter(rules).run(); }

}  // namespace kitgap
