#include "purchase/scaled.h"

#include <algorithm>
#include <limits>
#include <map>
#include <numeric>
#include <set>
#include <tuple>

namespace kitgap {
namespace {

constexpr Wide kLargest = Wide{1} << 60;

std::int64_t narrow(Wide value) {
  if (value > kLargest || value < -kLargest) throw FigureOverflow();
  return static_cast<std::int64_t>(value);
}

// The least common multiple of `scale` and the denominator of `figure`.
std::int64_t with_denominator(std::int64_t scale, const Fraction& figure) {
  const std::int64_t denominator = narrow(figure.denominator());
  return narrow(Wide{scale / std::gcd(scale, denominator)} * denominator);
}

std::int64_t scaled_up(const Fraction& figure, std::int64_t scale) {
  return narrow((figure * Fraction(scale)).ceil().numerator());
}

std::int64_t scaled_down(const Fraction& figure, std::int64_t scale) {
  const Wide value = (figure * Fraction(scale)).floor().numerator();
  return value > kLargest ? narrow(kLargest) : narrow(value);
}

std::int64_t divide_up(std::int64_t a, std::int64_t b) { return a / b + (a % b > 0 ? 1 : 0); }

bool is_excluded(const PurchaseProblem& problem, const std::string& supplier) {
  const auto& excluded = problem.excluded_suppliers;
  return std::find(excluded.begin(), excluded.end(), supplier) != excluded.end();
}

// More packs than this are never of use: each beyond the needs and beyond the thresholds can be left out.
void set_most(const ScaledPurchase& purchase, ScaledOffer& offer) {
  const ScaledSupplier& supplier = purchase.suppliers[offer.supplier];
  std::int64_t useful = offer.least;
  for (const auto& [row, quantity] : offer.contents) {
    useful = std::max(useful, divide_up(purchase.rows[row].least, quantity));
  }
  if (supplier.has_threshold() && offer.price > 0) {
    const std::int64_t threshold = std::max(supplier.free_from.value_or(0), supplier.minimum.value_or(0));
    useful = std::max(useful, divide_up(threshold, offer.price));
  }
  offer.most = std::min(offer.most, useful);
}

std::int64_t pieces_in(const PurchaseOffer& offer, std::int64_t scale) {
  Wide pieces = 0;
  for (const PackContents& content : offer.contents) pieces += (content.quantity * Fraction(scale)).numerator();
  return narrow(pieces);
}

class Scaling {
 public:
  explicit Scaling(const PurchaseProblem& problem) : problem_(problem) {}

  ScaledPurchase run() {
    money();
    suppliers();
    items();
    offers();
    list_offers_of_rows();
    for (ScaledItem& item : out_.items) settle_coverage(item);
    return with_lower_rows(std::move(out_));
  }

 private:
  void money() {
    for (const auto& offer : problem_.offers) out_.money_scale = with_denominator(out_.money_scale, offer.price);
    for (const auto& supplier : problem_.suppliers) {
      out_.money_scale = with_denominator(out_.money_scale, supplier.shipping_charge);
    }
    if (problem_.budget) out_.budget = scaled_down(*problem_.budget, out_.money_scale);
    out_.max_suppliers = problem_.max_suppliers;
  }

  void suppliers() {
    const auto& preferred = problem_.preferred_suppliers;
    for (std::size_t at = 0; at < problem_.suppliers.size(); ++at) {
      const PurchaseSupplier& from = problem_.suppliers[at];
      if (is_excluded(problem_, from.name)) continue;
      ScaledSupplier to;
      to.name = from.name;
      to.is_shop = from.is_shop;
      to.shipping = scaled_up(from.shipping_charge, out_.money_scale);
      if (from.free_shipping_from) to.free_from = scaled_up(*from.free_shipping_from, out_.money_scale);
      if (from.minimum_order && from.minimum_order->sign() > 0) {
        to.minimum = scaled_up(*from.minimum_order, out_.money_scale);
      }
      if (to.free_from && *to.free_from <= 0) to.shipping = 0;
      to.preferred = std::find(preferred.begin(), preferred.end(), from.name) != preferred.end();
      out_.suppliers.push_back(std::move(to));
      lead_[from.name] = from.lead_time_days;
    }
    std::sort(out_.suppliers.begin(), out_.suppliers.end(),
              [](const auto& a, const auto& b) { return a.name < b.name; });
    for (std::size_t at = 0; at < out_.suppliers.size(); ++at) supplier_index_[out_.suppliers[at].name] = at;
  }

