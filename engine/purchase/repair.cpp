#include "purchase/repair.h"

#include <algorithm>
#include <map>
#include <memory>
#include <queue>
#include <utility>

namespace kitgap {
namespace {

constexpr std::size_t kNoBatch = static_cast<std::size_t>(-1);
constexpr std::size_t kMostDrops = 60;  // suppliers tried to do without

class Repair {
 public:
  Repair(const ScaledPurchase& purchase, Packs start)
      : purchase_(purchase),
        packs_(std::move(start)),
        brought_(purchase.rows.size()),
        used_(purchase.suppliers.size()),
        goods_(purchase.suppliers.size()),
        batch_of_(purchase.items.size(), kNoBatch),
        closed_(purchase.suppliers.size()) {
    auto by_row = std::make_shared<Index>(purchase.rows.size());
    auto by_supplier = std::make_shared<Index>(purchase.suppliers.size());
    for (std::size_t at = 0; at < packs_.size(); ++at) {
      (*by_supplier)[purchase.offers[at].supplier].push_back(at);
      for (const auto& content : purchase.offers[at].contents) (*by_row)[content.first].push_back(at);
    }
    offers_of_row_ = std::move(by_row);
    offers_of_supplier_ = std::move(by_supplier);
    pick_batches();
    for (std::size_t at = 0; at < packs_.size(); ++at) {
      const std::int64_t wanted = std::exchange(packs_[at], 0);
      if (wanted > 0) add(at, std::clamp(wanted, purchase.offers[at].least, purchase.offers[at].most));
    }
  }

  Packs run() {
    fill();
    thin_out();
    reach_minimums();
    do_without_suppliers();
    return packs_;
  }

 private:
  // The quantity an offer brings into a row, in so far as its batch counts there.
  bool counts(const ScaledOffer& offer, std::size_t row) const {
    const std::size_t batch = batch_of_[purchase_.rows[row].item];
    return batch == kNoBatch || batch == offer.batch;
  }

  // Per lot: the batch that brings most already; else the one that is cheapest for all its items.
  void pick_batches() {
    std::map<std::size_t, std::map<std::size_t, double>> value;  // item, batch
    for (std::size_t at = 0; at < packs_.size(); ++at) {
      const ScaledOffer& offer = purchase_.offers[at];
      for (const auto& [row, quantity] : offer.contents) {
        const std::size_t item = purchase_.rows[row].item;
        if (!purchase_.items[item].one_batch || row != purchase_.items[item].rows.back()) continue;
        const auto least = static_cast<double>(purchase_.rows[row].least);
        const double packs_needed = least / static_cast<double>(quantity);
        const double price = packs_needed * static_cast<double>(offer.price) +
                             static_cast<double>(purchase_.suppliers[offer.supplier].shipping);
        const bool enough = static_cast<double>(offer.most) >= packs_needed;
        double& score = value[item].try_emplace(offer.batch, -1e300).first->second;
        score = std::max(score, (enough ? 0.0 : -1e200) - price);
        if (packs_[at] > 0) score = std::max(score, static_cast<double>(packs_[at] * quantity));
      }
    }
    for (const auto& [lot, items] : items_of_lots(purchase_)) {
      std::map<std::size_t, double> sums;
      for (const std::size_t item : items) {
        for (const auto& [batch, score] : value[item]) sums[batch] += 1e300 / static_cast<double>(items.size()) + score;
      }
      const auto best = std::ranges::max_element(sums, [](const auto& a, const auto& b) { return a.second < b.second; });
      for (const std::size_t item : items) batch_of_[item] = best == sums.end() ? kNoBatch : best->first;
    }
  }

  void add(std::size_t at, std::int64_t packs) {
    const ScaledOffer& offer = purchase_.offers[at];
    packs_[at] += packs;
    used_[offer.supplier] += packs;
    goods_[offer.supplier] += Wide{offer.price} * packs;
    for (const auto& [row, quantity] : offer.contents) {
      if (counts(offer, row)) brought_[row] += Wide{quantity} * packs;
    }
  }

  std::int64_t suppliers_used() const {
    std::int64_t count = 0;
    for (std::size_t at = 0; at < used_.size(); ++at) count += used_[at] > 0 && purchase_.suppliers[at].is_shop ? 1 : 0;
    return count;
  }

  bool may_buy(const ScaledOffer& offer) const {
    if (closed_[offer.supplier]) return false;
    return used_[offer.supplier] > 0 || !purchase_.suppliers[offer.supplier].is_shop || !purchase_.max_suppliers || suppliers_used() < *purchase_.max_suppliers;
  }

