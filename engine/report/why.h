#pragma once

#include <string>
#include <vector>

#include "report/report.h"

namespace kitgap {

// The lines of the report that a person means: an id, or a part with or without a position (a path).
std::vector<const ReportLine*> lines_meant(const Report& report, std::string_view id_or_part, std::string_view position);
// From facts to rows to figures to cover, and for a gap its rivals.
std::string why_text(const Report& report, const std::vector<const ReportLine*>& lines, int width);
std::string why_json(const Report& report, const std::vector<const ReportLine*>& lines);

// Why a part is not called for: the rows that came nearest, those with the fewest conditions that fail first.
struct MissedRow {
  std::string pack, file;
  std::uint32_t line = 0;
  std::string says;
  std::vector<std::string> fails;
  std::string source;
};
std::vector<MissedRow> near_misses(const NeedModel& needs, PartId part, std::optional<PositionId> position);
std::string why_not_text(std::string_view part, const std::vector<MissedRow>& misses, int width);
std::string why_not_json(std::string_view part, const std::vector<MissedRow>& misses);

}  // namespace kitgap