  // One row per item and date; a need without a date is due last.
  void items() {
    constexpr std::int64_t kNoDate = std::numeric_limits<std::int64_t>::max();
    std::map<std::string, std::map<std::int64_t, Fraction>> due;
    std::map<std::string, bool> one_batch;
    std::map<std::string, std::string> lot_of;
    for (const PurchaseNeed& need : problem_.needs) {
      if (need.quantity.sign() <= 0) continue;
      due[need.item][need.needed_by_days.value_or(kNoDate)] += need.quantity;
      one_batch[need.item] |= need.one_batch;
      if (!need.lot.empty()) lot_of[need.item] = need.lot;
    }
    std::map<std::string, std::size_t> lots;
    for (const auto& [name, dates] : due) {
      ScaledItem item;
      item.name = name;
      item.one_batch = one_batch[name];
      const auto lot = lot_of.find(name);
      item.lot = lot == lot_of.end() ? out_.items.size() : lots.try_emplace(lot->second, out_.items.size()).first->second;
      item.scale = scale_of_item(name, dates);
      item_index_[name] = out_.items.size();
      Fraction sum;
      for (const auto& [days, quantity] : dates) {
        sum += quantity;
        item.rows.push_back(out_.rows.size());
        out_.rows.push_back({out_.items.size(), scaled_up(sum, item.scale)});
        due_.push_back(days == kNoDate ? std::nullopt : std::optional<std::int64_t>(days));
      }
      out_.items.push_back(std::move(item));
    }
  }

  std::int64_t scale_of_item(const std::string& name, const std::map<std::int64_t, Fraction>& dates) {
    if (item_scales_.empty()) {
      for (const auto& offer : problem_.offers) {
        for (const auto& content : offer.contents) {
          auto& scale = item_scales_.try_emplace(content.item, 1).first->second;
          scale = with_denominator(scale, content.quantity);
          pieces_scale_ = with_denominator(pieces_scale_, content.quantity);
        }
      }
    }
    const auto known = item_scales_.find(name);
    std::int64_t scale = known == item_scales_.end() ? 1 : known->second;
    for (const auto& [days, quantity] : dates) scale = with_denominator(scale, quantity);
    return scale;
  }

  bool meets(const PurchaseOffer& offer, std::size_t row) const {
    if (!due_[row]) return true;
    const auto lead = offer.lead_time_days ? offer.lead_time_days : lead_.at(offer.supplier);
    return lead ? *lead <= *due_[row] : problem_.assume_unstated_lead_time;
  }

  void offers() {
    std::map<std::tuple<std::size_t, std::string, std::size_t>, std::size_t> batches;
    for (std::size_t source = 0; source < problem_.offers.size(); ++source) {
      const PurchaseOffer& from = problem_.offers[source];
      const auto supplier = supplier_index_.find(from.supplier);
      if (supplier == supplier_index_.end()) continue;
      ScaledOffer to;
      to.source = source;
      to.supplier = supplier->second;
      to.price = scaled_up(from.price, out_.money_scale);
      to.least = std::max<std::int64_t>(1, from.minimum_packs);
      to.limited = from.available.has_value();
      to.most = from.available.value_or(std::int64_t{1} << 40);
      if (to.most < to.least) continue;
      contents(from, to);
      to.pieces = pieces_in(from, pieces_scale_);
      const auto key = std::tuple(to.supplier, from.batch, from.batch.empty() ? source + 1 : 0);
      to.batch = batches.try_emplace(key, batches.size()).first->second;
      out_.offers.push_back(std::move(to));
    }
    std::stable_sort(out_.offers.begin(), out_.offers.end(), [&](const auto& a, const auto& b) {
      const auto key = [&](const ScaledOffer& o) {
        return std::tie(o.supplier, problem_.offers[o.source].part_number, o.price, o.contents, o.least, o.most);
      };
      return key(a) < key(b);
    });
  }

