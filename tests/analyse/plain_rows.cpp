#include "analyse/plain_rows.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <map>
#include <random>
#include <string>
#include <vector>

#include "match/sweep_cells.h"
#include "support/folder.h"

using namespace kitgap;

namespace {

const std::vector<std::string> kWords = {"estate", "saloon", "van"};

// A row over whole years or halves and words, as it stands in the file and as a plain question.
struct Row {
  int lo, hi;  // in halves
  std::vector<std::string> words;
  bool negated;
  bool holds(int year, const std::string& body) const {
    const bool named = words.empty() || (std::ranges::find(words, body) != words.end()) != negated;
    return named && lo <= year && year <= hi;
  }
};

std::string halves(int value) { return std::to_string(value / 2) + (value % 2 == 0 ? "" : ".5"); }

// Whether a box of the findings holds the point: its tests are read by the reader of cells.
bool is_in(const PlainRowsFindings::Tests& box, int year, const std::string& body) {
  return std::ranges::all_of(box, [&](const auto& test) {
    const auto tests = parse_sweep_cell(test.second, test.first == "year" ? SweepType::Number : SweepType::Text);
    REQUIRE(tests);
    if (tests->is_any) return true;
    if (test.first == "body") return std::ranges::find(tests->words, body) != tests->words.end();
    const Fraction value = Fraction(year) / 4;
    return std::ranges::any_of(tests->intervals, [&](const SweepTests::Interval& interval) {
      const bool above = !interval.lo || *interval.lo < value || (interval.lo_closed && *interval.lo == value);
      const bool below = !interval.hi || value < *interval.hi || (interval.hi_closed && value == *interval.hi);
      return above && below;
    });
  });
}

}  // namespace

TEST_CASE("plain rows: pairs and holes equal trying every value, on random tables") {
  const test::Folder folder;
  for (unsigned seed = 1; seed <= 400; ++seed) {
    CAPTURE(seed);
    std::mt19937 random(seed);
    const auto below = [&](int end) { return static_cast<int>(random() % static_cast<unsigned>(end)); };
    const bool has_halves = seed % 2 == 0;
    std::vector<Row> rows(static_cast<std::size_t>(2 + below(8)));
    std::string text = "year,body,item,count\n";
    for (Row& row : rows) {
      row.lo = has_halves ? below(12) : 2 * below(6);
      row.hi = row.lo + (has_halves ? below(8) : 2 * below(4));
      for (const std::string& word : kWords) {
        if (below(2) == 0) row.words.push_back(word);
      }
      row.negated = !row.words.empty() && below(4) == 0;
      std::string cell;
      for (const std::string& word : row.words) cell += (cell.empty() ? "" : ", ") + word;
      text += "[" + halves(row.lo) + ".." + halves(row.hi) + "],\"" + (row.negated ? "not(" + cell + ")" : cell) + "\",clip,1\n";
    }
    Sources sources;
    Diagnostics diagnostics;
    const auto findings = check_plain_rows(folder.write("rows.csv", text), {}, sources, diagnostics);
    REQUIRE(findings);
    std::vector<std::string> bodies = kWords;
    bodies.emplace_back("another");
    // A table of whole numbers is about whole numbers; else every quarter stands for what lies between.
    const bool is_whole = std::ranges::all_of(rows, [](const Row& row) { return row.lo % 2 == 0 && row.hi % 2 == 0; });
    const int step = is_whole ? 4 : 1;
    std::uint64_t pairs = 0;
    for (std::size_t a = 0; a < rows.size(); ++a) {
      for (std::size_t b = a + 1; b < rows.size(); ++b) {
        bool meets = false;
        for (const std::string& body : bodies) {
          for (int half = 0; half <= 24; ++half) meets |= (!is_whole || half % 2 == 0) && rows[a].holds(half, body) && rows[b].holds(half, body);
        }
        pairs += meets;
      }
    }
    CHECK(findings->overlaps == pairs);
    for (int quarter = 0; quarter <= 48; quarter += step) {
      for (const std::string& body : kWords) {
        if (!is_in(findings->within, quarter, body)) continue;
        // Between two halves a row holds that holds both.
        const bool covered = std::ranges::any_of(rows, [&](const Row& row) { return row.holds(quarter / 2, body) && row.holds((quarter + 1) / 2, body); });
        const auto boxes = std::ranges::count_if(findings->boxes, [&](const auto& box) { return is_in(box, quarter, body); });
        CHECK(boxes == (covered ? 0 : 1));
      }
    }
  }
}