  // How many packs of the offer fill rows without waste, and what share of the missing they bring.
  std::pair<std::int64_t, double> use_of(const ScaledOffer& offer) const {
    std::int64_t fill = offer.most;
    double share = 0;
    for (const auto& [row, quantity] : offer.contents) {
      const Wide missing = purchase_.rows[row].least - brought_[row];
      if (missing <= 0 || !counts(offer, row)) continue;
      share += std::min(1.0, static_cast<double>(missing) / static_cast<double>(quantity)) *
               static_cast<double>(quantity) / static_cast<double>(purchase_.rows[row].least);
      fill = static_cast<std::int64_t>(std::min<Wide>(fill, missing / quantity));
    }
    return {fill, share};
  }

  // What the next packs of an offer bring per unit of money, and how many packs those are. Score 0: none.
  std::pair<double, std::int64_t> score_of(std::size_t at) const {
    const ScaledOffer& offer = purchase_.offers[at];
    const std::int64_t left = offer.most - packs_[at];
    if (left <= 0 || !may_buy(offer)) return {0, 0};
    const auto [fill_packs, share] = use_of(offer);
    if (share <= 0) return {0, 0};
    const std::int64_t floor_packs = packs_[at] > 0 ? 1 : offer.least;
    const std::int64_t packs = std::clamp<std::int64_t>(fill_packs, std::min(floor_packs, left), left);
    const double shipping =
        used_[offer.supplier] > 0 ? 0.0 : static_cast<double>(purchase_.suppliers[offer.supplier].shipping);
    return {share / (static_cast<double>(offer.price) + shipping / (4.0 * static_cast<double>(packs)) + 1e-9), packs};
  }

  // Best score first. Scores only fall, but for those of a supplier that is newly used: these are entered again.
  void fill() {
    std::priority_queue<std::pair<double, std::size_t>> open;
    std::vector<bool> entered(packs_.size());
    const auto enter = [&](std::size_t at) {
      if (const double score = score_of(at).first; score > 0) open.emplace(score, at);
    };
    for (std::size_t row = 0; row < brought_.size(); ++row) {
      if (brought_[row] >= purchase_.rows[row].least) continue;
      for (const std::size_t at : (*offers_of_row_)[row]) {
        if (!entered[at]) enter(at);
        entered[at] = true;
      }
    }
    while (!open.empty()) {
      const auto [score, at] = open.top();
      open.pop();
      const auto [now, packs] = score_of(at);
      if (now <= 0) continue;
      if (now < score) {
        open.emplace(now, at);
        continue;
      }
      const std::size_t supplier = purchase_.offers[at].supplier;
      const bool is_new = used_[supplier] == 0;
      add(at, packs);
      enter(at);
      if (!is_new || purchase_.suppliers[supplier].shipping == 0) continue;
      for (const std::size_t other : (*offers_of_supplier_)[supplier]) enter(other);
    }
  }

  std::int64_t packs_to_spare(std::size_t at) const {
    const ScaledOffer& offer = purchase_.offers[at];
    std::int64_t spare = packs_[at];
    for (const auto& [row, quantity] : offer.contents) {
      if (!counts(offer, row)) continue;
      const Wide over = brought_[row] - purchase_.rows[row].least;
      spare = std::min(spare, static_cast<std::int64_t>(std::max<Wide>(0, over) / quantity));
    }
    return packs_[at] - spare < offer.least && spare < packs_[at] ? std::max<std::int64_t>(0, packs_[at] - offer.least)
                                                                  : spare;
  }

  // Dearest first.
  void thin_out() {
    std::vector<std::size_t> order;
    for (std::size_t at = 0; at < packs_.size(); ++at) {
      if (packs_[at] > 0) order.push_back(at);
    }
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
      return purchase_.offers[a].price > purchase_.offers[b].price;
    });
    for (const std::size_t at : order) {
      if (const std::int64_t spare = packs_to_spare(at); spare > 0) add(at, -spare);
    }
  }

