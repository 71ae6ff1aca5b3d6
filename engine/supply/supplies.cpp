#include "supply/supplies.h"

#include <algorithm>
#include <map>
#include <tuple>

#include "supply/numbers.h"
#include "supply/places.h"
#include "text/file.h"
#include "value/unit.h"

namespace kitgap {
namespace {

constexpr std::size_t kDeepestKit = 16;

// Rows of one key, highest layer first; each stands unless one above it does.
template <class Row, class Key>
void guard_rows(const Rules& rules, const std::vector<Row>& rows, std::vector<std::uint32_t> indices, Key key,
                Supplies::OfferRows& result) {
  std::ranges::stable_sort(indices, [&](std::uint32_t a, std::uint32_t b) {
    return rules.layer(rows[a].place) > rules.layer(rows[b].place);
  });
  for (const std::uint32_t index : indices) {
    Guard guard{.condition = rows[index].condition, .unless = {}};
    for (const std::uint32_t above : indices) {
      const bool is_above = rules.layer(rows[above].place) > rules.layer(rows[index].place);
      if (is_above && key(rows[above]) == key(rows[index])) guard.unless.push_back(rows[above].condition);
    }
    result.rows.push_back(index);
    result.guards.push_back(std::move(guard));
  }
}

}  // namespace

bool stands(const Guard& guard, Completion& completion) {
  for (const ConditionId above : guard.unless) {
    if (completion.holds(above)) return false;
  }
  return completion.holds(guard.condition);
}

// Opens each line: number to offer, kit to pieces, pairs to hands.
class SupplyOpener {
 public:
  SupplyOpener(const NeedModel& model, Supplies& supplies) : model_(model), rules_(model.rules()), supplies_(supplies), places_(model.rules(), model.knowledge().sets()) {}

  void open_all() {
    index_rows();
    const NumberIndex numbers(model_);
    for (std::uint32_t file = 0; file < supplies_.lists.size(); ++file) {
      const ReadList& list = supplies_.lists[file];
      for (std::uint32_t row = 0; row < list.lines.size(); ++row) {
        const ReadLine& line = list.lines[row];
        if (!line.set_aside.empty()) continue;
        SupplyLine supply = numbers.meaning_of(line);
        supply.file = file;
        supply.row = row;
        supply.source = list.kind == ListKind::List    ? SupplySource::List
                        : list.kind == ListKind::Stock ? SupplySource::Stock
                                                       : SupplySource::Order;
        supplies_.lines.push_back(std::move(supply));
      }
    }
    take_back_returns();
    for (std::uint32_t index = 0; index < supplies_.lines.size(); ++index) open(index);
  }

 private:
  void index_rows() {
    std::vector<std::vector<std::uint32_t>> offers(rules_.offer_keys.size());
    std::vector<std::vector<std::uint32_t>> contents(rules_.offer_keys.size());
    for (std::uint32_t index = 0; index < rules_.offers.size(); ++index) offers[rules_.offers[index].offer.index].push_back(index);
    for (std::uint32_t index = 0; index < rules_.contents.size(); ++index) contents[rules_.contents[index].offer.index].push_back(index);
    supplies_.offers_.resize(offers.size());
    supplies_.contents_.resize(offers.size());
    for (std::size_t index = 0; index < offers.size(); ++index) {
      guard_rows(rules_, rules_.offers, offers[index], [](const OfferRow&) { return 0; }, supplies_.offers_[index]);
      guard_rows(rules_, rules_.contents, contents[index], [](const ContentsRow& row) {
        return std::tuple(row.part, row.inner, row.position.places, row.position.hand, row.position.is_pair);
      }, supplies_.contents_[index]);
    }
  }

