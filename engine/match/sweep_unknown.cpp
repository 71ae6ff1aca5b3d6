#include "match/sweep_unknown.h"

#include <algorithm>
#include <bit>

namespace kitgap {
namespace {

constexpr std::uint64_t kMostCells = 100'000;  // of unknown facts told apart for one total; past it sound bounds

}  // namespace

bool UnknownCars::passes_asked(std::uint32_t entry, std::uint32_t car) const {
  for (const std::size_t number : index_.asked_columns()) {
    const SweepColumn& column = index_.columns()[number];
    const CarPlaces& places = cars_.columns[number];
    if (!places.unknown[car] && !column.holds(column.row_sets[index_.row(entry)], places.place[car])) return false;
  }
  return true;
}

bool UnknownCars::passes_serial(std::uint32_t entry, std::uint32_t car) const {
  if (entry < index_.any_count()) return true;
  const CarPlaces& places = cars_.columns[index_.serial_column()];
  if (places.unknown[car]) return true;
  const std::int32_t unit = index_.serial_unit(places.place[car]);
  const std::size_t at = entry - index_.any_count();
  return index_.serial_lo()[at] <= unit && unit <= index_.serial_hi()[at];
}

// Every entry that what is known of the car lets pass.
template <class Visit>
void UnknownCars::for_each_entry(std::uint32_t car, const Visit& visit) {
  masks_.clear();
  for (std::size_t number = 0; number < index_.vector_columns().size(); ++number) {
    const CarPlaces& places = cars_.columns[index_.vector_columns()[number]];
    if (!places.unknown[car]) masks_.push_back(index_.vector(number, index_.cell(number, places.place[car])));
  }
  for (std::size_t word = 0; word < index_.word_count(); ++word) {
    const bool is_serial = word >= index_.any_words();
    const std::size_t base = is_serial ? index_.any_count() + (word - index_.any_words()) * 64 : word * 64;
    const std::size_t end = is_serial ? index_.entry_count() : index_.any_count();
    std::uint64_t bits = end - base >= 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << (end - base)) - 1;
    for (const std::uint64_t* mask : masks_) bits &= mask[word];
    for (; bits != 0; bits &= bits - 1) {
      const auto entry = static_cast<std::uint32_t>(base) + static_cast<std::uint32_t>(std::countr_zero(bits));
      if (passes_asked(entry, car) && passes_serial(entry, car)) visit(entry);
    }
  }
}

std::vector<PlaceRange> UnknownCars::ranges_of(std::uint32_t entry, std::size_t column) const {
  if (column == index_.serial_column()) {
    if (entry < index_.any_count()) return {PlaceRange{}};
    const std::int32_t lo = index_.serial_lo()[entry - index_.any_count()];
    const std::int32_t hi = index_.serial_hi()[entry - index_.any_count()];
    return {PlaceRange{lo == SweepIndex::kFirstUnit ? kFirstPlace : lo, hi == SweepIndex::kLastUnit ? kLastPlace : hi}};
  }
  const SweepColumn& tests = index_.columns()[column];
  const auto ranges = tests.set(tests.row_sets[index_.row(entry)]);
  return {ranges.begin(), ranges.end()};
}

// The least and the greatest sum over all values of the unknown facts from `depth` on: each fact's values are cut
// where the rows that are left can tell them apart.
UnknownCars::Bounds UnknownCars::bounds_of(const std::vector<Open>& opens, std::size_t depth, SweepSums& sums) {
  Bounds bounds;
  if (opens.empty()) return bounds;
  if (depth == unknown_.size()) {
    for (const Open& open : opens) bounds.lo += open.count;
    bounds.hi = bounds.lo;
    return bounds;
  }
  if (steps_ > kMostCells) {
    sums.gave_up = true;
    for (const Open& open : opens) (open.count < 0 ? bounds.lo : bounds.hi) += open.count;
    return bounds;
  }
  const std::size_t column = unknown_[depth];
  const bool is_text = index_.columns()[column].type == SweepType::Text;
  std::vector<std::int64_t> begins{is_text ? 0 : kFirstPlace};
  std::vector<std::vector<PlaceRange>> ranges;
  for (const Open& open : opens) {
    ranges.push_back(ranges_of(open.entry, column));
    for (const PlaceRange& range : ranges.back()) {
      if (range.lo > begins.front()) begins.push_back(range.lo);
      if (range.hi != kLastPlace) begins.push_back(range.hi + 1);
    }
  }
  std::sort(begins.begin(), begins.end());
  begins.erase(std::unique(begins.begin(), begins.end()), begins.end());
  for (std::size_t at = 0; at < begins.size(); ++at) {
    ++steps_;
    std::vector<Open> rest;
    for (std::size_t number = 0; number < opens.size(); ++number) {
      const bool holds = std::any_of(ranges[number].begin(), ranges[number].end(),
                                     [&](const PlaceRange& range) { return range.holds(begins[at]); });
      if (holds) rest.push_back(opens[number]);
    }
    const Bounds below = bounds_of(rest, depth + 1, sums);
    bounds.lo = at == 0 ? below.lo : std::min(bounds.lo, below.lo);
    bounds.hi = at == 0 ? below.hi : std::max(bounds.hi, below.hi);
  }
  return bounds;
}

void UnknownCars::find(std::uint32_t car) {
  unknown_.clear();
  for (std::size_t column = 0; column < cars_.columns.size(); ++column) {
    if (cars_.columns[column].unknown[car]) unknown_.push_back(column);
  }
  found_.clear();
  for_each_entry(car, [&](std::uint32_t entry) {
    bool is_open = false;
    for (const std::size_t column : unknown_) {
      const auto ranges = ranges_of(entry, column);
      if (ranges.empty()) return;
      const bool from_start = ranges.front().lo == kFirstPlace ||
                              (index_.columns()[column].type == SweepType::Text && ranges.front().lo == 0);
      is_open |= !(ranges.size() == 1 && from_start && ranges.front().hi == kLastPlace);
    }
    found_.push_back({index_.ranks()[entry], entry, is_open});
  });
  std::stable_sort(found_.begin(), found_.end(), [](const Found& a, const Found& b) { return a.rank < b.rank; });
}

void UnknownCars::add_car(std::uint32_t car, TotalLines* lines, bool stop_early, SweepSums& sums) {
  find(car);
  for (std::size_t at = 0; at < found_.size();) {
    const std::uint32_t rank = found_[at].rank;
    std::int64_t sure = 0;
    std::vector<Open> opens;
    std::uint32_t last_open = ~std::uint32_t{0};  // a row with several ranges of serials is several entries
    for (; at < found_.size() && found_[at].rank == rank; ++at) {
      const std::int64_t count = index_.count(found_[at].entry);
      if (found_[at].is_open) {
        opens.push_back({found_[at].entry, count});
        const std::uint32_t row = index_.row(found_[at].entry);
        sums.may_match += row != last_open;
        last_open = row;
      } else {
        sure += count;
        ++sums.matches;
      }
    }
    steps_ = 0;
    const Bounds bounds = bounds_of(opens, 0, sums);
    if (sums.add_total(sure + bounds.lo, sure + bounds.hi) && lines != nullptr) lines->add(rank, sure + bounds.lo, sure + bounds.hi);
    if (stop_early && sums.differs) return;
  }
}

}  // namespace kitgap
