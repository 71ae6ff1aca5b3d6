#include "report/try_table.h"

#include <algorithm>
#include <filesystem>

#include "report/layout.h"
#include "text/json.h"

namespace kitgap {
namespace {

// Every kind's rows have a place and a condition.
template <class Row>
void collect(const Knowledge& knowledge, const std::vector<Row>& rows, std::uint32_t table, std::vector<TriedRow>& tried) {
  const Rules& rules = knowledge.rules();
  for (const Row& row : rows) {
    if (row.place.table != table) continue;
    const Condition& condition = rules.condition(row.condition);
    TriedRow result{.line = rules.line_of(row.place), .applies = holds(condition, knowledge.sets(), rules.facts), .says = {}, .fails = {}, .open = {}};
    const Table& cells = rules.tables[table].table;
    for (std::size_t column = 0; column < cells.column_count(); ++column) {
      const std::string_view cell = cells.cell(row.place.row, column);
      if (!cell.empty() && cell != "-") result.says += (result.says.empty() ? "" : ", ") + std::string(cell);
    }
    for (const Condition::Test& test : condition.tests) {
      const ValueSet& known = knowledge.sets()[test.fact.index];
      const Fact& fact = rules.facts[test.fact.index];
      if ((known & test.values).is_empty()) {
        const std::string is = known.is_single() ? text_of(*known.witness(), fact.domain.type) : known.to_unary_test();
        result.fails.push_back(fact.name + " is " + is + ", the row wants " + test.values.to_unary_test());
      } else if (!test.values.contains(known)) {
        result.open.push_back(fact.name);
      }
    }
    for (const Condition::Residue& residue : condition.residues) {
      for (const FactId fact : residue.facts) {
        if (!knowledge.sets()[fact.index].is_single()) result.open.push_back(rules.facts[fact.index].name);
      }
    }
    tried.push_back(std::move(result));
  }
}

std::string_view word_of_ternary(Ternary ternary) {
  return ternary == Ternary::Yes ? "applies" : ternary == Ternary::Open ? "may apply" : "does not apply";
}

}  // namespace

std::vector<TriedRow> try_table(const Knowledge& knowledge, std::string_view path) {
  const Rules& rules = knowledge.rules();
  std::vector<TriedRow> tried;
  for (std::uint32_t table = 0; table < rules.tables.size(); ++table) {
    const TableInfo& info = rules.tables[table];
    std::error_code failure;
    const bool is_same_file = std::filesystem::equivalent(info.path, std::filesystem::path(path), failure);
    if (info.path != path && info.file != path && !is_same_file) continue;
    collect(knowledge, rules.needs, table, tried);
    collect(knowledge, rules.parts, table, tried);
    collect(knowledge, rules.offers, table, tried);
    collect(knowledge, rules.contents, table, tried);
    collect(knowledge, rules.fact_rows, table, tried);
    collect(knowledge, rules.suppliers, table, tried);
    collect(knowledge, rules.supplied_without, table, tried);
    collect(knowledge, rules.replaces, table, tried);
    collect(knowledge, rules.move_over, table, tried);
    collect(knowledge, rules.pairings, table, tried);
    collect(knowledge, rules.limits, table, tried);
    collect(knowledge, rules.sizes, table, tried);
    collect(knowledge, rules.consumes, table, tried);
    collect(knowledge, rules.steps, table, tried);
    collect(knowledge, rules.cautions, table, tried);
  }
  return tried;
}

std::string try_table_text(const std::vector<TriedRow>& rows, int width) {
  const auto columns = static_cast<std::size_t>(width);
  std::string out;
  std::size_t counts[3] = {};
  for (const TriedRow& row : rows) {
    ++counts[static_cast<std::size_t>(row.applies)];
    std::string says = std::string(word_of_ternary(row.applies)) + ": " + row.says;
    for (const std::string& fails : row.fails) says += "; " + fails;
    for (const std::string& open : row.open) says += "; hangs on " + open;
    out += beside("line " + std::to_string(row.line), 2, 10, says, columns);
  }
  return out + std::to_string(rows.size()) + " rows: " + std::to_string(counts[2]) + " apply, " + std::to_string(counts[1]) + " may apply, " +
         std::to_string(counts[0]) + " do not\n";
}

std::string try_table_json(const std::vector<TriedRow>& rows) {
  JsonWriter json;
  json.begin_object().key("format").string("rules-try/1").key("rows").begin_array();
  for (const TriedRow& row : rows) {
    json.begin_object().key("line").number(static_cast<std::int64_t>(row.line));
    json.key("applies");
    row.applies == Ternary::Open ? json.null() : json.boolean(row.applies == Ternary::Yes);
    json.key("says").string(row.says).key("fails").begin_array();
    for (const std::string& fails : row.fails) json.string(fails);
    json.end_array().key("hangs_on").begin_array();
    for (const std::string& open : row.open) json.string(open);
    json.end_array().end_object();
  }
  json.end_array().end_object();
  return json.take();
}

}  // namespace kitgap
