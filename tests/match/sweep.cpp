#include "match/sweep.h"

#include <doctest/doctest.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <map>
#include <limits>
#include <random>
#include <set>
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

namespace {

// A random table and its cars, and what a scan of all rows for every car makes of them.
struct Made {
  std::string rows;
  std::string cars;
  std::string expected;
  std::uint64_t matches = 0;
};

// Numbers, words, serials and engine numbers, sets and negations; some with decimals, so many that the engine numbers
// are asked row by row in some. What a car does not know is tried with every value that the rows could tell apart.
class Maker {
 public:
  Maker(unsigned seed, bool knows_all) : random_(seed), knows_all_(knows_all) {}

  Made make() {
    has_halves_ = below(3) == 0;
    Made made;
    made.rows = "year,body,serial,engine,item,count\n";
    const int count = below(4) == 0 ? 100 + below(100) : below(60);
    for (int row = 0; row < count; ++row) made.rows += add_row();
    std::string lines;
    bool differs = false;
    made.cars = "car_id,serial,year,body,engine\n";
    for (int car = 0; car < 25; ++car) add_car(car, made, lines, differs);
    made.expected = differs ? "car_id,item,total_lo,total_hi\n" : "car_id,item,total\n";
    for (std::size_t at = 0; at < lines.size();) {
      const std::size_t end = lines.find('\n', at);
      const std::string line = lines.substr(at, end - at);
      made.expected += (differs ? line : line.substr(0, line.rfind(','))) + "\n";
      at = end + 1;
    }
    return made;
  }

 private:
  struct Row {
    int lo, hi, from, to, engine_from, engine_to;  // years in halves; serials (from..to]; engine [from..to)
    std::vector<std::string> words;
    bool negated;
    int item, count;
  };
  struct Car {
    std::optional<int> year, serial, engine;
    std::optional<std::string> body;
  };
  int below(int end) { return static_cast<int>(random_() % static_cast<unsigned>(end)); }
  static std::string halves(int value) { return std::to_string(value / 2) + (value % 2 == 0 ? "" : ".5"); }

  std::string add_row() {
    Row row{2 * below(12), 0, below(900), 0, below(4000), 0, {}, false, below(15), below(5)};
    if (has_halves_) row.lo += below(2);
    row.hi = row.lo + (has_halves_ ? below(12) : 2 * below(6));
    row.to = row.from + below(300);
    row.engine_to = row.engine_from + 1 + below(3000);
    for (const std::string& word : kWords) {
      if (below(2) == 0) row.words.push_back(word);
    }
    row.negated = !row.words.empty() && below(4) == 0;
    std::string cell;
    for (const std::string& word : row.words) cell += (cell.empty() ? "" : ", ") + word;
    if (row.negated) cell = "not(" + cell + ")";
    std::string text = "[" + halves(row.lo) + ".." + halves(row.hi) + "],\"" + cell + "\",";
    if (below(3) == 0) {
      row.from = kNoFirst;
      row.to = kNoLast;
      text += "-,";
    } else {
      text += "(" + std::to_string(row.from) + ".." + std::to_string(row.to) + "],";
    }
    text += "[" + std::to_string(row.engine_from) + ".." + std::to_string(row.engine_to) + "[,";
    rows_.push_back(row);
    return text + std::to_string(row.item) + "," + std::to_string(row.count) + "\n";
  }

  bool applies(const Row& row, int year, const std::string& body, int serial, int engine) const {
    const bool named = row.words.empty() || (std::find(row.words.begin(), row.words.end(), body) != row.words.end()) != row.negated;
    return named && row.lo <= year && year <= row.hi && row.from < serial && serial <= row.to && row.engine_from <= engine &&
           engine < row.engine_to;
  }

