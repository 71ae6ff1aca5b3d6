#include "match/sweep_group.h"

#include <algorithm>
#include <array>
#include <bit>
#include <charconv>

#include "text/csv.h"

namespace kitgap {
namespace {

constexpr std::uint64_t kMostCells = 100'000;  // of unknown facts told apart for one total; past it sound bounds

void append_scaled(std::string& out, std::int64_t value, unsigned places) {
  std::array<char, 24> digits;
  if (places == 0) {
    const auto end = std::to_chars(digits.data(), digits.data() + digits.size(), value).ptr;
    out.append(digits.data(), static_cast<std::size_t>(end - digits.data()));
  } else {
    out += decimal_text(value, places);
  }
}

}  // namespace

SweepSums& SweepSums::operator+=(const SweepSums& other) {
  matches += other.matches;
  may_match += other.may_match;
  pairs += other.pairs;
  lo += other.lo;
  hi += other.hi;
  differs |= other.differs;
  gave_up |= other.gave_up;
  return *this;
}

std::string decimal_text(__int128 scaled, unsigned places) {
  const bool negative = scaled < 0;
  std::string digits;
  for (unsigned __int128 rest = negative ? -static_cast<unsigned __int128>(scaled) : static_cast<unsigned __int128>(scaled);
       rest != 0 || digits.size() <= places; rest /= 10) {
    digits.push_back(static_cast<char>('0' + static_cast<int>(rest % 10)));
  }
  std::reverse(digits.begin(), digits.end());
  if (places > 0) {
    digits.insert(digits.size() - places, 1, '.');
    while (digits.back() == '0') digits.pop_back();
    if (digits.back() == '.') digits.pop_back();
  }
  return (negative ? "-" : "") + digits;
}

CarGroup::CarGroup(const SweepIndex& index, bool writes_ranges) : index_(index), writes_ranges_(writes_ranges) {
  const auto& counts = index.input().row_counts;
  all_positive_ = std::all_of(counts.begin(), counts.end(), [](std::int64_t count) { return count > 0; });
}

bool CarGroup::passes_asked(std::size_t entry, std::uint32_t car) const {
  const SweepInput& input = index_.input();
  for (const std::size_t number : index_.asked_columns()) {
    const SweepColumn& column = input.columns[number];
    if (!column.car_unknown[car] && !column.holds(column.row_sets[index_.row(entry)], column.car_places[car])) return false;
  }
  return true;
}

// Every entry that what is known of the car's discrete facts lets pass.
template <class Visit>
void CarGroup::for_each_entry(std::uint32_t car, const Visit& visit) {
  const SweepInput& input = index_.input();
  masks_.clear();
  for (std::size_t number = 0; number < index_.vector_columns().size(); ++number) {
    const SweepColumn& column = input.columns[index_.vector_columns()[number]];
    if (!column.car_unknown[car]) masks_.push_back(index_.vector(number, column.car_places[car]));
  }
  const bool asks = !index_.asked_columns().empty();
  const std::size_t words = index_.word_count();
  constexpr std::size_t kBlock = 64;  // words; stays in the first-level cache
  std::array<std::uint64_t, kBlock> bits;
  for (std::size_t from = 0; from < words; from += kBlock) {
    const std::size_t count = std::min(kBlock, words - from);
    bits.fill(~std::uint64_t{0});
    for (const std::uint64_t* mask : masks_) {
      for (std::size_t at = 0; at < count; ++at) bits[at] &= mask[from + at];
    }
    for (std::size_t at = 0; at < count; ++at) {
      for (std::uint64_t word = bits[at]; word != 0; word &= word - 1) {
        const std::size_t entry = (from + at) * 64 + static_cast<std::size_t>(std::countr_zero(word));
        if (entry >= index_.entry_count()) return;
        if (!asks || passes_asked(entry, car)) visit(entry);
      }
    }
  }
}

void CarGroup::begin(std::uint32_t car) {
  const SweepInput& input = index_.input();
  unknown_.clear();
  base_.clear();
  candidates_.clear();
  base_matches_ = base_pairs_ = 0;
  base_sum_ = 0;
  for (std::size_t column = 0; column < input.columns.size(); ++column) {
    if (input.columns[column].car_unknown[car]) unknown_.push_back(column);
  }
  if (!unknown_.empty()) return;
  for_each_entry(car, [&](std::size_t at) {
    const SweepIndex::Entry& entry = index_.entry(at);
    if (at >= index_.any_serial_count()) {
      const auto& serial = index_.serial(at);
      candidates_.push_back({serial.lo, serial.hi, entry.count, entry.item_rank, false});
      return;
    }
    ++base_matches_;
    if (base_.empty() || base_.back().rank != entry.item_rank) base_.push_back({entry.item_rank, 0, 0});
    base_.back().lo += entry.count;
  });
  for (Total& total : base_) {
    total.hi = total.lo;
    base_sum_ += total.lo;
    if (total.lo > 0) ++base_pairs_;
  }
  std::size_t in = 0;
  for (Candidate& candidate : candidates_) {
    while (in < base_.size() && base_[in].rank < candidate.rank) ++in;
    candidate.in_base = in < base_.size() && base_[in].rank == candidate.rank;
  }
}

void CarGroup::add_car(std::uint32_t car, std::string* text, bool stop_early, SweepSums& sums) {
  car_cell_.clear();
  append_csv_cell(car_cell_, index_.input().car_ids[car]);
  if (unknown_.empty()) {
    add_known(car, text, sums);
  } else {
    add_unknown(car, text, stop_early, sums);
  }
}

void CarGroup::add_known(std::uint32_t car, std::string* text, SweepSums& sums) {
  const bool has_serial = index_.serial_column() != SweepIndex::kNone;
  const std::int64_t place = has_serial ? index_.input().columns[index_.serial_column()].car_places[car] : 0;
  sums.matches += base_matches_;
  if (text == nullptr && all_positive_) {
    // Without branches: every hit adds, and counts a total unless its item has one already.
    std::uint64_t matches = 0;
    std::uint64_t pairs = 0;
    std::int64_t sum = 0;
    std::uint32_t last = ~std::uint32_t{0};
    for (const Candidate& candidate : candidates_) {
      const bool hit = (candidate.lo <= place) & (place <= candidate.hi);
      matches += hit;
      sum += hit ? candidate.count : 0;
      pairs += hit & !candidate.in_base & (candidate.rank != last);
      last = hit ? candidate.rank : last;
    }
    sums.matches += matches;
    sums.pairs += base_pairs_ + pairs;
    sums.lo += base_sum_ + sum;
    sums.hi += base_sum_ + sum;
    return;
  }
  std::size_t in = 0;
  std::size_t at = 0;
  while (in < base_.size() || at < candidates_.size()) {
    const std::uint32_t rank = in == base_.size()         ? candidates_[at].rank
                               : at == candidates_.size() ? base_[in].rank
                                                          : std::min(base_[in].rank, candidates_[at].rank);
    Total total{rank, 0, 0};
    if (in < base_.size() && base_[in].rank == rank) total.lo += base_[in++].lo;
    for (; at < candidates_.size() && candidates_[at].rank == rank; ++at) {
      if (candidates_[at].lo > place || place > candidates_[at].hi) continue;
      total.lo += candidates_[at].count;
      ++sums.matches;
    }
    total.hi = total.lo;
    write(total, text, sums);
  }
}

void CarGroup::write(const Total& total, std::string* text, SweepSums& sums) const {
  if (total.hi <= 0) return;
  ++sums.pairs;
  sums.lo += total.lo;
  sums.hi += total.hi;
  sums.differs |= total.lo != total.hi;
  if (text == nullptr) return;
  *text += car_cell_;
  *text += index_.item_cell(total.rank);
  append_scaled(*text, total.lo, index_.input().count_places);
  if (writes_ranges_) {
    text->push_back(',');
    append_scaled(*text, total.hi, index_.input().count_places);
  }
  text->push_back('\n');
}

std::vector<PlaceRange> CarGroup::ranges_of(std::uint32_t entry, std::size_t column) const {
  if (column == index_.serial_column()) {
    if (entry < index_.any_serial_count()) return {PlaceRange{}};
    return {PlaceRange{index_.serial(entry).lo, index_.serial(entry).hi}};
  }
  const SweepColumn& tests = index_.input().columns[column];
  const std::uint32_t set = tests.row_sets[index_.row(entry)];
  return {tests.ranges.begin() + tests.first[set], tests.ranges.begin() + tests.first[set + 1]};
}

// The least and the greatest sum over all values of the unknown facts from `depth` on: each fact's values are cut
// where the rows that are left can tell them apart.
CarGroup::Bounds CarGroup::bounds_of(const std::vector<Open>& opens, std::size_t depth, SweepSums& sums) {
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
  const bool is_text = index_.input().columns[column].type == SweepType::Text;
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

void CarGroup::add_unknown(std::uint32_t car, std::string* text, bool stop_early, SweepSums& sums) {
  const bool has_serial = index_.serial_column() != SweepIndex::kNone;
  const SweepColumn* serial = has_serial ? &index_.input().columns[index_.serial_column()] : nullptr;
  const bool knows_serial = serial != nullptr && !serial->car_unknown[car];
  struct Found {
    std::uint32_t rank;
    std::uint32_t entry;
    bool is_open;
  };
  std::vector<Found> found;
  for_each_entry(car, [&](std::size_t at) {
    if (knows_serial && at >= index_.any_serial_count()) {
      const auto& ends = index_.serial(at);
      if (serial->car_places[car] < ends.lo || ends.hi < serial->car_places[car]) return;
    }
    bool is_open = false;
    for (const std::size_t column : unknown_) {
      const auto ranges = ranges_of(static_cast<std::uint32_t>(at), column);
      if (ranges.empty()) return;
      const bool from_start = ranges.front().lo == kFirstPlace ||
                              (index_.input().columns[column].type == SweepType::Text && ranges.front().lo == 0);
      is_open |= !(ranges.size() == 1 && from_start && ranges.front().hi == kLastPlace);
    }
    found.push_back({index_.entry(at).item_rank, static_cast<std::uint32_t>(at), is_open});
  });
  std::stable_sort(found.begin(), found.end(), [](const Found& a, const Found& b) { return a.rank < b.rank; });
  for (std::size_t at = 0; at < found.size();) {
    Total total{found[at].rank, 0, 0};
    std::vector<Open> opens;
    std::uint32_t last_open = ~std::uint32_t{0};  // a row with several ranges of serials is several entries
    for (; at < found.size() && found[at].rank == total.rank; ++at) {
      const std::int64_t count = index_.entry(found[at].entry).count;
      if (found[at].is_open) {
        opens.push_back({found[at].entry, count});
        const std::uint32_t row = index_.row(found[at].entry);
        sums.may_match += row != last_open;
        last_open = row;
      } else {
        total.lo += count;
        ++sums.matches;
      }
    }
    steps_ = 0;
    const Bounds bounds = bounds_of(opens, 0, sums);
    total.hi = total.lo + bounds.hi;
    total.lo += bounds.lo;
    write(total, text, sums);
    if (stop_early && sums.differs) return;
  }
}

}  // namespace kitgap
