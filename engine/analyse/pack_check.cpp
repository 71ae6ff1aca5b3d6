#include "analyse/pack_check.h"

#include <algorithm>
#include <map>
#include <set>

#include "analyse/holes.h"
#include "analyse/keyed_rows.h"
#include "analyse/pack_findings.h"
#include "analyse/row_merges.h"

namespace kitgap {
namespace {

const FindingWord& word_of(std::string_view code) {
  return *std::find_if(kFindingWords.begin(), kFindingWords.end(), [&](const FindingWord& word) { return word.code == code; });
}

bool calls_for(const Rules& rules, const NeedRow& need) {
  if (need.effect != Effect::Sets && need.effect != Effect::Adds) return false;
  const auto& figure = rules.figures[need.quantity.index].quantity.constant;
  return !figure || !figure->is_zero();
}

// Cars for which rows call for `first` and none for `second`. A sub-part is where its parent is: only rows of the car
// itself name their own place.
void find_unpaired(const Rules& rules, const PairingRow& pairing, PartId first, PartId second, std::vector<Finding>& out) {
  // A part that is consumed is worked out from sizes, not called for by rows.
  if (std::any_of(rules.consumes.begin(), rules.consumes.end(), [&](const ConsumesRow& row) { return row.part == second; })) return;
  std::vector<const NeedRow*> ones;
  std::vector<const NeedRow*> others;
  for (const NeedRow& need : rules.needs) {
    if (!calls_for(rules, need)) continue;
    // Where the second is the parent, it is there wherever the row is heard.
    if (need.part == first && need.parent != second) ones.push_back(&need);
    if (need.part == second) others.push_back(&need);
  }
  if (ones.empty()) return;
  std::vector<ConditionId> conditions{pairing.condition};
  for (const NeedRow* need : ones) conditions.push_back(need->condition);
  for (const NeedRow* need : others) conditions.push_back(need->condition);
  const FactGrid grid(rules, conditions);
  for (std::uint32_t one = 0; one < ones.size(); ++one) {
    const auto& places = rules.places_of(ones[one]->at);
    std::vector<std::uint32_t> covering;
    for (std::uint32_t other = 0; other < others.size(); ++other) {
      const auto& there = rules.places_of(others[other]->at);
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
    out.push_back({.code = "pairing-missing",
                   .says = "`" + rules.part_keys[first.index] + "` goes with `" + rules.part_keys[second.index] + "`, but for " +
                           grid.in_words(rules, holes.boxes.front()) + " only the first is called for.",
                   .rows = {pairing.place, ones[one]->place},
                   .witness = grid.witness(holes.boxes.front()),
                   .repair = "Add the need of `" + rules.part_keys[second.index] + "` for these cars, or narrow the pairing."});
    return;  // one car is enough for a pairing
  }
}

// Seals without clips in some year, and clips without seals.
void find_pairings(const Rules& rules, std::vector<Finding>& out) {
  for (const PairingRow& pairing : rules.pairings) {
    find_unpaired(rules, pairing, pairing.part, pairing.other, out);
    find_unpaired(rules, pairing, pairing.other, pairing.part, out);
  }
}

// Rows that one could say, with the proof: they differ in one cell, whose sets together are the new one.
void find_mergeable(const Rules& rules, std::vector<Finding>& out) {
  for (const RowMerge& merge : find_merges(rules)) {
    std::string cells;
    for (const std::string& cell : merge.cells) cells += (cells.empty() ? "" : ", ") + ("`" + cell + "`");
    out.push_back({.code = "could-be-one-row",
                   .says = std::to_string(merge.rows.size()) + " rows differ in nothing but `" + merge.column + "`, " + cells + "; " +
                           (merge.cell.empty() ? "together that is every car" : "together that is `" + merge.cell + "`") + ".",
                   .rows = merge.rows,
                   .witness = {},
                   .repair = "Write `" + merge.cell + "` in the first and take the others out; `--fix` proposes it."});
  }
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
  find_row_clashes(rules, all);
  find_supply_findings(rules, all);
  find_pairings(rules, all);
  find_reach_findings(rules, all);
  find_mergeable(rules, all);
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

std::string guide_page_of(std::string_view code) { return "data/guide/findings/" + std::string(code) + ".md"; }

}  // namespace kitgap
