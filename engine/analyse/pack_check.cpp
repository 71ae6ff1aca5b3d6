#include "analyse/pack_check.h"

#include <algorithm>
#include <map>
#include <set>

#include "analyse/holes.h"
#include "analyse/pack_findings.h"
#include "text/json.h"

namespace kitgap {
namespace {

const FindingWord& word_of(std::string_view code) {
  return *std::find_if(kFindingWords.begin(), kFindingWords.end(), [&](const FindingWord& word) { return word.code == code; });
}

// Where one of a pair is called for and the other is not: seals without clips in some year.
void find_pairings(const Rules& rules, std::vector<Finding>& out) {
  for (const PairingRow& pairing : rules.pairings) {
    std::vector<const NeedRow*> ones;
    std::vector<const NeedRow*> others;
    for (const NeedRow& need : rules.needs) {
      if (need.effect != Effect::Sets && need.effect != Effect::Adds) continue;
      if (need.part == pairing.part) ones.push_back(&need);
      if (need.part == pairing.other) others.push_back(&need);
    }
    if (ones.empty()) continue;
    std::vector<ConditionId> conditions{pairing.condition};
    for (const NeedRow* need : ones) conditions.push_back(need->condition);
    for (const NeedRow* need : others) conditions.push_back(need->condition);
    const FactGrid grid(rules, conditions);
    for (std::uint32_t one = 0; one < ones.size(); ++one) {
      // A part that is consumed is worked out from sizes, not called for by rows.
      const bool is_consumed = std::any_of(rules.consumes.begin(), rules.consumes.end(), [&](const ConsumesRow& row) { return row.part == pairing.other; });
      if (is_consumed) continue;
      const auto& places = rules.places_of(ones[one]->at);
      std::vector<std::uint32_t> covering;
      for (std::uint32_t other = 0; other < others.size(); ++other) {
        const auto& there = rules.places_of(others[other]->at);
        // A sub-part is where its parent is: only rows of the car itself name their own place.
        const bool anywhere = pairing.per_car || there.empty() || places.empty() || others[other]->parent != Rules::kCar ||
                              ones[one]->parent != Rules::kCar;
        const bool meets = anywhere || std::any_of(places.begin(), places.end(), [&](PositionId place) {
          return std::find(there.begin(), there.end(), place) != there.end();
        });
        if (meets) covering.push_back(static_cast<std::uint32_t>(1 + ones.size() + other));
      }
      const auto box = grid.common_box(0, 1 + one);
      if (!box) continue;
      covering.insert(covering.end(), grid.impossible().begin(), grid.impossible().end());
      const Holes holes = uncovered(grid.grid(), covering, *box, 1);
      if (holes.boxes.empty()) continue;
      Finding finding{.code = "pairing-missing",
                      .says = "`" + rules.part_keys[pairing.part.index] + "` goes with `" + rules.part_keys[pairing.other.index] +
                              "`, but for " + grid.in_words(rules, holes.boxes.front()) + " only the first is called for.",
                      .rows = {pairing.place, ones[one]->place},
                      .witness = grid.witness(holes.boxes.front()),
                      .repair = "Add the need of `" + rules.part_keys[pairing.other.index] + "` for these cars, or narrow the pairing."};
      out.push_back(std::move(finding));
      break;  // one car is enough for a pairing
    }
  }
}

std::string row_in_words(const Rules& rules, RowPlace place) {
  return rules.tables[place.table].path + ":" + std::to_string(rules.line_of(place));
}

std::string value_json_text(const Rules& rules, FactId fact, const FactValue& value) {
  return text_of(value, rules.facts[fact.index].domain.type);
}

}  // namespace

void find_idle_rows(const Rules& rules, std::vector<Finding>& out) {
  std::set<RowPlace> said;
  const auto look = [&](const auto& rows) {
    for (const auto& row : rows) {
      for (const auto& test : rules.condition(row.condition).tests) {
        const ValueSet left = test.values & rules.fact_spaces[test.fact.index];
        if (!left.is_empty() || !said.insert(row.place).second) continue;
        const bool taken_away = !test.values.is_empty();
        const std::string name = "`" + rules.facts[test.fact.index].name + "`";
        out.push_back({.code = taken_away ? "value-taken-away" : "never-applies",
                       .says = taken_away ? "A higher pack narrows " + name + " and leaves nothing that this row asks for."
                                          : "No car meets this row: nothing that " + name + " can be passes its test.",
                       .rows = {row.place},
                       .witness = {},
                       .repair = "Correct the cell, or take the row out."});
      }
    }
  };
  look(rules.parts), look(rules.needs), look(rules.fact_rows), look(rules.suppliers), look(rules.offers), look(rules.contents);
  look(rules.supplied_without), look(rules.replaces), look(rules.move_over), look(rules.pairings), look(rules.limits);
  look(rules.sizes), look(rules.consumes), look(rules.steps), look(rules.cautions);
}

PackFindings check_packs(const Rules& rules) {
  std::vector<Finding> all;
  find_idle_rows(rules, all);
  find_need_findings(rules, all);
  find_supply_findings(rules, all);
  find_pairings(rules, all);
  find_reach_findings(rules, all);
  std::stable_sort(all.begin(), all.end(), [&](const Finding& a, const Finding& b) {
    const auto& x = word_of(a.code);
    const auto& y = word_of(b.code);
    if (x.is_wrong != y.is_wrong) return x.is_wrong;
    return a.rows.front() < b.rows.front();
  });
  PackFindings result;
  std::map<std::string_view, std::size_t> listed;
  for (Finding& finding : all) {
    result.finds_wrong |= word_of(finding.code).is_wrong;
    if (++listed[finding.code] > kMaxFindingsOfACode) {
      ++result.left_out;
    } else {
      result.findings.push_back(std::move(finding));
    }
  }
  return result;
}

std::string pack_findings_json(const Rules& rules, const PackFindings& findings) {
  JsonWriter writer;
  writer.begin_object().key("format").string("rules-check/1");
  writer.key("packs").begin_array();
  for (const PackInfo& pack : rules.packs) {
    writer.begin_object().key("name").string(pack.name).key("version").string(pack.version).key("hash").string(pack.hash).end_object();
  }
  writer.end_array().key("findings").begin_array();
  for (const Finding& finding : findings.findings) {
    writer.begin_object().key("code").string(finding.code);
    writer.key("severity").string(word_of(finding.code).is_wrong ? "wrong" : "remark").key("says").string(finding.says);
    writer.key("rows").begin_array();
    for (const RowPlace place : finding.rows) {
      writer.begin_object().key("pack").string(rules.packs[rules.layer(place)].name);
      writer.key("file").string(rules.tables[place.table].file);
      writer.key("line").number(std::int64_t{rules.line_of(place)});
      writer.key("source").string(rules.source_of(place)).end_object();
    }
    writer.end_array().key("witness").begin_object();
    for (const auto& [fact, value] : finding.witness) {
      writer.key(rules.facts[fact.index].name);
      const auto* number = std::get_if<Fraction>(&value);
      const auto* boolean = std::get_if<bool>(&value);
      if (boolean != nullptr) {
        writer.boolean(*boolean);
      } else if (number != nullptr && rules.facts[fact.index].domain.type == FactType::Number && number->to_decimal()) {
        writer.number(*number->to_decimal());
      } else {
        writer.string(value_json_text(rules, fact, value));
      }
    }
    writer.end_object().key("repair").string(finding.repair).end_object();
  }
  writer.end_array().key("left_out").number(static_cast<std::int64_t>(findings.left_out)).end_object();
  return writer.take();
}

std::string pack_findings_text(const Rules& rules, const PackFindings& findings) {
  std::string out;
  std::size_t remarks = 0;
  for (const Finding& finding : findings.findings) {
    const FindingWord& word = word_of(finding.code);
    remarks += word.is_wrong ? 0 : 1;
    if (!word.is_wrong) continue;
    out += row_in_words(rules, finding.rows.front()) + ": " + finding.says + " [" + std::string(finding.code) + "]\n";
    for (std::size_t at = 1; at < finding.rows.size() && at < 6; ++at) out += "    and " + row_in_words(rules, finding.rows[at]) + "\n";
    if (!finding.witness.empty()) {
      out += "    for example a car with ";
      for (std::size_t at = 0; at < finding.witness.size(); ++at) {
        const auto& [fact, value] = finding.witness[at];
        out += (at == 0 ? "" : ", ") + rules.facts[fact.index].name + " " + value_json_text(rules, fact, value);
      }
      out += "\n";
    }
    out += "    " + finding.repair + "\n\n";
  }
  if (out.empty()) out += "nothing in these packs is left out, said twice or out of reach\n";
  if (remarks > 0) {
    out += "Remarks, no faults as long as they are meant:\n";
    constexpr std::size_t kShown = 5;  // of one kind
    std::map<std::string_view, std::size_t> seen;
    for (const Finding& finding : findings.findings) {
      if (word_of(finding.code).is_wrong || ++seen[finding.code] > kShown) continue;
      out += "  " + row_in_words(rules, finding.rows.front()) + ": " + finding.says + " [" + std::string(finding.code) + "]\n";
    }
    for (const auto& [code, count] : seen) {
      if (count > kShown) out += "  ... and " + std::to_string(count - kShown) + " more [" + std::string(code) + "]; `--format json` lists them\n";
    }
  }
  if (findings.left_out > 0) out += "... and " + std::to_string(findings.left_out) + " more of the same kinds\n";
  return out;
}

}  // namespace kitgap
