#include "job/progress.h"

#include <algorithm>

#include "job/orders.h"
#include "job/state.h"
#include "pack/fact_value.h"

namespace kitgap {

Progress progress_of(std::span<const Record> standing, std::string_view car) {
  Progress progress;
  for (const Record& record : present_records(standing, "step", car)) {
    const std::string step(record.cell("step"));
    if (record.cell("state") == "done") progress.done.insert(step);
    if (record.cell("state") == "started") progress.started.insert(step);
  }
  for (const Record& record : present_records(standing, "hold", car)) {
    progress.acknowledged[std::string(record.cell("step"))].insert(std::string(record.cell("caution")));
  }
  for (const Record& record : present_records(standing, "hours", car)) {
    if (const auto minutes = Fraction::parse(record.cell("minutes"))) progress.minutes_logged[std::string(record.cell("step"))] += *minutes;
  }
  return progress;
}

OldPartRecords old_part_records(std::span<const Record> standing, std::string_view car) {
  OldPartRecords records;
  for (const Record& record : present_records(standing, "gate", car)) {
    const auto gate = find_gate(record.cell("gate"));
    if (!gate) continue;
    auto& passed = records.gates[{std::string(record.cell("part")), std::string(record.cell("position"))}];
    passed[static_cast<std::size_t>(*gate)] = record.cell("passed") == "yes";
  }
  return records;
}

std::vector<ReturnWindow> return_windows(std::span<const Record> standing, const Rules& rules) {
  std::map<OrderLineKey, Fraction> back;
  for (const Record& record : present_records(standing, "return", "")) {
    back[order_line_of(record)] += Fraction::parse(record.cell("quantity")).value_or(Fraction(0));
  }
  std::vector<ReturnWindow> windows;
  for (const Record& record : present_records(standing, "arrival", "")) {
    const Fraction counted = Fraction::parse(record.cell("counted")).value_or(Fraction(0));
    Fraction& gone = back[order_line_of(record)];
    const Fraction now = std::min(counted, gone);
    gone -= now;
    if (now >= counted) continue;
    ReturnWindow window{.part_number = std::string(record.cell("part number")), .supplier = std::string(record.cell("supplier")),
                        .arrived = record.cell("date").empty() ? record.at.substr(0, 10) : std::string(record.cell("date")), .last_day = {}};
    std::optional<Fraction> days;
    for (const SupplierRow& row : rules.suppliers) {
      if (row.supplier == window.supplier && row.return_days) days = row.return_days;
    }
    const auto offer = rules.offer_by_key.find({window.supplier, normalised_part_number(window.part_number)});
    for (const OfferRow& row : rules.offers) {
      if (offer == rules.offer_by_key.end() || row.offer != offer->second) continue;
      if (row.return_days) days = row.return_days;
      if (row.returnable) window.is_returnable = *row.returnable;
    }
    const auto arrived = parse_iso_date(window.arrived);
    const auto whole = days ? days->floor().to_integer() : std::nullopt;
    if (arrived && whole) window.last_day = iso_date_of(*arrived + *whole);
    const bool is_known = std::ranges::any_of(windows, [&](const ReturnWindow& one) {
      return one.part_number == window.part_number && one.supplier == window.supplier && one.arrived == window.arrived;
    });
    if (!is_known) windows.push_back(std::move(window));
  }
  std::ranges::stable_sort(windows, {}, [](const ReturnWindow& window) { return std::pair(!window.last_day, window.last_day.value_or("")); });
  return windows;
}

}  // namespace kitgap
