#include "text/diagnostics.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <optional>
#include <random>

#include "text/codes.h"
#include "text/utf8.h"

using namespace kitgap;

namespace {

Diagnostic at(SourceId source, std::uint32_t line, std::uint32_t column, std::uint32_t length,
              std::string says) {
  return {Severity::Error, code::kUnknownValue, Span{source, line, column, length}, std::move(says)};
}

std::string laid_out(std::string bytes, const Diagnostic& diagnostic) {
  Sources sources;
  sources.add("list.csv", std::move(bytes));
  Diagnostics diagnostics;
  diagnostics.add(diagnostic);
  return layout(diagnostics, sources);
}

}  // namespace

TEST_CASE("layout: source line, carets, cell, what was expected and the nearest spelling") {
  Sources sources;
  const SourceId source = sources.add("rules/demo/needs.csv", "at,part\nfront.left,panel-clip,estat,9\n");
  Diagnostics diagnostics;
  diagnostics.add({Severity::Error, code::kUnknownValue, Span{source, 2, 23, 5, "C2"},
                   "`estat` is no value of the fact `body style`",
                   "`saloon`, `estate` or `drophead`, or a test such as `not(\"saloon\")`", "estate"});
  CHECK(layout(diagnostics, sources) ==
        "rules/demo/needs.csv:2:23: error: `estat` is no value of the fact `body style` [unknown-value]\n"
        " 2 | front.left,panel-clip,estat,9\n"
        "   |                       ^^^^^\n"
        "   cell C2: expected `saloon`, `estate` or `drophead`, or a test such as `not(\"saloon\")`\n"
        "   did you mean `estate`?\n");
}

TEST_CASE("layout: further places stand before what was expected, help comes last") {
  Sources sources;
  const SourceId source = sources.add("years.csv", "clip,[1968..1971],9\nclip,[1970..1974],11\n");
  Diagnostics diagnostics;
  diagnostics.add({Severity::Error,
                   code::kUnknownValue,
                   Span{source, 2, 6, 12},
                   "two rows give `clip` different quantities, 11 and 9",
                   "one quantity for a car",
                   "",
                   {{Span{source, 1, 6, 12}, "the other row, `[1968..1971]`"}},
                   {"narrow one to `[1972..1974]`"}});
  CHECK(layout(diagnostics, sources) ==
        "years.csv:2:6: error: two rows give `clip` different quantities, 11 and 9 [unknown-value]\n"
        " 2 | clip,[1970..1974],11\n"
        "   |      ^^^^^^^^^^^^\n"
        "   years.csv:1:6: the other row, `[1968..1971]`\n"
        "   expected one quantity for a car\n"
        "   narrow one to `[1972..1974]`\n");
}

TEST_CASE("layout: sorted by file, line and column; the same message at one place stands once") {
  Sources sources;
  const SourceId first = sources.add("a", "xyz\n");
  const SourceId second = sources.add("b", "xyz\n");
  Diagnostics diagnostics;
  for (const auto& diagnostic : {at(second, 1, 1, 1, "third"), at(first, 1, 3, 1, "second"),
                                 at(first, 1, 1, 1, "first"), at(first, 1, 3, 1, "second")}) {
    diagnostics.add(diagnostic);
  }
  CHECK(layout(diagnostics, sources) ==
        "a:1:1: error: first [unknown-value]\n 1 | xyz\n   | ^\n\n"
        "a:1:3: error: second [unknown-value]\n 1 | xyz\n   |   ^\n\n"
        "b:1:1: error: third [unknown-value]\n 1 | xyz\n   | ^\n");
}

TEST_CASE("layout: a message about a whole file has no line") {
  Diagnostic diagnostic{Severity::Warning, code::kEmptyFile, Span{}, "the file is empty"};
  CHECK(laid_out("", diagnostic) == "list.csv: warning: the file is empty [empty-file]\n");
}

TEST_CASE("layout: control bytes become visible and carets stay under the text") {
  CHECK(laid_out("a\x1b[2Jb\xe4,\xe5\xba\xa7wrong\n", at({}, 1, 10, 5, "`\x1b` is wrong")) ==
        "list.csv:1:10: error: `\\x1b` is wrong [unknown-value]\n"
        " 1 | a\\x1b[2Jb\\xe4,\xe5\xba\xa7wrong\n"
        "   |                 ^^^^^\n");
}

TEST_CASE("layout: a long line is shown round the caret") {
  const std::string line = std::string(300, 'a') + "WRONG" + std::string(300, 'b');
  const std::string text = laid_out(line + "\n", at({}, 1, 301, 5, "wrong"));
  CHECK(text == "list.csv:1:301: error: wrong [unknown-value]\n 1 | ..." + std::string(50, 'a') + "WRONG" +
                    std::string(45, 'b') + "...\n   |    " + std::string(50, ' ') + "^^^^^\n");
}

TEST_CASE("layout: a caret past the end of the line shows what is missing") {
  CHECK(laid_out("ab\n", at({}, 1, 3, 1, "short")) ==
        "list.csv:1:3: error: short [unknown-value]\n 1 | ab\n   |   ^\n");
}

