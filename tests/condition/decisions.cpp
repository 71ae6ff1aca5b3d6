#include "condition/decision_table.h"

#include <doctest/doctest.h>

#include <string>

#include "support/evaluated.h"
#include "text/json.h"

using namespace kitgap;

namespace {

Json json_of(const std::string& text) {
  Sources sources;
  Diagnostics diagnostics;
  const auto json = parse_json(sources.add("tables.json", text), sources, diagnostics);
  REQUIRE(json);
  return *json;
}

// As JSON on one line.
std::string written(const FeelValue& value) {
  JsonWriter json(JsonWriter::Layout::OneLine);
  write_feel_value(json, value);
  return test::without_end(json.take());
}

// What a table decides: the value, the rules that gave it, what is wrong.
std::string decided(const std::string& table, const std::string& context) {
  std::string error;
  const auto read = decision_table_of(json_of(table), error);
  if (!read) return error;
  const Json values = json_of(context);
  const Decision decision = decide(*read, scope_of(&values));
  std::string out = written(decision.value);
  for (std::size_t rule = 0; rule < decision.rules.size(); ++rule) out += (rule == 0 ? " by " : ", ") + std::to_string(decision.rules[rule]);
  return decision.error.empty() ? out : out + " ! " + decision.error;
}

// Clips per panel by the number of holes, under each hit policy: three rules that overlap.
std::string clips(const std::string& policy, const std::string& outputs = R"({"name": "clips", "type": "number"})") {
  return R"({"id": "clips", "hit_policy": )" + written(policy) + R"(, "inputs": [{"expr": "holes", "type": "number"}], "outputs": [)" + outputs +
         R"(], "rules": [{"in": [">= 4"], "out": ["9"]}, {"in": [">= 6"], "out": ["11"]}, {"in": [">= 8"], "out": ["7 + 2"]}]})";
}

}  // namespace

// OMG DMN 8.2.8 to 8.2.11: what each hit policy gives.
TEST_CASE("decisions: hit policies") {
  const char* const none = R"({"holes": 1})";
  const char* const one = R"({"holes": 4})";
  const char* const two = R"({"holes": 6})";
  const char* const three = R"({"holes": 8})";
  CHECK(decided(clips("U"), none) == "null");
  CHECK(decided(clips("U"), one) == "9 by 1");
  CHECK(decided(clips("U"), two) == "null by 1, 2 ! more than one rule matches under the hit policy U");
  CHECK(decided(clips(""), two) == decided(clips("U"), two));
  CHECK(decided(clips("A"), one) == "9 by 1");
  CHECK(decided(clips("A"), two) == "null by 1, 2 ! rules that match give different outputs under the hit policy A");
  CHECK(decided(clips("F"), three) == "9 by 1");
  CHECK(decided(clips("R"), none) == "[]");
  CHECK(decided(clips("R"), one) == "[9] by 1");
  CHECK(decided(clips("R"), three) == "[9, 11, 9] by 1, 2, 3");
  CHECK(decided(clips("C"), three) == "[9, 11, 9] by 1, 2, 3");
  CHECK(decided(clips("C+"), three) == "29 by 1, 2, 3");
  CHECK(decided(clips("C<"), three) == "9 by 1, 2, 3");
  CHECK(decided(clips("C>"), three) == "11 by 1, 2, 3");
  CHECK(decided(clips("C#"), three) == "3 by 1, 2, 3");
  CHECK(decided(clips("C#"), none) == "0");
  CHECK(decided(clips("C+"), none) == "null");
  CHECK(decided(clips("C"), none) == "[]");
  CHECK(decided(clips("O"), none) == "[]");
  CHECK(decided(clips("X"), none) == "`X` is no hit policy, expected one of U A P F R O C C+ C< C> C#");
  CHECK(decided(clips(std::string(21, 'X')), none).starts_with("`" + std::string(20, 'X') + "`"));
}

// OMG DMN 8.2.8: the first of the allowed values is the most important; of equals the rule that stands first.
TEST_CASE("decisions: by importance") {
  const std::string ranked = R"({"name": "clips", "type": "number", "allowed": ["11", "9"]})";
  CHECK(decided(clips("P", ranked), R"({"holes": 4})") == "9 by 1");
  CHECK(decided(clips("P", ranked), R"({"holes": 6})") == "11 by 2");
  CHECK(decided(clips("O", ranked), R"({"holes": 8})") == "[11, 9, 9] by 2, 1, 3");
  const std::string reversed = R"({"name": "clips", "type": "number", "allowed": ["9", "11"]})";
  CHECK(decided(clips("P", reversed), R"({"holes": 8})") == "9 by 1");
  CHECK(decided(clips("O", reversed), R"({"holes": 8})") == "[9, 9, 11] by 1, 3, 2");
  const std::string lone = R"({"name": "clips", "type": "number", "allowed": ["11"]})";  // 9 is none of them: the least important
  CHECK(decided(clips("O", lone), R"({"holes": 8})") == "[11, 9, 9] by 2, 1, 3");
}

