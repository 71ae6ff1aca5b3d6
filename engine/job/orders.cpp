#include "job/orders.h"

#include <algorithm>
#include <map>

#include "job/state.h"

namespace kitgap {
namespace {

Fraction figure_of(const Record& record, std::string_view column) {
  return Fraction::parse(record.cell(column)).value_or(Fraction(0));
}

bool is_kept(const Record& substitute) { return substitute.cell("kept") != "no" && substitute.cell("kept") != ""; }

// What later records take from, or give back to, the pieces that came for one line.
struct Later {
  Fraction back, rework;
};

std::map<OrderLineKey, Later> later_of(std::span<const Record> standing) {
  std::map<OrderLineKey, Later> later;
  for (const Record& record : present_records(standing, "return", "")) later[order_line_of(record)].back += figure_of(record, "quantity");
  for (const Record& record : present_records(standing, "rework", "")) later[order_line_of(record)].rework += figure_of(record, "quantity");
  return later;
}

}  // namespace

OrderLineKey order_line_of(const Record& record) { return {std::string(record.cell("id")), std::string(record.cell("line"))}; }

OrderBook order_book(std::span<const Record> standing, std::span<const std::int64_t> rows) {
  std::map<OrderLineKey, std::size_t> row_of;
  const auto orders = present_records(standing, "order line", "");
  for (std::size_t row = 0; row < rows.size(); ++row) {
    const auto record = std::ranges::find(orders, rows[row], &Record::id);
    if (record != orders.end()) row_of[order_line_of(*record)] = row;
  }
  OrderBook book;
  auto later = later_of(standing);
  const auto arrivals = present_records(standing, "arrival", "");
  for (const Record& record : arrivals) {
    const auto row = row_of.find(order_line_of(record));
    if (row == row_of.end()) continue;
    const Fraction counted = figure_of(record, "counted");
    Fraction damaged = figure_of(record, "damaged");
    Later& then = later[row->first];
    const Fraction mended = std::min(damaged, then.rework);
    then.rework -= mended;
    const Fraction damaged_back = std::min(damaged - mended, then.back);
    then.back -= damaged_back;
    book.deliveries.push_back({.row = row->second, .part = std::string(record.cell("part")), .place = std::string(record.cell("position")),
                               .counted = counted, .usable = counted - damaged + mended, .bag = std::string(record.cell("bag")),
                               .number = static_cast<std::uint32_t>(record.id)});
  }
  // What went back beyond the damaged pieces were good ones.
  for (auto& [key, then] : later) {
    for (Delivery& delivery : book.deliveries) {
      if (row_of.find(key) == row_of.end() || delivery.row != row_of[key]) continue;
      const Fraction gone = std::min(delivery.usable, then.back);
      delivery.usable -= gone;
      then.back -= gone;
    }
  }
  std::map<std::size_t, Fraction> still;
  for (const Record& record : present_records(standing, "back order", "")) {
    const auto row = row_of.find(order_line_of(record));
    if (row == row_of.end() || record.cell("quantity").empty()) continue;
    Fraction quantity = figure_of(record, "quantity");
    for (const Record& arrival : arrivals) {
      if (arrival.id > record.id && order_line_of(arrival) == row->first) quantity -= figure_of(arrival, "counted");
    }
    still[row->second] = std::max(Fraction(0), quantity);
  }
  // A substitute that is kept ends the wait.
  for (const Record& record : present_records(standing, "substitute", "")) {
    if (const auto row = row_of.find(order_line_of(record)); row != row_of.end() && is_kept(record)) still[row->second] = 0;
  }
  for (const auto& [row, quantity] : still) book.still_to_come.push_back({row, quantity});
  return book;
}

std::vector<LooseRow> loose_arrivals(std::span<const Record> standing) {
  std::vector<LooseRow> rows;
  std::map<std::string, Fraction> back;  // of what no order line knows, by number
  for (const Record& record : present_records(standing, "return", "")) {
    if (record.cell("line").empty()) back[std::string(record.cell("part number"))] += figure_of(record, "quantity");
  }
  for (const Record& record : present_records(standing, "arrival", "")) {
    if (!record.cell("line").empty()) continue;
    Fraction usable = figure_of(record, "counted") - figure_of(record, "damaged");
    Fraction& gone = back[std::string(record.cell("part number"))];
    const Fraction now = std::min(std::max(usable, Fraction(0)), gone);
    usable -= now;
    gone -= now;
    if (usable.sign() <= 0) continue;
    rows.push_back({.part_number = std::string(record.cell("part number")), .part = std::string(record.cell("part")),
                    .position = std::string(record.cell("position")), .quantity = usable.to_text(), .supplier = std::string(record.cell("supplier")),
                    .bag = std::string(record.cell("bag")), .note = std::string(record.cell("note"))});
  }
  for (const Record& record : present_records(standing, "substitute", "")) {
    if (!is_kept(record) || record.cell("sent").empty()) continue;
    rows.push_back({.part_number = std::string(record.cell("sent")), .part = {}, .position = {}, .quantity = std::string(record.cell("quantity")),
                    .supplier = {}, .bag = {}, .note = "sent for " + std::string(record.cell("part number"))});
  }
  return rows;
}

Fraction rework_minutes(std::span<const Record> standing, std::string_view car, bool is_only_car) {
  Fraction minutes;
  for (const Record& record : present_records(standing, "rework", "")) {
    const std::string_view whose = record.cell("for car");
    if (whose == car || (whose.empty() && is_only_car)) minutes += figure_of(record, "minutes");
  }
  for (const Record& record : present_records(standing, "hours", car)) {
    if (record.cell("step") == "rework") minutes -= figure_of(record, "minutes");
  }
  return std::max(Fraction(0), minutes);
}

std::vector<std::int64_t> rework_for_no_car(std::span<const Record> standing) {
  std::vector<std::int64_t> ids;
  for (const Record& record : present_records(standing, "rework", "")) {
    if (record.cell("for car").empty()) ids.push_back(record.id);
  }
  return ids;
}

}  // namespace kitgap
