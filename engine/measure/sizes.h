#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "value/fraction.h"

namespace kitgap {

// Lengths are metres, areas square metres, in all of this layer but where a name says otherwise.

struct Point {
  Fraction x;
  Fraction y;
  friend bool operator==(const Point&, const Point&) = default;
};

struct OutlineReading {
  std::vector<Point> points;  // metres; closed without repeating the first; empty when `wrong` is filled
  std::string wrong;
};

// Reads `0,0; 620,0; 580,410 mm`: points x,y with `;` between and one unit of length at the end. Refuses fewer than three
// points, more than 1,000, two equal neighbours, an outline that crosses or touches itself, and one without area.
[[nodiscard]] OutlineReading read_outline(std::string_view text);

// A bound from below and above; both exact fractions. `lo == hi` where the figure itself is a fraction.
struct Bounds {
  Fraction lo;
  Fraction hi;
  friend bool operator==(const Bounds&, const Bounds&) = default;
};

// The square root of `value` (not negative): exact where it is a fraction, else `hi - lo` is at most 1e-9.
Bounds square_root_of(const Fraction& value);
// The way round. A slanting edge is seldom a fraction: the bounds are then at most 1/1000 mm apart (1,000 edges).
Bounds perimeter_of(const std::vector<Point>& outline);
// The shoelace rule: exact, whichever way round the points run.
Fraction area_of(const std::vector<Point>& outline);

// What a part's `sizes` row says and what follows from it. Stated figures win over worked-out ones.
struct Sizes {
  std::optional<Fraction> width;
  std::optional<Fraction> height;
  std::optional<Fraction> perimeter;  // the upper bound, where an outline slants: never too little bought
  std::optional<Fraction> area;
  bool perimeter_is_bound = false;
  friend bool operator==(const Sizes&, const Sizes&) = default;
};

// Fills in what is not stated: from the outline its bounding width and height, perimeter and area; without one, from width and
// height those of a rectangle.
Sizes sizes_of(const std::optional<Fraction>& width, const std::optional<Fraction>& height,
               const std::optional<Fraction>& perimeter, const std::vector<Point>& outline);

// Where a margin lies: outside the trim line (the piece is larger), or inside (the piece ends short of the line).
enum class MarginSide { Outside, Inside };

// The sizes of a piece cut with `margin` (metres, not negative) on every side of the line. Exact for a rectangle; for another convex
// outline the area and perimeter are those of square corners, an upper bound while corners are rounded off. Nothing when a
// margin inside leaves nothing.
[[nodiscard]] std::optional<Sizes> with_margin(const Sizes& sizes, const Fraction& margin,
                                               MarginSide side = MarginSide::Outside);

}  // namespace kitgap
