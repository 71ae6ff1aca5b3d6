#include "supply/substitutions.h"

#include <set>
#include <unordered_map>

namespace kitgap {

namespace {

// The parts that rows of `replaces` speak of: a part by its key, a number by what the offers of that number sell.
class PartsNamed {
 public:
  explicit PartsNamed(const Rules& rules) : rules_(rules) {}

  std::set<PartId> of(const std::string& text, const std::optional<PartId>& part) {
    if (part) return {*part};
    if (sold_.empty()) find_sold();
    const auto found = sold_.find(normalised_part_number(text));
    return found == sold_.end() ? std::set<PartId>() : found->second;
  }

 private:
  void find_sold() {
    for (const OfferRow& row : rules_.offers) {
      if (row.part) sold_[normalised_part_number(rules_.offer_keys[row.offer.index].part_number)].insert(*row.part);
    }
  }

  const Rules& rules_;
  std::unordered_map<std::string, std::set<PartId>> sold_;  // once a row names a number
};

}  // namespace

std::vector<Substitution> substitutions_of(const Rules& rules) {
  std::vector<Substitution> direct;
  PartsNamed parts(rules);
  for (const ReplacesRow& row : rules.replaces) {
    if (row.kind == ReplaceKind::LooksAlike) continue;
    for (const PartId from : parts.of(row.from, row.from_part)) {
      for (const PartId to : parts.of(row.to, row.to_part)) {
        if (from == to) continue;
        direct.push_back({from, to, row.kind == ReplaceKind::Allowed, &row});
        if (row.both_ways) direct.push_back({to, from, row.kind == ReplaceKind::Allowed, &row});
      }
    }
  }
  return direct;
}

StandInChanges::StandInChanges(const Rules& rules, const FactSets& facts) {
  for (const Substitution& each : substitutions_of(rules)) {
    if (!each.is_stand_in || each.row->change.empty()) continue;
    if (holds(rules.condition(each.row->condition), facts, rules.facts) != Ternary::No) changes_.try_emplace({each.wanted, each.covers}, each.row->change);
  }
}

std::string StandInChanges::of(PartId wanted, PartId covers) const {
  const auto found = changes_.find({wanted, covers});
  return found == changes_.end() ? std::string() : found->second;
}

}  // namespace kitgap
