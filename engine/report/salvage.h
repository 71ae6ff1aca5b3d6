#pragma once

#include <string>

#include "job/progress.h"
#include "report/report.h"

namespace kitgap {

// What comes off the old parts, in working order, and whether each may go. `records` and `found` say what is off, counted
// and photographed so far.
std::string salvage_text(const Report& report, const OldPartRecords& records, const Found& found, const Rules& rules, int width);
std::string salvage_json(const Report& report, const OldPartRecords& records, const Found& found, const Rules& rules);

}  // namespace kitgap
