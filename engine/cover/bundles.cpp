#include <algorithm>
#include <boost/container/static_vector.hpp>

#include "cover/solve.h"

namespace kitgap {
namespace {

bool is_made_in(PartKind kind) { return kind == PartKind::Opening || kind == PartKind::Hole; }

std::optional<bool> promise_of(const Promises& promises, PartKind kind) {
  if (kind == PartKind::Opening) return promises.openings;
  if (kind == PartKind::Hole) return promises.holes;
  return promises.hardware;
}

}  // namespace

std::size_t hash_of(const LineCover& cover) {
  std::size_t hash = hash_of(cover.need) * 31 + hash_of(cover.have);
  for (const CoverPiece& piece : cover.pieces) hash = hash * 31 + hash_of(piece.quantity) + piece.item + piece.old_line.index + static_cast<std::size_t>(piece.from);
  return hash;
}

std::size_t hash_of(const Flows& flows) {
  std::size_t hash = flows.size();
  for (const ArcFlow& flow : flows) hash = hash * 31 + hash_of(flow.quantity) + flow.arc;
  return hash;
}

std::size_t hash_of(const LexicalCost& cost) {
  std::size_t hash = cost.size();
  for (const auto& [level, amount] : cost) hash = hash * 31 + hash_of(amount) + level;
  return hash;
}

// Where an assembly's pieces stand, new or old, whole or brought by one above.
std::vector<Solver::Units> Solver::units_at(LineId line) {
  const std::vector<CoverPiece>& pieces = cover(line).pieces;
  std::vector<Units> units;
  units.reserve(pieces.size());
  for (const CoverPiece& piece : pieces) {
    switch (piece.from) {
      case CoverPiece::From::Item:
      case CoverPiece::From::Bundle:
        units.push_back({.item = piece.item, .old_line = {}, .count = piece.quantity, .is_stand_in = piece.is_stand_in});
        break;
      case CoverPiece::From::Old:
        units.push_back({.item = {}, .old_line = piece.old_line, .count = piece.quantity});
        break;
      case CoverPiece::From::Work:
      case CoverPiece::From::OldAssembly: break;
    }
  }
  return units;
}

Fraction Solver::covered_from_above(LineId id) {
  const Line& line = model_.needs().line(id);
  if (line.parent == Rules::kCar || line.is_small) return 0;
  Fraction sum;
  for (const LineId above : model_.needs().lines_of(line.parent, line.position)) {
    for (const Units& units : units_at(above)) {
      const Brought gives = brought(units, above, id);
      sum += (gives.by_bundle + gives.by_work + gives.from_old) * units.count;
    }
  }
  return std::min(sum, need(id));
}

Solver::Brought Solver::brought(const Units& unit, LineId assembly_line, LineId child) {
  const Line& below = model_.needs().line(child);
  const PartKind kind = model_.needs().part_row(below.part).kind;
  const Fraction per_parent = needs_.figure(child).per_parent;
  if (per_parent.is_zero()) return {};
  const OldUse old = needs_.figure(child).old;
  if (!unit.item && old == OldUse::MustNot) return {};
  if (!unit.item) {
    // An old assembly has its openings and holes; its other sub-parts are old parts of their own.
    return is_made_in(kind) ? Brought{.by_bundle = {}, .by_work = {}, .from_old = per_parent} : Brought{};
  }
  const SupplyItem& item = model_.supplies().items[*unit.item];
  Brought gives;
  if (unit.is_stand_in) {
    const auto remedy = remedy_of(item, model_.needs().line(assembly_line).part, below.part);
    gives = instead_of_brought(remedy.value_or(Remedy::None), assembly_line, child, per_parent);
  } else {
    gives = brought_new(*unit.item, assembly_line, child);
  }
  // Only what is marked out from the old assembly covers a need that must have old pieces.
  if (old == OldUse::Must) gives = {.by_bundle = {}, .by_work = {}, .from_old = gives.from_old};
  return gives;
}

bool Solver::is_said_without(const CoverModel::Without& without, std::string_view supplier, Remedy& remedy) {
  for (std::size_t at = 0; at < without.rows.size(); ++at) {
    const SuppliedWithoutRow& row = model_.rules().supplied_without[without.rows[at]];
    if (!row.supplier.empty() && row.supplier != supplier) continue;
    if (!stands(without.guards[at], completion_)) continue;
    remedy = row.remedy;
    return true;
  }
  return false;
}

// What the tables say to do where any such assembly comes without the sub-part.
std::optional<Remedy> Solver::remedy_of(const SupplyItem& item, PartId assembly, PartId sub_part) {
  std::string_view supplier;
  Remedy remedy = Remedy::None;
  for (const auto row : {item.offer_row, item.kit_row}) {
    if (!row) continue;
    const OfferId offer = model_.rules().offers[*row].offer;
    supplier = model_.rules().offer_keys[offer.index].supplier;
    if (is_said_without(model_.without(offer, sub_part), supplier, remedy)) return remedy;
  }
  if (is_said_without(model_.without(assembly, sub_part), supplier, remedy)) return remedy;
  return std::nullopt;
}

// Pieces of `part` that the offer's contents list for one assembly; nothing where they do not list it.
std::optional<Fraction> Solver::listed(const SupplyItem& item, PartId part) {
  if (!item.offer_row) return std::nullopt;
  const OfferRow& offer = model_.rules().offers[*item.offer_row];
  const Supplies::OfferRows& contents = model_.supplies().contents_of(offer.offer);
  std::optional<Fraction> sum;
  for (std::size_t at = 0; at < contents.rows.size(); ++at) {
    const ContentsRow& row = model_.rules().contents[contents.rows[at]];
    if (row.part != part || !stands(contents.guards[at], completion_)) continue;
    // Of a pair, what is listed for one hand goes to that hand, the rest half to each.
    const bool is_for_hand = offer.position.is_pair && row.position.hand != Hand::None;
    if (is_for_hand && row.position.hand != item.hand) {
      sum = sum.value_or(Fraction(0));
      continue;
    }
    const Fraction assemblies = is_for_hand ? item.pieces_per_pack / Fraction(2) : item.pieces_per_pack;
    sum = sum.value_or(Fraction(0)) + row.quantity / assemblies;
  }
  return sum;
}

// Several lines below the assembly may take the part, on several levels: what is listed goes to the upper ones first,
// and comes once. The share of `child`, for one of its parent.
Fraction Solver::share_of_listed(const SupplyItem& item, LineId child, const Fraction& listed) {
  struct Below {
    LineId line;
    Fraction parents;  // of the line's parent, in one of the assembly
  };
  const PositionId position = model_.needs().line(child).position;
  std::vector<Below> level{};
  for (const LineId line : model_.needs().children_of(item.part, position)) level.push_back({line, Fraction(1)});
  Fraction left = listed;
  for (int depth = 0; depth < 32 && !level.empty(); ++depth) {
    std::vector<Below> next;
    for (const Below& below : level) {
      const Line& line = model_.needs().line(below.line);
      if (line.is_small) continue;
      const Fraction per_parent = needs_.figure(below.line).per_parent;
      if (per_parent.is_zero()) continue;
      if (below.line == child) return left / below.parents;
      if (line.part == model_.needs().line(child).part) left -= std::min(left, per_parent * below.parents);
      for (const LineId under : model_.needs().children_of(line.part, position)) next.push_back({under, per_parent * below.parents});
    }
    level = std::move(next);
  }
  return left;
}

// Most specific first: `supplied-without` for the offer, its contents, its promises, `supplied-without` for any such
// assembly, the default of how it is supplied. What is then not stated is a question to the supplier.
Solver::Brought Solver::brought_new(std::uint32_t index, LineId assembly_line, LineId child) {
  const SupplyItem& item = model_.supplies().items[index];
  const Rules& rules = model_.rules();
  const PartId part = model_.needs().line(child).part;
  const PartId assembly = model_.needs().line(assembly_line).part;
  const PartKind kind = model_.needs().part_row(part).kind;
  const Fraction wanted = needs_.figure(child).per_parent;
  const auto all = [&] { return Brought{.by_bundle = wanted, .by_work = {}, .from_old = {}}; };
  const auto none = [&] {
    return instead_of_brought(remedy_of(item, assembly, part).value_or(Remedy::None), assembly_line, child, wanted);
  };
  boost::container::static_vector<const OfferRow*, 2> said;  // the offer's own row, then the kit's
  for (const auto row : {item.offer_row, item.kit_row}) {
    if (row) said.push_back(&rules.offers[*row]);
  }
  Remedy remedy = Remedy::None;
  for (const OfferRow* row : said) {
    const std::string_view supplier = rules.offer_keys[row->offer.index].supplier;
    if (is_said_without(model_.without(row->offer, part), supplier, remedy)) return instead_of_brought(remedy, assembly_line, child, wanted);
  }
  if (const auto quantity = listed(item, part)) {
    return {.by_bundle = std::min(share_of_listed(item, child, *quantity), wanted), .by_work = {}, .from_old = {}};
  }
  SuppliedAs supplied_as = SuppliedAs::NotStated;
  std::optional<bool> promise;
  for (const OfferRow* row : said) {
    if (supplied_as == SuppliedAs::NotStated) supplied_as = row->supplied_as;
    if (!promise) promise = promise_of(row->promises, kind);
  }
  if (supplied_as == SuppliedAs::Contents || kind == PartKind::Consumable) return none();
  if (promise) return *promise ? all() : none();
  const std::string_view supplier = said.empty() ? std::string_view{} : rules.offer_keys[said.front()->offer.index].supplier;
  if (is_said_without(model_.without(assembly, part), supplier, remedy)) return instead_of_brought(remedy, assembly_line, child, wanted);
  if (supplied_as == SuppliedAs::Complete) return all();
  if (supplied_as == SuppliedAs::Bare && !is_made_in(kind)) return none();
  // Pieces without an offer are asked about by their list line.
  constexpr std::uint32_t kByLine = 1u << 31;
  const std::uint32_t asked = said.empty() ? kByLine | item.line : said.front()->offer.index;
  return completion_.choose({.kind = Unknown::Kind::Promise, .first = asked, .second = part.index}, 2) == 1 ? all() : none();
}

// An opening or hole that a new assembly lacks is made by work, or marked out from the old assembly there.
Solver::Brought Solver::instead_of_brought(Remedy remedy, LineId assembly_line, LineId child, const Fraction& wanted) {
  const PartKind kind = model_.needs().part_row(model_.needs().line(child).part).kind;
  if (!is_made_in(kind)) return {};
  if (remedy == Remedy::Cut || remedy == Remedy::Drill) return {.by_bundle = {}, .by_work = wanted, .from_old = {}};
  if (remedy != Remedy::Mark || needs_.figure(child).old == OldUse::MustNot) return {};
  const CountOfLine& count = model_.needs().line(assembly_line).count;
  const bool is_seen = count.is_recorded_as_old && !count.present.is_zero();
  const bool may_be_there = !count.is_recorded_as_old || !count.not_looked_at.is_zero();
  const bool is_there = is_seen || (may_be_there && completion_.choose({.kind = Unknown::Kind::OldPart, .first = assembly_line.index}, 2) == 1);
  return is_there ? Brought{.by_bundle = {}, .by_work = {}, .from_old = wanted} : Brought{};
}

const LineCover& Solver::cover(LineId line) {
  // Cyclic needs are reported where the figures are worked out; here they meet an empty cover, not themselves again.
  return worked_.covers.get(line.index, completion_, [&] { return work_out(line); });
}

LineCover Solver::work_out(LineId id) {
  const Line& line = model_.needs().line(id);
  LineCover cover;
  cover.need = need(id);
  Fraction open = cover.need;
  const auto take = [&](CoverPiece piece) {
    piece.quantity = std::min(piece.quantity, open);
    if (piece.quantity.sign() <= 0) return;
    open -= piece.quantity;
    cover.have += piece.quantity;
    cover.pieces.push_back(piece);
  };
  if (cover.need.is_zero()) return cover;
  if (line.parent != Rules::kCar && !line.is_small) {
    for (const LineId above : model_.needs().lines_of(line.parent, line.position)) {
      for (const Units& units : units_at(above)) {
        const Brought gives = brought(units, above, id);
        const std::uint32_t item = units.item.value_or(0);
        take({.from = CoverPiece::From::Bundle, .item = item, .old_line = {}, .quantity = gives.by_bundle * units.count});
        take({.from = CoverPiece::From::Work, .item = item, .old_line = {}, .quantity = gives.by_work * units.count});
        take({.from = CoverPiece::From::OldAssembly, .item = item, .old_line = above, .quantity = gives.from_old * units.count});
      }
    }
  }
  const std::size_t index = model_.component_of(id);
  const Component& component = model_.components()[index];
  for (const ArcFlow& flow : flows(index)) {
    const CoverArc& arc = component.arcs[flow.arc];
    if (arc.line != id) continue;
    if (arc.item) take({.from = CoverPiece::From::Item, .item = *arc.item, .old_line = {}, .quantity = flow.quantity, .is_stand_in = arc.is_stand_in});
    else take({.from = CoverPiece::From::Old, .item = 0, .old_line = arc.old_line, .quantity = flow.quantity, .is_stand_in = arc.is_stand_in});
  }
  return cover;
}

}  // namespace kitgap
