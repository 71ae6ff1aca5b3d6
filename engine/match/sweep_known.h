#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "match/sweep_index.h"
#include "match/sweep_selection.h"
#include "match/sweep_sums.h"

namespace kitgap {

// Sums for cars of which every fact is known. Cars in the same cells of all vector columns are a group: what they
// share is worked out once.
class KnownCars {
 public:
  KnownCars(const SweepIndex& index, const PlacedCars& cars);
  // The first cells of the cars that follow, then the others of each group; see SweepSelection.
  void begin_selection(std::span<const std::uint32_t> cells) { selection_.select(cells); }
  void begin_group(std::span<const std::uint32_t> cells, bool writes_lines);
  // Adds the car's sums, and its lines to `lines` unless that is null.
  void add_car(std::uint32_t car, TotalLines* lines, SweepSums& sums);

 private:
  struct Total {
    std::uint32_t rank;
    std::int64_t sum;
  };
  // A row that asks for a serial, of an item with others of its kind.
  struct Rival {
    std::int32_t lo;
    std::int32_t hi;
    std::int64_t count;
    std::uint32_t rank;
  };
  void sum_base();
  void sort_candidates();
  void list_base(std::span<const std::uint32_t> any);
  void add_quickly(std::int32_t unit, SweepSums& sums) const;
  void add_merged(std::span<const std::uint32_t> serial, std::int32_t unit, TotalLines* lines, SweepSums& sums);
  void narrow_to(std::uint32_t car);
  bool passes_asked(std::uint32_t at, std::uint32_t car) const;

  const SweepIndex& index_;
  const PlacedCars& cars_;
  const SweepKernels& kernels_ = sweep_kernels();
  SweepSelection selection_;
  SweepSelection::Found found_;
  bool is_quick_ = false;  // only sums are wanted, and they fit the quick loop
  // Of the rows that any serial passes:
  std::uint64_t base_pairs_ = 0;
  std::int64_t base_sum_ = 0;
  std::vector<Total> base_;  // and one past all items
  // Of those that ask, by kind: at most one a total, as arrays filled up to a multiple of eight, and the others.
  std::vector<std::int32_t> lo_, hi_, counts_, fresh_;
  std::size_t single_count_ = 0;
  std::vector<Rival> rivals_;
  std::vector<std::uint32_t> stamps_;  // per item: the last group that has it without asking
  std::uint32_t group_ = 0;
  std::vector<std::uint32_t> hit_ranks_;
  std::vector<std::int64_t> hit_counts_;
  std::vector<std::uint32_t> asked_any_, asked_serial_;
};

}  // namespace kitgap
