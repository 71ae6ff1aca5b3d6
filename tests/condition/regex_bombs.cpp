#include <doctest/doctest.h>

#include <ctime>

#include "condition/eval_json.h"
#include "text/json.h"

using namespace kitgap;

namespace {

// Patterns that a backtracking matcher never ends on, or whose automaton is large (RE2 keeps its own bound on memory).
std::vector<std::string> bombs() {
  std::vector<std::string> patterns;
  for (const char* unit : {"a", "ab", "[a-z]", "(a|b)", "(a|aa)", "\\w", ".", "(a?b?)", "(x+x+)", "[^b]"}) {
    const std::string of = unit;
    for (const std::string& pattern :
         {"(" + of + "+)+$", "(" + of + "*)*b", "(" + of + "|" + of + of + ")+c", "^(" + of + "+)+d$", "(" + of + "{1,50}){1,19}e", "((" + of + "+)?)+f",
          "(" + of + "*" + of + "*" + of + "*)+g", "(.*" + of + "){12}h", "^((" + of + ")*)*i", "(" + of + "{0,30}){0,30}j", of + "{1,1000}k", "(" + of + "+)+(" + of + "+)+l",
          "^(" + of + of + ")*m", "(" + of + "?){40}" + of + "{40}", "[\\s\\S]*" + of + "[\\s\\S]*n", "(?i)(" + of + "+)+o", "(" + of + "+?)+?p", "\\b(" + of + "+\\b)+q",
          "(" + of + "|b|c|d|e|f|g)*r", "(((((" + of + "*)*)*)*)*)*s"}) {
      patterns.push_back(pattern);
    }
  }
  return patterns;
}

}  // namespace

// RELIABILITY of a pattern from a table: linear time, by RE2's own promise; a pattern past its budget is refused.
TEST_CASE("matches: 200 patterns that blow up elsewhere are answered or refused, on texts of a million letters") {
  const std::vector<std::string> patterns = bombs();
  REQUIRE(patterns.size() == 200);
  Json context;
  context.kind = Json::Kind::Object;
  context.members.push_back({"t", Json{}});
  context.members[0].second.kind = Json::Kind::String;
  double slowest = 0;
  std::string which;
  std::size_t answered = 0;
  for (std::size_t trial = 0; trial < 2 * patterns.size(); ++trial) {
    // The texts that people have are short: those are answered.
    const std::string& pattern = patterns[trial / 2];
    context.members[0].second.text = std::string(trial % 2 == 0 ? 1'000'000 : 10'000, 'a') + "!";
    JsonWriter quoted(JsonWriter::Layout::OneLine);
    quoted.string(pattern);
    std::string literal = quoted.take();
    while (!literal.empty() && literal.back() == '\n') literal.pop_back();
    std::string error;
    bool can_be_read = true;
    const std::clock_t start = std::clock();
    const std::string value = eval_json("matches(t, " + literal + ")", &context, error, can_be_read);
    const double seconds = static_cast<double>(std::clock() - start) / CLOCKS_PER_SEC;
    if (seconds > slowest) {
      slowest = seconds;
      which = pattern;
    }
    const bool is_answered = value.starts_with("true") || value.starts_with("false");
    if (is_answered) ++answered;
    REQUIRE_MESSAGE((is_answered || value.starts_with("null")), pattern, " gave ", value.substr(0, 80));
  }
  CHECK(answered > patterns.size() / 2);
  MESSAGE("answered ", answered, " of ", 2 * patterns.size(), ", slowest: ", slowest * 1000, " ms, ", which);
}
