#include "report/totals.h"
#include "report/workbook.h"

namespace kitgap {
namespace {

Sheet panels_sheet(const Report& report) {
  Sheet sheet{.name = "Panels",
              .columns = {{"position", 16}, {"assembly", 20}, {"part", 20}, {"name", 34}, {"kind", 11}, {"wanted lo", 10}, {"wanted hi", 10}, {"unit", 7},
                          {"have lo", 9}, {"have hi", 9}, {"lack lo", 9}, {"lack hi", 9}, {"how known", 20}, {"arithmetic", 70}, {"source", 40}},
              .rows = {}};
  for (const ReportLine& line : report.lines) {
    if (line.parent == "car" || line.kind == PartKind::Assembly) continue;
    std::string says;
    std::string source;
    for (const ReasonText& reason : line.because) {
      says += (says.empty() ? "" : "; ") + reason.says;
      if (!reason.source.empty()) source += (source.empty() ? "" : "; ") + reason.source;
    }
    sheet.rows.push_back({text_cell(line.position), text_cell(line.parent), text_cell(line.part), text_cell(line.part_name), text_cell(word_of(line.kind)),
                          number_cell(line.need.lo), number_cell(line.need.hi), text_cell(line.unit), number_cell(line.have.lo), number_cell(line.have.hi),
                          number_cell(line.gap.lo), number_cell(line.gap.hi), text_cell(word_of(line.basis)), text_cell(says), text_cell(source)});
  }
  return sheet;
}

Sheet totals_sheet(const Report& report) {
  Sheet sheet{.name = "Altogether", .columns = {{"part", 20}, {"name", 34}, {"lo", 9}, {"hi", 9}, {"unit", 7}, {"arithmetic", 60}}, .rows = {}};
  for (const PartTotal& total : totals_of(report)) {
    std::string arithmetic;
    for (const Range& term : total.terms) arithmetic += (arithmetic.empty() ? "" : " + ") + range_text(term);
    sheet.rows.push_back({text_cell(total.part), text_cell(total.part_name), number_cell(total.sum.lo), number_cell(total.sum.hi), text_cell(total.unit), text_cell(arithmetic)});
  }
  return sheet;
}

}  // namespace

Workbook counts_workbook(const Report& report) { return {panels_sheet(report), totals_sheet(report)}; }

}  // namespace kitgap
