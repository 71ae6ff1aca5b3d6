#include <algorithm>
#include <map>
#include <set>

#include "analyse/pack_findings.h"
#include "analyse/rings.h"

namespace kitgap {
namespace {

std::string way_in_words(const Ring& ring, const std::vector<std::string>& names) {
  std::string way;
  for (const std::uint32_t node : ring.nodes) way += "`" + names[node] + "` -> ";
  return way + "`" + names[ring.nodes.front()] + "`";
}

// Names as people typed them, numbered by how they are compared.
class Names {
 public:
  std::uint32_t number_of(const std::string& compared, const std::string& typed) {
    const auto [place, is_new] = numbers_.emplace(compared, static_cast<std::uint32_t>(typed_.size()));
    if (is_new) typed_.push_back(typed);
    return place->second;
  }
  const std::vector<std::string>& typed() const { return typed_; }

 private:
  std::map<std::string, std::uint32_t> numbers_;
  std::vector<std::string> typed_;
};

void find_supersession_rings(const Rules& rules, std::vector<Finding>& out) {
  Names names;
  std::vector<RingEdge> edges;
  const auto number_of = [&](const std::string& typed, const std::optional<PartId>& part) {
    return names.number_of(part ? "part " + rules.part_keys[part->index] : normalised_part_number(typed), typed);
  };
  for (const ReplacesRow& row : rules.replaces) {
    if (row.kind != ReplaceKind::Replaces || row.both_ways) continue;
    edges.push_back({number_of(row.from, row.from_part), number_of(row.to, row.to_part), row.place, row.condition});
  }
  for (const Ring& ring : rings_among(rules, edges, names.typed().size())) {
    out.push_back({.code = "supersession-ring",
                   .says = "A number is replaced in a ring, " + way_in_words(ring, names.typed()) + ": whoever asks for one is sent round for ever.",
                   .rows = ring.rows,
                   .witness = ring.witness,
                   .repair = "Take out the row that points back to an older number."});
  }
}

// A sub-part is where its parent is: rows for different places lead round nowhere.
bool meet_somewhere(const Rules& rules, const Ring& ring) {
  std::optional<std::vector<PositionId>> common;
  for (const RowPlace place : ring.rows) {
    const auto need = std::find_if(rules.needs.begin(), rules.needs.end(), [&](const NeedRow& row) { return row.place == place; });
    const std::vector<PositionId>& at = rules.places_of(need->at);
    if (at.empty()) continue;
    if (!common) common = at;
    std::erase_if(*common, [&](PositionId leaf) { return std::find(at.begin(), at.end(), leaf) == at.end(); });
  }
  return !common || !common->empty();
}

void find_need_cycles(const Rules& rules, std::vector<Finding>& out) {
  std::vector<RingEdge> edges;
  for (const NeedRow& need : rules.needs) {
    if (need.effect == Effect::Sets || need.effect == Effect::Adds) edges.push_back({need.parent.index, need.part.index, need.place, need.condition});
  }
  for (const Ring& ring : rings_among(rules, edges, rules.part_keys.size())) {
    if (!meet_somewhere(rules, ring)) continue;
    out.push_back({.code = "need-cycle",
                   .says = "A part needs itself: " + way_in_words(ring, rules.part_keys) + ".",
                   .rows = ring.rows,
                   .witness = ring.witness,
                   .repair = "Take out the row that leads back."});
  }
}

void find_step_rings(const Rules& rules, std::vector<Finding>& out) {
  Names names;
  std::vector<RingEdge> edges;
  for (const StepRow& step : rules.steps) {
    const std::uint32_t later = names.number_of(step.step, step.step);
    for (const std::string& after : step.after) edges.push_back({later, names.number_of(after, after), step.place, step.condition});
  }
  for (const Ring& ring : rings_among(rules, edges, names.typed().size())) {
    out.push_back({.code = "step-waits-for-itself",
                   .says = ring.nodes.size() == 1 ? "The step `" + names.typed()[ring.nodes.front()] + "` waits for itself."
                                                  : "Steps wait for each other, " + way_in_words(ring, names.typed()) + ": none of them can begin.",
                   .rows = ring.rows,
                   .witness = ring.witness,
                   .repair = "Take one name out of `after`."});
  }
}

// The parts that something a car calls for leads to: by needs, by what is used up, by what stands in.
std::set<std::uint32_t> parts_reached(const Rules& rules) {
  std::vector<std::pair<std::uint32_t, std::uint32_t>> ways;
  for (const NeedRow& need : rules.needs) {
    if (need.effect == Effect::Sets || need.effect == Effect::Adds) ways.emplace_back(need.parent.index, need.part.index);
  }
  for (const ConsumesRow& row : rules.consumes) ways.emplace_back(row.assembly.index, row.part.index);
  for (const MoveOverRow& row : rules.move_over) {
    for (const Takes& takes : row.takes) ways.emplace_back(row.sub_part.index, takes.part.index);
  }
  for (const ReplacesRow& row : rules.replaces) {
    if (!row.from_part || !row.to_part) continue;
    ways.emplace_back(row.from_part->index, row.to_part->index);
    if (row.both_ways) ways.emplace_back(row.to_part->index, row.from_part->index);
  }
  std::set<std::uint32_t> reached{Rules::kCar.index};
  for (bool grew = true; grew;) {
    grew = false;
    for (const auto& [from, to] : ways) {
      if (reached.contains(from)) grew |= reached.insert(to).second;
    }
  }
  return reached;
}

void find_unreachable_parts(const Rules& rules, const std::set<std::uint32_t>& reached, std::vector<Finding>& out) {
  for (const PartRow& part : rules.parts) {
    if (reached.contains(part.part.index)) continue;
    out.push_back({.code = "unreachable-part",
                   .says = "Nothing that a car calls for leads to `" + rules.part_keys[part.part.index] + "`.",
                   .rows = {part.place},
                   .witness = {},
                   .repair = "Leave it if a pack that stands above uses it; otherwise add its need or take it out."});
  }
}

bool caution_reaches(const Rules& rules, const CautionRow& caution, const std::set<std::uint32_t>& reached) {
  if (!caution.part) {
    return std::any_of(rules.steps.begin(), rules.steps.end(), [&](const StepRow& step) {
      return step.step == caution.step && find_car(rules, {caution.condition, step.condition});
    });
  }
  const bool by_need = std::any_of(rules.needs.begin(), rules.needs.end(), [&](const NeedRow& need) {
    return need.part == *caution.part && reached.contains(need.parent.index) && find_car(rules, {caution.condition, need.condition});
  });
  const auto is_it = [&](const auto& row) { return row.part == *caution.part && find_car(rules, {caution.condition, row.condition}); };
  const auto takes_it = [&](const MoveOverRow& row) {
    return std::any_of(row.takes.begin(), row.takes.end(), [&](const Takes& takes) { return takes.part == *caution.part; });
  };
  return by_need || std::any_of(rules.consumes.begin(), rules.consumes.end(), is_it) || std::any_of(rules.move_over.begin(), rules.move_over.end(), takes_it);
}

void find_silent_cautions(const Rules& rules, const std::set<std::uint32_t>& reached, std::vector<Finding>& out) {
  for (const CautionRow& caution : rules.cautions) {
    if (caution_reaches(rules, caution, reached)) continue;
    out.push_back({.code = "caution-reaches-no-car",
                   .says = "The caution about " + (caution.part ? "`" + rules.part_keys[caution.part->index] + "`" : "the step `" + caution.step + "`") +
                           " is never shown: no car comes to it.",
                   .rows = {caution.place},
                   .witness = find_car(rules, {caution.condition}).value_or(WitnessCar{}),
                   .repair = "Check its part or step and its conditions; a caution must not get lost."});
  }
}

}  // namespace

void find_reach_findings(const Rules& rules, std::vector<Finding>& out) {
  const std::set<std::uint32_t> reached = parts_reached(rules);
  find_supersession_rings(rules, out);
  find_need_cycles(rules, out);
  find_step_rings(rules, out);
  find_unreachable_parts(rules, reached, out);
  find_silent_cautions(rules, reached, out);
}

}  // namespace kitgap
