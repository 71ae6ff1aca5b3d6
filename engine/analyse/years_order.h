#pragma once

#include <functional>

#include "analyse/years.h"
#include "analyse/years_profile.h"

namespace kitgap {

// What `years_orders` is worked out from.
struct YearsOrderInput {
  const NeedModel& model;
  YearsProfile& profile;
  const std::vector<FactId>& across;
  const std::vector<FactId>& axes;  // the same, the run last
  std::optional<FactId> run;
  std::function<bool(const Line&)> is_wanted;
  std::function<const YearsLeaves&(LineId)> leaves_of;  // of one line, where all lines together are too many
};

// What a whole car takes of each part, and in how many packs that is sold. Needs only: nothing in hand is counted.
std::vector<YearsOrder> years_orders(const YearsOrderInput& input);

}  // namespace kitgap
