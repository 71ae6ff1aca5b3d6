#include "condition/condition.h"

#include <doctest/doctest.h>

#include "condition/typed_instead.h"

using namespace kitgap;

namespace {

std::vector<Fact> facts() {
  return {
      {"model year", {FactType::Number, true, {}, Fraction(1966), Fraction(1974)}},
      {"body style", {FactType::Text, true, {std::string("saloon"), std::string("estate"), std::string("drop-head coupe")}, {}, {}}},
      {"chassis serial", {FactType::Number, true, {}, {}, {}}},
      {"heated screen", {FactType::Boolean, true, {}, {}, {}}},
      {"built on", {FactType::Date, true, {}, {}, {}}},
      {"first year", {FactType::Number, true, {}, Fraction(1966), Fraction(1974)}},
      {"trim code", {FactType::Text, true, {}, {}, {}}},
      {"not for export", {FactType::Boolean, true, {}, {}, {}}},
  };
}

enum : std::uint32_t { kYear, kBody, kSerial, kHeated, kBuilt, kFirst, kTrim };

struct Given {
  Sources sources;
  Diagnostics diagnostics;
  Span span;
  explicit Given(const std::string& cell) {
    const SourceId source = sources.add("needs.csv", "part,test\nclip," + cell + "\n");
    span = {source, 2, 6, static_cast<std::uint32_t>(cell.size()), "B2"};
  }
};

// The cell as tests and residues; or the first line of what is wrong.
std::string read(const std::string& cell, std::uint32_t fact) {
  const auto all = facts();
  Given given(cell);
  Condition condition;
  if (!add_cell(condition, FactId{fact}, cell, given.span, all, given.diagnostics)) {
    const std::string text = layout(given.diagnostics, given.sources);
    return text.substr(0, text.find('\n'));
  }
  std::string result;
  for (const auto& test : condition.tests) result += all[test.fact.index].name + ": " + test.values.to_unary_test() + "; ";
  if (!condition.residues.empty()) result += std::to_string(condition.residues.size()) + " residue";
  return result;
}

std::string read_when(const std::string& cell) {
  const auto all = facts();
  Given given(cell);
  Condition condition;
  if (!add_when(condition, cell, given.span, all, given.diagnostics)) {
    const std::string text = layout(given.diagnostics, given.sources);
    return text.substr(0, text.find('\n'));
  }
  std::string result;
  for (const auto& test : condition.tests) result += all[test.fact.index].name + ": " + test.values.to_unary_test() + "; ";
  if (!condition.residues.empty()) result += std::to_string(condition.residues.size()) + " residue";
  return result;
}

}  // namespace

// Unary tests: OMG DMN 9.2, grammar rules 7 to 17; that a bare word is a value: DESIGN section 2.
TEST_CASE("cell: a test on one fact becomes exactly its values") {
  struct Case {
    std::uint32_t fact;
    const char* cell;
    std::string expected;
  };
  const Case cases[] = {
      {kYear, "1968", "model year: 1968; "},
      {kYear, "[1968..1971]", "model year: [1968..1971]; "},
      {kYear, "(1968..1971]", "model year: [1969..1971]; "},
      {kYear, "]1968..1971[", "model year: [1969..1970]; "},
      {kYear, ">= 1970", "model year: [1970..1974]; "},
      {kYear, "< 1968, > 1972", "model year: [1966..1967], [1973..1974]; "},
      {kYear, "not(1968, 1970)", "model year: [1966..1967], 1969, [1971..1974]; "},
      {kYear, "-", ""},
      {kYear, "", ""},
      {kYear, "? > 1968 and ? < 1971", "model year: [1969..1970]; "},
      {kYear, "1967 + 1", "model year: 1968; "},
      {kYear, "[1966..1974]", "model year: -; "},
      {kYear, "modulo(?, 2) = 0", "model year: 1966, 1968, 1970, 1972, 1974; "},
      {kBody, "estate", "body style: \"estate\"; "},
      {kBody, "\"estate\", saloon", "body style: \"saloon\", \"estate\"; "},
      {kBody, "drop-head coupe", "body style: \"drop-head coupe\"; "},
      {kBody, "not(drop-head coupe)", "body style: \"saloon\", \"estate\"; "},
      {kBody, "starts with(?, \"s\")", "body style: \"saloon\"; "},
      {kSerial, ">= 30500", "chassis serial: >= 30500; "},
      {kSerial, "[30500..31000)", "chassis serial: [30500..30999]; "},
      {kSerial, "? / 2 > 100", "chassis serial: >= 201; "},
      {kHeated, "true", "heated screen: true; "},
      {kHeated, "not(true)", "heated screen: false; "},
      {kBuilt, ">= 1970-03-01", "built on: >= 1970-03-01; "},
      {kBuilt, "[1970-03-01..1970-04-01)", "built on: [1970-03-01..1970-03-31]; "},
      {kBuilt, "date(\"1970-03-01\")", "built on: 1970-03-01; "},
      {kTrim, "not(\"KX\")", "trim code: not(\"KX\"); "},
      {kTrim, "KX", "trim code: \"KX\"; "},
      {kYear, ">= first year", "1 residue"},
  };
  for (const Case& one : cases) {
    CAPTURE(std::string(one.cell));
    CHECK(read(one.cell, one.fact) == one.expected);
  }
}

