#include <algorithm>

#include "report/layout.h"
#include "report/overview.h"
#include "report/salvage.h"
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

std::string bag_of(const ReportLine& line) {
  for (const CoveredText& covered : line.covered_by) {
    if (covered.from == "old" && !covered.bag.empty()) return covered.bag;
  }
  return {};
}

// A piece is off and safe when a person said so, or noted the bag that it lies in.
bool is_off(const ReportLine& line, const OldPartRecords& records) {
  const auto known = records.gates.find({line.part, line.position});
  const auto said = known == records.gates.end() ? std::nullopt : known->second[static_cast<std::size_t>(Gate::SubPartsOff)];
  return said.value_or(!bag_of(line).empty());
}

// May this old part go? What a person said of a gate holds; else what the records show.
GateAnswer gate_of(const OldAssembly& assembly, const OldPartRecords& records, const Found& found, const Rules& rules) {
  OldPartGates old{.part = assembly.part, .position = assembly.position, .passed = {}, .sub_parts_on = {}};
  const auto passed = [&](Gate gate) -> std::optional<bool>& { return old.passed[static_cast<std::size_t>(gate)]; };
  passed(Gate::NewInHand) = assembly.itself != nullptr && assembly.itself->gap.hi.is_zero() && assembly.itself->in_hand >= assembly.itself->need.hi;
  for (const FoundRecord& record : found.records) {
    const bool is_here = std::ranges::any_of(record.leaves, [&](PositionId leaf) { return rules.positions.path(leaf) == assembly.position; });
    if (!is_here) continue;
    if (rules.part_keys[record.parent.index] == assembly.part && record.counted_in != CountedIn::NotSaid) passed(Gate::CountsTaken) = true;
    if (rules.part_keys[record.part.index] == assembly.part && !record.photo.empty()) passed(Gate::PhotosTaken) = true;
  }
  passed(Gate::SubPartsOff) = true;
  if (const auto said = records.gates.find({assembly.part, assembly.position}); said != records.gates.end()) {
    for (std::size_t gate = 0; gate < old.passed.size(); ++gate) {
      if (said->second[gate]) old.passed[gate] = said->second[gate];
    }
  }
  for (const auto* group : {&assembly.pieces, &assembly.to_look_at}) {
    for (const ReportLine* line : *group) {
      const bool comes_off = line->kind != PartKind::Hole && line->kind != PartKind::Opening;  // those are marked out from it
      if (comes_off && !is_off(*line, records)) old.sub_parts_on.push_back(line->part_name + (group == &assembly.to_look_at ? " (nobody has looked at it)" : ""));
    }
  }
  return may_go(old);
}

std::string amount_of(const ReportLine& line) {
  const Fraction most = most_from_old(line);
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

std::string salvage_text(const Report& report, const OldPartRecords& records, const Found& found, const Rules& rules, int width) {
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
        const bool off = is_off(*line, records);
        const std::string bag = bag_of(*line);
        const std::string after = off ? "  off" + (bag.empty() ? "" : ", in " + bag) : group == &assembly.to_look_at ? "  look first" : "";
        out += (off ? "  [x] " : "  [ ] ") + padded(line->part_name, 40) + " " + amount_of(*line) + after + "\n";
        if (!line->take_off || off) continue;
        for (const auto& [label, text] : notes_of(*line->take_off)) out += beside(label, 8, 13, text, columns);
      }
    }
    if (assembly.part == "car") continue;  // the car stays
    const GateAnswer gate = gate_of(assembly, records, found, rules);
    out += gate.may_go ? "  This old part may go: nothing hangs on it any more.\n" : "  This old part may not go yet:\n";
    for (const std::string& open : gate.says) out += paragraph("- " + open, 4, columns);
  }
  return out;
}

std::string salvage_json(const Report& report, const OldPartRecords& records, const Found& found, const Rules& rules) {
  JsonWriter json;
  json.begin_object().key("format").string("salvage/1").key("car").string(report.car).key("old_parts").begin_array();
  for (const OldAssembly& assembly : old_assemblies_of(report)) {
    const GateAnswer gate = gate_of(assembly, records, found, rules);
    json.begin_object().key("position").string(assembly.position).key("part").string(assembly.part).key("may_go").boolean(gate.may_go && assembly.part != "car");
    json.key("hangs_on").begin_array();
    for (const std::string& open : gate.says) json.string(open);
    json.end_array().key("pieces").begin_array();
    for (const auto* group : {&assembly.pieces, &assembly.to_look_at}) {
      for (const ReportLine* line : *group) {
        json.begin_object().key("id").string(line->id).key("part").string(line->part);
        json.key("quantity").number(line->from_old.to_text()).key("look_first").boolean(group == &assembly.to_look_at);
        json.key("off").boolean(is_off(*line, records)).key("bag");
        bag_of(*line).empty() ? json.null() : json.string(bag_of(*line));
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
