#include "purchase/car_purchase.h"

#include <algorithm>
#include <set>

#include "cover/solve.h"
#include "need/completion.h"
#include "text/csv.h"

namespace kitgap {
namespace {

constexpr int kMostDepth = 8;  // kits in kits
constexpr std::size_t kMostCompletions = 64;

class CarBuyer {
 public:
  CarBuyer(const NeedModel& needs, const std::vector<ReadList>& lists, const Answer& answer,
           const CarPurchaseOptions& options)
      : needs_(needs), rules_(needs.rules()), lists_(lists), options_(options) {
    for (const LineAnswer& line : answer.lines) {
      if (line.gap.hi.sign() <= 0 || !is_bought(line.line)) continue;
      gaps_[line.line] = line.gap.hi;
      parts_.insert(needs_.line(line.line).part);
    }
  }

  CarPurchase run() {
    add_needs();
    add_suppliers();
    const Supplies supplies = Supplies::of(needs_, lists_);
    for (std::uint32_t offer = 0; offer < rules_.offer_keys.size(); ++offer) {
      if (could_serve(supplies, OfferId{offer}, 0)) add_offer(supplies, OfferId{offer});
    }
    return std::move(out_);
  }

 private:
  // Openings and holes are made, not bought.
  bool is_bought(LineId line) const {
    const PartKind kind = needs_.part_row(needs_.line(line).part).kind;
    return kind != PartKind::Opening && kind != PartKind::Hole;
  }

  std::string item_of(LineId id) const {
    const Line& line = needs_.line(id);
    const std::string& part = rules_.part_keys[line.part.index];
    const Fits fits = needs_.part_row(line.part).fits;
    if (fits == Fits::Anywhere) return part;
    if (fits == Fits::ByPosition) return part + " " + std::string(rules_.positions.path(line.position));
    const Hand hand = rules_.positions.hand(line.position);
    return part + (hand == Hand::Left ? " left" : hand == Hand::Right ? " right" : "");
  }

  // Pieces that break in fitting are bought in a number that is enough with the stated confidence.
  void add_needs() {
    std::map<std::string, Fraction> quantities;
    std::map<std::string, PartId> parts;
    for (const auto& [line, gap] : gaps_) {
      quantities[item_of(line)] += gap;
      parts[item_of(line)] = needs_.line(line).part;
    }
    for (const auto& [item, quantity] : quantities) {
      const PartRow& row = needs_.part_row(parts[item]);
      PurchaseNeed need;
      need.item = item;
      need.quantity = quantity;
      const auto whole = quantity.to_integer();
      const bool can_break = row.break_rate && row.break_rate->sign() > 0 && *row.break_rate < Fraction(1);
      if (whole && can_break && row.kind == PartKind::Piece) {
        need.quantity = Fraction(pieces_to_buy(*whole, *row.break_rate, options_.confidence));
      }
      need.one_batch = !row.batch.empty();
      out_.problem.needs.push_back(std::move(need));
    }
  }

  void add_suppliers() {
    std::set<std::string> currencies;
    for (const SupplierRow& row : rules_.suppliers) currencies.insert(row.currency);
    std::set<std::string> lacking;
    // Rows are read general pack first: from the back, the highest pack's row of a supplier comes first and stands.
    for (auto at = rules_.suppliers.rbegin(); at != rules_.suppliers.rend(); ++at) {
      const SupplierRow& row = *at;
      const auto rate = options_.rates.find(row.currency);
      if (rate == options_.rates.end() && currencies.size() > 1) {
        lacking.insert(row.currency);
        continue;
      }
      const Fraction worth = rate == options_.rates.end() ? Fraction(1) : rate->second;
      PurchaseSupplier supplier;
      supplier.name = row.supplier;
      supplier.shipping_charge = row.shipping * worth;
      if (row.free_shipping_from) supplier.free_shipping_from = *row.free_shipping_from * worth;
      if (row.minimum_order) supplier.minimum_order = *row.minimum_order * worth;
      if (row.lead_time_days) supplier.lead_time_days = row.lead_time_days->ceil().to_integer();
      if (!worths_.emplace(row.supplier, worth).second) continue;
      out_.problem.suppliers.push_back(std::move(supplier));
    }
    out_.without_rate.assign(lacking.begin(), lacking.end());
  }

  // An offer of a part that is lacking, or a kit with one in it, at any depth.
  bool could_serve(const Supplies& supplies, OfferId offer, int depth) const {
    for (const std::uint32_t row : supplies.rows_of(offer).rows) {
      const auto& part = rules_.offers[row].part;
      if (part && parts_.count(*part)) return true;
    }
    for (const std::uint32_t row : supplies.contents_of(offer).rows) {
      const ContentsRow& content = rules_.contents[row];
      if (content.part && parts_.count(*content.part)) return true;
      if (content.inner && depth < kMostDepth && could_serve(supplies, *content.inner, depth + 1)) return true;
    }
    return false;
  }

