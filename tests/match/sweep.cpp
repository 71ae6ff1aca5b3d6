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

#include "support/folder.h"

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

TEST_CASE("sweep: from a kept index as from the text, on random tables") {
  const test::Folder folder;
  SweepOptions options;
  options.cache = Cache(folder.path());
  std::size_t from_cache = 0;
  for (unsigned seed = 2001; seed <= 2300; ++seed) {
    CAPTURE(seed);
    const Made made = Maker(seed, true).make();
    CHECK(swept(made.rows, made.cars, options).csv == made.expected);  // makes the index, and keeps it
    const Outcome again = swept(made.rows, made.cars, options);
    CHECK(again.csv == made.expected);
    REQUIRE(again.summary);
    from_cache += again.summary->from_cache;
    // Few cars read it too.
    std::string joined;
    SweepOptions slices = options;
    slices.shards = 13;
    for (slices.shard = 1; slices.shard <= slices.shards; ++slices.shard) joined += body_of(swept(made.rows, made.cars, slices).csv);
    CHECK(joined == body_of(made.expected));
  }
  MESSAGE("seeds 2001 to 2300: " << from_cache << " of 300 tables could be kept; the others have decimals, or engine numbers asked row by row");
  CHECK(from_cache > 100);
}

TEST_CASE("sweep: a kept index that is stale, damaged or of other cars is made again") {
  const test::Folder folder;
  SweepOptions options;
  options.cache = Cache(folder.path());
  const std::string cars = "car_id,year,body\n1,1970,estate\n2,1971,van\n3,1972,van\n4,1973,van\n5,1970,van\n6,1970,van\n7,1970,van\n8,1970,van\n9,1970,van\n";
  const std::string one_car = "car_id,year,body\n1,1970,estate\n";
  const std::string rows = "year,body,item,count\n1970,-,clip,3\n1971,van,seal,2\n";
  const auto is_from_cache = [&](const std::string& of_rows, const std::string& of_cars, const std::string& expected) {
    const Outcome outcome = swept(of_rows, of_cars, options);
    CHECK(body_of(outcome.csv).substr(0, expected.size()) == expected);
    REQUIRE(outcome.summary);
    return outcome.summary->from_cache;
  };
  CHECK(!is_from_cache(rows, cars, "1,clip,3\n"));
  CHECK(is_from_cache(rows, cars, "1,clip,3\n"));
  // The same length, another content.
  CHECK(!is_from_cache("year,body,item,count\n1970,-,clip,4\n1971,van,seal,2\n", cars, "1,clip,4\n"));
  CHECK(is_from_cache("year,body,item,count\n1970,-,clip,4\n1971,van,seal,2\n", cars, "1,clip,4\n"));
  CHECK(is_from_cache(rows, cars, "1,clip,3\n"));
  // Cars that leave a fact open, have no such fact, or one of another type.
  CHECK(!is_from_cache(rows, "car_id,year,body\n1,,estate\n", "1,clip,0,3\n"));
  CHECK(!is_from_cache(rows, "car_id,year\n1,1970\n", "1,clip,3\n"));
  CHECK(!is_from_cache(rows, "car_id,year,body,item_note\n1,1970.5,estate,x\n2,1970,van,x\n", "2,clip,3\n"));
  CHECK(is_from_cache(rows, one_car, "1,clip,3\n"));  // each set of facts has its own
  CHECK(is_from_cache(rows, cars, "1,clip,3\n"));
  // A column that was passed over is a condition for cars that know it.
  const std::string with_note = "year,note,item,count\n1970,a,clip,3\n";
  CHECK(!is_from_cache(with_note, cars, "1,clip,3\n"));
  CHECK(!is_from_cache(with_note, "car_id,year,note\n1,1970,b\n2,1970,a\n", "2,clip,3\n"));
  for (const auto& entry : std::filesystem::directory_iterator(folder.path())) {
    if (entry.path().extension() == ".rows") std::filesystem::resize_file(entry.path(), entry.file_size() - 64);
  }
  CHECK(!is_from_cache(rows, cars, "1,clip,3\n"));
  CHECK(is_from_cache(rows, cars, "1,clip,3\n"));
}

TEST_CASE("sweep: few cars leave the rows alone, and have an index made when they come a second time") {
  const test::Folder folder;
  SweepOptions options;
  options.cache = Cache(folder.path());
  const std::string cars = "car_id,year\n1,1970\n";
  const auto indexes = [&] {
    std::size_t count = 0;
    for (const auto& entry : std::filesystem::directory_iterator(folder.path())) count += entry.path().extension() == ".rows";
    return count;
  };
  CHECK(swept(kRows, cars, options).summary);
  CHECK(indexes() == 0);
  const std::string rows = "year,item,count\n1970,clip,3\n";
  for (const std::size_t expected : {0U, 1U, 1U}) {
    CHECK(body_of(swept(rows, cars, options).csv) == "1,clip,3\n");
    CHECK(indexes() == expected);
  }
}
