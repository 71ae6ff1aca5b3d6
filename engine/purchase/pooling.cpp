#include "purchase/pooling.h"

#include <algorithm>
#include <numeric>
#include <set>

#include "purchase/spares.h"

namespace kitgap {
namespace {

using Spots = std::vector<std::size_t>;

bool meet(const Spots& a, const Spots& b) {
  return std::ranges::any_of(a, [&](std::size_t spot) { return std::ranges::binary_search(b, spot); });
}

Spots join(const std::vector<Spots>& parts) {
  Spots all;
  for (const Spots& part : parts) all.insert(all.end(), part.begin(), part.end());
  std::ranges::sort(all);
  all.erase(std::ranges::unique(all).begin(), all.end());
  return all;
}

// Spots that pieces link, directly or through others.
std::vector<Spots> linked(const Spots& among, const std::vector<Spots>& reaches) {
  std::map<std::size_t, std::size_t> group;
  for (const std::size_t spot : among) group[spot] = spot;
  const auto find = [&](std::size_t spot) {
    while (group[spot] != spot) spot = group[spot];
    return spot;
  };
  for (const Spots& reach : reaches) {
    std::optional<std::size_t> first;
    for (const std::size_t spot : reach) {
      if (!group.contains(spot)) continue;
      if (first) group[std::max(find(spot), find(*first))] = std::min(find(spot), find(*first));
      first = spot;
    }
  }
  std::map<std::size_t, Spots> groups;
  for (const std::size_t spot : among) groups[find(spot)].push_back(spot);
  std::vector<Spots> out;
  for (auto& [first, spots] : groups) out.push_back(std::move(spots));
  return out;
}

// Spots of one linked group that the same pieces reach.
std::vector<Spots> kinds_of(const Spots& group, const std::vector<Spots>& reaches) {
  std::map<std::vector<bool>, Spots> kinds;
  for (const std::size_t spot : group) {
    std::vector<bool> reached;
    for (const Spots& reach : reaches) reached.push_back(std::ranges::binary_search(reach, spot));
    kinds[reached].push_back(spot);
  }
  std::vector<Spots> out;
  for (auto& [reached, spots] : kinds) out.push_back(std::move(spots));
  return out;
}

std::vector<Spots> candidates(const std::vector<Spots>& kinds, const std::vector<Spots>& reaches) {
  std::vector<Spots> sets;
  if (kinds.size() <= kMostKinds) {
    for (std::size_t mask = 1; mask < (std::size_t{1} << kinds.size()); ++mask) {
      std::vector<Spots> parts;
      for (std::size_t kind = 0; kind < kinds.size(); ++kind) {
        if (((mask >> kind) & 1) != 0) parts.push_back(kinds[kind]);
      }
      sets.push_back(join(parts));
    }
    return sets;
  }
  sets = kinds;
  const Spots all = join(kinds);
  for (const Spots& reach : reaches) {
    if (meet(reach, all)) sets.push_back(reach);
  }
  sets.push_back(all);
  return sets;
}

// Those that say more than the others: a set is left out when pieces do not link it into one, or when a larger one is
// reached by the same pieces.
std::vector<Spots> needed_sets(std::vector<Spots> sets, const std::vector<Spots>& reaches) {
  std::ranges::sort(sets, [](const Spots& a, const Spots& b) { return a.size() != b.size() ? a.size() > b.size() : a < b; });
  sets.erase(std::ranges::unique(sets).begin(), sets.end());
  std::vector<Spots> kept;
  std::set<std::vector<bool>> known;
  for (const Spots& set : sets) {
    std::vector<bool> reached;
    for (const Spots& reach : reaches) reached.push_back(meet(reach, set));
    if (linked(set, reaches).size() > 1 || !known.insert(reached).second) continue;
    kept.push_back(set);
  }
  return kept;
}

std::string name_of(const Spots& set, const std::vector<PoolSpot>& spots) {
  std::set<std::string> parts;
  std::set<std::string> cars;
  for (const std::size_t spot : set) {
    parts.insert(spots[spot].part);
    cars.insert(spots[spot].car);
  }
  std::set<std::string> cars_of_parts;
  for (const PoolSpot& spot : spots) {
    if (parts.contains(spot.part)) cars_of_parts.insert(spot.car);
  }
  std::string name;
  for (const std::string& part : parts) name += (name.empty() ? "" : " or ") + part;
  if (cars.size() == cars_of_parts.size()) return name;
  std::string of;
  for (const std::string& car : cars) of += (of.empty() ? " (" : ", ") + car;
  return name + of + ")";
}

}  // namespace

Fraction PoolSpot::lacks() const {
  Fraction sum;
  for (const auto& [day, quantity] : lacking) sum += quantity;
  return sum;
}

std::vector<PoolItem> pool_items(const std::vector<PoolSpot>& spots, const std::vector<PoolPiece>& pieces) {
  std::set<Spots> distinct;
  for (const PoolPiece& piece : pieces) distinct.insert(piece.spots);
  const std::vector<Spots> reaches(distinct.begin(), distinct.end());
  Spots all(spots.size());
  std::iota(all.begin(), all.end(), std::size_t{0});
  std::vector<PoolItem> items;
  for (const Spots& group : linked(all, reaches)) {
    std::vector<Spots> of_group;
    for (const Spots& reach : reaches) {
      if (meet(reach, group)) of_group.push_back(reach);
    }
    for (const Spots& set : needed_sets(candidates(kinds_of(group, of_group), of_group), of_group)) {
      items.push_back({name_of(set, spots), set, set.size() < group.size()});
    }
  }
  std::map<std::string, int> names;
  for (PoolItem& item : items) {
    if (const int count = names[item.name]++; count > 0) item.name += " #" + std::to_string(count + 1);
  }
  return items;
}

std::vector<PurchaseNeed> needs_of(const PoolItem& item, const std::vector<PoolSpot>& spots, const Fraction& confidence) {
  std::map<std::optional<std::int64_t>, Fraction> lacking;
  Fraction wanted;
  Fraction lacks;
  std::optional<Fraction> break_rate;
  bool one_batch = false;
  for (const std::size_t at : item.spots) {
    const PoolSpot& spot = spots[at];
    for (const auto& [day, quantity] : spot.lacking) lacking[day] += quantity;
    wanted += spot.wanted;
    lacks += spot.lacks();
    one_batch = one_batch || spot.one_batch;
    if (spot.break_rate && (!break_rate || *spot.break_rate > *break_rate)) break_rate = spot.break_rate;
  }
  const auto whole = wanted.to_integer();
  if (whole && break_rate && lacks.sign() > 0) {
    const Fraction enough = Fraction(pieces_to_buy(*whole, *break_rate, confidence)) - (wanted - lacks);
    // Spare pieces have no date of their own: they come with the last ones, those without a date if there are any.
    if (enough > lacks) lacking[lacking.contains(std::nullopt) ? std::nullopt : lacking.rbegin()->first] += enough - lacks;
  }
  std::vector<PurchaseNeed> needs;
  for (const auto& [day, quantity] : lacking) {
    if (quantity.sign() <= 0) continue;
    PurchaseNeed need{item.name, quantity, day, one_batch};
    need.is_share = item.is_share;
    needs.push_back(std::move(need));
  }
  return needs;
}

std::map<std::size_t, std::vector<PackContents>> contents_of(const std::vector<PoolItem>& items, const std::vector<PoolPiece>& pieces) {
  std::map<std::size_t, std::vector<PackContents>> contents;
  for (const PoolItem& item : items) {
    std::map<std::size_t, Fraction> brought;
    for (const PoolPiece& piece : pieces) {
      if (meet(item.spots, piece.spots)) brought[piece.offer] += piece.quantity;
    }
    for (const auto& [offer, quantity] : brought) contents[offer].push_back({item.name, quantity});
  }
  return contents;
}

}  // namespace kitgap
