#pragma once

#include <string>
#include <vector>

#include "report/report.h"

namespace kitgap {

// The same pieces over the whole car: what to have on the bench.
struct PartTotal {
  std::string part, part_name, unit;
  Range sum;
  std::vector<Range> terms;  // of each line, in the report's order
};

// By part; assemblies and openings are not summed.
std::vector<PartTotal> totals_of(const Report& report);

}  // namespace kitgap