  // A return takes from what is on order under the same number; what no order holds, from its own file's lines.
  void take_back_returns() {
    amounts_.resize(supplies_.lines.size());
    for (std::size_t index = 0; index < supplies_.lines.size(); ++index) amounts_[index] = supplies_.read(supplies_.lines[index]).quantity.amount;
    for (std::size_t back = 0; back < amounts_.size(); ++back) {
      if (amounts_[back].sign() >= 0) continue;
      const SupplySource own = supplies_.lines[back].source;
      if (own != SupplySource::Stock) take_back(back, SupplySource::Order);
      take_back(back, own);
      if (amounts_[back].sign() < 0) {
        ReadLine& line = supplies_.lists[supplies_.lines[back].file].lines[supplies_.lines[back].row];
        line.doubts.push_back((-amounts_[back]).to_text() + " of the " + (-line.quantity.amount).to_text() + " that go back are on no other line counted the same way");
      }
      amounts_[back] = 0;
    }
  }

  void take_back(std::size_t back, SupplySource source) {
    const ReadLine& returned = supplies_.read(supplies_.lines[back]);
    const std::string number = normalised_part_number(returned.part_number.empty() ? returned.description : returned.part_number);
    for (std::size_t index = 0; index < amounts_.size() && amounts_[back].sign() < 0; ++index) {
      if (amounts_[index].sign() <= 0 || supplies_.lines[index].source != source) continue;
      const ReadLine& line = supplies_.read(supplies_.lines[index]);
      if (line.quantity.counts != returned.quantity.counts || line.quantity.unit != returned.quantity.unit) continue;
      if (normalised_part_number(line.part_number.empty() ? line.description : line.part_number) != number) continue;
      const Fraction taken = std::min(amounts_[index], -amounts_[back]);
      amounts_[index] -= taken;
      amounts_[back] += taken;
    }
  }

  // A place that no pack knows is taken for none, and that is said; so is one that is read otherwise than it is typed.
  void doubt_place(const SupplyLine& line) {
    ReadLine& read = supplies_.lists[line.file].lines[line.row];
    const std::string& path = read.place.path;
    if (path.empty()) return;
    if (const auto position = places_.find(path)) {
      if (const std::string& known = rules_.positions.path(*position); known != path) read.doubts.push_back("`" + path + "` is read as `" + known + "`");
      return;
    }
    if (!read.place.along.empty() && rules_.positions.find(read.place.along)) return;
    const std::string near = path.size() < 40 ? nearest(path, rules_.positions.paths()) : std::string();
    read.doubts.push_back("`" + path + "` is no position of these packs and taken for none" + (near.empty() ? "" : "; did you mean `" + near + "`?"));
  }

  void open(std::uint32_t index) {
    const SupplyLine& line = supplies_.lines[index];
    doubt_place(line);
    for (std::uint32_t meaning = 0; meaning < line.meanings.size(); ++meaning) {
      item_ = SupplyItem{};
      item_.line = index;
      item_.meaning = meaning;
      const Meaning& meant = line.meanings[meaning];
      const std::size_t first = supplies_.items.size();
      if (meant.part) open_single_pieces(index, *meant.part);
      else open_offer(index, *meant.offer);
      if (supplies_.read(line).pieces) take_counts(first, *supplies_.read(line).pieces);
    }
  }

  // Counted pieces in place of what the quantity gave, for the items from `first` on. Several rows may bring the same
  // part to the same place: those that this car can have fill up in order, the last takes the rest.
  void take_counts(std::size_t first, const std::vector<PieceCount>& counted) {
    using Key = std::tuple<std::string, std::string, std::optional<bool>>;
    const auto key_of = [&](const SupplyItem& item) {
      return Key(rules_.part_keys[item.part.index], place_word(item, rules_), item.in_pair_reading);
    };
    std::map<Key, std::vector<std::size_t>> alike;
    for (std::size_t index = first; index < supplies_.items.size(); ++index) {
      if (comes(supplies_.items[index], model_) != Ternary::No) alike[key_of(supplies_.items[index])].push_back(index);
    }
    std::vector<Fraction> taken(supplies_.items.size() - first);
    for (const auto& [key, indices] : alike) {
      Fraction left;
      for (const PieceCount& count : counted) {
        if (count.part == std::get<0>(key) && count.place == std::get<1>(key)) left += count.pieces;
      }
      for (const std::size_t index : indices) {
        taken[index - first] = index == indices.back() ? left : std::min(left, supplies_.items[index].quantity);
        left -= taken[index - first];
      }
    }
    for (std::size_t index = supplies_.items.size(); index-- > first;) {
      supplies_.items[index].quantity = taken[index - first];
      supplies_.items[index].is_quantity_unknown = false;
      if (taken[index - first].is_zero()) supplies_.items.erase(supplies_.items.begin() + static_cast<std::ptrdiff_t>(index));
    }
  }

