#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "text/diagnostics.h"

namespace kitgap {

// Kits opened to totals: how many of each last piece the demand takes, through all kits in kits.
//
// `edges` is a CSV file `parent,child,quantity` (one parent takes so many of the child), `demand` one of
// `item,quantity`. Further columns are passed over; rows that repeat add up. Quantities are decimals of any
// length, not negative. Totals are exact, whatever their size: past 64 bits the sums are made in 128, past these in
// as many digits as it takes, up to `kMaxTotalDigits`, past which the total is refused.
//
// The answer is CSV `item,total`: every item that is no parent, in byte order, with a total of 0 where none is taken.
// Nothing when something was reported: a wrong cell, or every cycle with the names of its items.
inline constexpr std::size_t kMaxTotalDigits = 10'000;
[[nodiscard]] std::optional<std::string> totals_csv(const std::filesystem::path& edges,
                                                    const std::filesystem::path& demand, Sources& sources,
                                                    Diagnostics& diagnostics);

// The groups of nodes that lie on cycles together, each in order, sorted by their first node. Node n's edges
// lie in `targets` at begin[n] up to end[n]. Linear in time, no recursion.
std::vector<std::vector<std::uint32_t>> cycles_of(const std::vector<std::uint32_t>& begin,
                                                  const std::vector<std::uint32_t>& end,
                                                  const std::vector<std::uint32_t>& targets);

}  // namespace kitgap
