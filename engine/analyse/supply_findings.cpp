#include <algorithm>
#include <map>
#include <set>

#include "analyse/holes.h"
#include "analyse/pack_findings.h"

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

// Parts that are sold, but not for every car that calls for them. Only where offers and contents alone decide: what comes
// in bundles, stands in or is moved over may serve the others.
void find_unsupplied_cars(const Rules& rules, std::vector<Finding>& out) {
  std::set<PartId> served;
  for (const MoveOverRow& row : rules.move_over) served.insert(row.sub_part);
  for (const SuppliedWithoutRow& row : rules.supplied_without) served.insert(row.sub_part);
  for (const ReplacesRow& row : rules.replaces) {
    if (row.from_part) served.insert(*row.from_part);
    if (row.to_part && row.both_ways) served.insert(*row.to_part);
  }
  const std::set<PartId> coming = parts_that_come(rules);
  for (const NeedRow& need : rules.needs) {
    if (need.parent != Rules::kCar && coming.contains(need.parent)) served.insert(need.part);
  }
  for (const auto& [part, needs] : needs_by_part(rules)) {
    if (served.contains(part)) continue;
    std::vector<ConditionId> conditions;
    bool is_plain = true;
    for (const OfferRow& offer : rules.offers) {
      if (offer.part == part) conditions.push_back(offer.condition);
    }
    for (const ContentsRow& row : rules.contents) {
      if (row.part != part) continue;
      conditions.push_back(row.condition);
      const auto is_conditional = [&](const OfferRow& offer) { return offer.offer == row.offer && !rules.condition(offer.condition).always(); };
      is_plain = is_plain && std::none_of(rules.offers.begin(), rules.offers.end(), is_conditional);
    }
    if (conditions.empty() || !is_plain) continue;
    const std::size_t offered = conditions.size();
    for (const NeedRow* need : needs) conditions.push_back(need->condition);
    const FactGrid grid(rules, conditions);
    std::vector<std::uint32_t> covering(grid.impossible());
    for (std::uint32_t row = 0; row < offered; ++row) covering.push_back(row);
    for (std::size_t row = 0; row < needs.size(); ++row) {
      if (needs[row]->old == OldUse::Must || !grid.is_exact(offered + row)) continue;
      const Holes holes = uncovered(grid.grid(), covering, box_of(grid.grid(), offered + row), 1);
      if (holes.boxes.empty()) continue;
      const bool must_not = needs[row]->old == OldUse::MustNot;
      out.push_back({.code = must_not ? "nothing-supplies" : "only-the-old-part",
                     .says = "`" + rules.part_keys[part.index] + "` is sold, but not for " + grid.in_words(rules, holes.boxes.front()) +
                             (must_not ? ", and the old one must not be used." : ": there only a good old one can serve."),
                     .rows = {needs[row]->place},
                     .witness = grid.witness(holes.boxes.front()),
                     .repair = "Add an offer for these cars, widen one that fits them, or say `must` under `old`."});
      break;
    }
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
        fits |= find_car(rules, {offer.condition, need->condition}).has_value();
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
                    .witness = find_car(rules, {offer.condition}).value_or(WitnessCar{}),
                    .repair = "Count the kit, or ask the supplier which of the two lists is right."};
    for (const ContentsRow& row : rules.contents) {
      if (row.offer == offer.offer) finding.rows.push_back(row.place);
    }
    out.push_back(std::move(finding));
  }
}

void find_remedies(const Rules& rules, std::vector<Finding>& out) {
  for (const SuppliedWithoutRow& row : rules.supplied_without) {
    if (row.remedy != Remedy::None) continue;
    const std::string what = row.offer ? offer_in_words(rules, *row.offer)
                             : row.assembly ? "Any `" + rules.part_keys[row.assembly->index] + "`" : "An assembly";
    out.push_back({.code = "no-remedy",
                   .says = what + " comes without `" + rules.part_keys[row.sub_part.index] + "`, and nothing says what to do about it.",
                   .rows = {row.place},
                   .witness = find_car(rules, {row.condition}).value_or(WitnessCar{}),
                   .repair = "Fill in `remedy`: move over, cut, drill, mark or buy."});
  }
}

}  // namespace

void find_supply_findings(const Rules& rules, std::vector<Finding>& out) {
  find_unsupplied(rules, out);
  find_unsupplied_cars(rules, out);
  find_misfits(rules, out);
  find_kit_counts(rules, out);
  find_remedies(rules, out);
}

}  // namespace kitgap
