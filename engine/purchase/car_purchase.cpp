#include "purchase/car_purchase.h"

#include <algorithm>
#include <set>

#include "purchase/car_pieces.h"
#include "purchase/pooling.h"
#include "supply/substitutions.h"

namespace kitgap {
namespace {

// The day on which each part is needed: of the steps that fit it, and of those that come after these.
std::map<PartId, std::int64_t> days_of_parts(const CarOfOrder& car) {
  const Rules& rules = car.needs->rules();
  std::map<std::string, std::int64_t> days = car.dates ? *car.dates : std::map<std::string, std::int64_t>{};
  if (days.empty()) return {};
  const auto earlier = [](auto& into, const auto& key, std::int64_t day) {
    const auto [found, is_new] = into.try_emplace(key, day);
    if (!is_new && found->second <= day) return false;
    found->second = day;
    return true;
  };
  std::vector<const StepRow*> rows;
  for (const StepRow& row : rules.steps) {
    if (holds(rules.condition(row.condition), car.needs->knowledge().sets(), rules.facts) != Ternary::No) rows.push_back(&row);
  }
  // What a step comes after is due with it. Days only fall, to one of those stated: a cycle ends too.
  for (bool changed = true; changed;) {
    changed = false;
    for (const StepRow* row : rows) {
      const auto day = days.find(row->step);
      if (day == days.end()) continue;
      const std::int64_t due = day->second;
      for (const std::string& before : row->after) changed = earlier(days, before, due) || changed;
    }
  }
  std::map<PartId, std::int64_t> parts;
  for (const StepRow* row : rows) {
    const auto day = days.find(row->step);
    if (day == days.end()) continue;
    for (const PartId part : row->fits) earlier(parts, part, day->second);
  }
  return parts;
}

// One car's lines, gathered into spots.
class CarView {
 public:
  CarView(const CarOfOrder& car, const CarPurchaseOptions& options) : car_(car), needs_(*car.needs), rules_(needs_.rules()), options_(options) {
    days_ = days_of_parts(car);
    for (const LineAnswer& line : car.answer->lines) {
      const Fraction& gap = options.least ? line.gap.lo : line.gap.hi;
      if (gap.sign() > 0 && is_bought(line.line)) gaps_[line.line] = gap;
    }
  }

  void add_spots(std::vector<PoolSpot>& spots, std::vector<OrderReason>& reasons) {
    std::map<std::string, std::size_t> known;
    for (const LineAnswer& line : car_.answer->lines) {
      if (!is_bought(line.line)) continue;
      const std::string part = spot_name(line.line);
      const bool lacks = gaps_.contains(line.line);
      const bool can_be_old = options_.hour_worth && line.from_old.sign() > 0;
      if (!lacks && !can_be_old && !known.contains(part)) continue;
      const auto [at, is_new] = known.try_emplace(part, spots.size());
      if (is_new) begin_spot(part, line.line, spots, reasons);
    }
    for (const LineAnswer& line : car_.answer->lines) {
      const auto at = is_bought(line.line) ? known.find(spot_name(line.line)) : known.end();
      if (at == known.end()) continue;
      add_line(line, spots[at->second], reasons[at->second]);
      spot_of_[line.line] = at->second;
    }
  }

  const std::map<LineId, Fraction>& gaps() const { return gaps_; }
  const std::map<LineId, std::size_t>& spots() const { return spot_of_; }
  std::size_t spot_of(LineId line) const { return spot_of_.at(line); }
  const NeedModel& needs() const { return needs_; }
  const CarOfOrder& car() const { return car_; }

 private:
  // Openings and holes are made, not bought.
  bool is_bought(LineId line) const {
    const PartKind kind = needs_.part_row(needs_.line(line).part).kind;
    return kind != PartKind::Opening && kind != PartKind::Hole;
  }