  void add_car(int number, Made& made, std::string& lines, bool& differs) {
    Car car{2 * below(15) + (has_halves_ ? below(2) : 0), below(1200), below(7000), kWords[static_cast<std::size_t>(below(3))]};
    if (!knows_all_ && below(2) == 0) car.year.reset();
    if (!knows_all_ && below(2) == 0) car.body.reset();
    if (!knows_all_ && below(8) == 0) car.serial.reset();
    made.cars += std::to_string(number) + "," + (car.serial ? std::to_string(*car.serial) : "") + "," + (car.year ? halves(*car.year) : "") +
                 "," + car.body.value_or("") + "," + std::to_string(*car.engine) + "\n";
    std::map<int, std::pair<int, int>> totals;
    for (const int item : items_of(car)) totals[item] = bounds_of(car, item);
    for (const Row& row : rows_) {
      if (car.year && car.serial && car.body && applies(row, *car.year, *car.body, *car.serial, *car.engine)) ++made.matches;
    }
    for (const auto& [item, total] : totals) {
      if (total.second <= 0) continue;
      differs |= total.first != total.second;
      lines += std::to_string(number) + "," + std::to_string(item) + "," + std::to_string(total.first) + "," + std::to_string(total.second) + "\n";
    }
  }
  std::set<int> items_of(const Car& car) const {
    std::set<int> items;
    for (const Row& row : rows_) {
      if (row.engine_from <= *car.engine && *car.engine < row.engine_to) items.insert(row.item);
    }
    return items;
  }
  std::pair<int, int> bounds_of(const Car& car, int item) const {
    std::set<int> years{-1}, serials{-5};
    for (const Row& row : rows_) {
      years.insert({row.lo, row.hi + 1});
      if (row.from != kNoFirst) serials.insert({row.from + 1, row.to + 1});
    }
    std::vector<std::string> bodies(kWords.begin(), kWords.end());
    bodies.emplace_back("another");
    if (car.year) years = {*car.year};
    if (car.serial) serials = {*car.serial};
    if (car.body) bodies = {*car.body};
    std::pair<int, int> bounds{std::numeric_limits<int>::max(), 0};
    std::vector<const Row*> of_item;
    for (const Row& row : rows_) {
      if (row.item == item) of_item.push_back(&row);
    }
    for (const int year : years) {
      for (const int serial : serials) {
        for (const std::string& body : bodies) {
          int total = 0;
          for (const Row* row : of_item) total += applies(*row, year, body, serial, *car.engine) ? row->count : 0;
          bounds = {std::min(bounds.first, total), std::max(bounds.second, total)};
        }
      }
    }
    return bounds;
  }

  static constexpr int kNoFirst = -1'000'000;
  static constexpr int kNoLast = 1'000'000;
  static inline const std::vector<std::string> kWords = {"estate", "saloon", "van"};
  std::mt19937 random_;
  bool knows_all_;
  bool has_halves_ = false;
  std::vector<Row> rows_;
};

std::string body_of(const std::string& csv) { return csv.substr(csv.find('\n') + 1); }

}  // namespace

TEST_CASE("sweep: equal to a linear scan on random tables, whole and in slices") {
  for (unsigned seed = 1; seed <= 1000; ++seed) {
    CAPTURE(seed);
    const Made made = Maker(seed, true).make();
    CHECK(swept(made.rows, made.cars).csv == made.expected);
    if (seed % 4 != 0) continue;
    SweepOptions options;
    options.only_summary = true;
    const auto summary = swept(made.rows, made.cars, options).summary;
    REQUIRE(summary);
    CHECK(summary->matches == made.matches);
    CHECK(summary->pairs == static_cast<std::uint64_t>(std::count(made.expected.begin(), made.expected.end(), '\n')) - 1);
    // Slices of few cars are read off the rows, without an index.
    std::string joined;
    options.only_summary = false;
    options.shards = 2 + seed % 5;
    for (options.shard = 1; options.shard <= options.shards; ++options.shard) joined += body_of(swept(made.rows, made.cars, options).csv);
    CHECK(joined == body_of(made.expected));
  }
}

TEST_CASE("sweep: ranges of unknown facts equal trying every value") {
  for (unsigned seed = 1; seed <= 20; ++seed) {
    CAPTURE(seed);
    const Made made = Maker(seed, false).make();
    CHECK(swept(made.rows, made.cars).csv == made.expected);
  }
}
