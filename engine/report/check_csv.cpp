#include "report/report.h"
#include "text/csv.h"

namespace kitgap {

std::string check_csv(const Report& report) {
  std::string out = "position,parent,part,name,status,need lo,need hi,unit,have lo,have hi,gap lo,gap hi,in hand,on order,planned,from old,by work,basis,stops work,action,source\n";
  for (const ReportLine& line : report.lines) {
    std::string source;
    for (const ReasonText& reason : line.because) {
      if (!reason.source.empty()) source += (source.empty() ? "" : "; ") + reason.source;
    }
    const std::vector<std::string> cells = {line.position, line.parent, line.part, line.part_name, std::string(word_of(line.status)),
                                            line.need.lo.to_text(), line.need.hi.to_text(), line.unit, line.have.lo.to_text(), line.have.hi.to_text(),
                                            line.gap.lo.to_text(), line.gap.hi.to_text(), line.in_hand.to_text(), line.on_order.to_text(), line.planned.to_text(),
                                            line.from_old.to_text(), line.by_work.to_text(), std::string(word_of(line.basis)), line.stops_work ? "yes" : "no",
                                            line.action, source};
    for (std::size_t cell = 0; cell < cells.size(); ++cell) {
      if (cell != 0) out += ',';
      append_csv_cell(out, cells[cell]);
    }
    out += '\n';
  }
  return out;
}

}  // namespace kitgap
