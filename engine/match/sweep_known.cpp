#include "match/sweep_known.h"

#include <algorithm>
#include <limits>

namespace kitgap {
namespace {

constexpr std::uint32_t kPastAll = ~std::uint32_t{0};
constexpr std::size_t kLanes = 8;

}  // namespace

KnownCars::KnownCars(const SweepIndex& index, const PlacedCars& cars)
    : index_(index), cars_(cars), selection_(index), stamps_(index.item_count(), 0) {}

void KnownCars::begin_group(std::span<const std::uint32_t> cells, bool writes_lines) {
  found_ = selection_.find(cells);
  const std::int64_t most = std::numeric_limits<std::int32_t>::max() / std::max<std::int64_t>(1, index_.greatest_count());
  is_quick_ = !writes_lines && index_.all_positive() && selection_.counts() != nullptr && index_.asked_columns().empty() &&
              static_cast<std::int64_t>(found_.serial.size()) < most;
  if (is_quick_) {
    sum_base();
    sort_candidates();
  } else if (index_.asked_columns().empty()) {
    list_base(found_.any);
  }
}

void KnownCars::sum_base() {
  ++group_;
  base_pairs_ = 0;
  base_sum_ = 0;
  std::uint32_t last = kPastAll;
  for (const std::uint32_t at : found_.any) {
    const std::uint32_t rank = selection_.ranks()[at];
    base_sum_ += selection_.counts()[at];
    base_pairs_ += rank != last;
    last = rank;
    stamps_[rank] = group_;
  }
}

// Rows that ask stand by item: one that is alone with its item makes a total of its own, or adds to one that is there.
void KnownCars::sort_candidates() {
  const std::size_t most = found_.serial.size() + kLanes;
  if (lo_.size() < most) {
    lo_.resize(most);
    hi_.resize(most);
    counts_.resize(most);
    fresh_.resize(most);
  }
  rivals_.clear();
  const std::uint32_t any = selection_.any_count();
  const auto rank_at = [&](std::size_t place) {
    return place < found_.serial.size() ? selection_.ranks()[any + found_.serial[place]] : kPastAll;
  };
  std::size_t singles = 0;
  std::uint32_t before = kPastAll;
  std::uint32_t rank = rank_at(0);
  for (std::size_t place = 0; place < found_.serial.size(); ++place) {
    const std::uint32_t at = found_.serial[place];
    const std::uint32_t after = rank_at(place + 1);
    const bool has_base = stamps_[rank] == group_;
    const bool is_single = has_base | ((rank != before) & (rank != after));
    lo_[singles] = selection_.serial_lo()[at];
    hi_[singles] = selection_.serial_hi()[at];
    counts_[singles] = selection_.counts()[any + at];
    fresh_[singles] = has_base ? 0 : 1;
    singles += is_single;
    if (!is_single) rivals_.push_back({lo_[singles], hi_[singles], counts_[singles], rank});
    before = rank;
    rank = after;
  }
  single_count_ = (singles + kLanes - 1) / kLanes * kLanes;
  for (std::size_t place = singles; place < single_count_; ++place) {
    lo_[place] = std::numeric_limits<std::int32_t>::max();
    hi_[place] = std::numeric_limits<std::int32_t>::min();
  }
}

void KnownCars::list_base(std::span<const std::uint32_t> any) {
  if (base_.size() < any.size() + 1) base_.resize(any.size() + 1);
  std::size_t next = 0;
  std::uint32_t last = kPastAll;
  std::int64_t sum = 0;
  for (const std::uint32_t at : any) {
    const std::uint32_t rank = selection_.ranks()[at];
    sum = (rank == last ? sum : 0) + selection_.count(at);
    next += rank != last && last != kPastAll;
    base_[next] = {rank, sum};
    last = rank;
  }
  base_[any.empty() ? 0 : next + 1] = {kPastAll, 0};
}

void KnownCars::add_car(std::uint32_t car, TotalLines* lines, SweepSums& sums) {
  const bool has_serial = index_.serial_column() != SweepIndex::kNone;
  const std::int32_t unit = has_serial ? index_.serial_unit(cars_.columns[index_.serial_column()].place[car]) : 0;
  if (is_quick_) {
    sums.matches += found_.any.size();
    add_quickly(unit, sums);
  } else if (index_.asked_columns().empty()) {
    sums.matches += found_.any.size();
    add_merged(found_.serial, unit, lines, sums);
  } else {
    narrow_to(car);
    sums.matches += asked_any_.size();
    list_base(asked_any_);
    add_merged(asked_serial_, unit, lines, sums);
  }
}

void KnownCars::add_quickly(std::int32_t unit, SweepSums& sums) const {
  const SweepKernels::Hits hits =
      kernels_.test(lo_.data(), hi_.data(), counts_.data(), fresh_.data(), single_count_, unit);
  std::uint64_t matches = 0;
  std::uint64_t pairs = 0;
  std::int64_t sum = 0;
  std::uint32_t last = kPastAll;
  for (const Rival& rival : rivals_) {
    // Without branches: every hit adds, and counts a total unless its item has one already.
    const bool hit = (rival.lo <= unit) & (unit <= rival.hi);
    matches += hit;
    sum += hit ? rival.count : 0;
    pairs += hit & (rival.rank != last);
    last = hit ? rival.rank : last;
  }
  sums.matches += static_cast<std::uint64_t>(hits.matches) + matches;
  sums.pairs += base_pairs_ + static_cast<std::uint64_t>(hits.fresh) + pairs;
  const std::int64_t total = base_sum_ + hits.sum + sum;
  sums.lo += total;
  sums.hi += total;
}

void KnownCars::add_merged(std::span<const std::uint32_t> serial, std::int32_t unit, TotalLines* lines, SweepSums& sums) {
  if (hit_ranks_.size() < serial.size() + 1) {
    hit_ranks_.resize(serial.size() + 1);
    hit_counts_.resize(serial.size() + 1);
  }
  std::size_t hits = 0;
  for (const std::uint32_t at : serial) {
    hit_ranks_[hits] = at;
    hits += (selection_.serial_lo()[at] <= unit) & (unit <= selection_.serial_hi()[at]);
  }
  for (std::size_t hit = 0; hit < hits; ++hit) {
    const std::uint32_t at = selection_.any_count() + hit_ranks_[hit];
    hit_ranks_[hit] = selection_.ranks()[at];
    hit_counts_[hit] = selection_.count(at);
  }
  hit_ranks_[hits] = kPastAll;
  sums.matches += hits;
  const Total* base = base_.data();
  for (std::size_t hit = 0;;) {
    const std::uint32_t rank = std::min(base->rank, hit_ranks_[hit]);
    if (rank == kPastAll) break;
    std::int64_t total = 0;
    if (base->rank == rank) total = (base++)->sum;
    for (; hit_ranks_[hit] == rank; ++hit) total += hit_counts_[hit];
    if (sums.add_total(total, total) && lines != nullptr) lines->add(rank, total, total);
  }
}

bool KnownCars::passes_asked(std::uint32_t at, std::uint32_t car) const {
  const std::uint32_t row = index_.row(selection_.entry(at));
  for (const std::size_t number : index_.asked_columns()) {
    const SweepColumn& column = index_.columns()[number];
    if (!column.holds(column.row_sets[row], cars_.columns[number].place[car])) return false;
  }
  return true;
}

void KnownCars::narrow_to(std::uint32_t car) {
  asked_any_.clear();
  asked_serial_.clear();
  for (const std::uint32_t at : found_.any) {
    if (passes_asked(at, car)) asked_any_.push_back(at);
  }
  for (const std::uint32_t at : found_.serial) {
    if (passes_asked(selection_.any_count() + at, car)) asked_serial_.push_back(at);
  }
}

}  // namespace kitgap
