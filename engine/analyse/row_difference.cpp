#include <algorithm>
#include <map>
#include <set>

#include "analyse/difference.h"
#include "analyse/keyed_rows.h"

namespace kitgap {
namespace {

using Said = std::vector<std::pair<std::string, std::string>>;

// All cars for which rows of one key say one thing, by one set of packs: a row counts where no higher layer has one.
struct Statement {
  Said said;
  std::vector<JointFacts::Box> boxes;
  std::vector<RowPlace> rows;
};

class RowDifference {
 public:
  RowDifference(const Rules& before, const Rules& after, const JointFacts& facts, PackDifference& out)
      : before_(before), after_(after), facts_(facts), out_(out), was_knowledge_(*Knowledge::of(Car{}, before, ignored_)),
        now_knowledge_(*Knowledge::of(Car{}, after, ignored_)) {}

  void run() {
    for (const KindWord& word : table_kinds()) {
      if (word.kind == TableKind::Needs) continue;
      const auto was = statements(before_, word.kind, JointFacts::Side::Before);
      const auto now = statements(after_, word.kind, JointFacts::Side::After);
      std::set<std::string> keys;
      for (const auto& [key, all] : was) keys.insert(key);
      for (const auto& [key, all] : now) keys.insert(key);
      static const std::vector<Statement> kNone;
      for (const std::string& key : keys) {
        const auto a = was.find(key);
        const auto b = now.find(key);
        compare(word, a == was.end() ? kNone : a->second, b == now.end() ? kNone : b->second);
      }
    }
  }

 private:
  std::map<std::string, std::vector<Statement>> statements(const Rules& rules, TableKind kind, JointFacts::Side side) const {
    std::map<std::string, std::vector<KeyedRow>> by_key;
    for (KeyedRow& row : keyed_rows(rules, kind)) by_key[row.key].push_back(std::move(row));
    std::map<std::string, std::vector<Statement>> result;
    for (const auto& [key, rows] : by_key) {
      std::vector<Statement>& all = result[key];
      for (const KeyedRow& row : rows) {
        const auto box = facts_.box_of(side, rules.condition(row.condition));
        if (!box) continue;
        std::vector<JointFacts::Box> higher;
        for (const KeyedRow& other : rows) {
          if (key.empty() || rules.layer(other.place) <= rules.layer(row.place) || !rules.condition(other.condition).residues.empty()) continue;
          if (auto above = facts_.box_of(side, rules.condition(other.condition))) higher.push_back(std::move(*above));
        }
        Said said = said_with_tests(rules, row);
        auto known = std::find_if(all.begin(), all.end(), [&](const Statement& statement) { return statement.said == said; });
        if (known == all.end()) known = all.insert(all.end(), Statement{.said = std::move(said), .boxes = {}, .rows = {}});
        const std::vector<JointFacts::Box> left = higher.empty() ? std::vector<JointFacts::Box>{*box} : facts_.minus({*box}, higher);
        known->boxes.insert(known->boxes.end(), left.begin(), left.end());
        known->rows.push_back(row.place);
      }
    }
    return result;
  }

  // A test that relates facts is no box: its cells are compared as they are written.
  static Said said_with_tests(const Rules& rules, const KeyedRow& row) {
    Said said = said_by(rules, row.place);
    if (rules.condition(row.condition).residues.empty()) return said;
    const TableInfo& info = rules.tables[row.place.table];
    for (const auto& [column, fact] : info.fact_columns) {
      if (const auto cell = info.table.cell(row.place.row, column); !cell.empty()) said.emplace_back(rules.facts[fact.index].name, cell);
    }
    if (info.when_column) said.emplace_back("when", info.table.cell(row.place.row, *info.when_column));
    return said;
  }

