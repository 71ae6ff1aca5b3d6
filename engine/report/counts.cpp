#include <algorithm>
#include <map>

#include "report/layout.h"
#include "report/report.h"
#include "report/totals.h"
#include "text/file.h"
#include "text/json.h"

namespace kitgap {
namespace {

// One small table per assembly and place: what holds it and what seals it, with the arithmetic.
struct Panel {
  std::string position, assembly;
  std::vector<const ReportLine*> rows;
};

std::vector<Panel> panels_of(const Report& report) {
  std::map<std::pair<std::string, std::string>, Panel> panels;
  for (const ReportLine& line : report.lines) {
    if (line.parent == "car" || line.kind == PartKind::Assembly) continue;
    Panel& panel = panels[{line.position, line.parent}];
    panel.position = line.position;
    panel.assembly = line.parent;
    panel.rows.push_back(&line);
  }
  std::vector<Panel> result;
  for (auto& [key, panel] : panels) result.push_back(std::move(panel));
  return result;
}

std::string figure(const Range& range, const std::string& unit) { return range_text(range) + (unit == "each" ? "" : " " + unit); }

}  // namespace

std::string counts_text(const Report& report, int width) {
  const auto columns = static_cast<std::size_t>(width);
  std::string out = "Counts for " + report.car + "\n";
  for (const Panel& panel : panels_of(report)) {
    out += "\n" + panel.assembly + ", " + panel.position + "\n";
    out += "  " + padded("", 28) + padded_left("wanted", 16) + padded_left("have", 11) + padded_left("lack", 11) + "  how known\n";
    for (const ReportLine* line : panel.rows) {
      const std::string wanted = (line->basis == Basis::Estimate ? "about " : "") + range_text(line->need);
      const std::string unit = line->unit == "each" ? "" : ", " + line->unit;
      const std::string name = line->part_name + unit;
      const std::string figures = padded_left(wanted, 16) + padded_left(range_text(line->have), 11) + padded_left(range_text(line->gap), 11) + "  ";
      const std::string known = line->basis == Basis::CountedInShell ? "shell" : line->basis == Basis::CountedOnOldPart ? "old part" : std::string(word_of(line->basis));
      // A long name has a line of its own: nothing is cut.
      if (display_width(printable(name)) > 28) out += "  " + printable(name) + "\n" + std::string(30, ' ') + figures + known + "\n";
      else out += "  " + padded(name, 28) + figures + known + "\n";
      for (const ReasonText& reason : line->because) {
        out += paragraph(reason.says + (reason.source.empty() ? "" : " (" + reason.source + ")"), 6, columns);
      }
    }
  }
  out += "\nAltogether\n";
  for (const PartTotal& total : totals_of(report)) {
    std::string arithmetic;
    for (const Range& term : total.terms) arithmetic += (arithmetic.empty() ? "" : " + ") + range_text(term);
    out += beside(total.part_name, 2, 40, figure(total.sum, total.unit) + (total.terms.size() > 1 ? " = " + arithmetic : ""), columns);
  }
  for (const CheckText& check : report.checks) {
    if (check.kind == "holes" || check.kind == "pairing") out += beside(check.kind, 2, 9, check.says, columns);
  }
  return out;
}

std::string counts_json(const Report& report) {
  JsonWriter json;
  json.begin_object().key("format").string("counts/1").key("car").string(report.car).key("panels").begin_array();
  for (const Panel& panel : panels_of(report)) {
    json.begin_object().key("position").string(panel.position).key("assembly").string(panel.assembly).key("lines").begin_array();
    for (const ReportLine* line : panel.rows) {
      json.begin_object().key("id").string(line->id).key("part").string(line->part).key("kind").string(word_of(line->kind));
      json.key("need").begin_object().key("lo").number(line->need.lo.to_text()).key("hi").number(line->need.hi.to_text()).key("unit").string(line->unit).end_object();
      json.key("have").begin_object().key("lo").number(line->have.lo.to_text()).key("hi").number(line->have.hi.to_text()).end_object();
      json.key("gap").begin_object().key("lo").number(line->gap.lo.to_text()).key("hi").number(line->gap.hi.to_text()).end_object();
      json.key("basis").string(word_of(line->basis)).key("because").begin_array();
      for (const ReasonText& reason : line->because) json.string(reason.says);
      json.end_array().end_object();
    }
    json.end_array().end_object();
  }
  json.end_array().end_object();
  return json.take();
}

}  // namespace kitgap
