#include "purchase/reduce.h"

#include <algorithm>
#include <map>
#include <numeric>

namespace kitgap {
namespace {

using OffersOfRow = std::vector<std::vector<std::size_t>>;

OffersOfRow offers_of_rows(const ScaledPurchase& purchase) {
  OffersOfRow offers(purchase.rows.size());
  for (std::size_t at = 0; at < purchase.offers.size(); ++at) {
    for (const auto& content : purchase.offers[at].contents) offers[content.first].push_back(at);
  }
  return offers;
}

bool brings_all_of(const ScaledOffer& better, const ScaledOffer& worse) {
  auto at = better.contents.begin();
  for (const auto& [row, quantity] : worse.contents) {
    while (at != better.contents.end() && at->first < row) ++at;
    if (at == better.contents.end() || at->first != row || at->second < quantity) return false;
  }
  return true;
}

bool is_plain(const ScaledPurchase& purchase, std::size_t supplier) {
  const ScaledSupplier& of = purchase.suppliers[supplier];
  return of.shipping == 0 && !of.minimum && !purchase.max_suppliers;
}

bool beats(const ScaledPurchase& purchase, const ScaledOffer& better, const ScaledOffer& worse) {
  if (better.price >= worse.price || better.limited || better.least > 1) return false;
  if (better.supplier != worse.supplier && !is_plain(purchase, better.supplier)) return false;
  if (purchase.suppliers[better.supplier].has_threshold() || purchase.suppliers[worse.supplier].has_threshold()) {
    return false;
  }
  for (const auto& [row, quantity] : worse.contents) {
    if (purchase.items[purchase.rows[row].item].one_batch && better.batch != worse.batch) return false;
  }
  return brings_all_of(better, worse);
}

class Groups {
 public:
  explicit Groups(std::size_t count) : parent_(count) { std::iota(parent_.begin(), parent_.end(), std::size_t{0}); }
  std::size_t find(std::size_t at) {
    while (parent_[at] != at) at = parent_[at] = parent_[parent_[at]];
    return at;
  }
  void join(std::size_t a, std::size_t b) { parent_[std::max(find(a), find(b))] = std::min(find(a), find(b)); }

