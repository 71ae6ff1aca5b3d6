#include <algorithm>
#include <map>

#include "analyse/holes.h"
#include "analyse/keyed_rows.h"
#include "analyse/pack_findings.h"

namespace kitgap {
namespace {

constexpr std::size_t kMostOfAKey = 400;  // rows compared with each other

// Rows of the kinds whose key stands in their own cells: two that speak of one car and differ, two that say the same
// twice, one that a higher layer replaces for every car.
class RowClashes {
 public:
  RowClashes(const Rules& rules, TableKind kind, std::vector<Finding>& out) : rules_(rules), kind_(kind), out_(out) {}

  void find() {
    std::map<std::string, std::vector<KeyedRow>> by_key;
    for (KeyedRow& row : keyed_rows(rules_, kind_)) by_key[row.key].push_back(std::move(row));
    for (const auto& [key, rows] : by_key) {
      if (key.empty() || rows.size() < 2 || rows.size() > kMostOfAKey) continue;
      compare(rows);
    }
  }

 private:
  void compare(const std::vector<KeyedRow>& rows) {
    std::vector<ConditionId> conditions;
    for (const KeyedRow& row : rows) conditions.push_back(row.condition);
    const FactGrid grid(rules_, conditions);
    for (std::uint32_t row = 0; row < rows.size(); ++row) {
      const std::vector<std::uint32_t> above = higher(rows, grid, row);
      find_hidden(rows, grid, row, above);
      for (std::uint32_t other = row + 1; other < rows.size(); ++other) {
        if (rules_.layer(rows[row].place) == rules_.layer(rows[other].place)) compare(rows, grid, row, other, above);
      }
    }
  }

  std::vector<std::uint32_t> higher(const std::vector<KeyedRow>& rows, const FactGrid& grid, std::uint32_t than) const {
    std::vector<std::uint32_t> above;
    for (std::uint32_t row = 0; row < rows.size(); ++row) {
      if (grid.is_exact(row) && rules_.layer(rows[row].place) > rules_.layer(rows[than].place)) above.push_back(row);
    }
    return above;
  }

  void find_hidden(const std::vector<KeyedRow>& rows, const FactGrid& grid, std::uint32_t row, const std::vector<std::uint32_t>& above) {
    if (above.empty() || grid.grid().never_applies(row) || !is_covered(grid.grid(), above, box_of(grid.grid(), row))) return;
    Finding finding{.code = "hidden-by-layer",
                    .says = "The row for " + key_in_words(rules_, rows[row].place) + " is never heard: a higher layer has rows of its "
                            "own for every car it speaks of.",
                    .rows = {rows[row].place},
                    .witness = grid.witness(box_of(grid.grid(), row)),
                    .repair = "Leave it if the pack is also used alone; otherwise take it out."};
    for (const std::uint32_t other : above) {
      if (grid.common_box(row, other)) finding.rows.push_back(rows[other].place);
    }
    out_.push_back(std::move(finding));
  }

  void compare(const std::vector<KeyedRow>& rows, const FactGrid& grid, std::uint32_t a, std::uint32_t b, std::vector<std::uint32_t> above) {
    const auto box = grid.common_box(a, b);
    if (!box || !grid.is_exact(a) || !grid.is_exact(b)) return;
    above.insert(above.end(), grid.impossible().begin(), grid.impossible().end());
    const Holes open = uncovered(grid.grid(), above, *box, 1);
    if (open.boxes.empty()) return;
    const std::string where = grid.in_words(rules_, open.boxes.front());
    const std::string key = key_in_words(rules_, rows[a].place);
    const auto first = said_by(rules_, rows[a].place);
    const auto second = said_by(rules_, rows[b].place);
    Finding finding{.code = "contradiction", .says = {}, .rows = {rows[a].place, rows[b].place}, .witness = grid.witness(open.boxes.front()), .repair = {}};
    if (first == second) {
      finding.code = "said-twice";
      finding.says = "Two rows say the same of " + key + " for " + where + ".";
      finding.repair = "One of them will do; or narrow one so that they no longer meet.";
    } else {
      finding.says = "Two rows for " + key + " differ in " + difference(first, second) + ", and both apply to " + where + ".";
      finding.repair = "Narrow one of the two so that they no longer meet, or move the right one to a pack that stands above.";
    }
    out_.push_back(std::move(finding));
  }

  using Said = std::vector<std::pair<std::string, std::string>>;
  static std::string cell(const Said& said, const std::string& column) {
    for (const auto& [name, text] : said) {
      if (name == column) return "`" + text + "`";
    }
    return "an empty cell";
  }
  static std::string difference(const Said& a, const Said& b) {
    for (const Said* said : {&a, &b}) {
      for (const auto& [column, text] : *said) {
        if (cell(a, column) != cell(b, column)) return "`" + column + "`, " + cell(a, column) + " and " + cell(b, column);
      }
    }
    return "nothing";
  }

  const Rules& rules_;
  TableKind kind_;
  std::vector<Finding>& out_;
};

}  // namespace

void find_row_clashes(const Rules& rules, std::vector<Finding>& out) {
  for (const KindWord& word : table_kinds()) {
    if (word.kind != TableKind::Needs && word.kind != TableKind::Cautions) RowClashes(rules, word.kind, out).find();
  }
}

}  // namespace kitgap
