#pragma once

#include <array>
#include <map>
#include <optional>
#include <set>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "job/record.h"
#include "pack/rules.h"
#include "work/gates.h"
#include "work/steps.h"

namespace kitgap {

// How far the work on a car is, from a job's records: steps begun and done, hold points signed for, hours, gates of the old
// parts.

Progress progress_of(std::span<const Record> standing, std::string_view car);

// What a person said of the gates of old parts, and which pieces are off and where they lie.
struct OldPartRecords {
  using Place = std::pair<std::string, std::string>;  // part, position
  std::map<Place, std::array<std::optional<bool>, kGateWords.size()>> gates;
};
OldPartRecords old_part_records(std::span<const Record> standing, std::string_view car);

// Until when what came can go back by the terms of its offer or supplier.
struct ReturnWindow {
  std::string part_number, supplier, arrived;
  std::optional<std::string> last_day;  // nothing: no term is stated
  bool is_returnable = true;
};
// Of what lies here and did not go back; the first to end come first, those without a term last.
std::vector<ReturnWindow> return_windows(std::span<const Record> standing, const Rules& rules);

}  // namespace kitgap
