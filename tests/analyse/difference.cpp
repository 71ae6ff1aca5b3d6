#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <random>

#include "analyse/difference.h"
#include "analyse/pack_check.h"
#include "analyse/proposals.h"
#include "analyse/years.h"
#include "support/folder.h"

using namespace kitgap;

namespace {

constexpr std::array<const char*, 3> kBodies{"a", "b", "c"};
constexpr int kYears = 6;

// A pack as plain figures: how many clips a panel takes on each car, and whether the car has the panel.
struct Row {
  std::string parent, year, body, effect;
  int quantity = 0;
  int first = 1, last = kYears;
  unsigned bodies = 7;
  bool applies(int year_of, int body_of) const { return year_of >= first && year_of <= last && (bodies >> body_of & 1) != 0; }
};

Row random_row(std::mt19937& random, const std::string& parent) {
  Row row{.parent = parent, .year = {}, .body = {}, .effect = parent == "car" ? "sets" : "adds"};
  row.quantity = parent == "car" ? 1 : 1 + static_cast<int>(random() % 3);
  if (random() % 3 != 0) {
    row.first = 1 + static_cast<int>(random() % kYears);
    row.last = row.first + static_cast<int>(random() % static_cast<unsigned>(kYears - row.first + 1));
    row.year = "[" + std::to_string(row.first) + ".." + std::to_string(row.last) + "]";
  }
  if (random() % 2 == 0) {
    row.bodies = 1 + static_cast<unsigned>(random() % 6);
    for (int body = 0; body < 3; ++body) {
      if ((row.bodies >> body & 1) != 0) row.body += (row.body.empty() ? "" : ",") + std::string(kBodies[static_cast<std::size_t>(body)]);
    }
  }
  return row;
}

std::vector<Row> random_rows(std::mt19937& random) {
  std::vector<Row> rows{random_row(random, "car")};
  for (unsigned row = 0, count = 1 + static_cast<unsigned>(random() % 4); row < count; ++row) rows.push_back(random_row(random, "panel"));
  return rows;
}

Rules read(const test::Folder& folder, const std::string& needs, Sources& sources) {
  folder.write("datapackage.json", R"({"name": "p", "version": "1", "kitgap": {"format": 1, "positions": {"front": {}},
    "facts": [{"name": "year", "type": "number", "range": "[1..6]"}, {"name": "body", "type": "text", "allowed": ["a", "b", "c"]}]},
    "resources": [{"path": "parts.csv", "kitgap": {"kind": "parts"}}, {"path": "needs.csv", "kitgap": {"kind": "needs"}}]})");
  folder.write("parts.csv", "part,kind\npanel,assembly\nclip,piece\n");
  folder.write("needs.csv", needs);
  Diagnostics diagnostics;
  const std::array<std::filesystem::path, 1> folders{folder.path()};
  auto rules = read_rules(folders, sources, diagnostics);
  REQUIRE_MESSAGE(rules.has_value(), layout(diagnostics, sources));
  return std::move(*rules);
}

std::string written(const std::vector<Row>& rows) {
  std::string text = "parent,at,part,year,body,effect,quantity\n";
  for (const Row& row : rows) {
    text += row.parent + "," + (row.parent == "car" ? "front,panel" : ",clip") + "," + row.year + ",\"" + row.body + "\"," + row.effect + "," + std::to_string(row.quantity) + "\n";
  }
  return text;
}

struct Calls {
  int panels = 0, clips = 0;
  bool operator==(const Calls&) const = default;
};

Calls needs_of(const std::vector<Row>& rows, int year, int body) {
  Calls needs;
  for (const Row& row : rows) {
    if (!row.applies(year, body)) continue;
    (row.parent == "car" ? needs.panels : needs.clips) += row.quantity;
  }
  if (needs.panels == 0) needs.clips = 0;
  return needs;
}

bool is_in(const PackDifference::Tests& box, const Rules& rules, int year, int body) {
  for (const auto& [fact, test] : box) {
    const FactId id = *rules.find_fact(fact);
    Condition condition;
    Diagnostics ignored;
    REQUIRE(add_cell(condition, id, test, {}, rules.facts, ignored));
    const FactValue value = fact == "year" ? FactValue(Fraction(year)) : FactValue(std::string(kBodies[static_cast<std::size_t>(body)]));
    if (!condition.tests.empty() && !condition.tests[0].values.contains(value)) return false;
  }
  return true;
}

}  // namespace

// Brute force over every car: 6 years, 3 bodies.
TEST_CASE("difference: the boxes of two random packs are the cars that differ, with both figures") {
  constexpr unsigned kSeed = 1971;
  MESSAGE("seed ", kSeed);
  std::mt19937 random(kSeed);
  for (int trial = 0; trial < 400; ++trial) {
    CAPTURE(trial);
    const std::vector<Row> old_rows = random_rows(random);
    std::vector<Row> new_rows = random() % 2 == 0 ? random_rows(random) : old_rows;
    if (random() % 2 == 0) new_rows.back().quantity += 1;
    const test::Folder old_folder, new_folder;
    Sources sources;
    const Rules before = read(old_folder, written(old_rows), sources);
    const Rules after = read(new_folder, written(new_rows), sources);
    const PackDifference difference = difference_between(before, after);
    for (int year = 1; year <= kYears; ++year) {
      for (int body = 0; body < 3; ++body) {
        const Calls was = needs_of(old_rows, year, body);
        const Calls now = needs_of(new_rows, year, body);
        for (const bool is_clip : {false, true}) {
          const int was_figure = is_clip ? was.clips : was.panels;
          const int now_figure = is_clip ? now.clips : now.panels;
          std::size_t boxes = 0;
          for (const PackDifference::NeedChange& change : difference.needs) {
            if ((change.part == "clip") != is_clip || !is_in(change.box, before, year, body)) continue;
            ++boxes;
            CHECK(change.was.need.hi == Fraction(was_figure));
            CHECK(change.now.need.hi == Fraction(now_figure));
          }
          INFO("year ", year, ", body ", body, ", ", was_figure, " -> ", now_figure, "\n", written(old_rows), written(new_rows));
          REQUIRE(boxes == (was_figure == now_figure ? 0u : 1u));
        }
      }
    }
  }
}