  std::string spot_name(LineId id) const {
    const Line& line = needs_.line(id);
    const std::string& part = rules_.part_keys[line.part.index];
    const Fits fits = needs_.part_row(line.part).fits;
    if (fits == Fits::Anywhere) return part;
    if (fits == Fits::ByPosition) return part + " " + std::string(rules_.positions.path(line.position));
    const Hand hand = rules_.positions.hand(line.position);
    return part + (hand == Hand::Left ? " left" : hand == Hand::Right ? " right" : "");
  }

  void begin_spot(const std::string& name, LineId line, std::vector<PoolSpot>& spots, std::vector<OrderReason>& reasons) const {
    const PartRow& row = needs_.part_row(needs_.line(line).part);
    PoolSpot spot;
    spot.part = name;
    spot.car = car_.name;
    spot.one_batch = !row.batch.empty();
    OrderReason reason;
    reason.item = name;
    reason.car = car_.name;
    reason.part_name = row.name;
    if (row.unit != Unit::Each) reason.unit = word_of(row.unit);
    if (row.kind == PartKind::Piece) spot.break_rate = break_rate_of(row, reason.is_general_rate);
    reason.break_rate = spot.break_rate;
    spots.push_back(std::move(spot));
    reasons.push_back(std::move(reason));
  }

  // Of the row that describes the part; where that states none, of a more general pack's row.
  std::optional<Fraction> break_rate_of(const PartRow& row, bool& is_general) const {
    std::optional<Fraction> rate = row.break_rate;
    std::uint32_t layer = 0;
    is_general = !rate;
    for (const PartRow& other : rules_.parts) {
      if (row.break_rate || other.part != row.part || !other.break_rate) continue;
      if (holds(rules_.condition(other.condition), needs_.knowledge().sets(), rules_.facts) == Ternary::No) continue;
      if (rate && rules_.layer(other.place) < layer) continue;
      rate = other.break_rate;
      layer = rules_.layer(other.place);
    }
    const bool can_break = rate && rate->sign() > 0 && *rate < Fraction(1);
    is_general = is_general && can_break;
    return can_break ? rate : std::nullopt;
  }

  void add_line(const LineAnswer& line, PoolSpot& spot, OrderReason& reason) const {
    const auto gap = gaps_.find(line.line);
    spot.wanted += options_.least ? line.need.lo : line.need.hi;
    reason.wanted = spot.wanted;
    reason.from_old += line.from_old;
    if (line.from_old.sign() > 0) {
      const auto minutes = minutes_of(line.line);
      if (minutes && (!reason.minutes || *minutes > *reason.minutes)) reason.minutes = minutes;
    }
    if (gap == gaps_.end()) return;
    const auto day = days_.find(needs_.line(line.line).part);
    const auto due = day == days_.end() ? std::nullopt : std::optional(std::max<std::int64_t>(0, day->second - options_.today));
    spot.lacking[due] += gap->second;
    reason.lacking += gap->second;
    reason.places.push_back({needs_.id_of(line.line), gap->second});
  }

  // To move one piece over, by the row of the highest layer.
  std::optional<Fraction> minutes_of(LineId id) const {
    const Line& line = needs_.line(id);
    const MoveOverRow* best = nullptr;
    for (const MoveOverRow& row : rules_.move_over) {
      if (row.assembly != line.parent || row.sub_part != line.part) continue;
      if (holds(rules_.condition(row.condition), needs_.knowledge().sets(), rules_.facts) == Ternary::No) continue;
      if (!best || rules_.layer(row.place) >= rules_.layer(best->place)) best = &row;
    }
    return best ? best->minutes : std::nullopt;
  }

  const CarOfOrder& car_;
  const NeedModel& needs_;
  const Rules& rules_;
  const CarPurchaseOptions& options_;
  std::map<LineId, Fraction> gaps_;
  std::map<LineId, std::size_t> spot_of_;
  std::map<PartId, std::int64_t> days_;
};

class Buyer {
 public:
  Buyer(const std::vector<CarOfOrder>& cars, const CarPurchaseOptions& options) : options_(options), rules_(cars.front().needs->rules()) {
    views_.reserve(cars.size());
    for (const CarOfOrder& car : cars) views_.emplace_back(car, options_);
  }

