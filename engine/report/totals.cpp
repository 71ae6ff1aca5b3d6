#include "report/totals.h"

#include <map>

namespace kitgap {

std::vector<PartTotal> totals_of(const Report& report) {
  std::map<std::string, PartTotal> totals;
  for (const ReportLine& line : report.lines) {
    if (line.kind == PartKind::Assembly || line.kind == PartKind::Opening) continue;
    PartTotal& total = totals[line.part];
    total.part = line.part;
    total.part_name = line.part_name;
    total.unit = line.unit;
    total.sum.lo += line.need.lo;
    total.sum.hi += line.need.hi;
    total.terms.push_back(line.need);
  }
  std::vector<PartTotal> result;
  for (auto& [part, total] : totals) result.push_back(std::move(total));
  return result;
}

}  // namespace kitgap
