#pragma once

#include <optional>
#include <span>
#include <vector>

#include "need/needs.h"
#include "supply/supplies.h"

namespace kitgap {

// Old pieces at one line: none, a recorded number, or none-or-all of what nobody has looked at.
struct OldPieces {
  enum class Kind : std::uint8_t { None, Recorded, NotLookedAt };
  Kind kind = Kind::None;
  std::vector<ConditionId> only_if;  // NotLookedAt because of these rows: any of them holds
  bool is_must = false;              // NotLookedAt wherever the need says `must`
};

// An arc that may carry pieces: an item, or the old pieces of a line, to a line.
struct CoverArc {
  LineId line;
  std::optional<std::uint32_t> item;  // else old pieces of `old_line`
  LineId old_line;
  std::vector<ConditionId> by_replacing;  // any of these rows holds (empty: it is the part itself)
  bool is_stand_in = false;
};

// Lines that compete for supplies, or depend on each other through them; solved together.
struct Component {
  enum class Kind : std::uint8_t { Assemblies, Loose, Small };
  Kind kind = Kind::Loose;
  std::uint32_t level = 0;          // of assemblies
  std::vector<LineId> lines;        // sorted
  std::vector<std::uint32_t> items;  // as they are used up: stock before order before list, then by row
  std::vector<LineId> old_lines;
  std::vector<CoverArc> arcs;
  std::uint32_t first_arc = 0;  // arcs are numbered over all components
};

// Everything static about cover: who could serve whom. All references must outlive it.
class CoverModel {
 public:
  CoverModel(const NeedModel& needs, const Supplies& supplies);

  const NeedModel& needs() const { return needs_; }
  const Supplies& supplies() const { return supplies_; }
  const Rules& rules() const { return needs_.rules(); }
  const std::vector<Component>& components() const { return components_; }
  std::size_t component_of(LineId line) const { return component_of_line_[line.index]; }
  // Where the item is used first, level by level; `Loose` comes last. Empty: nothing calls for it.
  const std::vector<std::size_t>& components_of_item(std::uint32_t item) const { return components_of_item_[item]; }
  // Components of assemblies that the old pieces of the line may serve.
  const std::vector<std::size_t>& assemblies_with_old(LineId line) const { return assemblies_with_old_[line.index]; }
  // The items before it whose quantity is not known either and whose pieces may do just the same, the first one first:
  // where one of them is enough, this one changes nothing. Lists leave out many quantities; without this each would double
  // what must be tried. Empty for most; past `kLongestChain` a new chain begins.
  std::span<const std::uint32_t> unknown_before(std::uint32_t item) const { return unknown_before_[item]; }
  const OldPieces& old_pieces(LineId line) const { return old_[line.index]; }
  // Rows for one offer or for any such assembly that say a sub-part is not brought.
  struct Without {
    std::vector<std::uint32_t> rows;  // SuppliedWithoutRow indices, highest layer first
    std::vector<Guard> guards;
  };
  const Without& without(OfferId offer, PartId sub_part) const;
  const Without& without(PartId assembly, PartId sub_part) const;

 private:
  void index_without();
  void find_old_pieces();
  void link_unknown_quantities();
  void find_components();
  bool can_serve(const SupplyItem& item, const Line& line) const;

  const NeedModel& needs_;
  const Supplies& supplies_;
  std::vector<OldPieces> old_;
  static constexpr std::size_t kLongestChain = 24;
  std::vector<std::vector<std::uint32_t>> unknown_before_;  // by item
  std::vector<Component> components_;
  std::vector<std::size_t> component_of_line_;
  std::vector<std::vector<std::size_t>> components_of_item_;
  std::vector<std::vector<std::size_t>> assemblies_with_old_;  // by line
  std::map<std::pair<OfferId, PartId>, Without> without_of_offer_;
  std::map<std::pair<PartId, PartId>, Without> without_of_assembly_;
};

// Whether a piece of this kind that is stated to be at `leaves`/`hand` may go to `position`.
bool may_go(const Positions& positions, Fits fits, std::span<const PositionId> leaves, Hand hand, bool is_place_open, PositionId position);

}  // namespace kitgap
