#include "match/sweep_column.h"

#include <algorithm>

#include "match/csv_scan.h"

namespace kitgap {
namespace {

// Whole, with room for the places around it.
bool is_whole(const std::optional<Fraction>& value) {
  const auto whole = value ? value->to_integer() : std::optional<std::int64_t>(0);
  return whole && *whole > kFirstPlace / 2 && *whole < kLastPlace / 2;
}

bool is_end(std::int64_t place) { return place != kFirstPlace && place != kLastPlace; }

std::optional<std::int64_t> digits(std::string_view raw) {
  if (const auto number = digits_of(raw)) return *number;
  if (raw.size() < 9 || raw.size() > 17) return std::nullopt;
  const auto high = digits_of(raw.substr(0, raw.size() - 8));
  const auto low = digits_of(raw.substr(raw.size() - 8));
  if (raw.size() == 17) {
    const auto most = digits_of(raw.substr(1, 8));
    if (!most || !low || raw[0] < '0' || raw[0] > '9') return std::nullopt;
    return (std::int64_t{raw[0] - '0'} * 100'000'000 + *most) * 100'000'000 + *low;
  }
  if (!high || !low) return std::nullopt;
  return std::int64_t{*high} * 100'000'000 + *low;
}

}  // namespace

std::optional<PlaceRange> ColumnReading::plain_range(std::string_view raw) {
  if (raw.size() >= 3 && raw.front() == '[' && raw.back() == ']') {
    const auto dot = static_cast<const char*>(std::memchr(raw.data(), '.', raw.size()));
    if (dot == nullptr || dot[1] != '.') return std::nullopt;
    const auto at = static_cast<std::size_t>(dot - raw.data());
    const auto lo = digits(raw.substr(1, at - 1));
    const auto hi = digits(raw.substr(at + 2, raw.size() - at - 3));
    if (!lo || !hi || *lo > *hi) return std::nullopt;
    return PlaceRange{*lo, *hi};
  }
  if (raw.size() >= 3 && raw[1] == '=' && (raw[0] == '>' || raw[0] == '<')) {
    const auto end = digits(raw.substr(raw[2] == ' ' ? 3 : 2));
    if (!end) return std::nullopt;
    return raw[0] == '>' ? PlaceRange{*end, kLastPlace} : PlaceRange{kFirstPlace, *end};
  }
  const auto value = digits(raw);
  if (!value) return std::nullopt;
  return PlaceRange{*value, *value};
}

ColumnReading::Cell ColumnReading::add(std::string_view raw, std::string_view text) {
  const std::uint32_t known = texts_.find(raw);
  if (known < texts_.size()) {
    recent_.put(raw, texts_.text(known), set_of_text_[known]);
    row_sets_.push_back(set_of_text_[known]);
    return Cell::Known;
  }
  std::uint32_t number = 0;
  const auto range = type_ == SweepType::Number ? plain_range(raw) : std::nullopt;
  if (range) {
    number = add_range(*range);
  } else if (const Cell cell = set_of(text, number); cell != Cell::Known) {
    return cell;
  }
  row_sets_.push_back(number);
  if (texts_.size() < 4 * kLookedUp) {
    const std::uint32_t id = texts_.id_of(raw);
    set_of_text_.push_back(number);
    recent_.put(raw, texts_.text(id), number);
  }
  return Cell::Known;
}

ColumnReading::Cell ColumnReading::set_of(std::string_view text, std::uint32_t& number) {
  const auto tests = parse_sweep_cell(text, type_);
  if (tests && tests->is_any) return Cell::Known;
  if (!tests) {
    const bool says_nothing = fact_->all_unknown();
    if (type_ == SweepType::Number && says_nothing && parse_sweep_cell(text, SweepType::Date)) return Cell::IsDate;
    // A bare `1968-1971` among numbers is a slip of the pen, no word.
    const bool is_worded = text.find('"') != std::string_view::npos || says_nothing;
    if (is_worded && type_ != SweepType::Text && parse_sweep_cell(text, SweepType::Text)) return Cell::IsText;
    return Cell::NoTest;
  }
  if (type_ != SweepType::Text) {
    number = add_range({});
    later_.emplace_back(number, *tests);
    return Cell::Known;
  }
  const std::vector<PlaceRange> ranges = ranges_of(tests->words, tests->is_negated);
  ranges_.insert(ranges_.end(), ranges.begin(), ranges.end());
  first_.push_back(static_cast<std::uint32_t>(ranges_.size()));
  number = static_cast<std::uint32_t>(first_.size() - 2);
  return Cell::Known;
}

std::vector<PlaceRange> ColumnReading::ranges_of(const std::vector<std::string>& words, bool is_negated) {
  std::vector<PlaceRange> ranges;
  for (const std::string& word : words) {
    const std::int64_t place = words_.id_of(word);
    ranges.push_back({place, place});
  }
  ranges = merged(std::move(ranges));
  if (!is_negated) return ranges;
  ranges = complement(ranges);
  if (ranges.front().hi < 0) {
    ranges.erase(ranges.begin());
  } else {
    ranges.front().lo = 0;  // no word stands below it
  }
  return ranges;
}

// Where not all is whole, each value that is named gets its place, and the plain ranges move there.
void ColumnReading::name_values() {
  std::vector<bool> is_later(first_.size(), false);
  for (const auto& [number, tests] : later_) {
    is_later[number] = true;
    for (const auto& interval : tests.intervals) {
      if (interval.lo) named_.add(*interval.lo);
      if (interval.hi) named_.add(*interval.hi);
    }
  }
  for (std::uint32_t number = 1; number + 1 < first_.size(); ++number) {
    if (is_later[number]) continue;
    const PlaceRange& range = ranges_[first_[number]];
    if (is_end(range.lo)) named_.add(range.lo);
    if (is_end(range.hi)) named_.add(range.hi);
  }
  named_.sort();
  for (std::uint32_t number = 1; number + 1 < first_.size(); ++number) {
    if (is_later[number]) continue;
    PlaceRange& range = ranges_[first_[number]];
    if (is_end(range.lo)) range.lo = named_.place(range.lo);
    if (is_end(range.hi)) range.hi = named_.place(range.hi);
  }
}

SweepColumn ColumnReading::take() {
  SweepColumn column;
  column.name = name_;
  column.type = type_;
  for (std::uint32_t word = 0; word < words_.size(); ++word) column.words.emplace_back(words_.text(word));
  if (type_ != SweepType::Text) {
    column.is_whole = fact_->is_whole(type_);
    for (const auto& [number, tests] : later_) {
      for (const auto& interval : tests.intervals) column.is_whole &= is_whole(interval.lo) && is_whole(interval.hi);
    }
    if (!column.is_whole) name_values();
  }
  const auto place_of = [&](const Fraction& value) { return column.is_whole ? *value.to_integer() : named_.place(value); };
  std::vector<std::uint32_t> first{0};
  std::vector<PlaceRange> ranges;
  auto next = later_.begin();
  for (std::uint32_t number = 0; !later_.empty() && number + 1 < first_.size(); ++number) {
    if (next == later_.end() || next->first != number) {
      ranges.insert(ranges.end(), ranges_.begin() + first_[number], ranges_.begin() + first_[number + 1]);
    } else {
      std::vector<PlaceRange> placed;
      for (const auto& interval : next->second.intervals) {
        PlaceRange range;
        if (interval.lo) range.lo = place_of(*interval.lo) + (interval.lo_closed ? 0 : 1);
        if (interval.hi) range.hi = place_of(*interval.hi) - (interval.hi_closed ? 0 : 1);
        placed.push_back(range);
      }
      placed = merged(std::move(placed));
      if (next->second.is_negated) placed = complement(placed);
      ranges.insert(ranges.end(), placed.begin(), placed.end());
      ++next;
    }
    first.push_back(static_cast<std::uint32_t>(ranges.size()));
  }
  column.first = later_.empty() ? std::move(first_) : std::move(first);
  column.ranges = later_.empty() ? std::move(ranges_) : std::move(ranges);
  column.row_sets = std::move(row_sets_);
  column.named = std::move(named_);
  return column;
}

}  // namespace kitgap
