#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "cover/answer.h"
#include "purchase/order_notes.h"
#include "purchase/pooling.h"
#include "purchase/spares.h"

namespace kitgap {

struct CarPurchaseOptions {
  Fraction confidence = default_confidence();  // that pieces which can break are enough
  std::map<std::string, Fraction> rates = {};  // what one unit of a currency is worth; needed once suppliers differ
  // Offers that fit only if something turns out so, and offers of unstated lead time, are taken as good.
  bool assume_open = false;
  // Of a range of what is lacking the least is bought, not the most.
  bool least = false;
  std::int64_t today = 0;  // the day of the order, from 1970-01-01: what steps need by a date is counted from it
  // What an hour of moving pieces over is worth: then pieces of old parts are taken only where that costs less than
  // new ones. Nothing: the time is free.
  std::optional<Fraction> hour_worth = {};
};

// A car that the order is for. All cars are of the same packs.
struct CarOfOrder {
  std::string name;
  const NeedModel* needs = nullptr;
  const std::vector<ReadList>* lists = nullptr;  // those that `answer` was worked out with
  const Answer* answer = nullptr;
  const std::map<std::string, std::int64_t>* dates = nullptr;  // step: day on which it needs its parts
};

// What is to be bought for the cars together, and from whom it can be bought.
struct CarPurchase {
  PurchaseProblem problem;
  OrderNotes notes;
  std::vector<std::string> without_rate;   // currencies that no rate is stated for: their suppliers are left out
  std::vector<std::string> without_price;  // offers that would serve but state no price: `supplier part number`
  std::vector<std::string> without_minutes;  // with `hour_worth`: parts moved over as if that took no time, for none is stated
  std::vector<std::string> open;           // offers left out (or, with `assume_open`, taken) that may or may not fit

  // How lines went into needs, to plan with other gaps (`with_gaps`).
  std::vector<PoolSpot> spots;
  std::vector<PoolItem> items;
  std::vector<std::map<LineId, std::size_t>> spot_of_line;  // by car
};

// The problem if lines of one car lacked other quantities than `was`; dates and offers stay.
PurchaseProblem with_gaps(const CarPurchase& purchase, std::size_t car, const std::map<LineId, Fraction>& was,
                          const std::map<LineId, Fraction>& now, const Fraction& confidence);

// The supplier that stands for pieces of old parts.
inline constexpr const char* kOldParts = "(old parts)";

// The gaps of each car in their worst case, pieces that can break with their spares, against all offers of the packs.
//
// An offer serves a line when its pieces may go there in every way that things may turn out in which the line wants any:
// fit, hand, place, kits and stand-ins count exactly as in the report. What an assembly brings with it is asked of the
// cover: one pack is put on the list and the gaps that shrink are read off. Items are named by part, and by place or hand
// where the part is bound to it; cars share what may go to several of them (`pooling.h`).
[[nodiscard]] CarPurchase car_purchase(const std::vector<CarOfOrder>& cars, const CarPurchaseOptions& options = {});
// Of one car, without dates.
[[nodiscard]] CarPurchase car_purchase(const NeedModel& needs, const std::vector<ReadList>& lists, const Answer& answer);

}  // namespace kitgap
