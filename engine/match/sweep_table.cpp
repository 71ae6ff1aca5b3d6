#include "match/sweep_table.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cstring>
#include <numeric>

#include "match/csv_scan.h"
#include "text/codes.h"

namespace kitgap {
namespace {

constexpr std::size_t kDeduplicated = 4'096;  // different cells of a column that are looked up; past it each is its own

// Cell texts of up to 16 bytes met lately, so that the common cells of a column cost one look.
class RecentCells {
 public:
  std::uint32_t* find(std::string_view raw) {
    if (raw.size() > 16) return nullptr;
    Key key = key_of(raw);
    Slot& slot = slots_[index_of(key)];
    if (slot.key.a == key.a && slot.key.b == key.b && slot.size == raw.size()) return &slot.set;
    return nullptr;
  }
  void put(std::string_view raw, std::uint32_t set) {
    if (raw.size() > 16) return;
    const Key key = key_of(raw);
    slots_[index_of(key)] = {key, set, static_cast<std::uint32_t>(raw.size())};
  }

 private:
  struct Key {
    std::uint64_t a = 0;
    std::uint64_t b = 0;
  };
  struct Slot {
    Key key;
    std::uint32_t set = 0;
    std::uint32_t size = ~std::uint32_t{0};
  };
  // Reads 8 bytes whatever the length, as the scan's buffer allows.
  static Key key_of(std::string_view raw) {
    Key key;
    if (raw.empty()) return key;
    std::memcpy(&key.a, raw.data(), 8);
    if (raw.size() < 8) {
      key.a = low_bytes(key.a, raw.size());
    } else if (raw.size() > 8) {
      std::memcpy(&key.b, raw.data() + 8, 8);
      key.b = low_bytes(key.b, raw.size() - 8);
    }
    return key;
  }
  static std::uint64_t low_bytes(std::uint64_t word, std::size_t bytes) {
    if (bytes >= 8) return word;
    if constexpr (std::endian::native == std::endian::big) return word & ~(~std::uint64_t{0} >> (8 * bytes));
    return word & ((std::uint64_t{1} << (8 * bytes)) - 1);
  }
  static std::size_t index_of(const Key& key) {
    return static_cast<std::size_t>(((key.a ^ (key.b * 0x9E3779B97F4A7C15ULL)) * 0xD6E8FEB86659FD93ULL) >> 54);
  }
  std::vector<Slot> slots_ = std::vector<Slot>(1024);
};

// What is known of a column while its cells are read.
struct ColumnReading {
  std::size_t in_rows = 0;
  std::size_t in_cars = 0;
  RecentCells recent;
  TextIds texts;                              // raw cells, while there are few
  std::vector<std::uint32_t> set_of_text;
  TextIds words;                              // of a text column
  std::vector<std::pair<std::uint32_t, SweepTests>> later;  // sets whose places hang on the whole column
  std::vector<std::optional<Fraction>> car_values;
  bool is_whole = true;
};

// `[a..b]`, `>= a`, `<= b` and `a` in plain digits, the cells of great tables, without a detour.
std::optional<PlaceRange> plain_range(std::string_view raw) {
  const auto number = [](std::string_view text) -> std::optional<std::int64_t> {
    if (text.empty() || text.size() > 17) return std::nullopt;
    std::int64_t value = 0;
    for (const char c : text) {
      if (c < '0' || c > '9') return std::nullopt;
      value = value * 10 + (c - '0');
    }
    return value;
  };
  if (raw.size() < 3) {
    const auto value = number(raw);
    if (!value) return std::nullopt;
    return PlaceRange{*value, *value};
  }
  if (raw.front() == '[' && raw.back() == ']') {
    const auto dots = raw.find("..");
    if (dots == std::string_view::npos) return std::nullopt;
    const auto lo = number(raw.substr(1, dots - 1));
    const auto hi = number(raw.substr(dots + 2, raw.size() - dots - 3));
    if (!lo || !hi || *lo > *hi) return std::nullopt;
    return PlaceRange{*lo, *hi};
  }
  if (raw[1] == '=' && (raw[0] == '>' || raw[0] == '<')) {
    const auto end = number(raw.substr(raw[2] == ' ' ? 3 : 2));
    if (!end) return std::nullopt;
    return raw[0] == '>' ? PlaceRange{*end, kLastPlace} : PlaceRange{kFirstPlace, *end};
  }
  const auto value = number(raw);
  if (!value) return std::nullopt;
  return PlaceRange{*value, *value};
}

std::vector<PlaceRange> merged(std::vector<PlaceRange> ranges) {
  std::sort(ranges.begin(), ranges.end(), [](const auto& a, const auto& b) { return a.lo < b.lo; });
  std::vector<PlaceRange> result;
  for (const PlaceRange& range : ranges) {
    if (range.lo > range.hi) continue;
    if (!result.empty() && (result.back().hi == kLastPlace || range.lo <= result.back().hi + 1)) {
      result.back().hi = std::max(result.back().hi, range.hi);
    } else {
      result.push_back(range);
    }
  }
  return result;
}

std::vector<PlaceRange> complement(const std::vector<PlaceRange>& ranges) {
  std::vector<PlaceRange> result;
  std::int64_t from = kFirstPlace;
  for (const PlaceRange& range : ranges) {
    if (range.lo > from) result.push_back({from, range.lo - 1});
    if (range.hi == kLastPlace) return result;
    from = range.hi + 1;
  }
  result.push_back({from, kLastPlace});
  return result;
}

// The named values of a column with decimals, in order: value i has place 2i + 1, what lies before it 2i.
class NamedValues {
 public:
  void add(const Fraction& value) { values_.push_back(value); }
  void sort() {
    std::sort(values_.begin(), values_.end(), [](const auto& a, const auto& b) { return a < b; });
    values_.erase(std::unique(values_.begin(), values_.end()), values_.end());
  }
  std::int64_t place(const Fraction& value) const {
    const auto at = std::lower_bound(values_.begin(), values_.end(), value, [](const auto& a, const auto& b) { return a < b; });
    return 2 * (at - values_.begin()) + (at != values_.end() && *at == value ? 1 : 0);
  }

