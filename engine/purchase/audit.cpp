#include "purchase/audit.h"

#include <algorithm>
#include <map>
#include <set>

namespace kitgap {
namespace {

class Audit {
 public:
  Audit(const PurchaseProblem& problem, const Plan& plan) : problem_(problem), plan_(plan) {}

  std::vector<std::string> run() {
    if (!names_offers()) return wrong_;
    lines();
    suppliers();
    coverage();
    amounts();
    return wrong_;
  }

 private:
  void expect(bool holds, const std::string& says) {
    if (!holds) wrong_.push_back(says);
  }

  bool names_offers() {
    std::set<std::size_t> seen;
    for (const PurchaseLine& line : plan_.buy) {
      expect(line.offer < problem_.offers.size() && seen.insert(line.offer).second, "line " + line.id + " names no offer of its own");
    }
    return wrong_.empty();
  }

  void lines() {
    for (const PurchaseLine& line : plan_.buy) {
      const PurchaseOffer& offer = problem_.offers[line.offer];
      expect(line.packs >= std::max<std::int64_t>(1, offer.minimum_packs), line.id + " is below the minimum of packs");
      expect(!offer.available || line.packs <= *offer.available, line.id + " takes more packs than there are");
      expect(line.cost == offer.price * Fraction(line.packs), line.id + " costs another amount");
      goods_[offer.supplier] += offer.price * Fraction(line.packs);
      for (const PackContents& content : offer.contents) {
        brought_[content.item] += content.quantity * Fraction(line.packs);
      }
    }
  }

  void suppliers() {
    for (const auto& [name, goods] : goods_) {
      const auto is_it = [&](const PurchaseSupplier& supplier) { return supplier.name == name; };
      const auto supplier = std::find_if(problem_.suppliers.begin(), problem_.suppliers.end(), is_it);
      if (supplier == problem_.suppliers.end()) {
        wrong_.push_back("no supplier is called " + name);
        continue;
      }
      const auto& excluded = problem_.excluded_suppliers;
      expect(std::find(excluded.begin(), excluded.end(), name) == excluded.end(), name + " is excluded");
      expect(!supplier->minimum_order || goods >= *supplier->minimum_order, "the order at " + name + " is too small");
      const bool is_free = supplier->free_shipping_from && goods >= *supplier->free_shipping_from;
      goods_total_ += goods;
      if (!is_free) shipping_total_ += supplier->shipping_charge;
    }
    const auto is_shop = [&](const PurchaseSupplier& supplier) { return supplier.is_shop && goods_.contains(supplier.name); };
    const std::int64_t parcels = std::count_if(problem_.suppliers.begin(), problem_.suppliers.end(), is_shop);
    expect(!problem_.max_suppliers || parcels <= *problem_.max_suppliers,
           "too many suppliers");
  }

  bool arrives(const PurchaseOffer& offer, std::int64_t days) const {
    auto lead = offer.lead_time_days;
    for (const PurchaseSupplier& supplier : problem_.suppliers) {
      if (!lead && supplier.name == offer.supplier) lead = supplier.lead_time_days;
    }
    return lead ? *lead <= days : problem_.assume_unstated_lead_time;
  }

  // Pieces of an item that arrive in time, of one batch or (empty word) of all.
  Fraction in_time(const std::string& item, std::optional<std::int64_t> days, const std::string* batch) const {
    Fraction sum;
    for (const PurchaseLine& line : plan_.buy) {
      const PurchaseOffer& offer = problem_.offers[line.offer];
      if ((days && !arrives(offer, *days)) || (batch && batch_word(line.offer) != *batch)) continue;
      for (const PackContents& content : offer.contents) {
        if (content.item == item) sum += content.quantity * Fraction(line.packs);
      }
    }
    return sum;
  }

  std::string batch_word(std::size_t offer) const {
    const PurchaseOffer& of = problem_.offers[offer];
    return of.batch.empty() ? "#" + std::to_string(offer) : of.supplier + '\n' + of.batch;
  }

