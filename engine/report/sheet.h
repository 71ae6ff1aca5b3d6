#pragma once

#include <optional>
#include <string>
#include <vector>

#include "arrival/audit.h"
#include "report/report.h"

namespace kitgap {

// A page to count by at the bench or the car, and its paper version: the same lines. What it saves is a table that
// `receive` or `found` reads back.

struct SheetLine {
  std::string place, name, detail;  // as shown
  Range expected;
  std::string unit;
  std::string part_number, part, position, parent;  // as read back
  bool is_opening = false;          // a hole or an opening: seen in the shell unless said otherwise
};

struct CountingSheet {
  enum class Kind { Arrival, Found };
  Kind kind = Kind::Arrival;
  std::string title;
  std::vector<SheetLine> lines;
};

// What should come of an order; `audit` is one without counts.
CountingSheet arrival_sheet_of(const ArrivalAudit& audit, const NeedModel& needs, const std::string& what);
// What can be counted on the old car: every line but consumables, with what the tables call for.
CountingSheet found_sheet_of(const Report& report);
std::string sheet_html(const CountingSheet& sheet);

}  // namespace kitgap
