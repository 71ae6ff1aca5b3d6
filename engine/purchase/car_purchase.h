#pragma once

#include <map>
#include <string>
#include <vector>

#include "cover/answer.h"
#include "purchase/problem.h"
#include "purchase/spares.h"

namespace kitgap {

struct CarPurchaseOptions {
  Fraction confidence = default_confidence();  // that pieces which can break are enough
  std::map<std::string, Fraction> rates = {};  // what one unit of a currency is worth; needed once suppliers differ
};

// What is to be bought for one car, and from whom it can be bought.
struct CarPurchase {
  PurchaseProblem problem;
  std::vector<std::string> without_rate;  // currencies that no rate is stated for: their suppliers are left out
  std::vector<std::string> without_price;  // offers that would serve but state no price: `supplier part number`
};

// The gaps of `answer` in their worst case, pieces that can break with their spares, against all offers of the packs.
//
// What an offer brings is asked of the cover itself: one pack is put on the list and the gaps that shrink are read off,
// so that fit, hand, place, kits and what an assembly promises count exactly as in the report. An offer that may or may
// not fit shrinks no worst case and is out. Items are named by part, and by place or hand where the part is bound to it.
// `lists` are those that `answer` was worked out with. Costs a look at the cover of each line that an offer could serve.
[[nodiscard]] CarPurchase car_purchase(const NeedModel& needs, const std::vector<ReadList>& lists, const Answer& answer,
                                       const CarPurchaseOptions& options = {});

}  // namespace kitgap
