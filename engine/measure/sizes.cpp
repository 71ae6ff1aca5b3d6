#include "measure/sizes.h"

#include <algorithm>

#include "text/ascii.h"
#include "value/unit.h"

namespace kitgap {
namespace {

using Wide = Fraction::Wide;

constexpr std::size_t kMaxPoints = 1'000;

// The largest whole number whose square is at most `value`.
Wide whole_root(Wide value) {
  Wide root = 0;
  for (Wide bit = Wide{1} << 62; bit != 0; bit >>= 1) {
    const Wide next = root + bit;
    if (next <= value / next) root = next;
  }
  return root;
}

std::optional<Fraction> exact_root(const Fraction& value) {
  const Wide top = whole_root(value.numerator());
  const Wide bottom = whole_root(value.denominator());
  if (top * top != value.numerator() || bottom * bottom != value.denominator()) return std::nullopt;
  return Fraction::of(top, bottom);
}

// Above zero: the three points turn left.
int turn(const Point& a, const Point& b, const Point& c) {
  return ((b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x)).sign();
}

bool lies_between(const Point& a, const Point& b, const Point& p) {
  return std::min(a.x, b.x) <= p.x && p.x <= std::max(a.x, b.x) && std::min(a.y, b.y) <= p.y && p.y <= std::max(a.y, b.y);
}

bool meet(const Point& a, const Point& b, const Point& c, const Point& d) {
  const int abc = turn(a, b, c), abd = turn(a, b, d), cda = turn(c, d, a), cdb = turn(c, d, b);
  if (abc * abd < 0 && cda * cdb < 0) return true;
  return (abc == 0 && lies_between(a, b, c)) || (abd == 0 && lies_between(a, b, d)) ||
         (cda == 0 && lies_between(c, d, a)) || (cdb == 0 && lies_between(c, d, b));
}

// Neighbouring edges share a corner; they are wrong only when one folds back over the other.
bool folds_back(const Point& a, const Point& b, const Point& c) {
  return turn(a, b, c) == 0 && ((b.x - a.x) * (c.x - b.x) + (b.y - a.y) * (c.y - b.y)).sign() < 0;
}

bool crosses_itself(const std::vector<Point>& points) {
  const std::size_t n = points.size();
  for (std::size_t i = 0; i < n; ++i) {
    if (folds_back(points[i], points[(i + 1) % n], points[(i + 2) % n])) return true;
    for (std::size_t j = i + 2; j < n; ++j) {
      if ((j + 1) % n == i) continue;
      if (meet(points[i], points[(i + 1) % n], points[j], points[(j + 1) % n])) return true;
    }
  }
  return false;
}

// The unit after the last digit, and the text before it.
std::optional<Unit> take_unit(std::string_view& text) {
  std::size_t end = text.size();
  while (end > 0 && !(text[end - 1] >= '0' && text[end - 1] <= '9')) --end;
  const auto unit = find_unit(text.substr(end));
  text = text.substr(0, end);
  return unit;
}

std::string what_is_wrong_with(const std::vector<Point>& points) {
  if (points.size() < 3) return "an outline needs three points or more";
  if (points.size() > kMaxPoints) return "an outline may have 1000 points at most";
  for (std::size_t i = 0; i < points.size(); ++i) {
    if (points[i] == points[(i + 1) % points.size()]) {
      return "point " + std::to_string(i + 1) + " stands twice; the outline closes by itself";
    }
  }
  if (crosses_itself(points)) return "the outline crosses or touches itself";
  return "";
}

OutlineReading refused(std::string says) { return {.points = {}, .wrong = std::move(says)}; }

OutlineReading read_points(std::string_view text) {
  const auto unit = take_unit(text);
  if (!unit || dimension_of(*unit) != Dimension::Length) return refused("the unit of length after the last point is missing");
  OutlineReading reading;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find(';'), text.size());
    const std::string_view point = trimmed(text.substr(0, end));
    text.remove_prefix(std::min(end + 1, text.size()));
    const std::size_t comma = std::min(point.find(','), point.size());
    const auto x = parse_mixed_number(point.substr(0, comma));
    const auto y = comma == point.size() ? std::nullopt : parse_mixed_number(point.substr(comma + 1));
    if (!x || !y) return refused("`" + std::string(point) + "` is no point; write it `x,y`");
    reading.points.push_back({*x * factor_of(*unit), *y * factor_of(*unit)});
    if (reading.points.size() > kMaxPoints) break;
  }
  reading.wrong = what_is_wrong_with(reading.points);
  if (!reading.wrong.empty()) reading.points.clear();
  return reading;
}