  // One pack of the offer, as a row of a list.
  ReadList one_pack(OfferId offer) {
    const OfferKey& key = rules_.offer_keys[offer.index];
    std::string csv = "part number,supplier,quantity\n";
    append_csv_cell(csv, key.part_number);
    csv += ',';
    append_csv_cell(csv, key.supplier);
    csv += ",1\n";
    Sources sources;
    Diagnostics ignored;
    auto list = read_list(sources.add("offer", csv), ListKind::List, {}, sources, ignored);
    return list ? std::move(*list) : ReadList{};
  }

  // Every part in the offer, kits in kits too.
  void collect_parts(const Supplies& supplies, OfferId offer, int depth, std::set<PartId>& parts) const {
    for (const std::uint32_t row : supplies.rows_of(offer).rows) {
      if (rules_.offers[row].part) parts.insert(*rules_.offers[row].part);
    }
    for (const std::uint32_t row : supplies.contents_of(offer).rows) {
      const ContentsRow& content = rules_.contents[row];
      if (content.part) parts.insert(*content.part);
      if (content.inner && depth < kMostDepth) collect_parts(supplies, *content.inner, depth + 1, parts);
    }
  }

  // The greatest gap that is left over all that may turn out; nothing when that is too much to look through.
  std::optional<Fraction> greatest_gap(const CoverModel& cover, LineId line) const {
    Fraction greatest;
    Diagnostics ignored;
    Recall recall(needs_.knowledge());
    Worked worked;
    const bool all = Explorer(recall, kMostCompletions).explore([&](Completion& completion) {
      Problems problems(ignored);
      greatest = std::max(greatest, Solver(cover, completion, problems, worked).cover(line).gap());
    });
    return all ? std::optional(greatest) : std::nullopt;
  }

  // What the gaps shrink by, per item. Loose pieces that fit anywhere count in full: what is over serves the spares.
  std::map<std::string, Fraction> brought(const Supplies& before, OfferId offer) {
    std::set<PartId> parts;
    collect_parts(before, offer, 0, parts);
    std::vector<ReadList> lists = lists_;
    lists.push_back(one_pack(offer));
    const Supplies supplies = Supplies::of(needs_, lists);
    const CoverModel cover(needs_, supplies);
    const auto probe = static_cast<std::uint32_t>(lists.size() - 1);
    std::map<PartId, Fraction> loose;
    for (const SupplyItem& item : supplies.items) {
      if (supplies.lines[item.line].file == probe) loose[item.part] += item.quantity;
    }
    const auto comes_with = [&](PartId part) {
      return std::any_of(parts.begin(), parts.end(), [&](PartId of) { return of == part || needs_.is_sub_part(of, part); });
    };
    std::map<std::string, Fraction> brought;
    std::set<PartId> settled;
    for (const auto& [line, gap] : gaps_) {
      const PartId part = needs_.line(line).part;
      if (settled.count(part) || !comes_with(part)) continue;
      const std::optional<Fraction> left = greatest_gap(cover, line);
      if (!left || *left >= gap) continue;
      brought[item_of(line)] += gap - *left;
      const auto pieces = loose.find(part);
      if (needs_.part_row(part).fits != Fits::Anywhere || pieces == loose.end()) continue;
      brought[item_of(line)] = pieces->second;
      settled.insert(part);
    }
    return brought;
  }

  void add_offer(const Supplies& supplies, OfferId id) {
    const OfferKey& key = rules_.offer_keys[id.index];
    const auto worth = worths_.find(key.supplier);
    if (worth == worths_.end() || supplies.rows_of(id).rows.empty()) return;
    const OfferRow* row = nullptr;  // of rows for different cars the dearest, so that the plan is not too hopeful
    for (const std::uint32_t at : supplies.rows_of(id).rows) {
      const OfferRow& of = rules_.offers[at];
      if (!row || (of.price && (!row->price || *of.price > *row->price))) row = &of;
    }
    const auto contents = brought(supplies, id);
    if (contents.empty()) return;
    if (!row->price) {
      out_.without_price.push_back(key.supplier + " " + key.part_number);
      return;
    }
    PurchaseOffer offer;
    offer.supplier = key.supplier;
    offer.part_number = key.part_number;
    offer.price = *row->price * worth->second;
    offer.minimum_packs = row->minimum.ceil().to_integer().value_or(1);
    if (row->lead_time_days) offer.lead_time_days = row->lead_time_days->ceil().to_integer();
    offer.returnable = row->returnable.value_or(true);
    for (const auto& [item, quantity] : contents) offer.contents.push_back({item, quantity});
    out_.problem.offers.push_back(std::move(offer));
  }

  const NeedModel& needs_;
  const Rules& rules_;
  const std::vector<ReadList>& lists_;
  const CarPurchaseOptions& options_;
  std::map<LineId, Fraction> gaps_;
  std::set<PartId> parts_;
  std::map<std::string, Fraction> worths_;  // per supplier, of its currency
  CarPurchase out_;
};

}  // namespace

CarPurchase car_purchase(const NeedModel& needs, const std::vector<ReadList>& lists, const Answer& answer,
                         const CarPurchaseOptions& options) {
  return CarBuyer(needs, lists, answer, options).run();
}

}  // namespace kitgap
