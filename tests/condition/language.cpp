#include <doctest/doctest.h>

#include "condition/decision_table.h"
#include "support/evaluated.h"

using namespace kitgap;

// Cases of our own; `clause` is that of the OMG DMN standard that decides (its numbers as remembered from version 1.3).
TEST_CASE("language: each clause says what it says") {
  struct Case {
    const char* clause;
    std::string expression;
    std::string expected;
  };
  const Case cases[] = {
      {"9.2 rule 4, 10.3.2.3.1", "0.1 + 0.2 = 0.3", "true"},
      {"10.3.2.3.1", "9007199254740992 + 1", "9007199254740993"},
      {"10.3.2.3.1", "40000000000000000001 - 40000000000000000000", "1"},
      {"10.3.1.2 rule 13: unary minus binds tighter", "-2 ** 2", "4"},
      {"10.3.1.2 rule 11: left to right", "2 ** 3 ** 2", "64"},
      {"10.3.2.11 table 53", "null = null", "true"},
      {"10.3.2.11 table 53", "4 = null", "false"},
      {"10.3.2.11 table 53: other kinds", "4 = \"4\"", "null"},
      {"10.3.2.10 table 50", "false and null", "false"},
      {"10.3.2.10 table 50", "true and null", "null"},
      {"10.3.2.10 table 50", "null or true", "true"},
      {"10.3.2.10: no boolean counts as null", "false and 7", "false"},
      {"10.3.2.12 table 56: no addition of other kinds", "\"a\" + 1", "null"},
      {"10.3.2.12: division by zero", "1 / 0", "null"},
      {"10.3.2.13.3", "3 between 1 and 3", "true"},
      {"10.3.2.13.4", "3 in (1, [3..5))", "true"},
      {"10.3.2.13.4", "5 in (1, [3..5))", "false"},
      {"10.3.2.7: a null end", "4 in [1..null]", "null"},
      {"10.3.2.5: by place", "[7, 8, 9][-1]", "9"},
      {"10.3.2.5: by condition", "[7, 8, 9][item > 7]", "[8, 9]"},
      {"10.3.2.5: keys of the item", "[{w: 2}, {w: 5}][w > 3]", "[{\"w\": 5}]"},
      {"10.3.2.6: a path over a list", "[{w: 2}, {w: 5}].w", "[2, 5]"},
      {"10.3.2.6: earlier keys are in sight", "{a: 2, b: a * 3}.b", "6"},
      {"10.3.1.5: the longest name", "{full moon: 2, full: 9, r: full moon + full}.r", "11"},
      {"10.3.2.14: for", "for x in 1..3, y in [10, 20] return x + y", "[11, 21, 12, 22, 13, 23]"},
      {"10.3.2.14: for, down", "for x in 3..1 return x", "[3, 2, 1]"},
      {"10.3.2.14: partial", "for x in 1..4 return if x = 1 then 1 else partial[-1] * x", "[1, 2, 6, 24]"},
      {"10.3.2.14", "some x in [1, 4] satisfies x > 3", "true"},
      {"10.3.2.14", "every x in [1, 4] satisfies x > 3", "false"},
      {"10.3.2.14: if, null is not true", "if null then 1 else 2", "2"},
      {"10.3.2.15", "(function(a, b) a - b)(b: 2, a: 9)", "7"},
      {"10.3.2.9", "[1, 2] instance of list<number>", "true"},
      {"10.3.2.9", "null instance of Any", "false"},
      {"10.3.4.3", "substring(\"carpet\", -3, 2)", "\"pe\""},
      {"10.3.4.3: characters, not bytes", "string length(\"\\U01F697\")", "1"},
      {"10.3.4.3", "replace(\"clip 12\", \"([0-9]+)\", \"<$1>\")", "\"clip \\u003c12\\u003e\""},
      {"10.3.4.3", "matches(\"Seal\", \"^s.*L$\", \"i\")", "true"},
      {"10.3.4.3, XML Schema F.1: subtraction", "matches(\"e\", \"[a-z-[aeiou]]\")", "false"},
      {"10.3.4.4", "sum([0.1, 0.2])", "0.3"},
      {"10.3.4.4", "insert before([1, 3], 2, 2)", "[1, 2, 3]"},
      {"10.3.4.4", "union([1, 2], [2, 3])", "[1, 2, 3]"},
      {"10.3.4.4", "sort([3, 1, 2], function(x, y) x > y)", "[3, 2, 1]"},
      {"10.3.4.5: half to even", "decimal(2.5, 0)", "2"},
      {"10.3.4.5", "modulo(-7, 3)", "2"},
      {"10.3.4.5", "round half up(-2.5, 0)", "-3"},
      {"10.3.4.1", "number(\"1 234,5\", \" \", \",\")", "1234.5"},
      {"10.3.4.8", "get value({a: {b: 3}}, \"a\").b", "3"},
      {"10.3.4.9 table 78", "met by([5..9], [1..5])", "true"},
      {"10.3.4.9 table 78", "overlaps before([1..4], (4..9])", "false"},
      {"10.3.2.3.6: the day is cut down", "string(@\"1970-01-31\" + @\"P1M\")", "\"1970-02-28\""},
      {"10.3.2.3.5", "@\"10:00:00+01:00\" = @\"09:00:00Z\"", "true"},
      {"10.3.2.3.8", "string(@\"1970-03-01\" - @\"1970-02-01\")", "\"P28D\""},
      {"10.3.4.6", "day of week(@\"1970-03-01\")", "\"Sunday\""},
      {"10.3.4.6, ISO 8601", "week of year(@\"1970-12-31\")", "53"},
      {"10.3.4.5", "sqrt(0)", "0"},
      {"10.3.4.5", "sqrt(-1)", "null"},
      {"10.3.1.3: two halves are one character", "string length(\"\\uD83D\\uDE00\")", "1"},
      {"10.3.1.3", "\"\\uDC00\"", "unreadable"},
      {"10.3.2.9", "{a: 1} instance of context<a: number, b: string>", "false"},
      {"10.3.2.9", "{a: 1, b: \"x\"} instance of context<a: number, b: string>", "true"},
      {"10.3.4.5: half to even", "[decimal(2.5, 0), decimal(3.5, 0), decimal(12345, -2)]", "[2, 4, 12300]"},
      {"10.3.4.5", "[round half up(2.5, 0), round half down(2.5, 0), round up(1.121, 2)]", "[3, 2, 1.13]"},
      {"10.3.1.2", "1 +", "unreadable"},
      {"10.3.1.2", "(1", "unreadable"},
      {"10.3.1.2 rule 64", "\"no end", "unreadable"},
  };
  for (const Case& one : cases) {
    CAPTURE(std::string(one.clause));
    CAPTURE(one.expression);
    CHECK(test::evaluated(one.expression) == one.expected);
  }
}

