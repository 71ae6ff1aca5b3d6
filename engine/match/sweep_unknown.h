#pragma once

#include <cstdint>
#include <vector>

#include "match/sweep_index.h"
#include "match/sweep_sums.h"

namespace kitgap {

// Totals of cars of which some fact is unknown: the least and the greatest over all that it may be.
class UnknownCars {
 public:
  UnknownCars(const SweepIndex& index, const PlacedCars& cars) : index_(index), cars_(cars) {}
  // Adds the car's sums, and its lines to `lines` unless that is null. `stop_early` ends at the first range.
  void add_car(std::uint32_t car, TotalLines* lines, bool stop_early, SweepSums& sums);

 private:
  struct Found {
    std::uint32_t rank;
    std::uint32_t entry;
    bool is_open;
  };
  // An entry that hangs on unknown facts.
  struct Open {
    std::uint32_t entry;
    std::int64_t count;
  };
  struct Bounds {
    std::int64_t lo = 0;
    std::int64_t hi = 0;
  };
  template <class Visit>
  void for_each_entry(std::uint32_t car, const Visit& visit);
  bool passes_asked(std::uint32_t entry, std::uint32_t car) const;
  bool passes_serial(std::uint32_t entry, std::uint32_t car) const;
  void find(std::uint32_t car);
  Bounds bounds_of(const std::vector<Open>& opens, std::size_t depth, SweepSums& sums);
  std::vector<PlaceRange> ranges_of(std::uint32_t entry, std::size_t column) const;

  const SweepIndex& index_;
  const PlacedCars& cars_;
  std::vector<std::size_t> unknown_;  // columns
  std::vector<const std::uint64_t*> masks_;
  std::vector<Found> found_;
  std::uint64_t steps_ = 0;
};

}  // namespace kitgap