  void open_single_pieces(std::uint32_t index, PartId part) {
    const ReadLine& read = supplies_.read(supplies_.lines[index]);
    const ReadQuantity& quantity = read.quantity;
    item_.part = part;
    item_.is_quantity_unknown = !quantity.known || is_cut_piece(quantity, part);
    Fraction pieces = amounts_[index];
    if (quantity.counts == Counts::Pairs) pieces = pieces * Fraction(2);
    if (quantity.counts == Counts::Packs && quantity.pack_size) pieces = pieces * *quantity.pack_size;
    if (quantity.counts == Counts::Packs && !quantity.pack_size) item_.is_quantity_unknown = true;
    if (quantity.counts == Counts::Measure) pieces = measure_of(pieces, quantity.unit, part);
    item_.quantity = pieces;
    item_.meant_spare = quantity.spare;
    item_.guards.push_back({.condition = model_.part_row(part).condition, .unless = {}});
    place(item_, read, StatedPlace{}, quantity.counts == Counts::Pairs, false);
  }

  // Nobody has 1.37 clips or half a kit; of what is measured 1.37 is an amount.
  bool is_cut_piece(const ReadQuantity& quantity, std::optional<PartId> part) const {
    const bool is_counted = !part || model_.part_row(*part).unit == Unit::Each;
    return is_counted && quantity.counts == Counts::Plain && !quantity.amount.is_whole();
  }

  // In the part's unit; a measure of another dimension counts for nothing that can be said: unknown.
  Fraction measure_of(const Fraction& amount, Unit unit, PartId part) {
    if (const auto converted = convert(amount, unit, model_.part_row(part).unit)) return *converted;
    item_.is_quantity_unknown = true;
    return 0;
  }

  void open_offer(std::uint32_t index, OfferId offer) {
    const Supplies::OfferRows& rows = supplies_.rows_of(offer);
    for (std::size_t at = 0; at < rows.rows.size(); ++at) {
      const SupplyItem before = item_;
      item_.guards.push_back(rows.guards[at]);
      open_offer_row(index, rows.rows[at]);
      item_ = before;
    }
  }

  static Fraction pieces_in_pack(const OfferRow& row) {
    return row.position.is_pair && row.pack_size == Fraction(1) ? Fraction(2) : row.pack_size;
  }

  // How many of what the number buys the line stands for, from a plain count, pieces, pairs, packs or a measure.
  Fraction packs_of(std::uint32_t index, const OfferRow& row) {
    const SupplyLine& line = supplies_.lines[index];
    const ReadQuantity& quantity = supplies_.read(line).quantity;
    const Fraction amount = amounts_[index];
    const Fraction pack = pieces_in_pack(row);
    const bool buys_whole_packs = line.source != SupplySource::Stock;
    const auto packs_for = [&](const Fraction& pieces) {
      const Fraction packs = pieces / pack;
      return buys_whole_packs ? packs.ceil() : packs;
    };
    item_.is_quantity_unknown = !quantity.known || is_cut_piece(quantity, row.part);
    switch (quantity.counts) {
      case Counts::Plain: return buys_whole_packs || !row.part ? amount : amount / pack;
      case Counts::Pieces: return row.part ? packs_for(amount) : amount;
      case Counts::Pairs: return row.part ? packs_for(amount * Fraction(2)) : amount * Fraction(2);
      case Counts::Packs: return amount;
      case Counts::Measure: return row.part ? packs_for(measure_of(amount, quantity.unit, *row.part)) : amount;
    }
    return amount;
  }