  CarPurchase run() {
    for (CarView& view : views_) view.add_spots(spots_, out_.notes.reasons);
    add_suppliers();
    for (const CarView& view : views_) look_at_offers(view);
    collect();
    return std::move(out_);
  }

 private:
  void add_suppliers() {
    std::set<std::string> currencies;
    for (const SupplierRow& row : rules_.suppliers) currencies.insert(row.currency);
    if (currencies.size() == 1) out_.notes.currency = *currencies.begin();
    std::set<std::string> lacking;
    std::set<std::string> rates_used;
    // Rows are read general pack first: from the back, the highest pack's row of a supplier comes first and stands.
    for (auto at = rules_.suppliers.rbegin(); at != rules_.suppliers.rend(); ++at) {
      const SupplierRow& row = *at;
      const auto rate = options_.rates.find(row.currency);
      if (rate == options_.rates.end() && currencies.size() > 1) {
        lacking.insert(row.currency);
        continue;
      }
      const Fraction worth = rate == options_.rates.end() ? Fraction(1) : rate->second;
      if (rate != options_.rates.end() && worths_.find(row.supplier) == worths_.end()) {
        out_.notes.currency.clear();
        rates_used.insert(row.currency + " at " + rate->second.to_text());
      }
      if (!worths_.emplace(row.supplier, worth).second) continue;
      PurchaseSupplier supplier;
      supplier.name = row.supplier;
      supplier.shipping_charge = row.shipping * worth;
      if (row.free_shipping_from) supplier.free_shipping_from = *row.free_shipping_from * worth;
      if (row.minimum_order) supplier.minimum_order = *row.minimum_order * worth;
      if (row.lead_time_days) supplier.lead_time_days = row.lead_time_days->ceil().to_integer();
      out_.problem.suppliers.push_back(std::move(supplier));
    }
    out_.without_rate.assign(lacking.begin(), lacking.end());
    out_.notes.rates.assign(rates_used.begin(), rates_used.end());
  }

  // An offer that a car has a use for: its terms, and where its pieces go, over all cars.
  struct Candidate {
    const OfferRow* row = nullptr;  // of rows for different cars the dearest, so that the plan is not too hopeful
    std::map<std::string, PoolPiece> pieces;
    Fraction most_packs;  // of use, where assemblies bring more than themselves
    bool has_bundles = false;
    bool is_open = false;
    std::set<std::string> stands_in;  // in words: what for what, and what is to be changed
  };

  void look_at_offers(const CarView& view) {
    const CarPieces pieces(view.needs(), *view.car().lists, view.gaps(), options_.assume_open);
    const StandInChanges changes(rules_, view.needs().knowledge().sets());
    for (const OfferId id : pieces.offers()) {
      const OfferOnCar on_car = pieces.look(id);
      Candidate& candidate = candidates_[id];
      candidate.is_open = candidate.is_open || on_car.is_open;
      for (const std::uint32_t at : pieces.supplies().rows_of(id).rows) {
        const OfferRow& of = rules_.offers[at];
        if (!candidate.row || (of.price && (!candidate.row->price || *of.price > *candidate.row->price))) candidate.row = &of;
      }
      add_pieces(view, on_car, changes, candidate);
    }
  }

  static void add_spot(PoolPiece& piece, std::size_t spot) {
    const auto at = std::ranges::lower_bound(piece.spots, spot);
    if (at == piece.spots.end() || *at != spot) piece.spots.insert(at, spot);
  }