TEST_CASE("diagnostics: past 10,000 they are counted, not kept") {
  Diagnostics diagnostics;
  for (std::uint32_t line = 1; line <= 10'003; ++line) diagnostics.add(at({}, line, 1, 1, "bad"));
  CHECK(diagnostics.sorted().size() == 10'000);
  CHECK(diagnostics.left_out() == 3);
  CHECK(diagnostics.error_count() == 10'003);
}

TEST_CASE("diagnostics as JSON carry every field") {
  Sources sources;
  const SourceId source = sources.add("a<b.csv", "x\n");
  Diagnostics diagnostics;
  diagnostics.add(
      {Severity::Note, code::kUnknownValue, Span{source, 1, 1, 1, "A1"}, "says", "want", "nearest"});
  CHECK(diagnostics_json(diagnostics, sources) ==
        "[\n  {\n    \"severity\": \"note\",\n    \"code\": \"unknown-value\",\n    \"file\": "
        "\"a\\u003cb.csv\",\n"
        "    \"line\": 1,\n    \"column\": 1,\n    \"length\": 1,\n    \"cell\": \"A1\",\n    \"says\": "
        "\"says\",\n"
        "    \"expected\": \"want\",\n    \"suggestion\": \"nearest\"\n  }\n]\n");
}

TEST_CASE("nearest: within a third of the word, never more than three letters off") {
  struct Case {
    std::string_view typed;
    std::vector<std::string> candidates;
    std::string_view nearest;
  };
  const std::vector<Case> cases = {
      {"estat", {"saloon", "estate"}, "estate"},
      {"esatte", {"estate"}, "estate"},            // neighbours swapped count one
      {"QUANTITY", {"quantity"}, "quantity"},      // letter case counts nothing
      {"ab", {"ac"}, ""},                          // a third of two letters is none
      {"abc", {"abd", "abb"}, "abb"},              // a tie: the first in byte order
      {"abcdefghijklmnop", {"abcdefghijkl"}, ""},  // four off, though within a third
      {"abcdefghijklmnop", {"abcdefghijklm"}, "abcdefghijklm"},
      {"", {"a"}, ""},
  };
  for (const Case& row : cases) {
    CAPTURE(row.typed);
    CHECK(nearest(row.typed, row.candidates) == row.nearest);
  }
}

namespace {

// Optimal string alignment as it is defined, every cell of the table filled in.
std::size_t letters_off(const std::string& a, const std::string& b) {
  std::vector<std::vector<std::size_t>> off(a.size() + 1, std::vector<std::size_t>(b.size() + 1));
  for (std::size_t i = 0; i <= a.size(); ++i) {
    for (std::size_t j = 0; j <= b.size(); ++j) {
      if (i == 0 || j == 0) {
        off[i][j] = i + j;
        continue;
      }
      off[i][j] = std::min({off[i - 1][j] + 1, off[i][j - 1] + 1, off[i - 1][j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1)});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) off[i][j] = std::min(off[i][j], off[i - 2][j - 2] + 1);
    }
  }
  return off[a.size()][b.size()];
}

}  // namespace

// What is left out before the table is worked out must not have been the nearest.
TEST_CASE("nearest: as by the whole table, on random words") {
  for (std::uint64_t seed = 1; seed <= 2'000; ++seed) {
    CAPTURE(seed);
    std::mt19937_64 random(seed);
    const auto word = [&] {
      std::string letters;
      for (std::size_t length = 2 + random() % 12; length > 0; --length) letters += "abcde-7"[random() % 7];
      return letters;
    };
    const std::string typed = word();
    std::vector<std::string> candidates;
    for (int count = 0; count < 12; ++count) {
      std::string candidate = random() % 3 == 0 ? word() : typed;
      for (std::size_t changes = random() % 5; changes > 0 && !candidate.empty(); --changes) {
        const std::size_t at = random() % candidate.size();
        if (random() % 3 == 0) candidate.erase(at, 1);
        else if (random() % 2 == 0) candidate.insert(at, 1, "abcdef"[random() % 6]);
        else std::swap(candidate[at], candidate[random() % candidate.size()]);
      }
      candidates.push_back(candidate);
    }
    const std::size_t limit = std::min<std::size_t>(3, typed.size() / 3);
    std::optional<std::pair<std::size_t, std::string>> best;
    for (const std::string& candidate : candidates) {
      const std::pair found(letters_off(typed, candidate), candidate);
      if (found.first <= limit && (!best || found < *best)) best = found;
    }
    CHECK(nearest(typed, candidates) == (best ? best->second : ""));
  }
}

TEST_CASE("in ticks: a long text is cut between characters") {
  const std::string a60(60, 'a');
  CHECK(in_ticks_cut(a60) == "`" + a60 + "`");
  CHECK(in_ticks_cut(a60 + "b") == "`" + a60 + "...`");
  const std::string a59(59, 'a');
  CHECK(in_ticks_cut(a59 + "\xc3\xa9") == "`" + a59 + "...`");
  CHECK(in_ticks_cut("a" + a59.substr(2) + "\xc3\xa9z") == "`a" + a59.substr(2) + "\xc3\xa9...`");
  CHECK(in_ticks_cut(a59 + "\xf0\x9f\x94\xa7") == "`" + a59 + "...`");
  CHECK(in_ticks(a60 + "b") == "`" + a60 + "b`");
}