  void open_offer_row(std::uint32_t index, std::uint32_t row_index) {
    const OfferRow& row = rules_.offers[row_index];
    const ReadLine& read = supplies_.read(supplies_.lines[index]);
    const Fraction packs = packs_of(index, row);
    if (row.part) {
      item_.part = *row.part;
      item_.offer_row = row_index;
      item_.quantity = packs * pieces_in_pack(row);
      item_.pieces_per_pack = item_.pack_size = pieces_in_pack(row);
      item_.meant_spare = read.quantity.spare;
      const bool typed_pair = read.quantity.counts == Counts::Pairs;
      place(item_, read, row.position, typed_pair, true);
    }
    open_contents(index, row.offer, packs, row.part, row_index, row.position, 0);
  }

  // Contents of a kit are pieces; contents of an assembly are brought by it, but for what is no sub-part of it.
  void open_contents(std::uint32_t index, OfferId offer, const Fraction& times, std::optional<PartId> assembly,
                     std::uint32_t kit_row, const StatedPlace& outer, std::size_t depth) {
    if (depth > kDeepestKit) return;
    const Supplies::OfferRows& contents = supplies_.contents_of(offer);
    const ReadLine& read = supplies_.read(supplies_.lines[index]);
    for (std::size_t at = 0; at < contents.rows.size(); ++at) {
      const ContentsRow& row = rules_.contents[contents.rows[at]];
      const SupplyItem before = item_;
      item_.guards.push_back(contents.guards[at]);
      if (row.inner) {
        const Supplies::OfferRows& inner = supplies_.rows_of(*row.inner);
        for (std::size_t inner_at = 0; inner_at < inner.rows.size(); ++inner_at) {
          const OfferRow& inner_row = rules_.offers[inner.rows[inner_at]];
          const SupplyItem outer_item = item_;
          item_.guards.push_back(inner.guards[inner_at]);
          const Fraction inner_times = times * row.quantity;
          if (inner_row.part) {
            item_.part = *inner_row.part;
            item_.offer_row = inner.rows[inner_at];
            item_.kit_row = kit_row;
            item_.quantity = inner_times * pieces_in_pack(inner_row);
            item_.pieces_per_pack = pieces_in_pack(inner_row);
            item_.meant_spare = 0;
            place(item_, read, row.position.is_stated() ? row.position : inner_row.position.is_stated() ? inner_row.position : outer, false, true);
          }
          open_contents(index, *row.inner, inner_times, inner_row.part, kit_row,
                        row.position.is_stated() ? row.position : inner_row.position, depth + 1);
          item_ = outer_item;
        }
      } else if (!assembly || !model_.is_sub_part(*assembly, *row.part)) {
        item_.part = *row.part;
        item_.offer_row = std::nullopt;
        item_.kit_row = kit_row;
        item_.quantity = times * row.quantity;
        item_.pieces_per_pack = 1;
        item_.pack_size = 1;
        item_.meant_spare = 0;
        // What the kit or its line says of the place holds where the contents row says nothing.
        place(item_, read, row.position.is_stated() ? row.position : outer, false, true);
      }
      item_ = before;
    }
  }

