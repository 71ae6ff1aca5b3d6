#pragma once

#include <string>
#include <vector>

#include "report/report.h"

namespace kitgap {

// Where what was counted on this car and the tables differ, and what the counts change: the report without them against
// the report with them.
std::string found_text(const Report& report, const Found& found, const Rules& rules, const std::vector<Change>& changes, int width);
std::string found_json(const Report& report, const Found& found, const Rules& rules, const std::vector<Change>& changes);

// What is worth counting or looking at on the car, place by place: on paper, or as FOUND to be filled in.
std::string count_sheet_text(const Report& report, int width);
std::string count_sheet_csv(const Report& report);

// Counts of `found` as rows of a `needs` table, for the next person with this car: per parent and place the figure that
// holds, with who counted it and when. A row is bound to the facts by which the tables tell its figure apart, as this car
// has them.
std::string counts_as_needs(const Found& found, const Rules& rules, const Knowledge* car, std::string_view car_name);

}  // namespace kitgap
