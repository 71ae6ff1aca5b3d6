#include <doctest/doctest.h>

#include <filesystem>

#include "analyse/holes.h"
#include "analyse/table_check.h"
#include "condition/truth.h"
#include "text/file.h"

using namespace kitgap;

namespace {

std::vector<BareTable> tables(const std::string& json, std::string* messages = nullptr) {
  Sources sources;
  Diagnostics diagnostics;
  const SourceId source = sources.add("tables.json", json);
  auto read = read_bare_tables(source, sources, diagnostics);
  if (messages != nullptr) *messages = layout(diagnostics, sources);
  return read ? std::move(*read) : std::vector<BareTable>{};
}

// One table: inputs and rules as JSON, what is found as words without the first line.
std::string found(const std::string& policy, const std::string& inputs, const std::string& rules) {
  const auto read = tables(R"([{"id": "t", "hit_policy": ")" + policy + R"(", "inputs": [)" + inputs +
                           R"(], "outputs": [{"name": null, "type": "number", "allowed": ["1", "2", "3"], "default": null}], "rules": [)" +
                           rules + "]}]");
  REQUIRE(read.size() == 1);
  const std::string words = in_words(read.front(), check_table(read.front()));
  return words.substr(words.find('\n') + 1);
}

const std::string kYear = R"({"expr": "year", "type": "number", "allowed": ["[1966..1974]"]})";
const std::string kBody = R"({"expr": "body", "type": "string", "allowed": ["\"saloon\"", "\"estate\"", "null"]})";
const std::string kBuilt = R"({"expr": "built", "type": "date", "allowed": null})";

}  // namespace

TEST_CASE("tables: what no rule speaks of is a box with a car in it") {
  CHECK(found("U", kYear + "," + kBody, R"({"in": ["< 1970", "-"], "out": ["1"]}, {"in": [">= 1970", "\"estate\""], "out": ["2"]})") ==
        "  no rule for: year [1970..1974]; body \"saloon\"\n    such as year = 1970, body = \"saloon\"\n");
}

TEST_CASE("tables: dates are whole days and their boxes are written as calls") {
  CHECK(found("U", kBuilt, R"j({"in": ["<= date(\"1970-02-28\")"], "out": ["1"]}, {"in": ["> date(\"1970-03-01\")"], "out": ["2"]})j") ==
        "  no rule for: built date(\"1970-03-01\")\n    such as built = 1970-03-01\n");
}

TEST_CASE("tables: rules that hide one another depend on the hit policy") {
  const std::string rules = R"({"in": ["< 1970"], "out": ["2"]}, {"in": [">= 1970"], "out": ["1"]}, {"in": ["-"], "out": ["3"]})";
  const std::string overlaps =
      "  rules 1 and 3 both apply, and differ: year [1966..1970)\n    such as year = 1966\n"
      "  rules 2 and 3 both apply, and differ: year [1970..1974]\n    such as year = 1970\n";
  CHECK(found("U", kYear, rules) == overlaps);
  CHECK(found("C", kYear, rules) == overlaps);
  const std::string hidden = overlaps + "  rule 3 never decides: rules 1 and 2 go before it wherever it applies\n";
  CHECK(found("F", kYear, rules) == hidden);
  CHECK(found("P", kYear, rules) == hidden);
}

TEST_CASE("tables: a rule that asks for nothing a car can be, and a pair that could be one rule, are named") {
  CHECK(found("U", kYear, R"({"in": ["> 1980"], "out": ["1"]}, {"in": ["[1966..1969]"], "out": ["2"]}, {"in": ["(1969..1974]"], "out": ["2"]})") ==
        "  rule 1 can never apply\n  rules 2 and 3 could be one, with year -\n");
}