// Two outputs make a context; the first output's importance comes before the second's.
TEST_CASE("decisions: several outputs") {
  const auto table = [](const std::string& policy, const std::string& defaults = "") {
    return R"({"hit_policy": ")" + policy + R"(", "inputs": [{"expr": "holes"}], "outputs": [{"name": "clip", "allowed": ["\"long\"", "\"short\""]},
      {"name": "count", "allowed": ["2", "3", "5"])" + defaults + R"(}],
      "rules": [{"in": [">= 4"], "out": ["\"short\"", "2"]}, {"in": [">= 4"], "out": ["\"long\"", "5"]}, {"in": [">= 6"], "out": ["\"long\"", "3"]}]})";
  };
  CHECK(decided(table("F"), R"({"holes": 4})") == R"({"clip": "short", "count": 2} by 1)");
  CHECK(decided(table("P"), R"({"holes": 4})") == R"({"clip": "long", "count": 5} by 2)");
  CHECK(decided(table("P"), R"({"holes": 6})") == R"({"clip": "long", "count": 3} by 3)");
  CHECK(decided(table("O"), R"({"holes": 6})") == R"([{"clip": "long", "count": 3}, {"clip": "long", "count": 5}, {"clip": "short", "count": 2}] by 3, 2, 1)");
  CHECK(decided(table("C#"), R"({"holes": 6})") == "3 by 1, 2, 3");
  CHECK(decided(table("C+"), R"({"holes": 6})") == "null ! several outputs cannot be added up or compared");
  CHECK(decided(table("F"), R"({"holes": 1})") == "null");
  CHECK(decided(table("F", R"(, "default": "0")"), R"({"holes": 1})") == R"({"clip": null, "count": 0})");
  CHECK(decided(table("C", R"(, "default": "0")"), R"({"holes": 1})") == R"([{"clip": null, "count": 0}])");
  CHECK(decided(table("C#", R"(, "default": "0")"), R"({"holes": 1})") == R"({"clip": null, "count": 0})");
  CHECK(decided(table("A"), R"({"holes": 4})").find("different outputs") != std::string::npos);
}

TEST_CASE("decisions: inputs and their allowed values") {
  const std::string table = R"x({"inputs": [{"expr": "holes", "allowed": ["[1..10]", "20"]}, {"expr": "side"}], "outputs": [{"name": "clips", "default": "1 + 1"}],
    "rules": [{"in": ["> 5", "\"left\""], "out": ["holes * 2"]}, {"in": ["> 5", "not(\"left\")"], "out": ["holes / 0"]}, {"in": ["null", "-"], "out": ["0"]}]})x";
  CHECK(decided(table, R"({"holes": 6, "side": "left"})") == "12 by 1");
  CHECK(decided(table, R"({"holes": 6, "side": "right"})") == "null by 2");
  CHECK(decided(table, R"({"holes": 20, "side": "left"})") == "40 by 1");
  CHECK(decided(table, R"({"holes": 5, "side": "left"})") == "2");
  CHECK(decided(table, R"({"holes": null, "side": "left"})") == "0 by 3");
  CHECK(decided(table, R"({"holes": 11, "side": "left"})") == "null ! `11` is none of the allowed values of `holes`");
  CHECK(decided(table, R"({"side": "left"})") == "0 by 3");  // what the case does not name is null
}

TEST_CASE("decisions: a cell that cannot be read is named") {
  const auto table = [](const std::string& test, const std::string& output, const std::string& fallback = "0") {
    return R"({"inputs": [{"expr": "holes"}, {"expr": "holes"}], "outputs": [{"name": "clips", "default": )" + written(fallback) +
           R"(}], "rules": [{"in": ["4", "4"], "out": ["1"]}, {"in": ["-", )" + written(test) + R"(], "out": [)" + written(output) + "]}]}";
  };
  CHECK(decided(table("5", "2"), R"({"holes": 5})") == "2 by 2");
  CHECK(decided(table("[5", "2"), R"({"holes": 5})").starts_with("null ! rule 2, input 2: "));
  CHECK(decided(table("5", "2 +"), R"({"holes": 5})").starts_with("null ! rule 2, output 1: "));
  CHECK(decided(table("5", "2", "+"), R"({"holes": 7})").starts_with("null ! default of `clips`: "));
  CHECK(decided(table("5", "2", "+"), R"({"holes": 5})") == "2 by 2");
}

