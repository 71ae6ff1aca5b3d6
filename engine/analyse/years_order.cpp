#include "analyse/years_order.h"

#include <algorithm>
#include <map>

#include "cover/model.h"

namespace kitgap {
namespace {

// Completions of all lines of a part together; past them the sum of the lines' own bounds is given.
constexpr std::size_t kMostTogether = 20'000;

struct Item {
  PartId part;
  std::string place;
  std::vector<LineId> lines;
};

class OrderFinder {
 public:
  explicit OrderFinder(const YearsOrderInput& input) : input_(input), rules_(input.model.rules()) {}

  std::vector<YearsOrder> run() {
    std::vector<YearsOrder> orders;
    for (const Item& item : items()) {
      if (auto order = order_of(item)) orders.push_back(std::move(*order));
    }
    return orders;
  }

 private:
  std::vector<Item> items() const {
    std::map<std::pair<std::string, std::string>, Item> items;
    for (std::uint32_t index = 0; index < input_.model.lines().size(); ++index) {
      const Line& line = input_.model.line(LineId{index});
      const PartRow& row = input_.model.part_row(line.part);
      const bool is_made = row.kind == PartKind::Opening || row.kind == PartKind::Hole;
      if (is_made || line.is_small || !line.is_in_work || !input_.is_wanted(line)) continue;
      const std::string place = place_of(row, line);
      Item& item = items[{rules_.part_keys[line.part.index], place}];
      item.part = line.part;
      item.place = place;
      item.lines.push_back(LineId{index});
    }
    std::vector<Item> result;
    for (auto& [key, item] : items) result.push_back(std::move(item));
    return result;
  }

  std::string place_of(const PartRow& row, const Line& line) const {
    if (row.fits == Fits::Anywhere) return "";
    if (row.fits == Fits::ByPosition) return line.position == Positions::kCar ? "" : std::string(rules_.positions.path(line.position));
    const Hand hand = rules_.positions.hand(line.position);
    return hand == Hand::Left ? "left" : hand == Hand::Right ? "right" : "";
  }

  YearsLeaves leaves_of(const Item& item) const {
    YearsLeaves result;
    Diagnostics diagnostics;
    Problems problems(diagnostics);
    Recall recall(input_.model.knowledge());
    Remembered<LineFigure> figures(Asked::Kind::Figure);
    const bool is_whole = Explorer(recall, kMostTogether).explore([&](Completion& completion) {
      Needs needs(input_.model, completion, problems, figures);
      Fraction sum;
      for (const LineId line : item.lines) {
        const LineFigure* figure = find_figure(input_.model, needs, line);
        if (figure != nullptr && figure->old != OldUse::Must) sum += figure->need;
      }
      result.is_exact = result.is_exact && completion.is_exact();
      result.leaves.push_back({.narrowed = narrowed_of(completion, input_.model.knowledge()), .need = sum, .because = {}});
    });
    result.is_exact = result.is_exact && !problems.any();
    if (!is_whole) result.leaves.clear();
    return result;
  }

  // Figures by cell; where the lines together are too many, the sums of their bounds.
  std::vector<CellFigure> figures_of(const Item& item, YearsAxes& axes, bool& is_exact) {
    const YearsLeaves together = leaves_of(item);
    is_exact = together.is_exact;
    std::vector<const YearsLeaves*> all;
    if (together.leaves.empty()) {
      for (const LineId line : item.lines) all.push_back(&input_.leaves_of(line));
      is_exact = false;
    } else {
      all.push_back(&together);
    }
    const YearsLeaves cuts = offer_cuts(item);
    all.push_back(&cuts);
    axes = input_.profile.axes(input_.axes, all);
    all.pop_back();
    std::vector<CellFigure> sums(axes.size());
    for (const YearsLeaves* leaves : all) {
      const std::vector<CellFigure> figures = input_.profile.figures(axes, *leaves);
      for (std::size_t cell = 0; cell < figures.size(); ++cell) {
        sums[cell].is_possible = sums[cell].is_possible || figures[cell].is_possible;
        sums[cell].need.lo += figures[cell].need.lo;
        sums[cell].need.hi += figures[cell].need.hi;
      }
    }
    return sums;
  }

  // What the offers of the part ask, so that an offer fits all of a cell or none of it as far as the axes tell.
  YearsLeaves offer_cuts(const Item& item) const {
    YearsLeaves cuts;
    for (const OfferRow& offer : rules_.offers) {
      if (offer.part != item.part) continue;
      YearsLeaf& leaf = cuts.leaves.emplace_back();
      for (const Condition::Test& test : rules_.condition(offer.condition).tests) leaf.narrowed.emplace_back(test.fact, test.values);
    }
    return cuts;
  }