template <class Get>
std::optional<Fraction> extent(const std::vector<Point>& outline, Get get) {
  if (outline.empty()) return std::nullopt;
  const auto [least, most] = std::minmax_element(outline.begin(), outline.end(),
                                                 [&](const Point& a, const Point& b) { return get(a) < get(b); });
  return get(*most) - get(*least);
}

}  // namespace

OutlineReading read_outline(std::string_view text) {
  try {
    return read_points(trimmed(text));
  } catch (const FigureOverflow& overflow) {
    return refused(overflow.what());
  }
}

Bounds square_root_of(const Fraction& value) {
  if (const auto exact = exact_root(value)) return {*exact, *exact};
  constexpr std::int64_t kGrid = 1'000'000'000;
  const Fraction scaled = value * Fraction(kGrid) * Fraction(kGrid);
  const Wide root = whole_root(scaled.floor().numerator());
  return {Fraction::of(root, kGrid), Fraction::of(root + 1, kGrid)};
}

Bounds perimeter_of(const std::vector<Point>& outline) {
  Bounds sum;
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const Point& from = outline[i];
    const Point& to = outline[(i + 1) % outline.size()];
    const Fraction across = to.x - from.x;
    const Fraction along = to.y - from.y;
    const Bounds edge = square_root_of(across * across + along * along);
    sum.lo += edge.lo;
    sum.hi += edge.hi;
  }
  return sum;
}

Fraction area_of(const std::vector<Point>& outline) {
  Fraction twice;
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const Point& from = outline[i];
    const Point& to = outline[(i + 1) % outline.size()];
    twice += from.x * to.y - to.x * from.y;
  }
  return (twice.sign() < 0 ? -twice : twice) / Fraction(2);
}

Sizes sizes_of(const std::optional<Fraction>& width, const std::optional<Fraction>& height,
               const std::optional<Fraction>& perimeter, const std::vector<Point>& outline) {
  Sizes sizes{.width = width, .height = height, .perimeter = perimeter, .area = std::nullopt};
  if (!outline.empty()) {
    if (!sizes.width) sizes.width = extent(outline, [](const Point& point) { return point.x; });
    if (!sizes.height) sizes.height = extent(outline, [](const Point& point) { return point.y; });
    sizes.area = area_of(outline);
    if (!sizes.perimeter) {
      const Bounds round = perimeter_of(outline);
      sizes.perimeter = round.hi;
      sizes.perimeter_is_bound = round.lo != round.hi;
    }
  } else if (width && height) {
    sizes.area = *width * *height;
    if (!sizes.perimeter) sizes.perimeter = Fraction(2) * (*width + *height);
  }
  return sizes;
}

std::optional<Sizes> with_margin(const Sizes& sizes, const Fraction& margin, MarginSide side) {
  const Fraction step = side == MarginSide::Outside ? margin : -margin;
  Sizes cut = sizes;
  if (cut.width) *cut.width += Fraction(2) * step;
  if (cut.height) *cut.height += Fraction(2) * step;
  if (cut.area && sizes.perimeter) *cut.area += *sizes.perimeter * step + Fraction(4) * step * step;
  if (cut.perimeter) *cut.perimeter += Fraction(8) * step;
  for (const auto& size : {cut.width, cut.height, cut.perimeter, cut.area}) {
    if (size && size->sign() <= 0) return std::nullopt;
  }
  return cut;
}

}  // namespace kitgap