  // Hand and position: the contents row's, else the offer's, else the list line's.
  void place(SupplyItem item, const ReadLine& read, const StatedPlace& stated, bool typed_pair, bool has_offer) {
    const Hand typed_hand = places_.hand_of(read.place.hand);
    const bool wants_both = typed_pair || read.place.hand == HandWord::Both;
    item.leaves = rules_.places_of(stated.places);
    item.hand = stated.hand;
    if (item.leaves.empty()) {
      item.leaves = places_.leaves_of(read.place);
      places_.keep_hand(item.leaves, item.hand);
    }
    if (item.hand == Hand::None && !stated.is_pair) item.hand = typed_hand;
    // A typed place tells its hand, also where the offer tells of a wider place.
    if (item.hand == Hand::None && !stated.is_pair) item.hand = places_.one_hand_of(places_.leaves_of(read.place));
    if (item.hand == Hand::None) item.hand = places_.one_hand_of(item.leaves);
    item.hand_clash = has_offer && stated.hand != Hand::None && typed_hand != Hand::None && typed_hand != stated.hand;
    const bool is_handed = model_.part_row(item.part).is_handed;
    const bool has_one_hand = stated.hand != Hand::None || (typed_pair && !stated.is_pair && typed_hand != Hand::None);
    if (is_handed && (stated.is_pair || (wants_both && !has_one_hand))) return split_pair(std::move(item));
    if (is_handed && wants_both && has_one_hand) {
      // A pair of an offer for one hand, or with a hand beside it: either two of that hand, or one of each.
      SupplyItem as_stated = item;
      as_stated.in_pair_reading = false;
      add(std::move(as_stated));
      item.in_pair_reading = true;
      item.leaves.clear();
      return split_pair(std::move(item));
    }
    add(std::move(item));
  }

  void split_pair(SupplyItem item) {
    for (const Hand hand : {Hand::Left, Hand::Right}) {
      SupplyItem half = item;
      half.hand = hand;
      half.quantity = item.quantity / Fraction(2);
      if (hand == Hand::Right && !half.quantity.is_whole()) half.quantity = half.quantity.floor();
      if (hand == Hand::Left && !half.quantity.is_whole()) half.quantity = half.quantity.ceil();
      half.meant_spare = hand == Hand::Left ? item.meant_spare : Fraction(0);
      std::erase_if(half.leaves, [&](PositionId leaf) { return rules_.positions.hand(leaf) != hand; });
      add(std::move(half));
    }
  }

  void add(SupplyItem item) {
    const Fits fits = model_.part_row(item.part).fits;
    // An offside of which it is not known whether that is left or right leaves the place open too.
    const HandWord side = supplies_.read(supplies_.lines[item.line]).place.hand;
    const bool is_side_open = side != HandWord::None && side != HandWord::Both && places_.hand_of(side) == Hand::None && item.hand == Hand::None && item.leaves.size() > 1;
    item.is_place_open = (fits == Fits::ByPosition && (item.leaves.empty() || is_side_open)) || (fits == Fits::ByHand && item.hand == Hand::None);
    if (item.quantity.is_zero() && !item.is_quantity_unknown) return;
    supplies_.items.push_back(std::move(item));
  }

  const NeedModel& model_;
  const Rules& rules_;
  Supplies& supplies_;
  TypedPlaces places_;
  SupplyItem item_;  // what is known so far of the pieces being opened
  std::vector<Fraction> amounts_;
};

Ternary comes(const SupplyItem& item, const NeedModel& model) {
  const Rules& rules = model.rules();
  const auto holds_for = [&](ConditionId condition) { return holds(rules.condition(condition), model.knowledge().sets(), rules.facts); };
  Ternary result = Ternary::Yes;
  for (const Guard& guard : item.guards) {
    result = result && holds_for(guard.condition);
    for (const ConditionId above : guard.unless) result = result && !holds_for(above);
  }
  return result;
}

std::string_view hand_word(Hand hand) { return hand == Hand::Left ? "left" : hand == Hand::Right ? "right" : ""; }

std::string place_word(const SupplyItem& item, const Rules& rules) {
  std::string word(hand_word(item.hand));
  for (const PositionId leaf : item.leaves) word += (word.empty() ? "" : ";") + rules.positions.path(leaf);
  return word;
}

Supplies Supplies::of(const NeedModel& model, std::vector<ReadList> lists) {
  Supplies supplies;
  supplies.lists = std::move(lists);
  SupplyOpener(model, supplies).open_all();
  return supplies;
}

}  // namespace kitgap
