#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "arrival/settle.h"
#include "job/record.h"

namespace kitgap {

// What a job's records say of its orders: what came, went back, is still to come, is accepted with rework.

// One line of an order, as later records name it.
struct OrderLineKey {
  std::string id, line;
  friend auto operator<=>(const OrderLineKey&, const OrderLineKey&) = default;
};
OrderLineKey order_line_of(const Record& record);

struct OrderBook {
  std::vector<Delivery> deliveries;  // `row`: index into `rows`
  std::vector<StillToCome> still_to_come;
};
// `rows` are the records behind the lines of the order, in order (`table_csv`). Of each line: what arrived under its key,
// what is damaged, went back (damaged pieces first) or is accepted with rework; substitutes that were sent for it and
// kept count as come.
OrderBook order_book(std::span<const Record> standing, std::span<const std::int64_t> rows);

// What came without being ordered, and substitutes that are kept, as rows of STOCK: number, part, quantity, position, bag.
struct LooseRow {
  std::string part_number, part, position, quantity, supplier, bag, note;
};
std::vector<LooseRow> loose_arrivals(std::span<const Record> standing);

// Minutes of rework that were accepted with what came for that car, and are not logged under its step `rework` yet. What
// names no car is `car`'s where the job has no other.
Fraction rework_minutes(std::span<const Record> standing, std::string_view car, bool is_only_car);
// The records of rework that name no car (those of files before the form 3).
std::vector<std::int64_t> rework_for_no_car(std::span<const Record> standing);

}  // namespace kitgap
