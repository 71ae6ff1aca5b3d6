#include "match/sweep_index.h"

#include <algorithm>
#include <array>
#include <numeric>
#include <span>

#include "text/csv.h"

namespace kitgap {
namespace {

constexpr std::size_t kMostCells = 128;    // of one column that is made into vectors
constexpr std::size_t kVectorBudget = 224; // cells of all vectors together: 28 bytes a row

void sort_unique(std::vector<std::int64_t>& places) {
  std::sort(places.begin(), places.end());
  places.erase(std::unique(places.begin(), places.end()), places.end());
}

// Where the column's tests begin or end; longer than `limit` means there are more.
std::vector<std::int64_t> cuts_of(const SweepColumn& column, std::size_t limit) {
  std::vector<std::int64_t> cuts;
  for (const PlaceRange& range : column.ranges) {
    if (range.lo != kFirstPlace) cuts.push_back(range.lo);
    if (range.hi != kLastPlace) cuts.push_back(range.hi + 1);
    if (cuts.size() < 64 * (limit + 1)) continue;
    sort_unique(cuts);
    if (cuts.size() > 32 * (limit + 1)) return cuts;
  }
  sort_unique(cuts);
  return cuts;
}

// Columns to be vectors, the others by their number of different sets, most first.
struct Roles {
  std::vector<std::size_t> vectors;
  std::vector<std::size_t> others;
};

Roles roles_of(const std::vector<SweepColumn>& columns) {
  std::vector<std::size_t> cells;
  for (const SweepColumn& column : columns) cells.push_back(cuts_of(column, kMostCells).size() + 1);
  std::vector<std::size_t> order(columns.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(), [&](auto a, auto b) { return cells[a] < cells[b]; });
  Roles roles;
  std::size_t budget = kVectorBudget;
  for (const std::size_t column : order) {
    if (cells[column] <= std::min(budget, kMostCells)) {
      budget -= cells[column];
      roles.vectors.push_back(column);  // one cell too: some of its sets may be empty
    } else {
      roles.others.push_back(column);
    }
  }
  // The most telling first: cars are grouped in this order.
  std::reverse(roles.vectors.begin(), roles.vectors.end());
  std::stable_sort(roles.others.begin(), roles.others.end(),
                   [&](auto a, auto b) { return columns[a].set_count() > columns[b].set_count(); });
  return roles;
}

}  // namespace

bool SweepIndex::needs_rows(const SweepTable& table) { return roles_of(table.columns).others.size() > 1; }

SweepIndex::SweepIndex(SweepTable table, bool keeps_rows)
    : columns_(std::move(table.columns)), row_count_(table.row_items.size()), count_places_(table.count_places) {
  const Roles roles = roles_of(columns_);
  vector_columns_ = roles.vectors;
  if (!roles.others.empty()) {
    serial_column_ = roles.others.front();
    asked_columns_.assign(roles.others.begin() + 1, roles.others.end());
  }
  std::vector<std::uint32_t> rank_of_item;
  order_items(table.items, rank_of_item);
  set_serial_units();
  place_entries(table, rank_of_item);
  build_vectors();
  if (keeps_rows) return;
  for (SweepColumn& column : columns_) column.row_sets = {};
  if (serial_column_ != kNone) {
    columns_[serial_column_].first = {};
    columns_[serial_column_].ranges = {};
  }
  rows_ = {};
}

void SweepIndex::order_items(const TextIds& items, std::vector<std::uint32_t>& rank_of_item) {
  const auto order = natural_order(items.size(), [&](std::size_t item) { return std::string(items.text(static_cast<std::uint32_t>(item))); });
  rank_of_item.resize(items.size());
  std::string cells;
  std::vector<std::uint64_t> begins;
  for (std::uint32_t rank = 0; rank < order.size(); ++rank) {
    rank_of_item[order[rank]] = rank;
    begins.push_back(cells.size());
    cells.push_back(',');
    append_csv_cell(cells, items.text(order[rank]));
    cells.push_back(',');
  }
  begins.push_back(cells.size());
  cells.append(kReadable, ' ');
  item_cells_ = std::vector<char>(cells.begin(), cells.end());
  item_begins_ = std::move(begins);
}

// Serials are kept in 32 bits: as they are when they lie close enough together, else by their number among all ends.
void SweepIndex::set_serial_units() {
  if (serial_column_ == kNone) return;
  std::int64_t least = kLastPlace;
  std::int64_t greatest = kFirstPlace;
  for (const PlaceRange& range : columns_[serial_column_].ranges) {
    for (const std::int64_t end : {range.lo, range.hi}) {
      if (end == kFirstPlace || end == kLastPlace) continue;
      least = std::min(least, end);
      greatest = std::max(greatest, end);
    }
  }
  if (least > greatest) return;
  std::int64_t span = 0;
  constexpr std::int64_t kMostSpan = std::int64_t{1} << 30;
  if (!__builtin_sub_overflow(greatest, least, &span) && span < kMostSpan) {
    serial_base_ = least;
    serial_span_ = span;
    return;
  }
  std::vector<std::int64_t> cuts;
  for (const PlaceRange& range : columns_[serial_column_].ranges) {
    if (range.lo != kFirstPlace) cuts.push_back(range.lo);
    if (range.hi != kLastPlace) cuts.push_back(range.hi + 1);
  }
  sort_unique(cuts);
  serial_cuts_ = std::move(cuts);
}

std::int32_t SweepIndex::serial_unit(std::int64_t place) const {
  if (!serial_cuts_.empty()) {
    return static_cast<std::int32_t>(std::upper_bound(serial_cuts_.begin(), serial_cuts_.end(), place) - serial_cuts_.begin());
  }
  if (place < serial_base_) return -1;
  if (place > serial_base_ + serial_span_) return static_cast<std::int32_t>(serial_span_ + 1);
  return static_cast<std::int32_t>(place - serial_base_);
}

// Counting sort: first those that any serial passes, by item, then the others, by item, one entry per range.
void SweepIndex::place_entries(const SweepTable& table, const std::vector<std::uint32_t>& rank_of_item) {
  const std::size_t items = rank_of_item.size();
  std::vector<std::uint32_t> place(2 * items + 1, 0);
  for (std::size_t row = 0; row < row_count_; ++row) {
    const std::uint32_t rank = rank_of_item[table.row_items[row]];
    if (asks_serial(row)) {
      place[items + rank + 1] += static_cast<std::uint32_t>(serials_of(row).size());
    } else {
      ++place[rank + 1];
    }
    const std::int64_t count = table.row_counts[row];
    all_positive_ &= count > 0;
    greatest_count_ = std::max(greatest_count_, count < 0 ? -count : count);
  }
  for (std::size_t at = 0; at < 2 * items; ++at) place[at + 1] += place[at];
  const std::size_t any = place[items];
  const std::size_t all = place[2 * items];
  const bool is_narrow = greatest_count_ <= std::numeric_limits<std::int32_t>::max();
  std::vector<std::uint32_t> ranks(all), rows(all);
  std::vector<std::int32_t> counts(is_narrow ? all : 0), lo(all - any), hi(all - any);
  std::vector<std::int64_t> wide(is_narrow ? 0 : all);
  const auto put = [&](std::uint32_t at, std::size_t row, std::uint32_t rank) {
    ranks[at] = rank;
    rows[at] = static_cast<std::uint32_t>(row);
    if (is_narrow) {
      counts[at] = static_cast<std::int32_t>(table.row_counts[row]);
    } else {
      wide[at] = table.row_counts[row];
    }
  };
  for (std::size_t row = 0; row < row_count_; ++row) {
    const std::uint32_t rank = rank_of_item[table.row_items[row]];
    if (!asks_serial(row)) {
      put(place[rank]++, row, rank);
      continue;
    }
    for (const PlaceRange& range : serials_of(row)) {
      const std::uint32_t at = place[items + rank]++;
      put(at, row, rank);
      lo[at - any] = range.lo == kFirstPlace ? kFirstUnit : serial_unit(range.lo);
      hi[at - any] = range.hi == kLastPlace ? kLastUnit : serial_unit(range.hi);
    }
  }
  ranks_ = std::move(ranks);
  rows_ = std::move(rows);
  counts_ = std::move(counts);
  wide_counts_ = std::move(wide);
  serial_lo_ = std::move(lo);
  serial_hi_ = std::move(hi);
}

void SweepIndex::build_vectors() {
  for (const std::size_t number : vector_columns_) {
    const SweepColumn& column = columns_[number];
    Cells& cells = cells_.emplace_back();
    cells.begins = cuts_of(column, kMostCells);
    const std::size_t count = cells.begins.size() + 1;
    // Per set the cells it holds.
    std::vector<std::uint8_t> held;
    std::vector<std::uint32_t> first_held{0};
    for (std::uint32_t set = 0; set < column.set_count(); ++set) {
      for (std::size_t cell = 0; cell < count; ++cell) {
        const std::int64_t place = cell > 0 ? cells.begins[cell - 1] : cells.begins.empty() ? 0 : cells.begins[0] - 1;
        if (column.holds(set, place)) held.push_back(static_cast<std::uint8_t>(cell));
      }
      first_held.push_back(static_cast<std::uint32_t>(held.size()));
    }
    // A word of 64 entries for all cells at once, so that the bits are gathered close by.
    std::vector<std::uint64_t> words(count * word_count(), 0);
    std::array<std::uint64_t, kMostCells> gathered;
    std::size_t entry = 0;
    for (std::size_t word = 0; word < word_count(); ++word) {
      const std::size_t end = word < any_words() ? std::min(any_count(), (word + 1) * 64)
                                                 : std::min(entry_count(), any_count() + (word + 1 - any_words()) * 64);
      gathered.fill(0);
      for (std::uint64_t bit = 1; entry < end; ++entry, bit <<= 1) {
        const std::uint32_t set = column.row_sets[rows_[entry]];
        for (std::uint32_t at = first_held[set]; at < first_held[set + 1]; ++at) gathered[held[at]] |= bit;
      }
      for (std::size_t cell = 0; cell < count; ++cell) words[cell * word_count() + word] = gathered[cell];
    }
    cells.words = std::move(words);
  }
}

std::uint32_t SweepIndex::cell(std::size_t number, std::int64_t place) const {
  const auto& begins = cells_[number].begins;
  return static_cast<std::uint32_t>(std::upper_bound(begins.begin(), begins.end(), place) - begins.begin());
}

std::uint64_t SweepIndex::bytes() const {
  std::uint64_t total = ranks_.bytes() + counts_.bytes() + wide_counts_.bytes() + rows_.bytes() + serial_lo_.bytes() +
                        serial_hi_.bytes() + serial_cuts_.bytes() + item_cells_.bytes() + item_begins_.bytes();
  for (const Cells& cells : cells_) total += cells.words.bytes();
  for (const SweepColumn& column : columns_) total += column.row_sets.bytes() + column.first.bytes() + column.ranges.bytes();
  return total;
}

}  // namespace kitgap