  void add_pieces(const CarView& view, const OfferOnCar& on_car, const StandInChanges& changes, Candidate& candidate) {
    for (const OfferOnCar::Piece& piece : on_car.pieces) {
      PoolPiece& pooled = candidate.pieces[piece.key];
      pooled.quantity = std::max(pooled.quantity, piece.quantity);
      for (const LineId line : piece.lines) add_spot(pooled, view.spot_of(line));
      for (const LineId line : piece.stands_in) {
        const PartId wanted = view.needs().line(line).part;
        const std::string change = changes.of(wanted, piece.part);
        candidate.stands_in.insert(rules_.part_keys[piece.part.index] + " stands in for " + rules_.part_keys[wanted.index] + (change.empty() ? "" : ": " + change));
      }
    }
    for (const auto& [line, quantity] : on_car.with_assembly) {
      PoolPiece& pooled = candidate.pieces["with|" + std::to_string(view.spot_of(line))];
      pooled.spots = {view.spot_of(line)};
      pooled.quantity += quantity;
      candidate.has_bundles = true;
    }
    for (const LineId line : on_car.assemblies) candidate.most_packs += view.gaps().at(line);
  }

  void collect() {
    std::vector<PoolPiece> pieces;
    std::vector<OfferId> sold;
    for (auto& [id, candidate] : candidates_) {
      const OfferKey& key = rules_.offer_keys[id.index];
      const std::string name = key.supplier + " " + key.part_number;
      if (candidate.is_open) out_.open.push_back(name);
      if (candidate.pieces.empty() || !worths_.contains(key.supplier) || !candidate.row) continue;
      if (!candidate.row->price) {
        out_.without_price.push_back(name);
        continue;
      }
      for (auto& [word, piece] : candidate.pieces) {
        piece.offer = sold.size();
        pieces.push_back(std::move(piece));
      }
      sold.push_back(id);
    }
    add_old_parts(pieces, sold.size());
    const std::vector<PoolItem> items = pool_items(spots_, pieces);
    for (const PoolItem& item : items) {
      for (PurchaseNeed& need : needs_of(item, spots_, options_.confidence)) out_.problem.needs.push_back(std::move(need));
      name_reasons(item);
    }
    auto contents = contents_of(items, pieces);
    for (std::size_t at = 0; at < sold.size(); ++at) add_offer(sold[at], std::move(contents[at]));
    for (std::size_t at = 0; at < old_offers_.size(); ++at) {
      old_offers_[at].contents = std::move(contents[sold.size() + at]);
      out_.problem.offers.push_back(std::move(old_offers_[at]));
    }
    out_.problem.assume_unstated_lead_time = options_.assume_open;
    out_.spots = spots_;
    out_.items = items;
    for (const CarView& view : views_) out_.spot_of_line.push_back(view.spots());
  }

  // Where an hour has a worth, each piece that the cover takes from old parts is to be had at that price; what is measured
  // and not counted (a length of welt) only whole.
  void add_old_parts(std::vector<PoolPiece>& pieces, std::size_t first) {
    if (!options_.hour_worth) return;
    for (std::size_t spot = 0; spot < spots_.size(); ++spot) {
      const OrderReason& reason = out_.notes.reasons[spot];
      if (reason.from_old.sign() <= 0) continue;
      if (!reason.minutes) {
        const bool is_new = std::ranges::find(out_.without_minutes, spots_[spot].part) == out_.without_minutes.end();
        if (is_new) out_.without_minutes.push_back(spots_[spot].part);
        continue;
      }
      PurchaseOffer offer;
      offer.supplier = kOldParts;
      offer.part_number = spots_[spot].part + (views_.size() > 1 ? " (" + spots_[spot].car + ")" : "");
      const bool is_counted = reason.from_old.is_whole();
      const Fraction in_one = is_counted ? Fraction(1) : reason.from_old;
      offer.price = in_one * *reason.minutes * *options_.hour_worth / Fraction(60);
      offer.available = is_counted ? reason.from_old.to_integer() : 1;
      offer.lead_time_days = 0;
      offer.says = in_one.to_text() + " moved over, " + reason.minutes->to_text() + " minutes each";
      spots_[spot].lacking[std::nullopt] += reason.from_old;
      pieces.push_back({first + old_offers_.size(), {spot}, in_one});
      old_offers_.push_back(std::move(offer));
    }
    if (old_offers_.empty()) return;
    PurchaseSupplier at_hand;
    at_hand.name = kOldParts;
    at_hand.lead_time_days = 0;
    at_hand.is_shop = false;
    out_.problem.suppliers.push_back(std::move(at_hand));
  }

