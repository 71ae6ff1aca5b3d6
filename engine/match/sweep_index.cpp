#include "match/sweep_index.h"

#include <algorithm>
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

}  // namespace

SweepIndex::SweepIndex(const SweepInput& input) : input_(input) {
  choose_columns();
  order_rows();
  build_vectors();
}

// Where the column's tests begin or end; longer than `limit` means there are more.
std::vector<std::int64_t> SweepIndex::cuts_of(std::size_t column, std::size_t limit) const {
  const SweepColumn& tests = input_.columns[column];
  std::vector<std::int64_t> cuts;
  for (const PlaceRange& range : tests.ranges) {
    if (range.lo != kFirstPlace) cuts.push_back(range.lo);
    if (range.hi != kLastPlace) cuts.push_back(range.hi + 1);
    if (cuts.size() < 64 * (limit + 1)) continue;
    sort_unique(cuts);
    if (cuts.size() > 32 * (limit + 1)) return cuts;
  }
  sort_unique(cuts);
  return cuts;
}

void SweepIndex::choose_columns() {
  std::vector<std::size_t> cells(input_.columns.size());
  std::vector<std::size_t> order(input_.columns.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  for (std::size_t column = 0; column < cells.size(); ++column) cells[column] = cuts_of(column, kMostCells).size() + 1;
  std::stable_sort(order.begin(), order.end(), [&](auto a, auto b) { return cells[a] < cells[b]; });
  std::size_t budget = kVectorBudget;
  for (const std::size_t column : order) {
    if (cells[column] <= std::min(budget, kMostCells)) {
      budget -= cells[column];
      vector_columns_.push_back(column);  // one cell too: some of its sets may be empty
    } else {
      asked_columns_.push_back(column);
    }
  }
  if (asked_columns_.empty()) return;
  const auto most = std::max_element(asked_columns_.begin(), asked_columns_.end(), [&](auto a, auto b) {
    return input_.columns[a].set_count() < input_.columns[b].set_count();
  });
  serial_column_ = *most;
  asked_columns_.erase(most);
}

void SweepIndex::order_rows() {
  const std::size_t items = input_.items.size();
  item_of_rank_.resize(items);
  std::iota(item_of_rank_.begin(), item_of_rank_.end(), 0U);
  std::sort(item_of_rank_.begin(), item_of_rank_.end(), [&](auto a, auto b) {
    return comes_before(input_.items.text(a), input_.items.text(b));
  });
  rank_of_item_.resize(items);
  for (std::uint32_t rank = 0; rank < items; ++rank) rank_of_item_[item_of_rank_[rank]] = rank;
  for (const std::uint32_t number : item_of_rank_) {
    cell_begins_.push_back(item_cells_.size());
    item_cells_.push_back(',');
    append_csv_cell(item_cells_, input_.items.text(number));
    item_cells_.push_back(',');
  }
  cell_begins_.push_back(item_cells_.size());
  const std::size_t rows = input_.row_items.size();
  const auto ranges_of = [&](std::size_t row) {
    const SweepColumn& column = input_.columns[serial_column_];
    const std::uint32_t set = column.row_sets[row];
    return std::span(column.ranges).subspan(column.first[set], column.first[set + 1] - column.first[set]);
  };
  const auto asks_serial = [&](std::size_t row) {
    return serial_column_ != kNone && !(ranges_of(row).size() == 1 && ranges_of(row).front().is_any());
  };
  // Counting sort: first those that any serial passes, by item, then the others, by item, one entry per range.
  std::vector<std::uint32_t> place(2 * items + 1, 0);
  const auto bucket = [&](std::size_t row) {
    return rank_of_item_[input_.row_items[row]] + (asks_serial(row) ? items : 0);
  };
  for (std::size_t row = 0; row < rows; ++row) {
    place[bucket(row) + 1] += static_cast<std::uint32_t>(asks_serial(row) ? ranges_of(row).size() : 1);
  }
  for (std::size_t at = 0; at < 2 * items; ++at) place[at + 1] += place[at];
  any_serial_ = place[items];
  entries_.resize(place[2 * items]);
  rows_.resize(entries_.size());
  serials_.resize(entries_.size() - any_serial_);
  for (std::size_t row = 0; row < rows; ++row) {
    const Entry entry{rank_of_item_[input_.row_items[row]], input_.row_counts[row]};
    std::uint32_t& next = place[bucket(row)];
    if (!asks_serial(row)) {
      rows_[next] = static_cast<std::uint32_t>(row);
      entries_[next++] = entry;
      continue;
    }
    for (const PlaceRange& range : ranges_of(row)) {
      rows_[next] = static_cast<std::uint32_t>(row);
      serials_[next - any_serial_] = {range.lo, range.hi};
      entries_[next++] = entry;
    }
  }
}

void SweepIndex::build_vectors() {
  words_ = (entries_.size() + 63) / 64;
  for (const std::size_t number : vector_columns_) {
    const SweepColumn& column = input_.columns[number];
    Cells& cells = cells_.emplace_back();
    cells.begins = cuts_of(number, kMostCells);
    const std::size_t count = cells.begins.size() + 1;
    cells.words.assign(count * words_, 0);
    // Per set the cells it holds, then row by row a bit in each.
    std::vector<std::vector<std::uint32_t>> held(column.set_count());
    for (std::uint32_t set = 0; set < column.set_count(); ++set) {
      for (std::uint32_t cell = 0; cell < count; ++cell) {
        const std::int64_t place = cell == 0 ? (cells.begins.empty() ? 0 : cells.begins.front() - 1) : cells.begins[cell - 1];
        if (column.holds(set, place)) held[set].push_back(cell);
      }
    }
    for (std::size_t at = 0; at < entries_.size(); ++at) {
      const std::uint64_t bit = std::uint64_t{1} << (at % 64);
      for (const std::uint32_t cell : held[column.row_sets[rows_[at]]]) cells.words[cell * words_ + at / 64] |= bit;
    }
  }
}

std::uint32_t SweepIndex::cell(std::size_t number, std::int64_t place) const {
  const auto& begins = cells_[number].begins;
  return static_cast<std::uint32_t>(std::upper_bound(begins.begin(), begins.end(), place) - begins.begin());
}

const std::uint64_t* SweepIndex::vector(std::size_t number, std::int64_t place) const {
  return cells_[number].words.data() + cell(number, place) * words_;
}

std::uint64_t SweepIndex::bytes() const {
  std::uint64_t total = entries_.size() * (sizeof(Entry) + sizeof(std::uint32_t)) + serials_.size() * sizeof(Serial);
  for (const Cells& cells : cells_) total += cells.words.size() * 8;
  return total;
}

}  // namespace kitgap
