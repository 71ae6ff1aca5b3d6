#pragma once

#include <functional>
#include <string_view>

#include "match/sweep.h"
#include "match/sweep_cars.h"
#include "match/sweep_sums.h"
#include "match/sweep_table.h"

namespace kitgap {

// So few cars that an index of the rows would cost more than it saves: every row is asked. Every fact is known.
inline constexpr std::size_t kFewCars = 8;

void run_few_cars(const SweepTable& table, const SweepCars& cars, const PlacedCars& placed, std::size_t begin,
                  std::size_t end, const SweepOptions& options, const std::function<void(std::string_view)>& write,
                  SweepSummary& summary);

}  // namespace kitgap