  // A reason stands under the item that holds its spot with the fewest others.
  void name_reasons(const PoolItem& item) {
    for (const std::size_t spot : item.spots) {
      const auto [known, is_new] = size_of_item_.try_emplace(spot, item.spots.size());
      if (!is_new && known->second < item.spots.size()) continue;
      known->second = item.spots.size();
      out_.notes.reasons[spot].item = item.name;
    }
  }

  void add_offer(OfferId id, std::vector<PackContents> contents) {
    const OfferKey& key = rules_.offer_keys[id.index];
    const Candidate& candidate = candidates_.at(id);
    const OfferRow& row = *candidate.row;
    PurchaseOffer offer;
    offer.supplier = key.supplier;
    offer.part_number = key.part_number;
    offer.price = *row.price * worths_.at(key.supplier);
    offer.minimum_packs = row.minimum.ceil().to_integer().value_or(1);
    if (row.lead_time_days) offer.lead_time_days = row.lead_time_days->ceil().to_integer();
    offer.returnable = row.returnable.value_or(true);
    offer.contents = std::move(contents);
    if (candidate.has_bundles) offer.available = std::max<std::int64_t>(offer.minimum_packs, candidate.most_packs.ceil().to_integer().value_or(1));
    for (const std::string& says : candidate.stands_in) offer.says += (offer.says.empty() ? "" : "; ") + says;
    if (candidate.is_open && options_.assume_open) offer.says += std::string(offer.says.empty() ? "" : "; ") + "assumed to fit: ask first";
    out_.problem.offers.push_back(std::move(offer));
  }

  const CarPurchaseOptions& options_;
  const Rules& rules_;
  std::vector<CarView> views_;
  std::vector<PoolSpot> spots_;
  std::map<OfferId, Candidate> candidates_;
  std::map<std::string, Fraction> worths_;  // per supplier, of its currency
  std::map<std::size_t, std::size_t> size_of_item_;
  std::vector<PurchaseOffer> old_offers_;
  CarPurchase out_;
};

}  // namespace

PurchaseProblem with_gaps(const CarPurchase& purchase, std::size_t car, const std::map<LineId, Fraction>& was,
                          const std::map<LineId, Fraction>& now, const Fraction& confidence) {
  std::vector<PoolSpot> spots = purchase.spots;
  for (const auto& [line, gap] : now) {
    PoolSpot& spot = spots[purchase.spot_of_line[car].at(line)];
    Fraction less = was.at(line) - gap;
    spot.wanted -= less;
    for (auto& [day, quantity] : spot.lacking) {
      const Fraction taken = std::min(less, quantity);
      quantity -= taken;
      less -= taken;
    }
  }
  PurchaseProblem problem = purchase.problem;
  problem.needs.clear();
  for (const PoolItem& item : purchase.items) {
    for (PurchaseNeed& need : needs_of(item, spots, confidence)) problem.needs.push_back(std::move(need));
  }
  return problem;
}

CarPurchase car_purchase(const std::vector<CarOfOrder>& cars, const CarPurchaseOptions& options) {
  if (cars.empty()) return {};
  return Buyer(cars, options).run();
}

CarPurchase car_purchase(const NeedModel& needs, const std::vector<ReadList>& lists, const Answer& answer) {
  return car_purchase({{.name = {}, .needs = &needs, .lists = &lists, .answer = &answer, .dates = nullptr}});
}

}  // namespace kitgap