// Everything of a table has its form; one part that has not, refuses the table.
TEST_CASE("decisions: what has not the form of a table") {
  const auto table = [](const std::string& inputs, const std::string& outputs, const std::string& rules) {
    return decided(R"({"inputs": )" + inputs + R"(, "outputs": )" + outputs + R"(, "rules": )" + rules + "}", R"({"holes": 5})");
  };
  const std::string in = R"([{"expr": "holes", "allowed": ["5"]}])", out = R"([{"name": "clips", "allowed": ["1"]}])", rules = R"([{"in": ["5"], "out": ["1"]}])";
  const std::string wrong = "the table has not the form of `inputs`, `outputs` and `rules` with a test for each input and an output for each output";
  CHECK(table(in, out, rules) == "1 by 1");
  CHECK(table("[]", out, R"([{"out": ["1"]}])") == "1 by 1");
  CHECK(table(in, out, "[]") == "null");
  CHECK(table(R"([{"allowed": ["5"]}])", out, rules) == wrong);
  CHECK(table(R"([{"expr": 5}])", out, rules) == wrong);
  CHECK(table(R"([{"expr": "holes", "allowed": "5"}])", out, rules) == wrong);
  CHECK(table(R"([{"expr": "holes", "allowed": [5]}, {"expr": "holes"}])", out, R"([{"in": ["5", "5"], "out": ["1"]}])") == wrong);
  CHECK(table(in, R"([{"name": "clips", "allowed": [1]}])", rules) == wrong);
  CHECK(table(in, R"([{"name": "clips", "allowed": 1}, {"name": "b"}])", R"([{"in": ["5"], "out": ["1", "1"]}])") == wrong);
  CHECK(table(in, "[]", R"([{"in": ["5"]}])") == wrong);
  CHECK(table(in, out, R"([{"in": ["5"], "out": [1]}])") == wrong);
  CHECK(table(in, out, R"([{"in": 5, "out": ["1"]}, {"in": ["5"], "out": ["1"]}])") == wrong);
  CHECK(table(in, out, R"([{"in": [], "out": ["1"]}])") == wrong);
  CHECK(table(in, out, R"([{"in": ["5", "5"], "out": ["1"]}])") == wrong);
  CHECK(table(in, out, R"([{"in": ["5"], "out": []}, {"in": ["5"], "out": ["1"]}])") == wrong);
  CHECK(table(in, out, R"([{"in": ["5"], "out": ["1", "1"]}])") == wrong);
}

TEST_CASE("decisions: a JSON line per case, whatever the case is called") {
  const Json tables = json_of(R"([{"id": "a", "inputs": [{"expr": "holes"}], "outputs": [{"name": "clips"}], "rules": [{"in": ["4"], "out": ["9"]}],
    "cases": [{"case": "four", "context": {"holes": 4}}, {"context": {"holes": 5}}, {"case": 3, "context": {"holes": 4}}]},
    {"id": 7, "outputs": [], "cases": [{"case": "x"}]}, {"id": "no cases"}])");
  CHECK(try_tables(tables) ==
        R"({"id": "a", "case": "four", "value": 9, "rules": [1]}
{"id": "a", "case": null, "value": null, "rules": []}
{"id": "a", "case": 3, "value": 9, "rules": [1]}
{"id": "", "case": "x", "value": null, "rules": [], "error": "the table has not the form of `inputs`, `outputs` and `rules` with a test for each input and an output for each output"}
)");
}

TEST_CASE("values as JSON: what JSON cannot say is said as a context of one entry") {
  for (const char* const typed : {R"({"date": "1968-03-01"})", R"({"time": "10:30:00"})", R"({"date and time": "1968-03-01T10:30:00"})",
                                  R"({"duration": "P1Y2M"})", R"({"duration": "P1DT2H"})", R"x({"range": "[1..5)"})x"}) {
    const FeelValue value = feel_value_of(json_of(typed));
    CHECK(value.context() == nullptr);
    CHECK(written(value) == typed);
  }
  for (const char* const plain : {R"({"date": "1968-02-30"})", R"({"time": "25:00:00"})", R"({"date and time": "1968"})", R"({"duration": "P"})",
                                  R"({"range": "5"})", R"({"range": "["})", R"({"day": "1968-03-01"})", R"({"date": 1968})", R"({"date": "1968-03-01", "b": 1})"}) {
    const FeelValue value = feel_value_of(json_of(plain));
    CHECK(value.context() != nullptr);
    CHECK(written(value) == plain);
  }
}
