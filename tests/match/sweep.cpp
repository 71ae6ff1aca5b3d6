#include "match/sweep.h"

#include <doctest/doctest.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <map>
#include <random>
#include <vector>

using namespace kitgap;

namespace {

std::filesystem::path written(const std::string& name, const std::string& text) {
  const auto folder = std::filesystem::temp_directory_path() / ("kitgap-sweep-" + std::to_string(getpid()));
  std::filesystem::create_directories(folder);
  std::ofstream(folder / name, std::ios::binary) << text;
  return folder / name;
}

struct Outcome {
  std::string csv;
  std::string messages;
  std::optional<SweepSummary> summary;
};

Outcome swept(const std::string& rows, const std::string& cars, SweepOptions options = {}) {
  Sources sources;
  Diagnostics diagnostics;
  Outcome outcome;
  outcome.summary = sweep(
      written("rows.csv", rows), written("cars.csv", cars), options, [&](std::string_view text) { outcome.csv += text; },
      [](std::string_view) {}, sources, diagnostics);
  for (const Diagnostic& diagnostic : diagnostics.sorted()) {
    outcome.messages += std::to_string(diagnostic.span.line) + ":" + std::to_string(diagnostic.span.column) + " " + diagnostic.says + "\n";
  }
  return outcome;
}

const std::string kRows =
    "year,body,serial,note,item,count\n"
    "[1968..1971],estate,-,a,clip,9\n"
    "[1968..1971],\"saloon, \"\"estate\"\"\",>= 30500,b,clip,2\n"
    ">= 1970,not(van),,c,10,1\n"
    "1972,\"\"\"van\"\"\",-,d,9,0.5\n";

}  // namespace

TEST_CASE("sweep: rows that apply are summed by item, in the order of numbers") {
  CHECK(swept(kRows, "car_id,year,body,serial\n10,1970,estate,30500\n9,1972,van,1\n").csv ==
        "car_id,item,total\n9,9,0.5\n10,10,1\n10,clip,11\n");
}

TEST_CASE("sweep: an unknown fact gives the least and the greatest total over what it may be") {
  CHECK(swept("year,item,count\n[1966..1969],clip,9\n[1970..1974],clip,11\n>= 1970,seal,1\n", "car_id,year\n1,\n2,1970\n").csv ==
        "car_id,item,total_lo,total_hi\n1,clip,0,11\n1,seal,0,1\n2,clip,11,11\n2,seal,1,1\n");
  // A fact that no row asks about does not matter.
  CHECK(swept("year,item,count\n-,clip,9\n", "car_id,year\n1,\n").csv == "car_id,item,total\n1,clip,9\n");
}

TEST_CASE("sweep: slices of the cars add up to the whole, and threads change nothing") {
  std::string cars = "car_id,year,body,serial\n";
  for (int car = 0; car < 300; ++car) {
    cars += std::to_string(car * 7 % 300) + "," + std::to_string(1966 + car % 9) + "," + (car % 3 == 0 ? "estate" : car % 3 == 1 ? "van" : "saloon") +
            "," + std::to_string(30000 + car * 5) + "\n";
  }
  SweepOptions one;
  one.threads = 1;
  const std::string whole = swept(kRows, cars, one).csv;
  SweepOptions many;
  many.threads = 4;
  CHECK(swept(kRows, cars, many).csv == whole);
  std::string joined = whole.substr(0, whole.find('\n') + 1);
  for (std::uint64_t shard = 1; shard <= 7; ++shard) {
    SweepOptions part;
    part.shard = shard;
    part.shards = 7;
    const std::string csv = swept(kRows, cars, part).csv;
    joined += csv.substr(csv.find('\n') + 1);
  }
  CHECK(joined == whole);
  SweepOptions sums;
  sums.only_summary = true;
  const auto summary = swept(kRows, cars, sums).summary;
  REQUIRE(summary);
  CHECK(summary->cars == 300);
  CHECK(summary->rows == 4);
  CHECK(summary->pairs == static_cast<std::uint64_t>(std::count(whole.begin(), whole.end(), '\n')) - 1);
}

TEST_CASE("sweep: wrong cells are said with their place, and a column passed over is refused when strict") {
  CHECK(swept("year,item,count\n1968-1971,clip,1\n", "car_id,year\n1,1970\n").messages == "2:1 `1968-1971` is no test of `year`\n");
  CHECK(swept("year,item,count\n[1968..,clip,1\n", "car_id,year\n1,1970\n").messages == "2:1 `[1968..` is no test of `year`\n");
  CHECK(swept("year,item,count\n-,clip,many\n", "car_id,year\n1,1970\n").messages == "2:8 `many` is no count\n");
  CHECK(swept("year,item\n-,clip\n", "car_id,year\n1,1970\n").messages == "1:1 there is no column `count`\n");
  CHECK(swept("year,item,count\n", "year\n1970\n").messages == "1:1 there is no column `car_id`\n");
  SweepOptions strict;
  strict.is_strict = true;
  CHECK(swept(kRows, "car_id,year,body,serial\n", strict).messages == "0:0 the column `note` is no fact of the cars\n");
}

// Numbers, words and serials, sets and negations, against asking every row of every car.
TEST_CASE("sweep: equal to a linear scan on random tables") {
  for (unsigned seed = 1; seed <= 300; ++seed) {
    CAPTURE(seed);
    std::mt19937 random(seed);
    const auto below = [&](int end) { return static_cast<int>(random() % static_cast<unsigned>(end)); };
    struct Row {
      int lo, hi, from, to;
      std::vector<std::string> words;
      bool negated;
      std::string item;
      int count;
    };
    const std::vector<std::string> words = {"estate", "saloon", "van"};
    std::vector<Row> rows;
    std::string table = "year,body,serial,item,count\n";
    for (int row = below(60); row > 0; --row) {
      Row made{below(12), 0, below(900), 0, {}, below(4) == 0, std::to_string(below(15)), below(5)};
      made.hi = made.lo + below(6);
      made.to = made.from + below(300);
      for (const std::string& word : words) {
        if (below(2) == 0) made.words.push_back(word);
      }
      std::string cell;
      for (const std::string& word : made.words) cell += (cell.empty() ? "" : ", ") + word;
      if (made.words.empty()) made.negated = false;
      if (made.negated) cell = "not(" + cell + ")";
      table += "[" + std::to_string(made.lo) + ".." + std::to_string(made.hi) + "],\"" + cell + "\",(" + std::to_string(made.from) +
               ".." + std::to_string(made.to) + "]," + made.item + "," + std::to_string(made.count) + "\n";
      rows.push_back(made);
    }
    std::string cars = "car_id,serial,year,body\n";
    std::string expected = "car_id,item,total\n";
    for (int car = 0; car < 25; ++car) {
      const int year = below(15);
      const int serial = below(1200);
      const std::string body = words[static_cast<std::size_t>(below(3))];
      cars += std::to_string(car) + "," + std::to_string(serial) + "," + std::to_string(year) + "," + body + "\n";
      std::map<int, int> totals;
      for (const Row& row : rows) {
        const bool named = row.words.empty() || (std::find(row.words.begin(), row.words.end(), body) != row.words.end()) != row.negated;
        if (named && row.lo <= year && year <= row.hi && row.from < serial && serial <= row.to) totals[std::stoi(row.item)] += row.count;
      }
      for (const auto& [item, total] : totals) {
        if (total > 0) expected += std::to_string(car) + "," + std::to_string(item) + "," + std::to_string(total) + "\n";
      }
    }
    CHECK(swept(table, cars).csv == expected);
  }
}