 private:
  std::vector<Fraction> values_;
};

bool is_whole(const std::optional<Fraction>& value) { return !value || value->to_integer().has_value(); }

// Replaces the ranges of the sets in `later` in one go, as the pool may have to move.
void replace_sets(SweepColumn& column, const std::vector<std::pair<std::uint32_t, std::vector<PlaceRange>>>& later) {
  if (later.empty()) return;
  std::vector<std::uint32_t> first{0};
  std::vector<PlaceRange> ranges;
  std::size_t next = 0;
  for (std::uint32_t set = 0; set < column.set_count(); ++set) {
    if (next < later.size() && later[next].first == set) {
      ranges.insert(ranges.end(), later[next].second.begin(), later[next].second.end());
      ++next;
    } else {
      ranges.insert(ranges.end(), column.ranges.begin() + column.first[set], column.ranges.begin() + column.first[set + 1]);
    }
    first.push_back(static_cast<std::uint32_t>(ranges.size()));
  }
  column.first = std::move(first);
  column.ranges = std::move(ranges);
}

// Gives every value of a column of numbers or dates its place, and the tests left over their ranges.
void place_numbers(SweepColumn& column, ColumnReading& reading) {
  bool whole = std::all_of(reading.car_values.begin(), reading.car_values.end(), is_whole);
  for (const auto& [set, tests] : reading.later) {
    for (const auto& interval : tests.intervals) whole &= is_whole(interval.lo) && is_whole(interval.hi);
  }
  NamedValues named;
  std::vector<bool> is_later(column.set_count(), false);
  for (const auto& [set, tests] : reading.later) is_later[set] = true;
  const auto is_end = [](std::int64_t place) { return place != kFirstPlace && place != kLastPlace; };
  if (!whole) {
    for (const auto& [set, tests] : reading.later) {
      for (const auto& interval : tests.intervals) {
        if (interval.lo) named.add(*interval.lo);
        if (interval.hi) named.add(*interval.hi);
      }
    }
    for (std::uint32_t set = 1; set < column.set_count(); ++set) {
      if (is_later[set]) continue;
      for (const std::int64_t end : {column.ranges[column.first[set]].lo, column.ranges[column.first[set]].hi}) {
        if (is_end(end)) named.add(end);
      }
    }
    named.sort();
    for (std::uint32_t set = 1; set < column.set_count(); ++set) {
      if (is_later[set]) continue;
      PlaceRange& range = column.ranges[column.first[set]];
      if (is_end(range.lo)) range.lo = named.place(range.lo);
      if (is_end(range.hi)) range.hi = named.place(range.hi);
    }
  }
  const auto place_of = [&](const Fraction& value) { return whole ? *value.to_integer() : named.place(value); };
  std::vector<std::pair<std::uint32_t, std::vector<PlaceRange>>> later;
  for (const auto& [set, tests] : reading.later) {
    std::vector<PlaceRange> ranges;
    for (const auto& interval : tests.intervals) {
      PlaceRange range;
      if (interval.lo) range.lo = place_of(*interval.lo) + (interval.lo_closed ? 0 : 1);
      if (interval.hi) range.hi = place_of(*interval.hi) - (interval.hi_closed ? 0 : 1);
      ranges.push_back(range);
    }
    ranges = merged(std::move(ranges));
    later.emplace_back(set, tests.is_negated ? complement(ranges) : ranges);
  }
  replace_sets(column, later);
  for (const auto& value : reading.car_values) {
    column.car_places.push_back(value ? place_of(*value) : 0);
    column.car_unknown.push_back(!value);
  }
}

void place_words(SweepColumn& column, const std::vector<std::string>& cells, TextIds& words) {
  for (const std::string& cell : cells) {
    column.car_places.push_back(cell.empty() ? 0 : std::int64_t{words.id_of(cell)});
    column.car_unknown.push_back(cell.empty());
  }
}

class SweepReader {
 public:
  SweepReader(Sources& sources, Diagnostics& diagnostics) : sources_(sources), diagnostics_(diagnostics) {}