 private:
  std::vector<std::size_t> parent_;
};

// Suppliers that must be used whatever is planned: some row has no other.
std::vector<bool> must_be_used(const ScaledPurchase& purchase) {
  std::vector<bool> must(purchase.suppliers.size());
  const OffersOfRow offers = offers_of_rows(purchase);
  for (std::size_t row = 0; row < offers.size(); ++row) {
    if (purchase.rows[row].least <= 0 || offers[row].empty()) continue;
    const std::size_t first = purchase.offers[offers[row].front()].supplier;
    const auto same = [&](std::size_t at) { return purchase.offers[at].supplier == first; };
    if (std::all_of(offers[row].begin(), offers[row].end(), same)) must[first] = true;
  }
  return must;
}

// Copies the offers of one part, with rows and items numbered anew.
PurchasePart part_of(const ScaledPurchase& whole, const std::vector<std::size_t>& offers,
                     const std::vector<std::size_t>& rows) {
  PurchasePart part;
  part.offers = offers;
  part.purchase.money_scale = whole.money_scale;
  part.purchase.max_suppliers = whole.max_suppliers;
  part.purchase.suppliers = whole.suppliers;
  std::map<std::size_t, std::size_t> new_row;
  std::map<std::size_t, std::size_t> new_item;
  for (const std::size_t row : rows) {
    const auto [item, is_new] = new_item.try_emplace(whole.rows[row].item, part.purchase.items.size());
    if (is_new) {
      part.purchase.items.push_back(whole.items[whole.rows[row].item]);
      part.purchase.items.back().rows.clear();
    }
    new_row[row] = part.purchase.rows.size();
    part.purchase.items[item->second].rows.push_back(part.purchase.rows.size());
    part.purchase.rows.push_back({item->second, whole.rows[row].least});
  }
  for (const std::size_t offer : offers) {
    part.purchase.offers.push_back(whole.offers[offer]);
    for (auto& content : part.purchase.offers.back().contents) content.first = new_row.at(content.first);
  }
  return part;
}

}  // namespace

ScaledPurchase with_offers(const ScaledPurchase& purchase, const std::vector<bool>& keep,
                           std::vector<std::size_t>& kept) {
  ScaledPurchase reduced = purchase;
  reduced.offers.clear();
  kept.clear();
  for (std::size_t at = 0; at < purchase.offers.size(); ++at) {
    if (!keep[at]) continue;
    reduced.offers.push_back(purchase.offers[at]);
    kept.push_back(at);
  }
  return reduced;
}

ScaledPurchase without_beaten_offers(const ScaledPurchase& purchase, std::vector<std::size_t>& kept) {
  const OffersOfRow offers = offers_of_rows(purchase);
  std::vector<bool> keep(purchase.offers.size(), true);
  for (std::size_t at = 0; at < purchase.offers.size(); ++at) {
    const ScaledOffer& offer = purchase.offers[at];
    if (offer.contents.empty()) continue;
    const auto rarest =
        std::min_element(offer.contents.begin(), offer.contents.end(), [&](const auto& a, const auto& b) {
          return offers[a.first].size() < offers[b.first].size();
        });
    const auto& rivals = offers[rarest->first];
    keep[at] = std::none_of(rivals.begin(), rivals.end(),
                            [&](std::size_t rival) { return beats(purchase, purchase.offers[rival], offer); });
  }
  return with_offers(purchase, keep, kept);
}

std::vector<PurchasePart> parts_of(const ScaledPurchase& purchase, Wide& fixed_cost) {
  ScaledPurchase whole = purchase;
  const std::vector<bool> must = must_be_used(purchase);
  fixed_cost = 0;
  for (std::size_t at = 0; at < must.size(); ++at) {
    ScaledSupplier& supplier = whole.suppliers[at];
    if (!must[at] || supplier.has_threshold()) continue;
    fixed_cost += supplier.shipping;
    supplier.shipping = 0;
  }
  const std::size_t rows = whole.rows.size();
  Groups groups(rows + whole.suppliers.size());
  for (const ScaledOffer& offer : whole.offers) {
    const std::size_t first = offer.contents.empty() ? rows + offer.supplier : offer.contents.front().first;
    for (const auto& content : offer.contents) groups.join(first, content.first);
    if (!is_plain(whole, offer.supplier)) groups.join(first, rows + offer.supplier);
  }
  for (const ScaledItem& item : whole.items) {
    for (const std::size_t row : item.rows) groups.join(item.rows.front(), row);
  }
  for (const auto& [lot, items] : items_of_lots(whole)) {
    for (const std::size_t item : items) groups.join(whole.items[items.front()].rows.front(), whole.items[item].rows.front());
  }
  if (whole.max_suppliers) {
    for (std::size_t at = 1; at < rows; ++at) groups.join(0, at);
  }
  std::map<std::size_t, std::pair<std::vector<std::size_t>, std::vector<std::size_t>>> members;
  for (std::size_t row = 0; row < rows; ++row) {
    if (whole.rows[row].least > 0) members[groups.find(row)].second.push_back(row);
  }
  for (std::size_t at = 0; at < whole.offers.size(); ++at) {
    const ScaledOffer& offer = whole.offers[at];
    const std::size_t key = offer.contents.empty() ? rows + offer.supplier : offer.contents.front().first;
    const auto found = members.find(groups.find(key));
    if (found != members.end()) found->second.first.push_back(at);
  }
  std::vector<PurchasePart> parts;
  for (const auto& [key, part] : members) parts.push_back(part_of(whole, part.first, part.second));
  return parts;
}

}  // namespace kitgap
