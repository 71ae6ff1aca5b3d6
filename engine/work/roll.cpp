#include "work/roll.h"

#include <algorithm>
#include <optional>

#include "condition/condition.h"

namespace kitgap {
namespace {

const Fraction kMillimetres = Fraction(1000);  // of a metre

struct Sides {
  Fraction width, height;  // metres
  friend bool operator==(const Sides&, const Sides&) = default;
};

Ternary may_hold(const NeedModel& needs, ConditionId condition) {
  return holds(needs.rules().condition(condition), needs.knowledge().sets(), needs.rules().facts);
}

// The rows that can be the one for this car, the highest layer first, down to the first that holds for sure.
template <class Row>
std::vector<const Row*> rows_that_may_hold(const NeedModel& needs, std::vector<const Row*> rows) {
  const Rules& rules = needs.rules();
  std::ranges::stable_sort(rows, [&](const Row* a, const Row* b) { return rules.layer(a->place) > rules.layer(b->place); });
  std::vector<const Row*> left;
  for (const Row* row : rows) {
    const Ternary here = may_hold(needs, row->condition);
    if (here != Ternary::No) left.push_back(row);
    if (here == Ternary::Yes) break;
  }
  return left;
}

// The one size that all rows which can be this car's agree on.
std::optional<Sides> sides_of(const NeedModel& needs, const Line& line, std::string& wrong) {
  const Rules& rules = needs.rules();
  std::vector<const SizeRow*> rows;
  for (const SizeRow& row : rules.sizes) {
    const std::vector<PositionId>& at = rules.places_of(row.at);
    if (row.part == line.parent && (at.empty() || std::ranges::find(at, line.position) != at.end())) rows.push_back(&row);
  }
  std::optional<Sides> sides;
  for (const SizeRow* row : rows_that_may_hold(needs, std::move(rows))) {
    if (!row->width || !row->height) continue;
    const Sides here{*row->width, *row->height};
    if (sides && *sides != here) {
      wrong = "its size hangs on what is not known of the car yet";
      return std::nullopt;
    }
    sides = here;
  }
  if (!sides) wrong = "no row of `sizes` has its width and height";
  return sides;
}

// The margins of the row that holds; nothing when the quantity is not the area of the piece.
std::optional<Sides> with_margin_of(const NeedModel& needs, const Line& line, const Sides& sides, std::string& wrong) {
  const Rules& rules = needs.rules();
  std::vector<const ConsumesRow*> rows;
  for (const std::uint32_t index : line.consumes) rows.push_back(&rules.consumes[index]);
  std::optional<Sides> piece;
  for (const ConsumesRow* row : rows_that_may_hold(needs, std::move(rows))) {
    const Fraction margin = row->margin && !row->margin_is_share ? *row->margin * Fraction(2) : Fraction(0);
    const Fraction share = Fraction(1) + (row->margin && row->margin_is_share ? *row->margin : Fraction(0));
    const Sides here{(sides.width + margin) * share, (sides.height + margin) * share};
    const Figure& figure = rules.figures[row->quantity.index];
    const std::vector<Fraction> inputs = {sides.width, sides.height, Fraction(0), sides.width * sides.height};
    const auto knows = figure.quantity.constant || !figure.quantity.facts.empty()
                           ? QuantityResult{}
                           : evaluate(figure.quantity, [](FactId) { return FactValue{}; }, inputs);
    if (!knows.value || *knows.value != sides.width * sides.height) {
      wrong = "its quantity is not the area of the piece";
      return std::nullopt;
    }
    if (piece && *piece != here) {
      wrong = "its margin hangs on what is not known of the car yet";
      return std::nullopt;
    }
    piece = here;
  }
  if (!piece) wrong = "no row of `consumes` says from which size";
  return piece;
}

Range assemblies_at(const NeedModel& needs, const Answer& answer, const Line& line) {
  Range count;
  for (const LineId parent : needs.lines_of(line.parent, line.position)) {
    const LineAnswer* found = answer.find(parent);
    if (found != nullptr) count = {count.lo + found->need.lo, count.hi + found->need.hi};
  }
  return count;
}

}  // namespace

RollPieces roll_pieces_of(const NeedModel& needs, const Answer& answer, PartId part) {
  RollPieces result;
  for (const LineAnswer& one : answer.lines) {
    const Line& line = needs.line(one.line);
    if (line.part != part) continue;
    std::string wrong;
    const auto sides = sides_of(needs, line, wrong);
    const auto piece = sides ? with_margin_of(needs, line, *sides, wrong) : std::nullopt;
    const std::string& assembly = needs.rules().part_keys[line.parent.index];
    const std::string& position = needs.rules().positions.path(line.position);
    if (!piece) {
      result.aside.push_back(assembly + " at " + position + ": " + wrong);
      continue;
    }
    result.pieces.push_back({.assembly = assembly, .position = position, .width = piece->width * kMillimetres, .height = piece->height * kMillimetres,
                             .count = assemblies_at(needs, answer, line)});
  }
  return result;
}

}  // namespace kitgap
