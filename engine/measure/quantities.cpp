#include "measure/quantities.h"

#include <algorithm>

#include "value/internal_error.h"

namespace kitgap {
namespace {

Fraction spaces(const Fraction& length, const Fraction& pitch) {
  require(pitch.sign() > 0, "a pitch is above zero");
  require(length.sign() >= 0, "a length is not negative");
  return (length / pitch).ceil();
}

}  // namespace

Fraction default_of(std::string_view name) {
  const auto found = std::find_if(kTradeDefaults.begin(), kTradeDefaults.end(),
                                  [&](const TradeDefault& each) { return each.name == name; });
  require(found != kTradeDefaults.end(), "a default of the trade is asked for by a name in the table");
  return Fraction::of(found->numerator, found->denominator);
}

Fraction clips_along(std::span<const Edge> edges, const Fraction& pitch) {
  Fraction clips;
  std::int64_t runs = 0;
  for (std::size_t i = 0; i < edges.size(); ++i) {
    if (!edges[i].is_fastened) continue;
    clips += spaces(edges[i].length, pitch);
    const Edge& before = edges[(i + edges.size() - 1) % edges.size()];
    if (edges.size() == 1 || !before.is_fastened) ++runs;
  }
  return clips + Fraction(runs);
}

Fraction clips_round(const Fraction& perimeter, const Fraction& pitch) { return spaces(perimeter, pitch); }

Fraction rings_along(const Fraction& length, const Fraction& pitch) {
  return length.is_zero() ? Fraction(0) : spaces(length, pitch) + Fraction(1);
}

Fraction staples_along(const Fraction& length, const Fraction& pitch, std::int64_t rows) {
  return spaces(length, pitch) * Fraction(rows);
}

Fraction bead_length(const Fraction& perimeter, std::span<const Fraction> opening_perimeters, const Fraction& allowance) {
  Fraction length = perimeter;
  for (const Fraction& opening : opening_perimeters) length += opening;
  return with_share(length, allowance);
}

Fraction edging_length(const Fraction& length, const Fraction& allowance, std::int64_t ends, const Fraction& per_end) {
  return with_share(length, allowance) + Fraction(ends) * per_end;
}

std::optional<Rectangle> film_piece(const Rectangle& opening, const Fraction& margin, MarginSide side,
                                    const Fraction& pocket) {
  const Fraction both = Fraction(side == MarginSide::Outside ? 2 : -2) * margin;
  const Rectangle piece{opening.width + both, opening.height + both + pocket};
  if (piece.width.sign() <= 0 || (piece.height - pocket).sign() <= 0) return std::nullopt;
  return piece;
}

Fraction glue_volume(const Fraction& area, const Glue& glue) {
  require(glue.coverage.sign() > 0, "a coverage is above zero");
  require(0 <= glue.absorbent_faces && glue.absorbent_faces <= glue.faces, "absorbent faces are some of the faces");
  const Fraction faces = Fraction(glue.faces) + Fraction(glue.absorbent_faces) * glue.absorbent_more;
  return area * Fraction(glue.coats) * faces / glue.coverage;
}

Fraction padding_area(std::span<const Fraction> areas, std::int64_t layers, const Fraction& waste) {
  Fraction sum;
  for (const Fraction& area : areas) sum += area;
  return with_share(sum * Fraction(layers), waste);
}

Fraction with_share(const Fraction& quantity, const Fraction& share) { return quantity * (Fraction(1) + share); }

Fraction spare_pieces(const Fraction& pieces, const Fraction& share, const Fraction& least) {
  if (pieces.sign() <= 0) return 0;
  return pieces + std::max((pieces * share).ceil(), least);
}

Fraction packs_for(const Fraction& quantity, const Fraction& pack) {
  require(pack.sign() > 0, "a pack holds more than nothing");
  return (quantity / pack).ceil();
}

}  // namespace kitgap