  std::optional<YearsOrder> order_of(const Item& item) {
    YearsAxes axes;
    YearsOrder order{.part = rules_.part_keys[item.part.index], .part_name = input_.model.part_row(item.part).name,
                     .unit = std::string(word_of(input_.model.part_row(item.part).unit)), .place = item.place, .cells = {},
                     .kits = kits_with(item.part)};
    if (order.part_name.empty()) order.part_name = order.part;
    const std::vector<CellFigure> figures = figures_of(item, axes, order.is_exact);
    if (std::ranges::all_of(figures, [](const CellFigure& figure) { return figure.need.hi.is_zero(); })) return std::nullopt;
    std::vector<YearsOrderCell> kinds;
    std::vector<std::optional<std::size_t>> numbers(figures.size());
    for (std::size_t cell = 0; cell < figures.size(); ++cell) {
      if (!figures[cell].is_possible) continue;
      YearsOrderCell kind{.values = {}, .quantity = figures[cell].need, .offers = offers_for(item, axes, cell, figures[cell].need)};
      const auto known = std::ranges::find(kinds, kind);
      numbers[cell] = static_cast<std::size_t>(known - kinds.begin());
      if (known == kinds.end()) kinds.push_back(std::move(kind));
    }
    for (MergedCell& merged : merged_cells(input_.across, input_.run, axes, numbers)) {
      order.cells.push_back(kinds[merged.number]);
      order.cells.back().values = std::move(merged.values);
    }
    order.is_same = kinds.size() == 1;
    return order;
  }

  std::vector<std::string> kits_with(PartId part) const {
    std::vector<std::string> kits;
    for (const ContentsRow& row : rules_.contents) {
      if (row.part != part) continue;
      const OfferKey& key = rules_.offer_keys[row.offer.index];
      std::string name = key.supplier + " " + key.part_number;
      if (std::ranges::find(kits, name) == kits.end()) kits.push_back(std::move(name));
    }
    return kits;
  }

  bool may_go_to(const OfferRow& offer, const Item& item) const {
    const Fits fits = input_.model.part_row(item.part).fits;
    const auto& stated = rules_.places_of(offer.position.places);
    return std::ranges::any_of(item.lines, [&](LineId line) {
      return may_go(rules_.positions, fits, stated, offer.position.hand, !offer.position.is_stated() || offer.position.is_pair,
                    input_.model.line(line).position);
    });
  }

  std::vector<YearsOffer> offers_for(const Item& item, const YearsAxes& axes, std::size_t cell, const Range& quantity) const {
    std::vector<YearsOffer> offers;
    if (quantity.hi.is_zero()) return offers;
    FactSets sets = input_.model.knowledge().sets();
    for (std::size_t axis = axes.facts.size(); axis-- > 0;) {
      sets[axes.facts[axis].index] = axes.cells[axis][cell % axes.cells[axis].size()];
      cell /= axes.cells[axis].size();
    }
    std::map<OfferId, std::uint32_t> layers;
    for (const OfferRow& row : rules_.offers) {
      if (row.part != item.part || !may_go_to(row, item)) continue;
      const Ternary fits = holds(rules_.condition(row.condition), sets, rules_.facts);
      if (fits == Ternary::No || !input_.model.knowledge().is_consistent(sets)) continue;
      const std::uint32_t layer = rules_.layer(row.place);
      const OfferKey& key = rules_.offer_keys[row.offer.index];
      std::erase_if(offers, [&](const YearsOffer& below) {
        return below.supplier == key.supplier && below.part_number == key.part_number && layers[row.offer] < layer;
      });
      layers[row.offer] = layer;
      offers.push_back(offer_of(row, item, quantity, fits == Ternary::Open));
    }
    std::ranges::stable_sort(offers, [](const YearsOffer& a, const YearsOffer& b) {
      const auto cost = [](const YearsOffer& offer) { return offer.price ? *offer.price * offer.packs.hi : Fraction(0); };
      return std::tuple(a.is_open, !a.price, cost(a), std::tie(a.supplier, a.part_number)) <
             std::tuple(b.is_open, !b.price, cost(b), std::tie(b.supplier, b.part_number));
    });
    return offers;
  }

  YearsOffer offer_of(const OfferRow& row, const Item& item, const Range& quantity, bool is_open) const {
    const OfferKey& key = rules_.offer_keys[row.offer.index];
    // A pair is one piece for each hand.
    const bool is_half = row.position.is_pair && !item.place.empty() && input_.model.part_row(item.part).is_handed;
    const Fraction pieces = row.position.is_pair && row.pack_size == Fraction(1) ? Fraction(2) : row.pack_size;
    YearsOffer offer{.supplier = key.supplier, .part_number = key.part_number, .pack_size = is_half ? pieces / Fraction(2) : pieces,
                     .packs = {}, .price = row.price, .currency = row.currency, .is_open = is_open};
    const auto packs = [&](const Fraction& wanted) {
      return wanted.is_zero() ? Fraction(0) : std::max((wanted / offer.pack_size).ceil(), row.minimum.ceil());
    };
    offer.packs = {packs(quantity.lo), packs(quantity.hi)};
    return offer;
  }

  const YearsOrderInput& input_;
  const Rules& rules_;
};

}  // namespace

std::vector<YearsOrder> years_orders(const YearsOrderInput& input) { return OrderFinder(input).run(); }

}  // namespace kitgap
