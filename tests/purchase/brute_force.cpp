#include "purchase/brute_force.h"

#include <algorithm>
#include <map>
#include <random>
#include <set>
#include <tuple>
#include <vector>

namespace kitgap {
namespace {

using Key = std::tuple<Fraction, Fraction, std::int64_t, Fraction>;  // uncovered, total, parcels, spare

const PurchaseSupplier& supplier_of(const PurchaseProblem& problem, const std::string& name) {
  return *std::find_if(problem.suppliers.begin(), problem.suppliers.end(), [&](const auto& s) { return s.name == name; });
}

bool in_time(const PurchaseProblem& problem, const PurchaseOffer& offer, std::optional<std::int64_t> days) {
  if (!days) return true;
  const auto lead = offer.lead_time_days ? offer.lead_time_days : supplier_of(problem, offer.supplier).lead_time_days;
  return lead ? *lead <= *days : problem.assume_unstated_lead_time;
}

// Pieces of `item` that stay uncovered when only offers of `batch` count (empty: all): the longest lack over its dates.
Fraction lack_of(const PurchaseProblem& problem, const std::vector<std::int64_t>& packs, const std::string& item,
                 const std::string& batch) {
  std::vector<std::pair<std::int64_t, Fraction>> dated;
  for (const PurchaseNeed& need : problem.needs) {
    if (need.item == item) dated.emplace_back(need.needed_by_days.value_or(1'000'000), need.quantity);
  }
  std::sort(dated.begin(), dated.end());
  Fraction lack;
  Fraction wanted;
  for (std::size_t at = 0; at < dated.size(); ++at) {
    wanted += dated[at].second;
    if (at + 1 < dated.size() && dated[at + 1].first == dated[at].first) continue;
    Fraction brought;
    for (std::size_t offer = 0; offer < packs.size(); ++offer) {
      const PurchaseOffer& of = problem.offers[offer];
      const std::string own = of.batch.empty() ? "#" + std::to_string(offer) : of.supplier + "/" + of.batch;
      if (!batch.empty() && own != batch) continue;
      const bool has_date = dated[at].first != 1'000'000;
      if (!in_time(problem, of, has_date ? std::optional(dated[at].first) : std::nullopt)) continue;
      for (const auto& content : of.contents) {
        if (content.item == item) brought += content.quantity * Fraction(packs[offer]);
      }
    }
    lack = std::max(lack, wanted - brought);
  }
  return lack;
}

std::optional<Key> key_of(const PurchaseProblem& problem, const std::vector<std::int64_t>& packs) {
  std::map<std::string, Fraction> goods;
  std::map<std::string, Fraction> bought;
  for (std::size_t at = 0; at < packs.size(); ++at) {
    const PurchaseOffer& offer = problem.offers[at];
    if (packs[at] == 0) continue;
    const auto& excluded = problem.excluded_suppliers;
    if (packs[at] < offer.minimum_packs) return std::nullopt;
    if (std::find(excluded.begin(), excluded.end(), offer.supplier) != excluded.end()) return std::nullopt;
    goods[offer.supplier] += offer.price * Fraction(packs[at]);
    for (const auto& content : offer.contents) bought[content.item] += content.quantity * Fraction(packs[at]);
  }
  if (problem.max_suppliers && static_cast<std::int64_t>(goods.size()) > *problem.max_suppliers) return std::nullopt;
  Fraction total;
  for (const auto& [name, value] : goods) {
    const PurchaseSupplier& supplier = supplier_of(problem, name);
    if (supplier.minimum_order && value < *supplier.minimum_order) return std::nullopt;
    total += value;
    if (!supplier.free_shipping_from || value < *supplier.free_shipping_from) total += supplier.shipping_charge;
  }
  if (problem.budget && total > *problem.budget) return std::nullopt;
  std::map<std::string, Fraction> needed;
  std::set<std::string> one_batch;
  std::map<std::string, std::set<std::string>> lots;
  for (const PurchaseNeed& need : problem.needs) {
    needed[need.item] += need.quantity;
    if (need.one_batch) one_batch.insert(need.item);
    if (need.one_batch) lots[need.lot.empty() ? "item " + need.item : "lot " + need.lot].insert(need.item);
  }
  Fraction uncovered;
  Fraction spare;
  for (const auto& [lot, items] : lots) {
    std::optional<Fraction> least;
    for (std::size_t at = 0; at < packs.size(); ++at) {
      const PurchaseOffer& of = problem.offers[at];
      const std::string own = of.batch.empty() ? "#" + std::to_string(at) : of.supplier + "/" + of.batch;
      Fraction lack;
      for (const std::string& item : items) lack += std::min(needed[item], lack_of(problem, packs, item, own));
      if (!least || lack < *least) least = lack;
    }
    uncovered += *least;
  }
  for (const auto& [item, quantity] : needed) {
    if (!one_batch.count(item)) uncovered += lack_of(problem, packs, item, "");
    spare += bought[item] - quantity;
  }
  return Key(uncovered, total, static_cast<std::int64_t>(goods.size()), spare + uncovered);
}

}  // namespace

BruteAnswer brute_force(const PurchaseProblem& problem) {
  std::vector<std::int64_t> packs(problem.offers.size());
  std::optional<Key> best;
  while (true) {
    if (const auto key = key_of(problem, packs); key && (!best || *key < *best)) best = key;
    std::size_t at = 0;
    while (at < packs.size() && packs[at] == *problem.offers[at].available) packs[at++] = 0;
    if (at == packs.size()) break;
    ++packs[at];
  }
  return {std::get<0>(*best), std::get<1>(*best), std::get<2>(*best), std::get<3>(*best)};
}

PurchaseProblem random_problem(std::uint64_t seed) {
  std::mt19937_64 random(seed);
  const auto upto = [&](std::int64_t most) { return static_cast<std::int64_t>(random() % static_cast<std::uint64_t>(most + 1)); };
  const auto chance = [&](std::int64_t percent) { return upto(99) < percent; };
  const auto figure = [&](std::int64_t most) { return Fraction::of(1 + upto(most), chance(30) ? 2 : 1); };
  PurchaseProblem problem;
  const std::int64_t items = 1 + upto(2);
  const std::set<std::string> lot_items = seed % 5 == 0 ? std::set<std::string>{"i0", "i1"} : std::set<std::string>{};
  const auto name_of = [](char letter, std::int64_t at) { return std::string(1, letter) + std::to_string(at); };
  for (std::int64_t at = 0; at <= upto(3) || at < items; ++at) {
    PurchaseNeed need;
    need.item = name_of('i', at % items);
    need.quantity = figure(5);
    if (chance(20)) need.needed_by_days = upto(3);
    need.one_batch = chance(15);
    if (lot_items.contains(need.item)) need.lot = "cloth";
    if (!need.lot.empty()) need.one_batch = true;
    problem.needs.push_back(need);
  }
  const std::int64_t suppliers = 1 + upto(2);
  for (std::int64_t at = 0; at < suppliers; ++at) {
    PurchaseSupplier supplier;
    supplier.name = name_of('s', at);
    supplier.shipping_charge = Fraction(upto(6));
    if (chance(35)) supplier.free_shipping_from = figure(14);
    if (chance(30)) supplier.minimum_order = figure(12);
    if (chance(50)) supplier.lead_time_days = upto(3);
    problem.suppliers.push_back(supplier);
  }
  const std::int64_t offers = 2 + upto(3);
  for (std::int64_t at = 0; at < offers; ++at) {
    PurchaseOffer offer;
    offer.supplier = name_of('s', upto(suppliers - 1));
    offer.part_number = name_of('p', at);
    offer.price = figure(8);
    offer.contents.push_back({name_of('i', upto(items - 1)), figure(4)});
    if (chance(35)) {
      const std::string other = name_of('i', upto(items - 1));
      if (other != offer.contents[0].item) offer.contents.push_back({other, figure(3)});
    }
    offer.available = 1 + upto(4);
    if (chance(15)) offer.minimum_packs = 2;
    if (chance(30)) offer.lead_time_days = upto(3);
    if (chance(20)) offer.batch = "b";
    problem.offers.push_back(offer);
  }
  if (chance(25)) problem.budget = figure(40);
  if (chance(25)) problem.max_suppliers = 1 + upto(1);
  if (chance(15)) problem.excluded_suppliers = {"s0"};
  problem.assume_unstated_lead_time = chance(50);
  return problem;
}

std::string text_of(const PurchaseProblem& problem) {
  std::string text = "\n";
  const auto maybe = [](const char* word, const std::optional<std::int64_t>& value) {
    return value ? std::string(word) + std::to_string(*value) : std::string();
  };
  for (const auto& need : problem.needs) {
    text += "need " + need.item + " " + need.quantity.to_text() + maybe(" by day ", need.needed_by_days) +
            (need.one_batch ? " of one batch " + need.lot : "") + "\n";
  }
  for (const auto& supplier : problem.suppliers) {
    text += "supplier " + supplier.name + " shipping " + supplier.shipping_charge.to_text() +
            (supplier.free_shipping_from ? " free from " + supplier.free_shipping_from->to_text() : "") +
            (supplier.minimum_order ? " minimum " + supplier.minimum_order->to_text() : "") +
            maybe(" lead ", supplier.lead_time_days) + "\n";
  }
  for (const auto& offer : problem.offers) {
    text += "offer " + offer.supplier + " " + offer.part_number + " at " + offer.price.to_text();
    for (const auto& content : offer.contents) text += " " + content.item + " x " + content.quantity.to_text();
    text += maybe(" available ", offer.available) + " least " + std::to_string(offer.minimum_packs) +
            maybe(" lead ", offer.lead_time_days) + " batch '" + offer.batch + "'\n";
  }
  if (problem.budget) text += "budget " + problem.budget->to_text() + "\n";
  text += maybe("suppliers at most ", problem.max_suppliers) + "\n";
  for (const auto& name : problem.excluded_suppliers) text += "without " + name + "\n";
  return text + (problem.assume_unstated_lead_time ? "unstated lead time meets every date\n" : "");
}

}  // namespace kitgap
