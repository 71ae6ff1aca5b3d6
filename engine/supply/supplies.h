#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "need/needs.h"
#include "pack/rules.h"
#include "supply/reading.h"

namespace kitgap {

enum class SupplySource : std::uint8_t { Stock, Order, List };  // in the order in which they are used

// A row of a keyed kind stands while its conditions hold and none of a higher layer with the same key does.
struct Guard {
  ConditionId condition;
  std::vector<ConditionId> unless;  // higher layers' rows of the same key
  friend bool operator==(const Guard&, const Guard&) = default;
};
bool stands(const Guard& guard, Completion& completion);

// A list line that was given a meaning: one offer, or single pieces of a part.
struct Meaning {
  std::optional<OfferId> offer;
  std::optional<PartId> part;           // single pieces without an offer
  std::vector<RowPlace> replaced_by;    // the chain of `replaces` rows that led from the number typed
};

struct SupplyLine {
  std::uint32_t file = 0;  // index into Supplies::lists
  std::uint32_t row = 0;   // index into its lines
  SupplySource source = SupplySource::List;
  std::vector<Meaning> meanings;  // none: set aside; several: a question
  std::vector<std::string> nearest;
  std::string set_aside;
};

// What some pieces are, come from, and where they may go: one per line, contents row and hand.
struct SupplyItem {
  std::uint32_t line = 0;     // index into Supplies::lines
  std::uint32_t meaning = 0;  // which of the line's meanings
  PartId part;
  Fraction quantity;                 // pieces, or measure in the part's unit
  bool is_quantity_unknown = false;  // none or enough
  std::vector<PositionId> leaves;    // stated places; empty: none stated
  Hand hand = Hand::None;            // stated hand
  bool is_place_open = false;        // what `fits` binds is stated nowhere, or a side that may be either: a question
  std::optional<bool> in_pair_reading;  // which reading of a doubtful pair it belongs to
  std::vector<Guard> guards;
  // An assembly: the offer row that says what it brings (for one in a kit, the kit's).
  std::optional<std::uint32_t> offer_row;
  std::optional<std::uint32_t> kit_row;
  Fraction pieces_per_pack = 1;      // to spread an offer's contents over the assemblies of a pack
  bool hand_clash = false;           // the offer and the list line state different hands
  Fraction pack_size = 1;            // what the bag holds, for what is left over
  Fraction meant_spare;              // pieces the person meant as spare
};

// Whether the rows that bring the item stand for this car, by what is known of it before any splitting.
Ternary comes(const SupplyItem& item, const NeedModel& model);
std::string_view hand_word(Hand hand);  // `left`, `right`; empty for none
// The stated hand and places of an item, for `PieceCount`: `left`, `front.left;front.right`; empty: none stated.
std::string place_word(const SupplyItem& item, const Rules& rules);

// Everything that can cover a need, from lists, stock and orders, opened to pieces.
class Supplies {
 public:
  // `lists` in the order given; cars share them in the order given elsewhere.
  static Supplies of(const NeedModel& model, std::vector<ReadList> lists);

  std::vector<ReadList> lists;
  std::vector<SupplyLine> lines;
  std::vector<SupplyItem> items;

  const ReadLine& read(const SupplyLine& line) const { return lists[line.file].lines[line.row]; }
  const ReadLine& read(const SupplyItem& item) const { return read(lines[item.line]); }
  // Rows of an offer, highest layer first, with what each stands under.
  struct OfferRows {
    std::vector<std::uint32_t> rows;
    std::vector<Guard> guards;
  };
  const OfferRows& rows_of(OfferId offer) const { return offers_[offer.index]; }
  const OfferRows& contents_of(OfferId offer) const { return contents_[offer.index]; }

 private:
  friend class SupplyOpener;
  std::vector<OfferRows> offers_;
  std::vector<OfferRows> contents_;
};

}  // namespace kitgap
