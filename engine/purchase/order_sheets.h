#pragma once

#include <optional>
#include <string>
#include <vector>

#include "purchase/plan.h"

namespace kitgap {

// The plan as it is sent: one sheet per supplier, with its sums. All amounts in the one currency of the problem.

struct OrderSheetLine {
  std::string part_number, contents;  // `25 panel-clip`
  std::string says;                   // what a person should know of the offer; may be empty
  bool is_kit = false;
  std::int64_t packs = 0;
  Fraction price, cost;
  std::optional<std::int64_t> lead_time_days;
  bool is_returnable = true;
  bool is_first = false;  // settle and order first: it cannot be sent back, or takes long
};

struct OrderSheet {
  std::string supplier;
  bool is_shop = true;
  std::vector<OrderSheetLine> lines;  // what cannot be sent back first, then what takes longest
  Fraction goods, shipping, total;
  std::optional<Fraction> free_from;  // filled where shipping is free because of it
};

// Sorted by supplier.
std::vector<OrderSheet> order_sheets_of(const PurchaseProblem& problem, const Plan& plan);

// What to settle and order first, and why: `Fernhollow FH-7012: takes 21 days`.
std::vector<std::string> first_in_words(const std::vector<OrderSheet>& sheets);

inline constexpr std::int64_t kLongLeadDays = 14;  // common practice, no source: order such things first

}  // namespace kitgap