TEST_CASE("when: conjunctions become tests, what relates two facts a residue") {
  CHECK(read_when("model year >= 1970 and body style = \"estate\"") == "model year: [1970..1974]; body style: \"estate\"; ");
  CHECK(read_when("model year < 1968 or model year > 1972") == "model year: [1966..1967], [1973..1974]; ");
  CHECK(read_when("not(heated screen)") == "heated screen: false; ");
  CHECK(read_when("heated screen and model year between 1968 and 1970") == "model year: [1968..1970]; heated screen: true; ");
  CHECK(read_when("model year > first year") == "1 residue");
  CHECK(read_when("not for export") == "not for export: true; ");
  CHECK(read_when("not(not for export)") == "not for export: false; ");
  CHECK(read_when("heated screen and not for export") == "heated screen: true; not for export: true; ");
  CHECK(read_when("body style in (\"saloon\", \"estate\")") == "body style: \"saloon\", \"estate\"; ");
  CHECK(read_when("model year - 1960 >= 10") == "model year: [1970..1974]; ");
  CHECK(read_when("model year > first year and body style = \"estate\"") == "body style: \"estate\"; 1 residue");
}

TEST_CASE("cell: an error points at the wrong characters and says what is near") {
  CHECK(read("estat", kBody) == "needs.csv:2:6: error: `estat` is no value of the fact `body style` [unknown-value]");
  CHECK(read("saloon, \"estat\"", kBody).starts_with("needs.csv:2:14: error: `estat` is no value"));
  CHECK(read("not(\"estat\")", kBody).find("`estat` is no value of the fact `body style`") != std::string::npos);
  CHECK(read(">= first yaer", kYear).starts_with("needs.csv:2:9: error: `first yaer` is no fact [unknown-name]"));
  CHECK(read("[1968..1971", kYear).starts_with("needs.csv:2:17: error: found the end in a range [invalid-expression]"));
  CHECK(read("\"1968\"", kYear).find("is a string, but `model year` is a number") != std::string::npos);
  CHECK(read_when("body style = \"van\"").find("`van` is no value of the fact `body style`") != std::string::npos);
  CHECK(read_when("body style = estate").find("`estate` is no fact") != std::string::npos);
  CHECK(read(std::string(500, '(') + "1", kYear).find("[too-deep]") != std::string::npos);
}

// What is typed instead is tested in typed_instead.cpp; here, that the cell says so and takes what it says to write.
TEST_CASE("cell: what people type instead says what to write") {
  const auto all = facts();
  struct Case {
    std::uint32_t fact;
    const char* cell;
  };
  const Case cases[] = {{kYear, "1968-1971"}, {kYear, "1968 on"}, {kYear, "'68-'71"}, {kSerial, "03-May"}, {kBuilt, "late 1968"}, {kBuilt, "31/03/1968"}};
  for (const Case& one : cases) {
    CAPTURE(std::string(one.cell));
    const std::string said = read(one.cell, one.fact);
    CHECK(said.find("[write-as-range]") != std::string::npos);
    const auto write = rewritten_cell(one.cell, all[one.fact]);
    REQUIRE(write);
    CHECK(read(*write, one.fact).find("error") == std::string::npos);
  }
  for (const char* right : {"1968", "[1968..1971]", ">= 1968", "-", "not(1968)", "1968, 1970", "< 1970"}) {
    CAPTURE(std::string(right));
    CHECK(!rewritten_cell(right, all[kYear]).has_value());
  }
  CHECK(!rewritten_cell("1968-03-01", all[kBuilt]).has_value());
  CHECK(!rewritten_cell("1968-1971", all[kTrim]).has_value());
}