  void contents(const PurchaseOffer& from, ScaledOffer& to) const {
    std::map<std::size_t, std::int64_t> rows;
    for (const PackContents& content : from.contents) {
      const auto item = item_index_.find(content.item);
      if (item == item_index_.end() || content.quantity.sign() <= 0) continue;
      const std::int64_t quantity = scaled_down(content.quantity, out_.items[item->second].scale);
      for (const std::size_t row : out_.items[item->second].rows) {
        if (meets(from, row)) rows[row] = narrow(Wide{rows[row]} + quantity);
      }
    }
    to.contents.assign(rows.begin(), rows.end());
  }

  void list_offers_of_rows() {
    offers_of_row_.resize(out_.rows.size());
    for (std::size_t at = 0; at < out_.offers.size(); ++at) {
      for (const auto& [row, quantity] : out_.offers[at].contents) offers_of_row_[row].emplace_back(at, quantity);
    }
  }

  // The most that can come into a row: of one batch where that is asked, else of all.
  std::map<std::size_t, Wide> brought(std::size_t row, bool one_batch) const {
    std::map<std::size_t, Wide> sums;
    for (const auto& [at, quantity] : offers_of_row_[row]) {
      const ScaledOffer& offer = out_.offers[at];
      sums[one_batch ? offer.batch : 0] += Wide{quantity} * offer.most;
    }
    return sums;
  }

  // Lowers all rows of an item by what is lacking at its worst date, of the best batch where one is asked.
  void settle_coverage(ScaledItem& item) {
    std::map<std::size_t, Wide> lack;  // per batch
    for (const std::size_t row : item.rows) {
      for (const auto& [batch, sum] : brought(row, item.one_batch)) lack[batch] = 0;
    }
    for (const std::size_t row : item.rows) {
      const auto sums = brought(row, item.one_batch);
      for (auto& [batch, most] : lack) {
        const auto found = sums.find(batch);
        most = std::max(most, out_.rows[row].least - (found == sums.end() ? 0 : found->second));
      }
    }
    Wide least_lack = out_.rows[item.rows.back()].least;
    for (const auto& [batch, of_batch] : lack) least_lack = std::min(least_lack, of_batch);
    lower_item(out_, item, static_cast<std::int64_t>(least_lack));
  }

