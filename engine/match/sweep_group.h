#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "match/sweep_index.h"

namespace kitgap {

struct SweepSums {
  std::uint64_t matches = 0;
  std::uint64_t may_match = 0;
  std::uint64_t pairs = 0;
  __int128 lo = 0;
  __int128 hi = 0;
  bool differs = false;  // some total is a range
  bool gave_up = false;  // some range is a sound bound only
  SweepSums& operator+=(const SweepSums& other);
};

std::string decimal_text(__int128 scaled, unsigned places);

// Cars that the vectors and the columns asked row by row cannot tell apart, and whose unknown facts are the same:
// what they share is worked out once.
class CarGroup {
 public:
  CarGroup(const SweepIndex& index, bool writes_ranges);
  void begin(std::uint32_t car);
  // Adds the car's sums, and its lines to `text` unless that is null. `stop_early` ends at the first range.
  void add_car(std::uint32_t car, std::string* text, bool stop_early, SweepSums& sums);

 private:
  struct Total {
    std::uint32_t rank;
    std::int64_t lo;
    std::int64_t hi;
  };
  struct Candidate {
    std::int64_t lo;
    std::int64_t hi;
    std::int64_t count;
    std::uint32_t rank;
    bool in_base;
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
  bool passes_asked(std::size_t entry, std::uint32_t car) const;
  void add_known(std::uint32_t car, std::string* text, SweepSums& sums);
  void add_unknown(std::uint32_t car, std::string* text, bool stop_early, SweepSums& sums);
  Bounds bounds_of(const std::vector<Open>& opens, std::size_t depth, SweepSums& sums);
  std::vector<PlaceRange> ranges_of(std::uint32_t entry, std::size_t column) const;
  void write(const Total& total, std::string* text, SweepSums& sums) const;

  const SweepIndex& index_;
  bool writes_ranges_;
  bool all_positive_;
  std::vector<std::size_t> unknown_;  // columns
  std::vector<Total> base_;           // of rows that any serial passes
  std::uint64_t base_matches_ = 0;
  std::uint64_t base_pairs_ = 0;
  __int128 base_sum_ = 0;
  std::vector<Candidate> candidates_;
  std::vector<const std::uint64_t*> masks_;
  std::string car_cell_;  // the present car's id as a CSV cell
  std::uint64_t steps_ = 0;
};

}  // namespace kitgap