TEST_CASE("merges: rows put together change no car's needs") {
  constexpr unsigned kSeed = 1974;
  MESSAGE("seed ", kSeed);
  std::mt19937 random(kSeed);
  std::size_t merged = 0;
  for (int trial = 0; trial < 400; ++trial) {
    CAPTURE(trial);
    std::vector<Row> rows = random_rows(random);
    // Rows that meet end to end are what can be one.
    for (const int first : {1, 4}) {
      Row row{.parent = "panel", .year = "[" + std::to_string(first) + ".." + std::to_string(first + 2) + "]", .body = "a", .effect = "adds", .quantity = 2};
      row.first = first;
      row.last = first + 2;
      row.bodies = 1;
      rows.push_back(row);
    }
    const test::Folder folder, new_folder;
    Sources sources;
    const Rules before = read(folder, written(rows), sources);
    const std::vector<ProposedFile> files = proposed_files(before, sources, proposed_edits(before));
    if (files.empty()) continue;
    ++merged;
    const Rules after = read(new_folder, files.front().after, sources);
    REQUIRE(after.needs.size() < before.needs.size());
    REQUIRE_MESSAGE(difference_between(before, after).needs.empty(), written(rows), files.front().after);
  }
  CHECK(merged > 300);
}

TEST_CASE("years: each car stands in one cell, with the figure that its rows give it") {
  constexpr unsigned kSeed = 1968;
  MESSAGE("seed ", kSeed);
  std::mt19937 random(kSeed);
  for (int trial = 0; trial < 400; ++trial) {
    CAPTURE(trial);
    const std::vector<Row> rows = random_rows(random);
    const test::Folder folder;
    Sources sources;
    const Rules rules = read(folder, written(rows), sources);
    Diagnostics diagnostics;
    const Car car{.name = "any", .statements = {}, .work = {}, .dates = {}};
    const auto knowledge = Knowledge::of(car, rules, diagnostics);
    REQUIRE(knowledge.has_value());
    const Found found;
    const NeedModel model = NeedModel::of(*knowledge, car, found);
    const Years years = years_of(model, {.across = {*rules.find_fact("year"), *rules.find_fact("body")}, .only = {}});
    for (int year = 1; year <= kYears; ++year) {
      for (int body = 0; body < 3; ++body) {
        const Calls calls = needs_of(rows, year, body);
        for (const YearsLine& line : years.lines) {
          const Fraction expected(line.part == "clip" ? calls.clips : calls.panels);
          std::size_t cells = 0;
          for (const YearsCell& cell : line.cells) {
            if (!cell.values[0].contains(FactValue(Fraction(year))) || !cell.values[1].contains(FactValue(std::string(kBodies[static_cast<std::size_t>(body)])))) continue;
            ++cells;
            CHECK(cell.need == Range{expected, expected});
          }
          REQUIRE_MESSAGE(cells == 1, written(rows), line.id);
        }
        const bool has_clips = std::ranges::any_of(years.lines, [](const YearsLine& line) { return line.part == "clip"; });
        REQUIRE((has_clips || calls.clips == 0));
      }
    }
    // Where it changes with the year: the figure before and the figure from there on.
    for (const YearsLine& line : years.lines) {
      for (const YearsChange& change : line.changes) {
        if (change.fact != *rules.find_fact("year")) continue;
        const auto at = std::get<Fraction>(change.at).to_integer();
        for (int body = 0; body < 3; ++body) {
          if (!change.where[1].contains(FactValue(std::string(kBodies[static_cast<std::size_t>(body)])))) continue;
          const Calls was = needs_of(rows, static_cast<int>(*at) - 1, body);
          const Calls now = needs_of(rows, static_cast<int>(*at), body);
          CHECK(change.was.hi == Fraction(line.part == "clip" ? was.clips : was.panels));
          CHECK(change.now.hi == Fraction(line.part == "clip" ? now.clips : now.panels));
        }
      }
    }
  }
}

TEST_CASE("guide: every finding has a page, and a golden case shows it") {
  std::ifstream file(std::filesystem::path(KITGAP_SOURCE_DIR) / "tests/golden/rules-check/every-finding/stdout");
  const std::string shown((std::istreambuf_iterator<char>(file)), std::istreambuf_iterator<char>());
  const std::filesystem::path pages = std::filesystem::path(KITGAP_SOURCE_DIR) / "data/guide/findings";
  for (const FindingWord& finding : kFindingWords) {
    const std::filesystem::path page = pages / (std::string(finding.code) + ".md");
    CHECK_MESSAGE(std::filesystem::file_size(page) > 300, page.string());
    CHECK_MESSAGE(shown.find("[" + std::string(finding.code) + "]") != std::string::npos, finding.code);
  }
}