  const PurchaseProblem& problem_;
  ScaledPurchase out_;
  std::map<std::string, std::size_t> supplier_index_;
  std::map<std::string, std::size_t> item_index_;
  std::map<std::string, std::optional<std::int64_t>> lead_;
  std::map<std::string, std::int64_t> item_scales_;
  std::int64_t pieces_scale_ = 1;
  std::vector<std::optional<std::int64_t>> due_;  // per row
  std::vector<std::vector<std::pair<std::size_t, std::int64_t>>> offers_of_row_;  // and what a pack brings
};

}  // namespace

ScaledPurchase scale_purchase(const PurchaseProblem& problem) { return Scaling(problem).run(); }

void lower_item(ScaledPurchase& purchase, ScaledItem& item, std::int64_t units) {
  for (const std::size_t row : item.rows) {
    std::int64_t& least = purchase.rows[row].least;
    least = std::max<std::int64_t>(0, least - units);
  }
  item.uncovered += Fraction::of(units, item.scale);
}

ScaledPurchase with_lower_rows(ScaledPurchase purchase) {
  for (ScaledOffer& offer : purchase.offers) {
    std::erase_if(offer.contents, [&](const auto& content) { return purchase.rows[content.first].least <= 0; });
    for (auto& [row, quantity] : offer.contents) quantity = std::min(quantity, purchase.rows[row].least);
  }
  std::erase_if(purchase.offers, [&](const ScaledOffer& offer) {
    return offer.contents.empty() && (offer.price == 0 || !purchase.suppliers[offer.supplier].has_threshold());
  });
  for (ScaledOffer& offer : purchase.offers) set_most(purchase, offer);
  return purchase;
}

std::map<std::size_t, std::vector<std::size_t>> items_of_lots(const ScaledPurchase& purchase) {
  std::map<std::size_t, std::vector<std::size_t>> lots;
  for (std::size_t item = 0; item < purchase.items.size(); ++item) {
    if (purchase.items[item].one_batch) lots[purchase.items[item].lot].push_back(item);
  }
  return lots;
}

bool is_wanted(const ScaledPurchase& purchase, const std::vector<std::size_t>& items) {
  return std::ranges::any_of(items, [&](std::size_t item) { return purchase.rows[purchase.items[item].rows.back()].least > 0; });
}

std::optional<std::size_t> batch_that_covers(const ScaledPurchase& purchase, const Packs& packs, const std::vector<std::size_t>& items) {
  std::map<std::size_t, std::map<std::size_t, Wide>> brought;  // batch, row
  for (std::size_t at = 0; at < packs.size(); ++at) {
    if (packs[at] == 0) continue;
    for (const auto& [row, quantity] : purchase.offers[at].contents) {
      brought[purchase.offers[at].batch][row] += Wide{quantity} * packs[at];
    }
  }
  for (auto& [batch, sums] : brought) {
    const auto is_enough = [&](std::size_t row) { return sums[row] >= purchase.rows[row].least; };
    if (std::ranges::all_of(items, [&](std::size_t item) { return std::ranges::all_of(purchase.items[item].rows, is_enough); })) return batch;
  }
  return std::nullopt;
}

std::optional<Wide> cost_of_packs(const ScaledPurchase& purchase, const Packs& packs) {
  std::vector<Wide> brought(purchase.rows.size());
  std::vector<Wide> goods(purchase.suppliers.size());
  std::vector<bool> used(purchase.suppliers.size());
  for (std::size_t at = 0; at < packs.size(); ++at) {
    const ScaledOffer& offer = purchase.offers[at];
    if (packs[at] == 0) continue;
    if (packs[at] < offer.least || packs[at] > offer.most) return std::nullopt;
    used[offer.supplier] = true;
    goods[offer.supplier] += Wide{offer.price} * packs[at];
    for (const auto& [row, quantity] : offer.contents) brought[row] += Wide{quantity} * packs[at];
  }
  for (std::size_t row = 0; row < purchase.rows.size(); ++row) {
    if (brought[row] < purchase.rows[row].least) return std::nullopt;
  }
  for (const auto& [lot, items] : items_of_lots(purchase)) {
    if (is_wanted(purchase, items) && !batch_that_covers(purchase, packs, items)) return std::nullopt;
  }
  Wide cost = 0;
  for (std::size_t at = 0; at < purchase.suppliers.size(); ++at) {
    const ScaledSupplier& supplier = purchase.suppliers[at];
    if (!used[at]) continue;
    if (supplier.minimum && goods[at] < *supplier.minimum) return std::nullopt;
    const bool free = supplier.free_from && goods[at] >= *supplier.free_from;
    cost += goods[at] + (free ? 0 : supplier.shipping);
  }
  std::int64_t parcels = 0;
  for (std::size_t at = 0; at < used.size(); ++at) parcels += used[at] && purchase.suppliers[at].is_shop ? 1 : 0;
  if (purchase.max_suppliers && parcels > *purchase.max_suppliers) return std::nullopt;
  return cost;
}

}  // namespace kitgap
