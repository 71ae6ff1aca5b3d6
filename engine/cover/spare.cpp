#include "cover/spare.h"

#include <algorithm>

namespace kitgap {

void GroupSpare::gather(std::span<const std::uint32_t> items, Solver& solver) {
  std::map<SpareKey, Left> here;
  for (const std::uint32_t item : items) add(item, solver, here);
  for (const auto& [key, left] : here) {
    Left& sum = left_[key];
    sum.quantity.widen(left.quantity.lo, !sum.is_met);
    sum.is_met = true;
    sum.meant = std::max(sum.meant, left.meant);
    sum.pack = std::max(sum.pack, left.pack);
    sum.is_by_bag = sum.is_by_bag || left.is_by_bag;
  }
}

void GroupSpare::add(std::uint32_t index, Solver& solver, std::map<SpareKey, Left>& here) const {
  const SupplyItem& item = model_.supplies().items[index];
  Left& left = here[{item.part, model_.needs().part_row(item.part).is_handed ? item.hand : Hand::None}];
  left.quantity.lo += solver.left_over(index);
  left.meant += item.meant_spare;
  left.pack = std::max(left.pack, item.pack_size);
  const bool is_pair = item.offer_row && model_.rules().offers[*item.offer_row].position.is_pair;
  left.is_by_bag = left.is_by_bag || (item.pack_size > Fraction(1) && !is_pair);
}

void SpareSum::add(const GroupSpare& group) {
  for (const auto& [key, left] : group.left()) {
    SpareAnswer& sum = sums_.try_emplace(key, SpareAnswer{.part = key.first, .hand = key.second, .quantity = {}, .meant = {}, .from_bags = {}, .over = {}}).first->second;
    sum.quantity.lo += left.quantity.lo;
    sum.quantity.hi += left.quantity.hi;
    const Fraction meant = std::min(left.meant, left.quantity.lo);
    const Fraction rest = left.quantity.lo - meant;
    const bool is_bag = left.pack > Fraction(1) && left.is_by_bag;
    const Fraction over = is_bag ? (rest / left.pack).floor() * left.pack : rest;
    sum.meant += meant;
    sum.over += over;
    sum.from_bags += rest - over;
  }
}

std::vector<SpareAnswer> SpareSum::answers(const Rules& rules) const {
  std::vector<SpareAnswer> answers;
  for (const auto& [key, spare] : sums_) {
    if (spare.quantity.hi.sign() > 0) answers.push_back(spare);
  }
  std::ranges::sort(answers, {}, [&](const SpareAnswer& spare) { return std::pair(rules.part_keys[spare.part.index], spare.hand); });
  return answers;
}

}  // namespace kitgap
