#include <algorithm>

#include "report/layout.h"
#include "report/report.h"
#include "text/json.h"

namespace kitgap {
namespace {

struct OldAssembly {
  std::string position, part, part_name;
  std::vector<const ReportLine*> pieces;      // to come off and be kept
  std::vector<const ReportLine*> to_look_at;  // old pieces that nobody has looked at
  const ReportLine* itself = nullptr;
};

// In working order: by place, the assembly as the car has it, its pieces as the lines stand.
std::vector<OldAssembly> old_assemblies_of(const Report& report) {
  std::vector<OldAssembly> assemblies;
  for (const ReportLine& line : report.lines) {
    const bool comes_off = line.from_old.sign() > 0 || line.status == Status::MoveOver;
    const bool may_come_off = line.status == Status::ToSettle && (line.take_off || line.remedy == "move over");
    if (!comes_off && !may_come_off) continue;
    const auto known = std::ranges::find_if(assemblies, [&](const OldAssembly& assembly) {
      return assembly.position == line.position && assembly.part == line.parent;
    });
    OldAssembly& assembly = known != assemblies.end() ? *known : assemblies.emplace_back();
    assembly.position = line.position;
    assembly.part = line.parent;
    (comes_off ? assembly.pieces : assembly.to_look_at).push_back(&line);
  }
  for (OldAssembly& assembly : assemblies) {
    assembly.part_name = assembly.part;
    for (const ReportLine& line : report.lines) {
      if (line.part != assembly.part || line.position != assembly.position) continue;
      assembly.itself = &line;
      assembly.part_name = line.part_name;
    }
  }
  return assemblies;
}

// What still hangs on the old assembly before it may go.
std::vector<std::string> gate_of(const OldAssembly& assembly) {
  std::vector<std::string> open;
  if (assembly.itself != nullptr && assembly.itself->in_hand.sign() <= 0) open.emplace_back("the new one is not in hand: lay it over the old one first");
  if (!assembly.pieces.empty()) open.push_back(std::to_string(assembly.pieces.size()) + " kinds of pieces have to come off and be kept");
  if (!assembly.to_look_at.empty()) open.push_back(std::to_string(assembly.to_look_at.size()) + " kinds of pieces nobody has looked at");
  open.emplace_back("counts, photos of front, back and edge with a rule, and a pattern from the car");
  open.emplace_back("the trial fit, and the last day to return the new one");
  return open;
}

std::string amount_of(const ReportLine& line) {
  Fraction most;
  for (const CoveredText& covered : line.covered_by) {
    if (covered.from == "old") most += covered.quantity_hi;
  }
  const std::string figure = (line.from_old == most ? "" : "up to ") + most.to_text();
  return figure + (line.unit == "each" ? "" : " " + line.unit);
}

std::vector<std::pair<std::string, std::string>> notes_of(const TakeOff& take_off) {
  std::vector<std::pair<std::string, std::string>> notes;
  const auto add = [&](std::string_view label, const std::string& text) {
    if (!text.empty()) notes.emplace_back(label, text);
  };
  add("held by", take_off.held_by);
  add("tool", take_off.tool);
  add("breaks", take_off.breaks);
  add("record first", take_off.record_first);
  add("judge", take_off.judge);
  add("if no good", take_off.if_no_good);
  if (take_off.minutes) add("minutes", take_off.minutes->to_text());
  return notes;
}

}  // namespace

std::string salvage_text(const Report& report, int width) {
  const auto columns = static_cast<std::size_t>(width);
  std::string out = "What to take off the old parts of " + report.car + " before they go\n";
  const std::vector<OldAssembly> assemblies = old_assemblies_of(report);
  if (assemblies.empty()) out += "\n  Nothing has to be moved over.\n";
  for (const OldAssembly& assembly : assemblies) {
    out += "\n" + assembly.part_name + (assembly.part == "car" ? ", " : " (old), ") + assembly.position + "\n";
    for (const CautionText& caution : report.cautions) {
      if (caution.part == assembly.part) out += paragraph("caution: " + caution.text, 2, columns);
    }
    for (const auto* group : {&assembly.pieces, &assembly.to_look_at}) {
      for (const ReportLine* line : *group) {
        out += "  [ ] " + padded(line->part_name, 40) + " " + amount_of(*line) + (group == &assembly.to_look_at ? "  look first" : "") + "\n";
        if (!line->take_off) continue;
        for (const auto& [label, text] : notes_of(*line->take_off)) out += beside(label, 8, 13, text, columns);
      }
    }
    out += "  This old part may not go yet:\n";
    for (const std::string& open : gate_of(assembly)) out += paragraph("- " + open, 4, columns);
  }
  return out;
}

std::string salvage_json(const Report& report) {
  JsonWriter json;
  json.begin_object().key("format").string("salvage/1").key("car").string(report.car).key("old_parts").begin_array();
  for (const OldAssembly& assembly : old_assemblies_of(report)) {
    json.begin_object().key("position").string(assembly.position).key("part").string(assembly.part).key("may_go").boolean(false);
    json.key("hangs_on").begin_array();
    for (const std::string& open : gate_of(assembly)) json.string(open);
    json.end_array().key("pieces").begin_array();
    for (const auto* group : {&assembly.pieces, &assembly.to_look_at}) {
      for (const ReportLine* line : *group) {
        json.begin_object().key("id").string(line->id).key("part").string(line->part);
        json.key("quantity").number(line->from_old.to_text()).key("look_first").boolean(group == &assembly.to_look_at);
        if (line->take_off) {
          for (const auto& [label, text] : notes_of(*line->take_off)) {
            std::string key = label;
            std::ranges::replace(key, ' ', '_');
            json.key(key).string(text);
          }
        }
        json.end_object();
      }
    }
    json.end_array().end_object();
  }
  json.end_array().end_object();
  return json.take();
}

}  // namespace kitgap
