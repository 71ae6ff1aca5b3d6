#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <string_view>

#include "text/cache.h"
#include "text/diagnostics.h"

namespace kitgap {

struct SweepOptions {
  bool is_strict = false;     // a column of the rows that is passed over is an error
  bool only_summary = false;
  unsigned threads = 0;       // 0: as many as the machine has
  std::uint64_t memory_bytes = std::uint64_t{4} << 30;
  std::uint64_t shard = 1;    // the `shard`th of `shards` slices of the cars, in the order of the answer
  std::uint64_t shards = 1;
  std::optional<Cache> cache = {};  // where indexes of rows are kept from one sweep to the next
};

// Sums over the cars of one run (a shard's are its own). Sums are exact decimals.
struct SweepSummary {
  std::uint64_t cars = 0;
  std::uint64_t rows = 0;
  std::uint64_t matches = 0;      // pairs of a row and a car that surely meet
  std::uint64_t may_match = 0;    // pairs that hang on an unknown fact
  std::uint64_t pairs = 0;        // totals above zero, or that may be
  std::string sum;                // of all totals, the least where facts are unknown
  std::string sum_hi;
  bool has_ranges = false;
  double load_seconds = 0;
  double build_seconds = 0;
  double match_seconds = 0;
  std::uint64_t index_bytes = 0;
  bool from_cache = false;  // the index was not made but found
};

// Sums what applies to each car. `write` gets the CSV in order, piece by piece, unless only the summary is wanted;
// `say` gets what a person should know (columns taken and passed over, how far it is). The answer does not depend on
// the number of threads. Nothing when something was reported.
[[nodiscard]] std::optional<SweepSummary> sweep(const std::filesystem::path& rows, const std::filesystem::path& cars,
                                                const SweepOptions& options,
                                                const std::function<void(std::string_view)>& write,
                                                const std::function<void(std::string_view)>& say, Sources& sources,
                                                Diagnostics& diagnostics);

}  // namespace kitgap
