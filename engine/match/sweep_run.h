#pragma once

#include <functional>
#include <string_view>

#include "match/sweep.h"
#include "match/sweep_cars.h"
#include "match/sweep_index.h"
#include "match/sweep_sums.h"

namespace kitgap {

// Matches the cars [begin, end), on several threads, and writes the answer in order.
void run_sweep(const SweepIndex& index, const SweepCars& cars, const PlacedCars& placed, std::size_t begin, std::size_t end,
               const SweepOptions& options, const std::function<void(std::string_view)>& write, const std::function<void(std::string_view)>& say,
               SweepSummary& summary);

}  // namespace kitgap
