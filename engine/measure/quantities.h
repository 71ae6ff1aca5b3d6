#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string_view>

#include "measure/sizes.h"
#include "value/fraction.h"

namespace kitgap {

// How much a panel takes: pieces along edges, film, beads, glue. Lengths in metres, areas in square metres, volumes in
// litres, shares as fractions of one (0.05 is 5 %). Every function is exact; whole pieces are rounded up, per edge or run.
// None is a specification: holes counted in the shell always win. The formulas are common practice, no source, unless said.

// Figures of the trade for an estimate when a pack states none.
struct TradeDefault {
  std::string_view name;
  std::int64_t numerator;
  std::int64_t denominator;
  std::string_view unit;
  std::string_view source;
};
inline constexpr auto kTradeDefaults = std::to_array<TradeDefault>({
    {"clip pitch", 150, 1000, "m", "restoration magazine 2008 (6 in, seen in a picture); 100 to 200 mm common practice, no source"},
    {"film margin", 50, 1000, "m", "common practice, no source"},
    {"bead allowance", 1, 10, "share", "common practice, no source"},
    {"ring pitch", 60, 1000, "m", "common practice, no source"},
    {"ring loss", 15, 100, "share", "common practice, no source"},
    {"staple pitch", 12, 1000, "m", "common practice, no source"},
    {"edging allowance", 5, 100, "share", "common practice, no source"},
    {"edging per end", 50, 1000, "m", "common practice, no source"},
    {"absorbent face, more glue", 1, 2, "share", "30 to 50 % common practice, no source; the higher is taken"},
    {"padding waste", 1, 10, "share", "common practice, no source"},
    {"clip spare", 1, 10, "share", "common practice, no source"},
    {"least clip spare", 2, 1, "each", "common practice, no source"},
    {"screw spare", 1, 10, "share", "common practice, no source"},
    {"carpet off the roll", 1, 5, "share", "one car took 9 m2 and 2 m2 more for a rear cover (hobby page 2003); common practice"},
});
// Throws InternalError when no default has that name.
Fraction default_of(std::string_view name);

struct Edge {
  Fraction length;
  bool is_fastened = true;
};

// Clips along the edges of a panel, given in order round it: ceil(length / pitch) spaces on each fastened edge. The clip at a
// corner belongs to both edges and counts once: all edges fastened, clips equal spaces; else each run of fastened edges has one
// clip more than spaces. `pitch` is above zero.
Fraction clips_along(std::span<const Edge> edges, const Fraction& pitch);
// The same where only the way round is known: one closed edge.
Fraction clips_round(const Fraction& perimeter, const Fraction& pitch);
// Rings along one sewn sleeve or edge: one at each end and none further apart than `pitch`.
Fraction rings_along(const Fraction& length, const Fraction& pitch);
// Staples on a tack strip, `rows` rows.
Fraction staples_along(const Fraction& length, const Fraction& pitch, std::int64_t rows = 1);

// Sealing bead round a panel and round each opening in it, with an allowance for laps and corners.
Fraction bead_length(const Fraction& perimeter, std::span<const Fraction> opening_perimeters, const Fraction& allowance);
// Thread, welt, edging: a share more, and so much at each end.
Fraction edging_length(const Fraction& length, const Fraction& allowance, std::int64_t ends, const Fraction& per_end);

struct Rectangle {
  Fraction width;
  Fraction height;
  friend bool operator==(const Rectangle&, const Rectangle&) = default;
};

// The film for one opening: (W + 2m) x (H + 2m) for a margin outside the trim line, (W - 2m) x (H - 2m) inside it, and
// `pocket` more height for hooks at the bottom. Nothing when a margin inside leaves nothing.
[[nodiscard]] std::optional<Rectangle> film_piece(const Rectangle& opening, const Fraction& margin, MarginSide side,
                                                  const Fraction& pocket = 0);

struct Glue {
  Fraction coverage;             // m2 of one coat on one face from one litre, off the data sheet; above zero
  std::int64_t coats = 1;        // on each face
  std::int64_t faces = 2;        // contact glue goes on both
  std::int64_t absorbent_faces = 0;  // of these: foam, felt, cloth
  Fraction absorbent_more = 0;   // share more that an absorbent face takes
};
// Litres for an area of joint. `absorbent_faces` is at most `faces`.
Fraction glue_volume(const Fraction& area, const Glue& glue);

// Padding in layers with a share of waste; area only: whole pieces on the roll take more (measure/strip.h).
Fraction padding_area(std::span<const Fraction> areas, std::int64_t layers, const Fraction& waste);

// A share more; not rounded.
Fraction with_share(const Fraction& quantity, const Fraction& share);
// Pieces to have at hand: `pieces` and a share of them rounded up, at least `least` more. None for none.
Fraction spare_pieces(const Fraction& pieces, const Fraction& share, const Fraction& least);
// Whole packs that hold `quantity`; `pack` is above zero.
Fraction packs_for(const Fraction& quantity, const Fraction& pack);

}  // namespace kitgap