  void compare(const KindWord& word, const std::vector<Statement>& was, const std::vector<Statement>& now) {
    std::vector<std::vector<JointFacts::Box>> gone, come;
    for (const Statement& a : was) gone.push_back(left_of(a, now));
    for (const Statement& b : now) come.push_back(left_of(b, was));
    for (std::size_t a = 0; a < was.size(); ++a) {
      std::vector<JointFacts::Box> replaced;
      for (std::size_t b = 0; b < now.size(); ++b) {
        std::vector<JointFacts::Box> both;
        for (const JointFacts::Box& x : gone[a]) {
          for (const JointFacts::Box& y : come[b]) {
            if (auto box = JointFacts::common(x, y)) both.push_back(std::move(*box));
          }
        }
        if (both.empty() || is_add_only(was[a])) continue;
        for (const JointFacts::Box& box : facts_.merged(both)) add(word, &was[a], &now[b], box);
        replaced.insert(replaced.end(), both.begin(), both.end());
        come[b] = facts_.minus(come[b], both);
      }
      for (const JointFacts::Box& box : facts_.minus(gone[a], replaced)) add(word, &was[a], nullptr, box);
    }
    for (std::size_t b = 0; b < now.size(); ++b) {
      for (const JointFacts::Box& box : come[b]) add(word, nullptr, &now[b], box);
    }
  }

  // Rows of a kind without a key replace nothing.
  bool is_add_only(const Statement& statement) const { return statement.rows.empty() || key_in_words(before_, statement.rows.front()).empty(); }

  std::vector<JointFacts::Box> left_of(const Statement& statement, const std::vector<Statement>& others) const {
    const auto same = std::find_if(others.begin(), others.end(), [&](const Statement& other) { return other.said == statement.said; });
    return facts_.minus(statement.boxes, same == others.end() ? std::vector<JointFacts::Box>{} : same->boxes);
  }

  void add(const KindWord& word, const Statement* was, const Statement* now, const JointFacts::Box& box) {
    const auto car = facts_.find_car(box, was_knowledge_, now_knowledge_);
    if (!car) return;
    if (out_.rows.size() == kMostChanges) {
      ++out_.left_out;
      return;
    }
    PackDifference::RowChange change{.kind = std::string(word.word), .key = was != nullptr ? key_in_words(before_, was->rows.front()) : key_in_words(after_, now->rows.front()),
                                     .box = tests_in_words(facts_, box), .witness = car_in_words(facts_, *car), .was = {}, .now = {},
                                     .is_added = was == nullptr, .is_gone = now == nullptr, .was_rows = {}, .now_rows = {}};
    if (was != nullptr) change.was = was->said;
    if (now != nullptr) change.now = now->said;
    if (was != nullptr && now != nullptr) {
      // What both say is left out.
      std::erase_if(change.was, [&](const auto& cell) { return std::find(now->said.begin(), now->said.end(), cell) != now->said.end(); });
      std::erase_if(change.now, [&](const auto& cell) { return std::find(was->said.begin(), was->said.end(), cell) != was->said.end(); });
    }
    if (was != nullptr) note(before_, was->rows, change.was_rows);
    if (now != nullptr) note(after_, now->rows, change.now_rows);
    out_.rows.push_back(std::move(change));
  }

  static void note(const Rules& rules, const std::vector<RowPlace>& places, std::vector<YearsRow>& rows) {
    for (const RowPlace place : places) {
      rows.push_back({.pack = rules.packs[rules.layer(place)].name, .file = rules.tables[place.table].file, .line = rules.line_of(place), .says = {},
                      .source = std::string(rules.source_of(place))});
    }
  }

  const Rules& before_;
  const Rules& after_;
  const JointFacts& facts_;
  PackDifference& out_;
  Diagnostics ignored_;
  Knowledge was_knowledge_, now_knowledge_;
};

}  // namespace

void find_row_changes(const Rules& before, const Rules& after, const JointFacts& facts, PackDifference& out) {
  RowDifference(before, after, facts, out).run();
}

}  // namespace kitgap
