#include "supply/substitutions.h"

#include <set>

namespace kitgap {

std::vector<Substitution> substitutions_of(const Rules& rules) {
  std::vector<Substitution> direct;
  const auto parts_of = [&](const std::string& text, const std::optional<PartId>& part) {
    std::set<PartId> parts;
    if (part) return std::set<PartId>{*part};
    const std::string number = normalised_part_number(text);
    for (const OfferRow& row : rules.offers) {
      if (row.part && normalised_part_number(rules.offer_keys[row.offer.index].part_number) == number) parts.insert(*row.part);
    }
    return parts;
  };
  for (const ReplacesRow& row : rules.replaces) {
    if (row.kind == ReplaceKind::LooksAlike) continue;
    for (const PartId from : parts_of(row.from, row.from_part)) {
      for (const PartId to : parts_of(row.to, row.to_part)) {
        if (from == to) continue;
        direct.push_back({from, to, row.kind == ReplaceKind::Allowed, &row});
        if (row.both_ways) direct.push_back({to, from, row.kind == ReplaceKind::Allowed, &row});
      }
    }
  }
  return direct;
}

std::string change_of_stand_in(const Rules& rules, const FactSets& facts, PartId wanted, PartId covers) {
  for (const Substitution& each : substitutions_of(rules)) {
    if (!each.is_stand_in || each.wanted != wanted || each.covers != covers || each.row->change.empty()) continue;
    if (holds(rules.condition(each.row->condition), facts, rules.facts) != Ternary::No) return each.row->change;
  }
  return {};
}

}  // namespace kitgap
