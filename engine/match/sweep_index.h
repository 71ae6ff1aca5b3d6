#pragma once

#include <cstdint>
#include <limits>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "match/sweep_places.h"
#include "match/sweep_table.h"

namespace kitgap {

// The rows of a sweep, laid out to be matched by many cars. Columns of few cells are bit vectors over the rows, a
// vector per cell; the column that tells most values apart (a serial number) is kept as two ends per row, and rows
// that do not ask about it come first, so that cars which differ only there share all the rest; what is left over is
// asked row by row after the vectors have narrowed. Within both parts rows lie by item, so that sums are runs.
// Memory grows with the rows alone. Needs nothing of the table it was made from.
class SweepIndex {
 public:
  // Without `keeps_rows` there may be no car with an unknown fact, nor a column asked row by row.
  SweepIndex(SweepTable table, bool keeps_rows);
  static bool needs_rows(const SweepTable& table);  // a column has to be asked row by row

  static constexpr std::size_t kNone = ~std::size_t{0};
  // Ends of serials in units of their own: first and last stand for no end.
  static constexpr std::int32_t kFirstUnit = std::numeric_limits<std::int32_t>::min();
  static constexpr std::int32_t kLastUnit = std::numeric_limits<std::int32_t>::max();

  // Entries [0, any_count) are passed by any serial; each part lies by item.
  std::size_t entry_count() const { return ranks_.size(); }
  std::size_t any_count() const { return ranks_.size() - serial_lo_.size(); }
  const std::uint32_t* ranks() const { return ranks_.data(); }  // places of the items in the order of the answer
  std::int64_t count(std::size_t entry) const { return counts_.empty() ? wide_counts_[entry] : counts_[entry]; }
  const std::int32_t* narrow_counts() const { return counts_.empty() ? nullptr : counts_.data(); }
  const std::int32_t* serial_lo() const { return serial_lo_.data(); }  // per entry past the first part
  const std::int32_t* serial_hi() const { return serial_hi_.data(); }
  std::uint32_t row(std::size_t entry) const { return rows_[entry]; }
  std::int32_t serial_unit(std::int64_t place) const;

  const std::vector<SweepColumn>& columns() const { return columns_; }
  std::size_t serial_column() const { return serial_column_; }
  const std::vector<std::size_t>& vector_columns() const { return vector_columns_; }
  const std::vector<std::size_t>& asked_columns() const { return asked_columns_; }
  // Cars with the same cell cannot be told apart by the column.
  std::uint32_t cell(std::size_t number, std::int64_t place) const;
  std::size_t cell_count(std::size_t number) const { return cells_[number].begins.size() + 1; }
  // A bit per entry, the two parts each from a word of its own on.
  const std::uint64_t* vector(std::size_t number, std::uint32_t cell) const {
    return cells_[number].words.data() + cell * word_count();
  }
  std::size_t any_words() const { return (any_count() + 63) / 64; }
  std::size_t serial_words() const { return (serial_lo_.size() + 63) / 64; }
  std::size_t word_count() const { return any_words() + serial_words(); }

  // The item as a CSV cell between its commas: `,panel-clip,`. Some bytes after it may be read.
  std::string_view item_cell(std::uint32_t rank) const {
    return std::string_view(item_cells_.data() + item_begins_[rank], item_begins_[rank + 1] - item_begins_[rank]);
  }
  std::size_t item_count() const { return item_begins_.size() - 1; }
  std::uint64_t row_count() const { return row_count_; }
  unsigned count_places() const { return count_places_; }
  bool all_positive() const { return all_positive_; }
  std::int64_t greatest_count() const { return greatest_count_; }
  std::uint64_t bytes() const;
  static constexpr std::size_t kReadable = 32;  // bytes after the items' cells

 private:
  struct Cells {
    Kept<std::int64_t> begins;   // of each cell but the first
    Kept<std::uint64_t> words;   // `word_count` per cell
  };
  friend class CompiledTable;  // puts it into a file, and makes it of one
  SweepIndex() = default;
  void order_items(const TextIds& items, std::vector<std::uint32_t>& rank_of_item);
  void set_serial_units();
  void place_entries(const SweepTable& table, const std::vector<std::uint32_t>& rank_of_item);
  void build_vectors();
  std::span<const PlaceRange> serials_of(std::size_t row) const {
    return columns_[serial_column_].set(columns_[serial_column_].row_sets[row]);
  }
  bool asks_serial(std::size_t row) const {
    return serial_column_ != kNone && !columns_[serial_column_].is_any(columns_[serial_column_].row_sets[row]);
  }

  std::shared_ptr<const void> mapping_;  // where the arrays lie in a mapped file
  std::vector<SweepColumn> columns_;
  std::size_t serial_column_ = kNone;
  std::vector<std::size_t> vector_columns_;
  std::vector<std::size_t> asked_columns_;
  std::vector<Cells> cells_;  // per vector column
  Kept<std::uint32_t> ranks_;
  Kept<std::int32_t> counts_;  // empty where some count is wide
  Kept<std::int64_t> wide_counts_;
  Kept<std::uint32_t> rows_;
  Kept<std::int32_t> serial_lo_;
  Kept<std::int32_t> serial_hi_;
  Kept<std::int64_t> serial_cuts_;  // empty: units are places from `serial_base_` on
  std::int64_t serial_base_ = 0;
  std::int64_t serial_span_ = 0;
  Kept<char> item_cells_;
  Kept<std::uint64_t> item_begins_;
  std::uint64_t row_count_ = 0;
  unsigned count_places_ = 0;
  bool all_positive_ = true;
  std::int64_t greatest_count_ = 0;
};

}  // namespace kitgap
