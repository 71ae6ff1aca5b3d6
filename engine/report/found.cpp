#include "report/found.h"

#include <algorithm>
#include <map>
#include <set>
#include <tuple>

#include "report/job_screen.h"
#include "report/layout.h"
#include "text/csv.h"
#include "text/json.h"

namespace kitgap {
namespace {

struct CountedKey {
  PartId parent;
  PositionId position;
  PartId part;
  friend auto operator<=>(const CountedKey&, const CountedKey&) = default;
};

std::vector<CountedKey> counted_keys(const Found& found) {
  std::set<CountedKey> keys;
  for (const FoundRecord& record : found.records) {
    if (record.counted_in == CountedIn::NotSaid) continue;
    for (const PositionId leaf : record.leaves) keys.insert({record.parent, leaf, record.part});
  }
  return {keys.begin(), keys.end()};
}

// The record whose figure holds, for who counted it and when.
const FoundRecord* record_of(const Found& found, const CountOfLine& count) {
  const auto record = std::ranges::find(found.records, count.line, &FoundRecord::line);
  return record == found.records.end() ? nullptr : &*record;
}

// Facts by which rows of the tables for this line tell figures apart.
std::set<FactId> facts_of_line(const Rules& rules, PartId parent, PartId part) {
  std::set<FactId> facts;
  for (const NeedRow& row : rules.needs) {
    if (row.parent != parent || row.part != part) continue;
    const Condition& condition = rules.condition(row.condition);
    for (const Condition::Test& test : condition.tests) facts.insert(test.fact);
    for (const Condition::Residue& residue : condition.residues) facts.insert(residue.facts.begin(), residue.facts.end());
    const Quantity& quantity = rules.figures[row.quantity.index].quantity;
    facts.insert(quantity.facts.begin(), quantity.facts.end());
  }
  return facts;
}

struct Difference {
  const ReportLine* line = nullptr;
  std::string counted;
};

// Lines that were counted, and for which another basis has another figure.
std::vector<Difference> differences_of(const Report& report) {
  std::vector<Difference> differences;
  for (const ReportLine& line : report.lines) {
    if (line.other_counts.empty()) continue;
    differences.push_back({&line, line.because.empty() ? "counted otherwise" : line.because.front().says});
  }
  return differences;
}

bool is_worth_counting(const ReportLine& line) {
  const bool is_counted_part = line.kind == PartKind::Hole || line.kind == PartKind::Piece || line.kind == PartKind::Opening;
  return is_counted_part && (line.basis == Basis::Estimate || line.basis == Basis::Table);
}

}  // namespace

std::string found_text(const Report& report, const Found& found, const Rules& rules, const std::vector<Change>& changes, int width) {
  const auto columns = static_cast<std::size_t>(width);
  std::string out = "What was counted on " + report.car + "\n\n";
  for (const CountedKey& key : counted_keys(found)) {
    const CountOfLine count = count_of(found, key.parent, key.position, key.part);
    const Fraction figure = count.in_shell ? *count.in_shell : *count.on_old_part;
    const FoundRecord* record = record_of(found, count);
    std::string says = figure.to_text() + (count.in_shell ? " in the shell" : " on the old part");
    if (record != nullptr && !record->bag.empty()) says += ", in " + record->bag;
    if (record != nullptr && !record->photo.empty()) says += ", photo " + record->photo;
    out += beside(rules.part_keys[key.part.index] + " on " + rules.part_keys[key.parent.index] + ", " + rules.positions.path(key.position), 2, 40, says, columns);
  }
  for (const FoundRecord& record : found.records) {
    if (record.counted_in != CountedIn::NotSaid) continue;
    static constexpr std::string_view kConditions[] = {"not looked at", "good", "restorable", "broken", "absent"};
    std::string says = record.count.to_text() + " " + std::string(kConditions[static_cast<std::size_t>(record.condition)]);
    if (!record.bag.empty()) says += ", in " + record.bag;
    if (!record.photo.empty()) says += ", photo " + record.photo;
    const std::string place = record.leaves.size() == 1 ? rules.positions.path(record.leaves.front()) : std::to_string(record.leaves.size()) + " places";
    out += beside("old " + rules.part_keys[record.part.index] + ", " + place, 2, 40, says, columns);
  }
  const auto differences = differences_of(report);
  out += differences.empty() ? "\nNo count differs from the tables.\n" : "\nCounted otherwise than the tables say\n";
  for (const Difference& difference : differences) {
    std::string says = difference.counted;
    for (const OtherCount& other : difference.line->other_counts) says += (other.basis.starts_with("counted") ? "; " + other.basis + ": " : "; the " + other.basis + " says ") + other.quantity.to_text() + (other.source.empty() ? "" : " (" + other.source + ")");
    out += beside(difference.line->id, 2, 34, says, columns);
  }
  out += changes.empty() ? "\nThe counts change nothing in the report.\n" : "\nWhat the counts change\n";
  out += changes_text(changes, changes.size(), width);
  return out;
}

std::string found_json(const Report& report, const Found& found, const Rules& rules, const std::vector<Change>& changes) {
  JsonWriter json;
  json.begin_object().key("format").string("found/1").key("car").string(report.car).key("counted").begin_array();
  for (const CountedKey& key : counted_keys(found)) {
    const CountOfLine count = count_of(found, key.parent, key.position, key.part);
    json.begin_object().key("parent").string(rules.part_keys[key.parent.index]).key("position").string(rules.positions.path(key.position));
    json.key("part").string(rules.part_keys[key.part.index]).key("in_shell");
    count.in_shell ? json.number(count.in_shell->to_text()) : json.null();
    json.key("on_old_part");
    count.on_old_part ? json.number(count.on_old_part->to_text()) : json.null();
    json.end_object();
  }
  json.end_array().key("differ").begin_array();
  for (const Difference& difference : differences_of(report)) {
    json.begin_object().key("id").string(difference.line->id).key("says").string(difference.counted).key("others").begin_array();
    for (const OtherCount& other : difference.line->other_counts) {
      json.begin_object().key("basis").string(other.basis).key("quantity").number(other.quantity.to_text()).key("source").string(other.source).end_object();
    }
    json.end_array().end_object();
  }
  json.end_array().key("changes").begin_array();
  for (const Change& change : changes) {
    json.begin_object().key("id").string(change.id).key("was").string(change_state(change.was)).key("now").string(change_state(change.now)).end_object();
  }
  return json.end_array().end_object().take();
}

std::string count_sheet_text(const Report& report, int width) {
  const auto columns = static_cast<std::size_t>(width);
  std::string out = "Count sheet for " + report.car + ": count each, say how good it is, note the bag and the photo\n";
  std::string place;
  for (const ReportLine& line : report.lines) {
    if (!is_worth_counting(line)) continue;
    const std::string here = line.parent + ", " + line.position;
    if (here != place) out += "\n" + here + "\n";
    place = here;
    out += beside("[ ] " + padded(line.part, 24) + padded_left(range_text(line.need), 8) + (line.basis == Basis::Estimate ? " about" : " book "), 2, 44,
                  "____ good ___ bad ___ bag ______", columns);
  }
  return out + "\nCounted by ____________  day ____________\nEmpty holes count too. `kitgap found` takes what was counted.\n";
}

std::string count_sheet_csv(const Report& report) {
  std::string out = "parent,position,part,count,counted in,condition,bag,photo,date,by,note\n";
  for (const ReportLine& line : report.lines) {
    if (!is_worth_counting(line)) continue;
    for (const std::string& cell : {line.parent, line.position, line.part}) {
      append_csv_cell(out, cell);
      out += ",";
    }
    out += line.kind == PartKind::Piece ? ",old part,,,,,," : ",shell,,,,,,";
    append_csv_cell(out, std::string(line.basis == Basis::Estimate ? "estimated: " : "the tables say ") + range_text(line.need) + " in all");
    out += "\n";
  }
  return out;
}

std::string counts_as_needs(const Found& found, const Rules& rules, const Knowledge* car, std::string_view car_name) {
  const std::vector<CountedKey> keys = counted_keys(found);
  std::set<FactId> facts;
  std::map<CountedKey, std::map<FactId, std::string>> bound;
  for (const CountedKey& key : keys) {
    for (const FactId fact : facts_of_line(rules, key.parent, key.part)) {
      if (car == nullptr || !car->sets()[fact.index].is_single()) continue;
      facts.insert(fact);
      bound[key][fact] = car->sets()[fact.index].to_unary_test();
    }
  }
  std::string out = "parent,at,part";
  for (const FactId fact : facts) {
    out += ",";
    append_csv_cell(out, rules.facts[fact.index].name);
  }
  out += ",quantity,basis,source\n";
  for (const CountedKey& key : keys) {
    const CountOfLine count = count_of(found, key.parent, key.position, key.part);
    const FoundRecord* record = record_of(found, count);
    std::string source = "counted " + std::string(count.in_shell ? "in the shell" : "on the old part") + (car_name.empty() ? "" : " of `" + std::string(car_name) + "`");
    if (record != nullptr && record->day) source += ", " + iso_date_of(*record->day);
    if (record != nullptr && !record->by.empty()) source += ", " + record->by;
    std::vector<std::string> cells = {rules.part_keys[key.parent.index], rules.positions.path(key.position), rules.part_keys[key.part.index]};
    for (const FactId fact : facts) cells.push_back(bound[key].contains(fact) ? bound[key][fact] : "");
    cells.push_back((count.in_shell ? *count.in_shell : *count.on_old_part).to_text());
    cells.emplace_back("table");
    cells.push_back(std::move(source));
    for (std::size_t cell = 0; cell < cells.size(); ++cell) {
      if (cell != 0) out += ",";
      append_csv_cell(out, cells[cell]);
    }
    out += "\n";
  }
  return out;
}

}  // namespace kitgap