TEST_CASE("language: hostile expressions end in an error, soon") {
  const auto many = [](const std::string& text, int times) {
    std::string result;
    for (int time = 0; time < times; ++time) result += text;
    return result;
  };
  CHECK(test::evaluated(many("(", 100'000) + "1") == "unreadable");
  CHECK(test::evaluated(many("[", 100'000)) == "unreadable");
  CHECK(test::evaluated(many("-", 100'000) + "1") == "unreadable");
  CHECK(test::evaluated(many("if true then ", 5'000) + "1") == "unreadable");
  CHECK(test::evaluated("1" + many(" + 1", 20'000)) == "20001");
  CHECK(test::evaluated("count(for a in 1..1000000, b in 1..1000000 return a)") == "null");
  CHECK(test::evaluated("for a in 1..99999999999 return a") == "null");
  CHECK(test::evaluated("for i in 1..5000 return partial") == "null");
  CHECK(test::evaluated("{f: function(s) s + s, a: f(f(f(f(f(f(f(f(f(f(f(f(\"" + many("x", 100'000) + "\"))))))))))))}.a") == "null");
  CHECK(test::evaluated("matches(\"" + many("a", 5'000) + "b\", \"(a+)+\\1$\")") == "null");
  CHECK(test::evaluated("9999999999 ** 9999999999") == "null");
}

// OMG DMN 8.2.8 (hit policies) and 8.2.10 (default output).
TEST_CASE("decision table: every hit policy") {
  const auto decided = [](const std::string& policy, const char* input, const char* default_value = "") {
    DecisionTable table;
    std::string error;
    Sources sources;
    Diagnostics diagnostics;
    const auto json = parse_json(sources.add("t", R"({"hit_policy": ")" + policy + R"(", "inputs": [{"expr": "n"}],
      "outputs": [{"name": "o", "allowed": ["3", "9", "4"], "default": )" + (*default_value == '\0' ? "null" : "\"" + std::string(default_value) + "\"") +
      R"(}], "rules": [{"in": ["> 5"], "out": ["4"]}, {"in": ["> 3"], "out": ["9"]}, {"in": ["[8..9]"], "out": ["3"]}]})"), sources, diagnostics);
    REQUIRE(json.has_value());
    table = *decision_table_of(*json, error);
    EvaluationScope scope;
    scope.names = {"n"};
    scope.values = {*Decimal::parse(input)};
    const Decision decision = decide(table, scope);
    std::string rules;
    for (const std::size_t rule : decision.rules) rules += " " + std::to_string(rule);
    return text_of(decision.value) + " by" + rules + (decision.error.empty() ? "" : " with an error");
  };
  CHECK(decided("U", "4") == "9 by 2");
  CHECK(decided("U", "6") == "null by 1 2 with an error");
  CHECK(decided("A", "6") == "null by 1 2 with an error");
  CHECK(decided("A", "4") == "9 by 2");
  CHECK(decided("P", "8") == "3 by 3");
  CHECK(decided("F", "8") == "4 by 1");
  CHECK(decided("R", "8") == "[4, 9, 3] by 1 2 3");
  CHECK(decided("O", "8") == "[3, 9, 4] by 3 2 1");
  CHECK(decided("C", "6") == "[4, 9] by 1 2");
  CHECK(decided("C+", "8") == "16 by 1 2 3");
  CHECK(decided("C<", "8") == "3 by 1 2 3");
  CHECK(decided("C>", "8") == "9 by 1 2 3");
  CHECK(decided("C#", "8") == "3 by 1 2 3");
  CHECK(decided("U", "1") == "null by");
  CHECK(decided("U", "1", "4") == "4 by");
  CHECK(decided("C", "1") == "[] by");
  CHECK(decided("C#", "1") == "0 by");
}