TEST_CASE("tables: a cell that is no set by itself is refused with its place") {
  std::string messages;
  CHECK(tables(R"([{"id": "t", "hit_policy": "U", "inputs": [{"expr": "a", "type": "number", "allowed": null}], "outputs": [],
 "rules": [{"in": ["[1.."], "out": []}]}])", &messages).empty());
  CHECK(messages.starts_with("tables.json:2:"));
  CHECK(messages.find("`[1..` is no unary test over `a` alone [invalid-expression]") != std::string::npos);
}

namespace {

// The boxes as rows of a grid over the table's inputs, to compare regions and not the way they are cut.
bool same_region(const BareTable& table, const std::vector<std::vector<ValueSet>>& a, const std::vector<std::vector<ValueSet>>& b) {
  Grid grid;
  const std::size_t width = table.inputs.size();
  std::vector<std::vector<ValueSet>> all = a;
  all.insert(all.end(), b.begin(), b.end());
  grid.sets.resize(all.size() * width);
  for (std::size_t column = 0; column < width; ++column) {
    std::vector<ValueSet> sets;
    for (std::size_t row = 0; row < all.size(); ++row) {
      sets.push_back(all[row][column]);
      grid.sets[row * width + column] = static_cast<std::uint32_t>(sets.size());
    }
    grid.columns.push_back(ColumnCells(table.inputs[column].within, sets).column());
  }
  std::vector<std::uint32_t> first, second;
  for (std::uint32_t row = 0; row < all.size(); ++row) (row < a.size() ? first : second).push_back(row);
  for (const std::uint32_t row : first) {
    if (!is_covered(grid, second, box_of(grid, row))) return false;
  }
  for (const std::uint32_t row : second) {
    if (!is_covered(grid, first, box_of(grid, row))) return false;
  }
  return true;
}

std::vector<std::vector<ValueSet>> boxes(const BareTable& table, const Json& list) {
  std::vector<std::vector<ValueSet>> result;
  for (const Json& item : list.items) {
    const Json* box = item.find("box") != nullptr ? item.find("box") : &item;
    auto& sets = result.emplace_back();
    for (const auto& input : table.inputs) {
      const Json* tests = box->find(input.name);
      REQUIRE(tests != nullptr);
      const auto set = set_of_unary_tests(tests->text, *input.domain);
      REQUIRE(set);
      sets.push_back(*set);
    }
  }
  return result;
}

}  // namespace

// Decision tables with published gaps and overlaps, each with its source in the file; run where the file is present.
TEST_CASE("tables: the published analyses agree, region by region") {
  const auto path = std::filesystem::path(KITGAP_SOURCE_DIR) / "../shared/suites/feel/tables-analysis.json";
  if (!std::filesystem::exists(path)) return;
  Sources sources;
  Diagnostics diagnostics;
  const auto source = read_file(path, sources, diagnostics);
  REQUIRE(source);
  const auto json = parse_json(*source, sources, diagnostics);
  const auto read = read_bare_tables(*source, sources, diagnostics);
  REQUIRE(read);
  for (std::size_t at = 0; at < read->size(); ++at) {
    const BareTable& table = (*read)[at];
    CAPTURE(table.id);
    const TableFindings findings = check_table(table);
    std::vector<std::vector<ValueSet>> holes;
    for (const auto& hole : findings.holes) holes.push_back(hole.box);
    CHECK(same_region(table, holes, boxes(table, *json->items[at].find("expected_gaps"))));
    const Json& expected = *json->items[at].find("expected_overlaps");
    REQUIRE(findings.overlaps.size() == expected.items.size());
    for (std::size_t pair = 0; pair < expected.items.size(); ++pair) {
      const Json& rules = *expected.items[pair].find("rules");
      CHECK(std::to_string(findings.overlaps[pair].first) == rules.items[0].text);
      CHECK(std::to_string(findings.overlaps[pair].second) == rules.items[1].text);
      Json one = expected;
      one.items = {expected.items[pair]};
      CHECK(same_region(table, {findings.overlaps[pair].region.box}, boxes(table, one)));
    }
  }
}
