#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <string_view>

#include "commands.h"
#include "match/sweep.h"

namespace kitgap {

// `sweep --rules`: the gap summary of each car of a table, a line of JSON per car, in the order of the file.
int sweep_packs(const Arguments& arguments, const SweepOptions& options, const std::function<void(std::string_view)>& write,
                Terminal& terminal);

}  // namespace kitgap