  std::unique_ptr<SweepInput> read(const std::filesystem::path& rows, const std::filesystem::path& cars) {
    if (!read_cars(cars)) return nullptr;
    // Where the rows' cells show that a column is of another type than the cars' values, all is read again.
    while (!read_rows(rows)) {
      if (diagnostics_.has_errors() || !read_again_) return nullptr;
    }
    for (std::size_t at = 0; at < reading_.size(); ++at) {
      SweepColumn& column = input_->columns[at];
      if (column.type == SweepType::Text) {
        place_words(column, car_cells_[reading_[at].in_cars], reading_[at].words);
      } else {
        place_numbers(column, reading_[at]);
      }
    }
    return std::move(input_);
  }

 private:
  bool read_cars(const std::filesystem::path& path);
  bool read_rows(const std::filesystem::path& path);
  bool match_columns(CsvScan& scan);
  void settle_types();
  bool all_unknown(std::size_t column) const {
    const auto& cells = car_cells_[column];
    return std::all_of(cells.begin(), cells.end(), [](const std::string& cell) { return cell.empty(); });
  }
  std::optional<std::uint32_t> set_of(CsvScan& scan, std::size_t at);
  std::optional<std::uint32_t> new_set(CsvScan& scan, std::size_t at, std::string_view cell);
  std::optional<std::int64_t> count_of(CsvScan& scan, std::size_t column);
  static std::uint32_t add_set(SweepColumn& column, std::vector<PlaceRange> ranges);

