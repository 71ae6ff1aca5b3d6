#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "match/sweep_table.h"

namespace kitgap {

// The rows of a sweep, laid out to be matched by many cars. Columns of few cells are bit vectors over the rows, a
// vector per cell; the column that tells most values apart (a serial number) is kept as two ends per row, and rows
// that do not ask about it come first, so that cars which differ only there share all the rest; what is left over is
// asked row by row after the vectors have narrowed. Within both parts rows lie by item, so that sums are runs.
// Memory grows with the rows alone.
class SweepIndex {
 public:
  explicit SweepIndex(const SweepInput& input);

  struct Entry {
    std::uint32_t item_rank = 0;  // place of the item in the order of the answer
    std::int64_t count = 0;
  };
  struct Serial {
    std::int64_t lo;
    std::int64_t hi;
  };
  static constexpr std::size_t kNone = ~std::size_t{0};

  std::size_t entry_count() const { return entries_.size(); }
  std::size_t any_serial_count() const { return any_serial_; }
  const Entry& entry(std::size_t at) const { return entries_[at]; }
  const Serial& serial(std::size_t at) const { return serials_[at - any_serial_]; }
  std::uint32_t row(std::size_t at) const { return rows_[at]; }
  std::size_t serial_column() const { return serial_column_; }
  // The item as a CSV cell between its commas: `,panel-clip,`.
  std::string_view item_cell(std::uint32_t rank) const {
    return std::string_view(item_cells_).substr(cell_begins_[rank], cell_begins_[rank + 1] - cell_begins_[rank]);
  }
  const SweepInput& input() const { return input_; }
  const std::vector<std::size_t>& vector_columns() const { return vector_columns_; }
  const std::vector<std::size_t>& asked_columns() const { return asked_columns_; }
  // The vector of the cell that holds the place.
  const std::uint64_t* vector(std::size_t number, std::int64_t place) const;
  // A number that is equal for cars which the vectors cannot tell apart.
  std::uint32_t cell(std::size_t number, std::int64_t place) const;
  std::size_t word_count() const { return words_; }
  std::uint64_t bytes() const;

 private:
  struct Cells {
    std::vector<std::int64_t> begins;  // of each cell but the first
    std::vector<std::uint64_t> words;  // `words_` per cell
  };
  void choose_columns();
  void order_rows();
  void build_vectors();
  std::vector<std::int64_t> cuts_of(std::size_t column, std::size_t limit) const;

  const SweepInput& input_;
  std::size_t serial_column_ = kNone;
  std::vector<std::size_t> vector_columns_;
  std::vector<std::size_t> asked_columns_;
  std::vector<Cells> cells_;
  std::vector<Entry> entries_;
  std::vector<std::uint32_t> rows_;
  std::vector<Serial> serials_;
  std::vector<std::uint32_t> item_of_rank_;
  std::vector<std::uint32_t> rank_of_item_;
  std::string item_cells_;
  std::vector<std::size_t> cell_begins_;
  std::size_t any_serial_ = 0;
  std::size_t words_ = 0;
};

}  // namespace kitgap