  bool dates_met(const std::string& item, const Fraction& uncovered, const std::string* batch) const {
    std::map<std::int64_t, Fraction> dated;
    Fraction all;
    for (const PurchaseNeed& need : problem_.needs) {
      if (need.item != item) continue;
      all += need.quantity;
      if (need.needed_by_days) dated[*need.needed_by_days] += need.quantity;
    }
    Fraction sum;
    for (const auto& [days, quantity] : dated) {
      sum += quantity;
      if (in_time(item, days, batch) < sum - uncovered) return false;
    }
    return in_time(item, std::nullopt, batch) >= all - uncovered;
  }

  // One batch brings all these items, up to what is uncovered.
  bool is_from_one_batch(const std::set<std::string>& items, std::map<std::string, Fraction>& uncovered, std::map<std::string, Fraction>& needed) const {
    const auto is_left_out = [&](const std::string& item) { return uncovered[item] == needed[item]; };
    if (std::ranges::all_of(items, is_left_out)) return true;
    return std::ranges::any_of(plan_.buy, [&](const PurchaseLine& line) {
      const std::string batch = batch_word(line.offer);
      return std::ranges::all_of(items, [&](const std::string& item) { return is_left_out(item) || dates_met(item, uncovered[item], &batch); });
    });
  }

  void coverage() {
    std::map<std::string, Fraction> needed;
    std::map<std::string, bool> one_batch;
    std::map<std::string, std::set<std::string>> lots;  // items that come from one batch together
    for (const PurchaseNeed& need : problem_.needs) {
      needed[need.item] += need.quantity;
      one_batch[need.item] |= need.one_batch;
      if (need.one_batch && !need.lot.empty()) lots[need.lot].insert(need.item);
    }
    std::map<std::string, Fraction> uncovered;
    for (const ItemQuantity& quantity : plan_.uncovered) {
      uncovered[quantity.item] = quantity.quantity;
      expect(quantity.quantity.sign() > 0 && quantity.quantity <= needed[quantity.item],
             quantity.item + " is uncovered by another quantity");
    }
    for (const auto& [lot, items] : lots) expect(is_from_one_batch(items, uncovered, needed), lot + " is not from one batch");
    std::map<std::string, Fraction> spare;
    for (const auto& [item, quantity] : needed) {
      bool met = !one_batch[item] && dates_met(item, uncovered[item], nullptr);
      for (std::size_t at = 0; !met && one_batch[item] && at < plan_.buy.size(); ++at) {
        const std::string batch = batch_word(plan_.buy[at].offer);
        met = dates_met(item, uncovered[item], &batch);
      }
      expect(met || uncovered[item] == quantity, item + " is not covered");
      brought_[item] += uncovered[item] - quantity;
    }
    std::set<std::string> shares;
    for (const PurchaseNeed& need : problem_.needs) {
      if (need.is_share) shares.insert(need.item);
    }
    for (const auto& [item, over] : brought_) {
      if (over.sign() > 0 && !shares.contains(item)) spare[item] = over;
    }
    expect(spare.size() == plan_.spare.size(), "the spares are others");
    for (const ItemQuantity& quantity : plan_.spare) {
      expect(spare[quantity.item] == quantity.quantity, "another number of " + quantity.item + " is spare");
    }
  }

  void amounts() {
    expect(plan_.goods == goods_total_, "the goods come to another amount");
    expect(plan_.shipping == shipping_total_, "shipping comes to another amount");
    expect(plan_.total == plan_.goods + plan_.shipping, "the total is another amount");
    expect(plan_.bound <= plan_.total, "the bound is above the total");
    expect(plan_.status != PlanStatus::Optimal || plan_.bound == plan_.total, "optimal, but the bound is below");
    expect(!problem_.budget || plan_.total <= *problem_.budget, "the budget is exceeded");
  }

  const PurchaseProblem& problem_;
  const Plan& plan_;
  std::map<std::string, Fraction> goods_;    // per supplier
  std::map<std::string, Fraction> brought_;  // per item
  Fraction goods_total_;
  Fraction shipping_total_;
  std::vector<std::string> wrong_;
};

}  // namespace

std::vector<std::string> audit_purchase(const PurchaseProblem& problem, const Plan& plan) {
  return Audit(problem, plan).run();
}

}  // namespace kitgap
