#include <algorithm>
#include <map>
#include <set>

#include "analyse/holes.h"
#include "analyse/pack_findings.h"
#include "match/totals.h"

namespace kitgap {
namespace {

std::string offer_in_words(const Rules& rules, OfferId offer) {
  const OfferKey& key = rules.offer_keys[offer.index];
  return "`" + key.part_number + "` of " + key.supplier;
}

// The rows that call for a part, by part.
std::map<PartId, std::vector<const NeedRow*>> needs_by_part(const Rules& rules) {
  std::map<PartId, std::vector<const NeedRow*>> result;
  for (const NeedRow& need : rules.needs) {
    if (need.effect == Effect::Sets || need.effect == Effect::Adds) result[need.part].push_back(&need);
  }
  return result;
}

std::set<PartId> parts_that_come(const Rules& rules) {
  std::set<PartId> parts;
  for (const OfferRow& offer : rules.offers) {
    if (offer.part) parts.insert(*offer.part);
  }
  for (const ContentsRow& row : rules.contents) {
    if (row.part) parts.insert(*row.part);
  }
  // What stands in for another, or replaces it.
  for (bool grew = true; grew;) {
    grew = false;
    for (const ReplacesRow& row : rules.replaces) {
      if (!row.from_part || !row.to_part || row.kind == ReplaceKind::LooksAlike) continue;
      if (parts.contains(*row.to_part)) grew |= parts.insert(*row.from_part).second;
      if (row.both_ways && parts.contains(*row.from_part)) grew |= parts.insert(*row.to_part).second;
    }
  }
  return parts;
}

// Parts that a new assembly may bring, whatever it promises.
std::set<PartId> parts_in_bundles(const Rules& rules, std::set<PartId> coming) {
  for (bool grew = true; grew;) {
    grew = false;
    for (const NeedRow& need : rules.needs) {
      if (need.parent != Rules::kCar && coming.contains(need.parent)) grew |= coming.insert(need.part).second;
    }
  }
  return coming;
}

void find_unsupplied(const Rules& rules, std::vector<Finding>& out) {
  if (rules.offers.empty()) return;  // packs without offers are checked without them
  const auto coming = parts_in_bundles(rules, parts_that_come(rules));
  std::set<PartId> moved;
  for (const MoveOverRow& row : rules.move_over) moved.insert(row.sub_part);
  for (const SuppliedWithoutRow& row : rules.supplied_without) {
    if (row.remedy != Remedy::Buy && row.remedy != Remedy::None) moved.insert(row.sub_part);
  }
  std::map<PartId, PartKind> kinds;
  for (const PartRow& part : rules.parts) kinds[part.part] = part.kind;
  for (const auto& [part, needs] : needs_by_part(rules)) {
    const auto kind = kinds.find(part);
    const bool is_work = kind != kinds.end() && (kind->second == PartKind::Opening || kind->second == PartKind::Hole);
    if (is_work || coming.contains(part) || moved.contains(part)) continue;
    const bool must = std::any_of(needs.begin(), needs.end(), [](const NeedRow* need) { return need->old == OldUse::Must; });
    const bool must_not = std::any_of(needs.begin(), needs.end(), [](const NeedRow* need) { return need->old == OldUse::MustNot; });
    if (must) continue;
    const FactGrid grid(rules, {needs.front()->condition});
    if (grid.grid().never_applies(0)) continue;
    const std::string name = "`" + rules.part_keys[part.index] + "`";
    const std::string nobody = name + " is called for, but no offer sells it, no kit holds it, no assembly on offer brings "
                                      "it and no row moves it over";
    out.push_back({.code = must_not ? "nothing-supplies" : "only-the-old-part",
                   .says = nobody + (must_not ? ", and the old one must not be used." : ": only a good old one can serve."),
                   .rows = {needs.front()->place},
                   .witness = grid.witness(box_of(grid.grid(), 0)),
                   .repair = "Add an offer, or a `move-over` row, or say `must` under `old` if only the old piece will do."});
  }
}

void find_misfits(const Rules& rules, std::vector<Finding>& out) {
  const auto needs = needs_by_part(rules);
  for (const OfferRow& offer : rules.offers) {
    if (!offer.part) continue;
    const auto found = needs.find(*offer.part);
    bool fits = false;
    if (found != needs.end()) {
      for (const NeedRow* need : found->second) {
        const FactGrid grid(rules, {offer.condition, need->condition});
        fits |= grid.common_box(0, 1).has_value();
        if (fits) break;
      }
    }
    if (fits) continue;
    // A part that replaces another goes where that one is called for.
    const bool stands_in = std::any_of(rules.replaces.begin(), rules.replaces.end(), [&](const ReplacesRow& row) {
      return row.to_part == offer.part || (row.both_ways && row.from_part == offer.part);
    });
    const bool is_consumed = std::any_of(rules.consumes.begin(), rules.consumes.end(), [&](const ConsumesRow& row) { return row.part == *offer.part; });
    const bool is_taken = std::any_of(rules.move_over.begin(), rules.move_over.end(), [&](const MoveOverRow& row) {
      return std::any_of(row.takes.begin(), row.takes.end(), [&](const Takes& takes) { return takes.part == *offer.part; });
    });
    if (stands_in || is_consumed || is_taken) continue;
    const FactGrid grid(rules, {offer.condition});
    Finding finding{.code = "offer-fits-no-car",
                    .says = offer_in_words(rules, offer.offer) + " is a `" + rules.part_keys[offer.part->index] + "` for " +
                            grid.in_words(rules, box_of(grid.grid(), 0)) +
                            (found == needs.end() ? ", and no row calls for that part." : ", where no row calls for that part."),
                    .rows = {offer.place},
                    .witness = grid.grid().never_applies(0) ? WitnessCar{} : grid.witness(box_of(grid.grid(), 0)),
                    .repair = "Check the conditions of the offer, or add the need that it serves."};
    if (found != needs.end()) {
      for (const NeedRow* need : found->second) {
        if (finding.rows.size() < 4) finding.rows.push_back(need->place);
      }
    }
    out.push_back(std::move(finding));
  }
}

// Pieces of a kit, inner kits counted in: the least and the most, as rows with conditions may or may not count.
struct Pieces {
  Fraction lo;
  Fraction hi;
};

std::optional<Pieces> pieces_of(const Rules& rules, OfferId offer, int depth) {
  if (depth > 20) return std::nullopt;  // a ring is another finding
  Pieces pieces;
  bool any = false;
  for (const ContentsRow& row : rules.contents) {
    if (row.offer != offer) continue;
    any = true;
    // What is measured (2 m of cord) is one piece.
    const bool is_measured = row.part && std::any_of(rules.parts.begin(), rules.parts.end(), [&](const PartRow& part) {
      return part.part == *row.part && part.unit != Unit::Each;
    });
    const Fraction quantity = is_measured ? Fraction(1) : row.quantity;
    Pieces inner{1, 1};
    if (row.inner) {
      const auto found = pieces_of(rules, *row.inner, depth + 1);
      if (!found) return std::nullopt;
      inner = *found;
    }
    if (rules.condition(row.condition).always()) pieces.lo += quantity * inner.lo;
    pieces.hi += quantity * inner.hi;
  }
  if (!any) return std::nullopt;
  return pieces;
}

void find_kit_counts(const Rules& rules, std::vector<Finding>& out) {
  for (const OfferRow& offer : rules.offers) {
    if (!offer.stated_pieces) continue;
    const auto pieces = pieces_of(rules, offer.offer, 0);
    if (!pieces || (pieces->lo <= *offer.stated_pieces && *offer.stated_pieces <= pieces->hi)) continue;
    Finding finding{.code = "kit-count-differs",
                    .says = offer_in_words(rules, offer.offer) + " is stated to hold " + offer.stated_pieces->to_text() +
                            " pieces, but its contents add up to " + pieces->lo.to_text() +
                            (pieces->lo == pieces->hi ? "" : " to " + pieces->hi.to_text()) + ".",
                    .rows = {offer.place},
                    .witness = {},
                    .repair = "Count the kit, or ask the supplier which of the two lists is right."};
    for (const ContentsRow& row : rules.contents) {
      if (row.offer == offer.offer) finding.rows.push_back(row.place);
    }
    out.push_back(std::move(finding));
  }
}

// Numbers of a graph with an edge per row; each ring once.
template <class Row>
void for_each_ring(const std::vector<std::pair<std::uint32_t, std::uint32_t>>& edges, std::size_t nodes,
                   const std::vector<Row>& rows, const auto& visit) {
  std::vector<std::uint32_t> begin(nodes, 0), end(nodes, 0), targets(edges.size());
  for (const auto& [from, to] : edges) ++end[from];
  std::uint32_t at = 0;
  for (std::size_t node = 0; node < nodes; ++node) {
    begin[node] = at;
    at += end[node];
    end[node] = begin[node];
  }
  for (const auto& [from, to] : edges) targets[end[from]++] = to;
  for (const auto& group : cycles_of(begin, end, targets)) {
    const auto in = [&](std::uint32_t node) { return std::find(group.begin(), group.end(), node) != group.end(); };
    std::vector<RowPlace> places;
    for (std::size_t edge = 0; edge < edges.size(); ++edge) {
      if (in(edges[edge].first) && in(edges[edge].second)) places.push_back(rows[edge]);
    }
    visit(group, places);
  }
}

void find_supersession_rings(const Rules& rules, std::vector<Finding>& out) {
  std::map<std::string, std::uint32_t> numbers;
  std::vector<std::string> names;
  const auto number_of = [&](const std::string& name, const std::optional<PartId>& part) {
    const std::string key = part ? "part " + rules.part_keys[part->index] : normalised_part_number(name);
    const auto [place, is_new] = numbers.emplace(key, static_cast<std::uint32_t>(names.size()));
    if (is_new) names.push_back(name);
    return place->second;
  };
  std::vector<std::pair<std::uint32_t, std::uint32_t>> edges;
  std::vector<RowPlace> rows;
  for (const ReplacesRow& row : rules.replaces) {
    if (row.kind != ReplaceKind::Replaces || row.both_ways) continue;
    const std::uint32_t from = number_of(row.from, row.from_part);
    edges.emplace_back(from, number_of(row.to, row.to_part));
    rows.push_back(row.place);
  }
  for_each_ring(edges, names.size(), rows, [&](const std::vector<std::uint32_t>& group, const std::vector<RowPlace>& places) {
    std::string list;
    for (const std::uint32_t name : group) list += (list.empty() ? "`" : ", `") + names[name] + "`";
    out.push_back({.code = "supersession-ring",
                   .says = list + " replace each other in a ring: whoever asks for one is sent round for ever.",
                   .rows = places,
                   .witness = {},
                   .repair = "Take out the row that points back to an older number."});
  });
}

void find_remedies(const Rules& rules, std::vector<Finding>& out) {
  for (const SuppliedWithoutRow& row : rules.supplied_without) {
    if (row.remedy != Remedy::None) continue;
    const std::string what = row.offer ? offer_in_words(rules, *row.offer)
                             : row.assembly ? "Any `" + rules.part_keys[row.assembly->index] + "`" : "An assembly";
    out.push_back({.code = "no-remedy",
                   .says = what + " comes without `" + rules.part_keys[row.sub_part.index] + "`, and nothing says what to do about it.",
                   .rows = {row.place},
                   .witness = {},
                   .repair = "Fill in `remedy`: move over, cut, drill, mark or buy."});
  }
}

}  // namespace

void find_supply_findings(const Rules& rules, std::vector<Finding>& out) {
  find_unsupplied(rules, out);
  find_misfits(rules, out);
  find_kit_counts(rules, out);
  find_supersession_rings(rules, out);
  find_remedies(rules, out);
}

void find_reach_findings(const Rules& rules, std::vector<Finding>& out) {
  std::vector<std::pair<std::uint32_t, std::uint32_t>> edges;
  std::vector<RowPlace> rows;
  std::set<std::uint32_t> reached{Rules::kCar.index};
  for (const NeedRow& need : rules.needs) {
    if (need.effect != Effect::Sets && need.effect != Effect::Adds) continue;
    edges.emplace_back(need.parent.index, need.part.index);
    rows.push_back(need.place);
  }
  for_each_ring(edges, rules.part_keys.size(), rows, [&](const auto& group, const auto& places) {
    std::string list;
    for (const std::uint32_t part : group) list += (list.empty() ? "`" : ", `") + rules.part_keys[part] + "`";
    out.push_back({.code = "need-cycle",
                   .says = list + (group.size() == 1 ? " needs itself." : " need each other in a ring."),
                   .rows = places,
                   .witness = {},
                   .repair = "Take out the row that leads back."});
  });
  auto all = edges;
  for (const ConsumesRow& row : rules.consumes) all.emplace_back(row.assembly.index, row.part.index);
  for (const MoveOverRow& row : rules.move_over) {
    for (const Takes& takes : row.takes) all.emplace_back(row.sub_part.index, takes.part.index);
  }
  for (const ReplacesRow& row : rules.replaces) {
    if (row.from_part && row.to_part) all.emplace_back(row.from_part->index, row.to_part->index);
    if (row.from_part && row.to_part && row.both_ways) all.emplace_back(row.to_part->index, row.from_part->index);
  }
  for (bool grew = true; grew;) {
    grew = false;
    for (const auto& [from, to] : all) {
      if (reached.contains(from)) grew |= reached.insert(to).second;
    }
  }
  for (const PartRow& part : rules.parts) {
    if (reached.contains(part.part.index)) continue;
    out.push_back({.code = "unreachable-part",
                   .says = "Nothing that a car calls for leads to `" + rules.part_keys[part.part.index] + "`.",
                   .rows = {part.place},
                   .witness = {},
                   .repair = "Leave it if a pack that stands above uses it; otherwise add its need or take it out."});
  }
  std::map<std::string, std::uint32_t> steps;
  std::vector<std::string> names;
  const auto step_number = [&](const std::string& name) {
    const auto [place, is_new] = steps.emplace(name, static_cast<std::uint32_t>(names.size()));
    if (is_new) names.push_back(name);
    return place->second;
  };
  edges.clear();
  rows.clear();
  for (const StepRow& step : rules.steps) {
    const std::uint32_t later = step_number(step.step);
    for (const std::string& after : step.after) {
      edges.emplace_back(step_number(after), later);
      rows.push_back(step.place);
    }
  }
  for_each_ring(edges, names.size(), rows, [&](const auto& group, const auto& places) {
    std::string list;
    for (const std::uint32_t step : group) list += (list.empty() ? "`" : ", `") + names[step] + "`";
    out.push_back({.code = "step-waits-for-itself",
                   .says = list + (group.size() == 1 ? " waits for itself." : " wait for each other: none of them can begin."),
                   .rows = places,
                   .witness = {},
                   .repair = "Take one name out of `after`."});
  });
  for (const CautionRow& caution : rules.cautions) {
    const FactGrid own(rules, {caution.condition});
    bool reaches = !own.grid().never_applies(0) &&
                   (caution.part ? false : std::any_of(rules.steps.begin(), rules.steps.end(), [&](const StepRow& step) { return step.step == caution.step; }));
    if (caution.part && !own.grid().never_applies(0)) {
      reaches = std::any_of(rules.needs.begin(), rules.needs.end(), [&](const NeedRow& need) {
        return need.part == *caution.part && reached.contains(need.parent.index) &&
               FactGrid(rules, {caution.condition, need.condition}).common_box(0, 1).has_value();
      }) || std::any_of(rules.consumes.begin(), rules.consumes.end(), [&](const ConsumesRow& row) { return row.part == *caution.part; });
    }
    if (reaches) continue;
    out.push_back({.code = "caution-reaches-no-car",
                   .says = "The caution about " + (caution.part ? "`" + rules.part_keys[caution.part->index] + "`" : "the step `" + caution.step + "`") +
                           " is never shown: no car comes to it.",
                   .rows = {caution.place},
                   .witness = {},
                   .repair = "Check its part or step and its conditions; a caution must not get lost."});
  }
}

}  // namespace kitgap
