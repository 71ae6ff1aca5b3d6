#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "match/room.h"
#include "match/sweep_index.h"
#include "match/sweep_kernels.h"

namespace kitgap {

// The entries of an index that cars alike in its first few vector columns may match, close together, with vectors
// over them for the other columns. Made once for many groups of cars.
class SweepSelection {
 public:
  explicit SweepSelection(const SweepIndex& index);
  // Selects by the cells of the first `cells.size()` vector columns; none selects everything and costs nothing.
  void select(std::span<const std::uint32_t> cells);

  const std::uint32_t* ranks() const { return ranks_; }
  const std::int32_t* counts() const { return counts_; }  // null where the index has wide ones
  std::int64_t count(std::uint32_t at) const { return counts_ != nullptr ? counts_[at] : index_.count(entry(at)); }
  const std::int32_t* serial_lo() const { return serial_lo_; }  // of the second part, from 0 on
  const std::int32_t* serial_hi() const { return serial_hi_; }
  std::uint32_t entry(std::uint32_t at) const { return entries_ == nullptr ? at : entries_[at]; }
  std::uint32_t any_count() const { return any_count_; }
  // The numbers, within the selection, of the entries that cars with these cells of the other vector columns may
  // match; those of the second part count from its begin. Good until the next call.
  struct Found {
    std::span<const std::uint32_t> any;
    std::span<const std::uint32_t> serial;
  };
  Found find(std::span<const std::uint32_t> cells);

 private:
  void select_all();
  // Gathers one part's bits; returns the number of entries.
  std::size_t gather(std::span<const std::uint32_t> cells, std::size_t first_word, std::size_t words, std::size_t entries,
                     std::size_t first_entry, std::vector<std::uint32_t>& found);
  const std::uint64_t* vector(std::size_t number, std::uint32_t cell) const;

  const SweepIndex& index_;
  const SweepKernels& kernels_ = sweep_kernels();
  std::size_t depth_ = 0;
  const std::uint32_t* ranks_ = nullptr;
  const std::int32_t* counts_ = nullptr;
  const std::int32_t* serial_lo_ = nullptr;
  const std::int32_t* serial_hi_ = nullptr;
  const std::uint32_t* entries_ = nullptr;
  std::uint32_t any_count_ = 0;
  std::uint32_t serial_count_ = 0;
  std::vector<std::uint32_t> own_ranks_, own_entries_;
  std::vector<std::int32_t> own_counts_, own_lo_, own_hi_;
  std::vector<std::uint64_t> own_words_;
  std::vector<std::size_t> first_cell_;  // per vector column, of its cells among all
  std::vector<const std::uint64_t*> masks_;
  Room<std::uint32_t> any_found_, serial_found_;  // never shrink
  std::vector<std::uint32_t> word_numbers_;
  std::vector<std::uint64_t> word_masks_;
};

}  // namespace kitgap
