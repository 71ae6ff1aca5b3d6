#include "analyse/proposals.h"

#include <algorithm>
#include <map>
#include <set>

#include "analyse/keyed_rows.h"
#include "analyse/pack_check.h"
#include "text/csv.h"

namespace kitgap {
namespace {

class Proposer {
 public:
  explicit Proposer(const Rules& rules) : rules_(rules) {
    for (const KindWord& word : table_kinds()) {
      for (const KeyedRow& row : keyed_rows(rules, word.kind)) conditions_[row.place] = row.condition;
    }
  }

  std::vector<RowEdit> run() {
    for (const Finding& finding : check_packs(rules_).findings) {
      if (finding.code == "contradiction") narrow(finding.rows.at(0), finding.rows.at(1));
    }
    for (const RowMerge& merge : find_merges(rules_)) put_together(merge);
    return std::move(edits_);
  }

 private:
  // The earlier row keeps what the later leaves it, where that is one cell; else the other way round.
  void narrow(RowPlace first, RowPlace second) {
    if (touched_.contains(first) || touched_.contains(second)) return;
    if (!narrow_by(first, second)) narrow_by(second, first);
  }

  bool narrow_by(RowPlace row, RowPlace other) {
    const Condition& mine = rules_.condition(conditions_.at(row));
    const Condition& theirs = rules_.condition(conditions_.at(other));
    if (!mine.residues.empty() || !theirs.residues.empty()) return false;
    std::optional<std::pair<FactId, ValueSet>> left;
    for (const Condition::Test& test : theirs.tests) {
      const auto own = std::find_if(mine.tests.begin(), mine.tests.end(), [&](const Condition::Test& candidate) { return candidate.fact == test.fact; });
      const ValueSet& values = own == mine.tests.end() ? rules_.fact_spaces[test.fact.index] : own->values;
      const ValueSet rest = values - test.values;
      if (rest.is_empty()) continue;
      if (left) return false;  // what is left is no single row
      left.emplace(test.fact, rest);
    }
    if (!left) return false;
    const std::string& column = rules_.facts[left->first.index].name;
    const TableInfo& info = rules_.tables[row.table];
    if (!info.table.find_column(column)) return false;
    RowEdit edit{.place = row, .column = column, .cell = cell_of_set(rules_, left->first, left->second), .says = {}};
    edit.says = row_in_words(rules_, row) + ": `" + column + "` narrowed to `" + edit.cell + "`, for " + row_in_words(rules_, other) +
                " says something else there. Look up which of the two is right; if it is this one, narrow the other instead.";
    touched_.insert(row);
    touched_.insert(other);
    edits_.push_back(std::move(edit));
    return true;
  }

  void put_together(const RowMerge& merge) {
    if (std::any_of(merge.rows.begin(), merge.rows.end(), [&](RowPlace row) { return touched_.contains(row); })) return;
    touched_.insert(merge.rows.begin(), merge.rows.end());
    const std::string first = row_in_words(rules_, merge.rows.front());
    edits_.push_back({.place = merge.rows.front(), .column = merge.column, .cell = merge.cell,
                      .says = first + ": `" + merge.column + "` becomes `" + merge.cell + "` and says what " + std::to_string(merge.rows.size()) +
                              " rows said, for the same cars."});
    for (std::size_t at = 1; at < merge.rows.size(); ++at) {
      edits_.push_back({.place = merge.rows[at], .column = {}, .cell = {}, .says = row_in_words(rules_, merge.rows[at]) + ": taken out, " + first + " says it."});
    }
  }

  const Rules& rules_;
  std::map<RowPlace, ConditionId> conditions_;
  std::set<RowPlace> touched_;
  std::vector<RowEdit> edits_;
};

// The bytes of a record: from the beginning of its line to after its line end.
struct Record {
  std::size_t begin = 0;
  std::size_t end = 0;
  std::vector<std::pair<std::size_t, std::size_t>> cells;  // quotes included
};

Record record_at(std::string_view bytes, std::uint32_t line) {
  Record record;
  std::size_t at = bytes.starts_with("\xEF\xBB\xBF") ? 3 : 0;
  for (std::uint32_t passed = 1; passed < line && at < bytes.size(); ++passed) at = std::min(bytes.find('\n', at), bytes.size() - 1) + 1;
  record.begin = at;
  bool is_quoted = false;
  std::size_t cell = at;
  for (; at < bytes.size(); ++at) {
    if (bytes[at] == '"') is_quoted = !is_quoted;
    if (is_quoted || (bytes[at] != ',' && bytes[at] != '\n')) continue;
    const bool is_end = bytes[at] == '\n';
    record.cells.emplace_back(cell, is_end && at > cell && bytes[at - 1] == '\r' ? at - 1 : at);
    cell = at + 1;
    if (!is_end) continue;
    record.end = at + 1;
    return record;
  }
  record.cells.emplace_back(cell, bytes.size());
  record.end = bytes.size();
  return record;
}

}  // namespace

std::vector<RowEdit> proposed_edits(const Rules& rules) { return Proposer(rules).run(); }

std::vector<ProposedFile> proposed_files(const Rules& rules, const Sources& sources, const std::vector<RowEdit>& edits) {
  std::map<std::uint32_t, std::vector<const RowEdit*>> by_table;
  for (const RowEdit& edit : edits) by_table[edit.place.table].push_back(&edit);
  std::vector<ProposedFile> files;
  for (auto& [number, all] : by_table) {
    std::sort(all.begin(), all.end(), [](const RowEdit* a, const RowEdit* b) { return a->place < b->place; });
    const TableInfo& info = rules.tables[number];
    const std::string_view bytes = sources.bytes(info.table.source());
    ProposedFile file{.name = std::string(sources.name(info.table.source())), .before = std::string(bytes), .after = {}, .says = {}};
    std::size_t at = 0;
    for (const RowEdit* edit : all) {
      const Record record = record_at(bytes, info.table.line(edit->place.row));
      std::size_t begin = record.begin;
      std::size_t end = record.end;
      std::string cell;
      if (!edit->column.empty()) {
        std::tie(begin, end) = record.cells.at(*info.table.find_column(edit->column));
        append_csv_cell(cell, edit->cell);
      }
      file.after.append(bytes.substr(at, begin - at)).append(cell);
      at = end;
      file.says.push_back(edit->says);
    }
    file.after.append(bytes.substr(at));
    files.push_back(std::move(file));
  }
  return files;
}

}  // namespace kitgap
