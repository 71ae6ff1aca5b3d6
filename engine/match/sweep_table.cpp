#include "match/sweep_table.h"

#include <algorithm>
#include <map>
#include <unordered_map>

#include "match/csv_scan.h"
#include "match/sweep_column.h"
#include "text/codes.h"

namespace kitgap {
namespace {

class TableReader {
 public:
  using OnHeader = std::function<bool(const std::vector<std::string>&)>;
  TableReader(const SweepCars& cars, Sources& sources, Diagnostics& diagnostics, const OnHeader& on_header, bool with_content)
      : cars_(cars), sources_(sources), diagnostics_(diagnostics), on_header_(on_header), with_content_(with_content) {}

  std::unique_ptr<SweepTable> read(const std::filesystem::path& path) {
    // Where the rows' cells show that a column is of another type than the cars' values, all is read again.
    do {
      read_again_ = false;
      if (!read_once(path) && !read_again_) return nullptr;
    } while (read_again_);
    for (ColumnReading& reading : reading_) table_->columns.push_back(reading.take());
    return std::move(table_);
  }

 private:
  bool read_once(const std::filesystem::path& path);
  bool match_columns(CsvScan& scan);
  bool add_condition(CsvScan& scan, std::size_t number);
  bool add_item(CsvScan& scan, std::size_t column);
  bool add_count(CsvScan& scan, std::size_t column);
  std::optional<std::int64_t> scaled(const Fraction& figure);

  const SweepCars& cars_;
  Sources& sources_;
  Diagnostics& diagnostics_;
  const OnHeader& on_header_;
  bool with_content_;
  std::unique_ptr<SweepTable> table_;
  std::vector<ColumnReading> reading_;
  std::vector<std::size_t> columns_;  // in the file, per column of `reading_`
  std::map<std::string, SweepType> by_cells_;  // what the rows' cells say a column is
  std::int64_t scale_ = 1;
  bool read_again_ = false;
  std::string scratch_;
};

bool TableReader::match_columns(CsvScan& scan) {
  table_ = std::make_unique<SweepTable>();
  reading_.clear();
  columns_.clear();
  scale_ = 1;
  if (on_header_ && !on_header_(scan.header())) return false;
  for (std::size_t column = 0; column < scan.header().size(); ++column) {
    const std::string& name = scan.header()[column];
    if (name == "item" || name == "count") continue;
    const CarFact* fact = name.empty() ? nullptr : cars_.find(name);
    if (fact == nullptr) {
      table_->passed_over.push_back(name);
      continue;
    }
    const auto by_cells = by_cells_.find(name);
    reading_.emplace_back(name, by_cells == by_cells_.end() ? fact->type() : by_cells->second, *fact);
    columns_.push_back(column);
  }
  for (const std::string_view name : {"item", "count"}) {
    if (scan.find_column(name)) continue;
    scan.report_at(0, scan.header().size(), code::kMissingColumn, "there is no column `" + std::string(name) + "`",
                   "conditions, then `item,count`");
    return false;
  }
  return true;
}

bool TableReader::read_once(const std::filesystem::path& path) {
  auto scan = CsvScan::open(path, sources_, diagnostics_, with_content_);
  if (!scan || !match_columns(*scan)) return false;
  const std::size_t item_column = *scan->find_column("item");
  const std::size_t count_column = *scan->find_column("count");
  const auto guess = static_cast<std::size_t>(std::min<std::uint64_t>(scan->file_bytes() / 16, 50'000'000));
  for (ColumnReading& reading : reading_) reading.reserve(guess);
  table_->row_items.reserve(guess);
  table_->row_counts.reserve(guess);
  while (scan->next_row()) {
    for (std::size_t at = 0; at < reading_.size(); ++at) {
      if (!reading_[at].add_quickly(scan->raw(columns_[at])) && !add_condition(*scan, at)) return false;
    }
    if (!add_item(*scan, item_column) || !add_count(*scan, count_column)) return false;
  }
  table_->content = scan->content();
  return !scan->failed();
}

bool TableReader::add_condition(CsvScan& scan, std::size_t number) {
  ColumnReading& reading = reading_[number];
  const auto text = scan.text(columns_[number], scratch_);
  if (!text) return false;
  const ColumnReading::Cell cell = reading.add(scan.raw(columns_[number]), *text);
  if (cell == ColumnReading::Cell::Known) return true;
  if (cell != ColumnReading::Cell::NoTest) {
    by_cells_[reading.name()] = cell == ColumnReading::Cell::IsDate ? SweepType::Date : SweepType::Text;
    read_again_ = true;
    return false;
  }
  scan.report(columns_[number], code::kInvalidExpression,
              "`" + std::string(text->substr(0, 60)) + "` is no test of `" + reading.name() + "`",
              "unary tests such as `[1968..1971]`, `>= 30500`, `estate, saloon`, `not(van)` or `-`");
  return false;
}

bool TableReader::add_item(CsvScan& scan, std::size_t column) {
  const std::string_view raw = scan.raw(column);
  if (const auto number = digits_of(raw); number && *number < TextIds::kNumbers && (raw[0] != '0' || raw.size() == 1)) {
    table_->row_items.push_back(table_->items.id_of_number(*number, raw));
    return true;
  }
  const auto item = scan.text(column, scratch_);
  if (item) table_->row_items.push_back(table_->items.id_of(*item));
  return item.has_value();
}

// Counts are kept as whole numbers of the smallest decimal met so far.
bool TableReader::add_count(CsvScan& scan, std::size_t column) {
  if (const auto digits = digits_of(scan.raw(column))) {
    std::int64_t count = 0;
    if (!__builtin_mul_overflow(std::int64_t{*digits}, scale_, &count)) {
      table_->row_counts.push_back(count);
      return true;
    }
  }
  const auto text = scan.text(column, scratch_);
  if (!text) return false;
  const auto figure = parse_sweep_value(*text, SweepType::Number);
  const auto count = figure ? scaled(*figure) : std::nullopt;
  if (count) {
    table_->row_counts.push_back(*count);
    return true;
  }
  scan.report(column, code::kInvalidCell, "`" + std::string(text->substr(0, 40)) + "` is no count",
              "a number of at most 9 decimals, such as `2` or `0.25`");
  return false;
}

std::optional<std::int64_t> TableReader::scaled(const Fraction& figure) {
  constexpr unsigned kMostPlaces = 9;
  try {
    while (!(figure * scale_).is_whole() && table_->count_places < kMostPlaces) {
      scale_ *= 10;
      ++table_->count_places;
      for (std::int64_t& earlier : table_->row_counts) {
        if (__builtin_mul_overflow(earlier, std::int64_t{10}, &earlier)) return std::nullopt;
      }
    }
    return (figure * scale_).to_integer();
  } catch (const FigureOverflow&) {
    return std::nullopt;
  }
}

// The place of a word; words that no row names are all alike.
class Words {
 public:
  explicit Words(const SweepColumn& column) {
    for (std::size_t word = 0; word < column.words.size(); ++word) places_.emplace(column.words[word], word);
  }
  std::int64_t place(const std::string& text) const {
    const auto found = places_.find(text);
    return static_cast<std::int64_t>(found == places_.end() ? places_.size() : found->second);
  }