  // Fills an order up with whatever does it for least.
  void reach_minimums() {
    for (std::size_t supplier = 0; supplier < used_.size(); ++supplier) {
      const auto& minimum = purchase_.suppliers[supplier].minimum;
      if (!minimum || used_[supplier] == 0 || goods_[supplier] >= *minimum) continue;
      const Wide lack = *minimum - goods_[supplier];
      std::optional<std::pair<Wide, std::size_t>> best;
      for (std::size_t at = 0; at < packs_.size(); ++at) {
        const ScaledOffer& offer = purchase_.offers[at];
        if (offer.supplier != supplier || offer.price <= 0) continue;
        const Wide packs = std::max<Wide>((lack + offer.price - 1) / offer.price, packs_[at] > 0 ? 1 : offer.least);
        if (packs > offer.most - packs_[at]) continue;
        const std::pair candidate(packs * offer.price, at);
        if (!best || candidate < *best) best = candidate;
      }
      if (best) add(best->second, static_cast<std::int64_t>(best->first / purchase_.offers[best->second].price));
    }
  }

  void do_without_suppliers() {
    std::optional<Wide> best_cost = cost_of_packs(purchase_, packs_);
    std::size_t tried = 0;
    for (std::size_t supplier = 0; supplier < used_.size() && tried < kMostDrops; ++supplier) {
      if (used_[supplier] == 0 || purchase_.suppliers[supplier].shipping == 0) continue;
      ++tried;
      Repair other = *this;
      other.closed_[supplier] = true;
      for (const std::size_t at : (*offers_of_supplier_)[supplier]) {
        if (packs_[at] > 0) other.add(at, -packs_[at]);
      }
      for (std::size_t rest = 0; rest < used_.size(); ++rest) other.closed_[rest] = other.closed_[rest] || used_[rest] == 0;
      other.fill();
      other.thin_out();
      other.reach_minimums();
      const std::optional<Wide> cost = cost_of_packs(purchase_, other.packs_);
      if (!cost || (best_cost && *cost >= *best_cost)) continue;
      best_cost = cost;
      packs_ = other.packs_;
      brought_ = other.brought_;
      used_ = other.used_;
      goods_ = other.goods_;
    }
  }

  using Index = std::vector<std::vector<std::size_t>>;
  const ScaledPurchase& purchase_;
  std::shared_ptr<const Index> offers_of_row_;  // shared by the copies that try to do without a supplier
  std::shared_ptr<const Index> offers_of_supplier_;
  Packs packs_;
  std::vector<Wide> brought_;
  std::vector<std::int64_t> used_;  // packs per supplier
  std::vector<Wide> goods_;
  std::vector<std::size_t> batch_of_;
  std::vector<bool> closed_;
};

// The packs of one offer that bring what a row still lacks; 0 when it cannot.
std::int64_t packs_for(const ScaledOffer& offer, std::int64_t has, std::size_t row, Wide missing) {
  for (const auto& [of, quantity] : offer.contents) {
    if (of != row) continue;
    const Wide packs = std::max<Wide>((missing + quantity - 1) / quantity, has > 0 ? 1 : offer.least);
    return packs <= offer.most - has ? static_cast<std::int64_t>(packs) : 0;
  }
  return 0;
}

}  // namespace

Packs repair_packs(const ScaledPurchase& purchase, Packs start) { return Repair(purchase, std::move(start)).run(); }

std::optional<Packs> greedy_packs(const ScaledPurchase& purchase) {
  Packs packs(purchase.offers.size());
  std::vector<Wide> brought(purchase.rows.size());
  std::vector<bool> used(purchase.suppliers.size());
  std::vector<std::vector<std::size_t>> offers_of(purchase.rows.size());
  for (std::size_t at = 0; at < packs.size(); ++at) {
    for (const auto& content : purchase.offers[at].contents) offers_of[content.first].push_back(at);
  }
  for (std::size_t row = 0; row < purchase.rows.size(); ++row) {
    const Wide missing = purchase.rows[row].least - brought[row];
    if (missing <= 0) continue;
    std::optional<std::pair<Wide, std::size_t>> best;
    for (const std::size_t at : offers_of[row]) {
      const ScaledOffer& offer = purchase.offers[at];
      const std::int64_t wanted = packs_for(offer, packs[at], row, missing);
      if (wanted == 0) continue;
      const Wide shipping = used[offer.supplier] ? 0 : purchase.suppliers[offer.supplier].shipping;
      const std::pair candidate(Wide{offer.price} * wanted + shipping, at);
      if (!best || candidate < *best) best = candidate;
    }
    if (!best) return std::nullopt;
    const ScaledOffer& offer = purchase.offers[best->second];
    const std::int64_t bought = packs_for(offer, packs[best->second], row, missing);
    packs[best->second] += bought;
    used[offer.supplier] = true;
    for (const auto& [of, quantity] : offer.contents) brought[of] += Wide{quantity} * bought;
  }
  return packs;
}

}  // namespace kitgap