  Sources& sources_;
  Diagnostics& diagnostics_;
  std::unique_ptr<SweepInput> input_;
  std::vector<ColumnReading> reading_;
  std::vector<std::string> car_header_;
  std::vector<std::vector<std::string>> car_cells_;  // per column, in the order of the answer
  std::vector<std::string> car_ids_;
  std::vector<std::optional<SweepType>> by_cells_;  // per column of the cars: what the rows' cells say it is
  bool read_again_ = false;
  std::string scratch_;
};

bool SweepReader::read_cars(const std::filesystem::path& path) {
  auto scan = CsvScan::open(path, sources_, diagnostics_);
  if (!scan) return false;
  const auto id = scan->find_column("car_id");
  if (!id) {
    scan->report_at(0, 0, code::kMissingColumn, "there is no column `car_id`", "`car_id`, then a column per fact");
    return false;
  }
  car_header_ = scan->header();
  std::vector<std::vector<std::string>> rows(car_header_.size());
  while (scan->next_row()) {
    for (std::size_t column = 0; column < car_header_.size(); ++column) {
      const auto text = scan->text(column, scratch_);
      rows[column].emplace_back(text.value_or(""));
    }
  }
  if (scan->failed()) return false;
  const auto& ids = rows[*id];
  std::vector<std::uint32_t> order(ids.size());
  std::iota(order.begin(), order.end(), 0U);
  std::stable_sort(order.begin(), order.end(), [&](auto a, auto b) { return comes_before(ids[a], ids[b]); });
  car_cells_.resize(car_header_.size());
  for (std::size_t column = 0; column < car_header_.size(); ++column) {
    for (const std::uint32_t car : order) car_cells_[column].push_back(std::move(rows[column][car]));
  }
  car_ids_ = std::move(car_cells_[*id]);
  car_header_[*id].clear();  // no fact
  by_cells_.resize(car_header_.size());
  return true;
}

bool SweepReader::match_columns(CsvScan& scan) {
  input_ = std::make_unique<SweepInput>();
  input_->car_ids = car_ids_;
  reading_.clear();
  for (std::size_t column = 0; column < scan.header().size(); ++column) {
    const std::string& name = scan.header()[column];
    const auto fact = std::find(car_header_.begin(), car_header_.end(), name);
    if (name.empty() || fact == car_header_.end()) {
      if (name != "item" && name != "count") input_->passed_over.push_back(name);
      continue;
    }
    if (name == "item" || name == "count") continue;
    input_->columns.emplace_back().name = name;
    reading_.emplace_back();
    reading_.back().in_rows = column;
    reading_.back().in_cars = static_cast<std::size_t>(fact - car_header_.begin());
  }
  for (const std::string& name : car_header_) {
    if (!name.empty() && !scan.find_column(name)) input_->unused_facts.push_back(name);
  }
  for (const std::string_view name : {"item", "count"}) {
    if (scan.find_column(name)) continue;
    scan.report_at(0, scan.header().size(), code::kMissingColumn, "there is no column `" + std::string(name) + "`",
                   "conditions, then `item,count`");
    return false;
  }
  settle_types();
  return true;
}

// Numbers where every value that a car states is one, dates likewise, else text.
void SweepReader::settle_types() {
  for (std::size_t at = 0; at < reading_.size(); ++at) {
    const auto& cells = car_cells_[reading_[at].in_cars];
    const auto all_are = [&](SweepType type) {
      return std::all_of(cells.begin(), cells.end(), [&](const std::string& cell) {
        return cell.empty() || parse_sweep_value(cell, type).has_value();
      });
    };
    SweepType& type = input_->columns[at].type;
    const auto by_cells = by_cells_[reading_[at].in_cars];
    type = by_cells                       ? *by_cells
           : all_are(SweepType::Number)   ? SweepType::Number
           : all_are(SweepType::Date)     ? SweepType::Date
                                          : SweepType::Text;
    if (type == SweepType::Text) continue;
    for (const std::string& cell : cells) reading_[at].car_values.push_back(parse_sweep_value(cell, type));
  }
}

bool SweepReader::read_rows(const std::filesystem::path& path) {
  read_again_ = false;
  auto scan = CsvScan::open(path, sources_, diagnostics_);
  if (!scan || !match_columns(*scan)) return false;
  const std::size_t item_column = *scan->find_column("item");
  const std::size_t count_column = *scan->find_column("count");
  const auto guess = static_cast<std::size_t>(std::min<std::uint64_t>(scan->file_bytes() / 16, 50'000'000));
  for (SweepColumn& column : input_->columns) column.row_sets.reserve(guess);
  input_->row_items.reserve(guess);
  input_->row_counts.reserve(guess);
  while (scan->next_row()) {
    for (std::size_t at = 0; at < reading_.size(); ++at) {
      ColumnReading& reading = reading_[at];
      if (const std::uint32_t* recent = reading.recent.find(scan->raw(reading.in_rows))) {
        input_->columns[at].row_sets.push_back(*recent);
        continue;
      }
      const auto set = set_of(*scan, at);
      if (!set) return false;
      input_->columns[at].row_sets.push_back(*set);
    }
    const std::string_view raw = scan->raw(item_column);
    if (const auto number = digits_of(raw); number && *number < TextIds::kNumbers && (raw[0] != '0' || raw.size() == 1)) {
      input_->row_items.push_back(input_->items.id_of_number(*number, raw));
    } else {
      const auto item = scan->text(item_column, scratch_);
      if (!item) return false;
      input_->row_items.push_back(input_->items.id_of(*item));
    }
    const auto count = count_of(*scan, count_column);
    if (!count) return false;
    input_->row_counts.push_back(*count);
  }
  return !scan->failed();
}

// Counts are kept as whole numbers of the smallest decimal met so far.
std::optional<std::int64_t> SweepReader::count_of(CsvScan& scan, std::size_t column) {
  std::int64_t scale = 1;
  for (unsigned place = 0; place < input_->count_places; ++place) scale *= 10;
  if (const auto digits = digits_of(scan.raw(column))) {
    std::int64_t scaled = 0;
    if (!__builtin_mul_overflow(std::int64_t{*digits}, scale, &scaled)) return scaled;
  }
  const auto text = scan.text(column, scratch_);
  if (!text) return std::nullopt;
  auto figure = parse_sweep_value(*text, SweepType::Number);
  constexpr unsigned kMostPlaces = 9;
  while (figure && !(*figure * scale).is_whole() && input_->count_places < kMostPlaces) {
    scale *= 10;
    ++input_->count_places;
    for (std::int64_t& earlier : input_->row_counts) {
      if (__builtin_mul_overflow(earlier, std::int64_t{10}, &earlier)) figure.reset();
    }
  }
  const auto scaled = figure ? (*figure * scale).to_integer() : std::nullopt;
  if (!scaled) {
    scan.report(column, code::kInvalidCell, "`" + std::string(text->substr(0, 40)) + "` is no count",
                "a number of at most 9 decimals, such as `2` or `0.25`");
  }
  return scaled;
}

std::uint32_t SweepReader::add_set(SweepColumn& column, std::vector<PlaceRange> ranges) {
  column.ranges.insert(column.ranges.end(), ranges.begin(), ranges.end());
  column.first.push_back(static_cast<std::uint32_t>(column.ranges.size()));
  return static_cast<std::uint32_t>(column.set_count() - 1);
}

std::optional<std::uint32_t> SweepReader::set_of(CsvScan& scan, std::size_t at) {
  ColumnReading& reading = reading_[at];
  SweepColumn& column = input_->columns[at];
  const std::string_view raw = scan.raw(reading.in_rows);
  if (column.set_count() > kDeduplicated && column.type == SweepType::Number) {
    if (const auto range = plain_range(raw)) return add_set(column, {*range});
  }
  const std::uint32_t id = reading.texts.find(raw);
  if (id < reading.texts.size()) {
    reading.recent.put(raw, reading.set_of_text[id]);
    return reading.set_of_text[id];
  }
  const auto cell = scan.text(reading.in_rows, scratch_);
  if (!cell) return std::nullopt;
  const auto set = new_set(scan, at, *cell);
  if (!set) return std::nullopt;
  reading.texts.id_of(raw);
  reading.set_of_text.push_back(*set);
  reading.recent.put(raw, *set);
  return set;
}

std::optional<std::uint32_t> SweepReader::new_set(CsvScan& scan, std::size_t at, std::string_view cell) {
  ColumnReading& reading = reading_[at];
  SweepColumn& column = input_->columns[at];
  if (column.type == SweepType::Number) {
    if (const auto range = plain_range(cell)) return add_set(column, {*range});
  }
  const auto tests = parse_sweep_cell(cell, column.type);
  if (tests && tests->is_any) return 0;
  if (!tests && column.type == SweepType::Number && all_unknown(reading.in_cars) && parse_sweep_cell(cell, SweepType::Date)) {
    by_cells_[reading.in_cars] = SweepType::Date;
    read_again_ = true;
    return std::nullopt;
  }
  // A bare `1968-1971` among numbers is a slip of the pen, no word.
  const bool is_worded = cell.find('"') != std::string_view::npos || all_unknown(reading.in_cars);
  if (!tests && is_worded && column.type != SweepType::Text && parse_sweep_cell(cell, SweepType::Text)) {
    by_cells_[reading.in_cars] = SweepType::Text;
    read_again_ = true;
    return std::nullopt;
  }
  if (!tests) {
    scan.report(reading.in_rows, code::kInvalidExpression, "`" + std::string(cell.substr(0, 60)) + "` is no test of `" +
                column.name + "`", "unary tests such as `[1968..1971]`, `>= 30500`, `estate, saloon`, `not(van)` or `-`");
    return std::nullopt;
  }
  if (column.type != SweepType::Text) {
    // Where the ends lie among the places is known only when the whole column is.
    reading.later.emplace_back(add_set(column, {{}}), *tests);
    return reading.later.back().first;
  }
  std::vector<std::int64_t> words;
  for (const std::string& word : tests->words) words.push_back(reading.words.id_of(word));
  std::sort(words.begin(), words.end());
  words.erase(std::unique(words.begin(), words.end()), words.end());
  std::vector<PlaceRange> ranges;
  std::int64_t from = 0;
  for (const std::int64_t word : words) {
    if (!tests->is_negated) ranges.push_back({word, word});
    if (tests->is_negated && from < word) ranges.push_back({from, word - 1});
    from = word + 1;
  }
  if (tests->is_negated) ranges.push_back({from, kLastPlace});
  return add_set(column, std::move(ranges));
}

}  // namespace

std::unique_ptr<SweepInput> read_sweep(const std::filesystem::path& rows, const std::filesystem::path& cars,
                                       Sources& sources, Diagnostics& diagnostics) {
  return SweepReader(sources, diagnostics).read(rows, cars);
}

bool comes_before(std::string_view a, std::string_view b) {
  const auto number = [](std::string_view text) {
    const bool plain = !text.empty() && text.size() <= 60 && text.find_first_not_of("+-.0123456789") == std::string_view::npos;
    return plain ? parse_sweep_value(text, SweepType::Number) : std::nullopt;
  };
  const auto x = number(a);
  const auto y = number(b);
  if (x && y && *x != *y) return *x < *y;
  if (x.has_value() != y.has_value()) return x.has_value();
  return a < b;
}

}  // namespace kitgap