 private:
  std::unordered_map<std::string_view, std::size_t> places_;
};

}  // namespace

CarPlaces places_of(const SweepColumn& column, const CarFact& fact) {
  const bool is_text = column.type == SweepType::Text;
  const Words words(column);
  const auto place_of = [&](const std::string& text) -> std::int64_t {
    if (is_text) return words.place(text);
    const auto value = parse_sweep_value(text, column.type);
    if (!value) return 0;
    return column.is_whole ? value->to_integer().value_or(0) : column.named.place(*value);
  };
  std::vector<std::int64_t> by_text;
  for (std::size_t text = 0; text < fact.text_count(); ++text) by_text.push_back(place_of(fact.text_of(text)));
  const bool is_number = fact.is_plain() && column.type == SweepType::Number && column.is_whole;
  CarPlaces places;
  places.place.resize(fact.size());
  places.unknown.resize(fact.size());
  for (std::size_t car = 0; car < fact.size(); ++car) {
    if (fact.is_unknown(car)) {
      places.unknown[car] = true;
      places.any_unknown = true;
    } else {
      places.place[car] = is_number          ? fact.number(car)
                          : fact.is_plain() ? place_of(fact.text(car))
                                            : by_text[static_cast<std::size_t>(fact.number(car))];
    }
  }
  return places;
}

std::unique_ptr<SweepTable> read_sweep_table(const std::filesystem::path& path, const SweepCars& cars, Sources& sources,
                                             Diagnostics& diagnostics, const std::function<bool(const std::vector<std::string>&)>& on_header,
                                             bool with_content) {
  return TableReader(cars, sources, diagnostics, on_header, with_content).read(path);
}

}  // namespace kitgap
