#include "measure/quantities.h"

#include <doctest/doctest.h>

#include <random>
#include <string>
#include <vector>

using namespace kitgap;

namespace {

Fraction f(const char* text) { return *Fraction::parse(text); }

std::vector<Edge> edges(std::initializer_list<const char*> lengths) {
  std::vector<Edge> all;
  for (const char* length : lengths) {
    const bool is_fastened = length[0] != '-';
    all.push_back({f(is_fastened ? length : length + 1), is_fastened});
  }
  return all;
}

}  // namespace

// The counts are worked out by hand from the rule: spaces of at most the pitch, a clip at each end of a space.
TEST_CASE("quantities: a clip at a corner counts once") {
  CHECK(clips_along(edges({"1", "0.6", "1", "0.6"}), f("0.15")) == Fraction(22));   // 7 + 4 + 7 + 4
  CHECK(clips_along(edges({"1", "0.6", "1", "-0.6"}), f("0.15")) == Fraction(19));  // 7 + 4 + 7 + 1
  CHECK(clips_along(edges({"1", "-0.6", "1", "-0.6"}), f("0.15")) == Fraction(16));  // two runs of 7 spaces
  CHECK(clips_along(edges({"0.6"}), f("0.15")) == Fraction(5));
  CHECK(clips_along(edges({"-0.6"}), f("0.15")) == Fraction(0));
  CHECK(clips_along({}, f("0.15")) == Fraction(0));
  CHECK(clips_round(f("3.2"), f("0.15")) == Fraction(22));
  CHECK(clips_round(f("3.15"), f("0.15")) == Fraction(21));  // no space more for a pitch that fits exactly
}

TEST_CASE("quantities: rings, staples, beads and edging") {
  CHECK(rings_along(f("0.6"), f("0.06")) == Fraction(11));
  CHECK(rings_along(f("0.61"), f("0.06")) == Fraction(12));
  CHECK(rings_along(0, f("0.06")) == Fraction(0));
  CHECK(staples_along(f("1.2"), f("0.012"), 2) == Fraction(200));
  const std::vector<Fraction> openings = {f("0.8")};
  CHECK(bead_length(f("3.2"), openings, f("0.1")) == f("4.4"));
  CHECK(edging_length(f("2"), f("0.05"), 2, f("0.05")) == f("2.2"));
}

TEST_CASE("quantities: film lies outside or inside the trim line") {
  CHECK(film_piece({1, f("0.6")}, f("0.05"), MarginSide::Outside) == Rectangle{f("1.1"), f("0.7")});
  CHECK(film_piece({1, f("0.6")}, f("0.05"), MarginSide::Inside) == Rectangle{f("0.9"), f("0.5")});
  CHECK(film_piece({1, f("0.6")}, f("0.05"), MarginSide::Outside, f("0.08")) == Rectangle{f("1.1"), f("0.78")});
  CHECK_FALSE(film_piece({1, f("0.6")}, f("0.3"), MarginSide::Inside, 1));
}

TEST_CASE("quantities: glue on both faces, more on foam") {
  CHECK(glue_volume(2, {.coverage = 5, .coats = 1}) == f("0.8"));
  CHECK(glue_volume(2, {.coverage = 5, .coats = 2}) == f("1.6"));
  CHECK(glue_volume(2, {.coverage = 5, .coats = 1, .faces = 2, .absorbent_faces = 1, .absorbent_more = f("0.5")}) == Fraction(1));
  CHECK(glue_volume(1, {.coverage = f("4.9")}) == Fraction::of(20, 49));
  CHECK(glue_volume(2, {.coverage = 5, .coats = 1, .faces = 2, .absorbent_faces = 2, .absorbent_more = f("0.5")}) == f("1.2"));
  CHECK_THROWS(glue_volume(2, {.coverage = 5, .faces = 2, .absorbent_faces = 3}));
  CHECK_THROWS(glue_volume(2, {.coverage = 5, .faces = 2, .absorbent_faces = -1}));
  CHECK_THROWS(glue_volume(2, {.coverage = 0}));
}

TEST_CASE("quantities: padding, spares and packs") {
  const std::vector<Fraction> areas = {f("0.5"), f("0.7")};
  CHECK(padding_area(areas, 2, f("0.1")) == f("2.64"));
  CHECK(spare_pieces(22, f("0.1"), 2) == Fraction(25));
  CHECK(spare_pieces(9, f("0.1"), 2) == Fraction(11));
  CHECK(spare_pieces(0, f("0.1"), 2) == Fraction(0));
  CHECK(packs_for(46, 25) == Fraction(2));
  CHECK(packs_for(50, 25) == Fraction(2));
  CHECK(packs_for(0, 25) == Fraction(0));
  CHECK_THROWS_WITH(packs_for(50, 0), doctest::Contains("a pack holds more than nothing"));
  CHECK_THROWS(packs_for(50, -25));
  CHECK(default_of("clip pitch") == f("0.15"));
}

TEST_CASE("sizes: an outline gives area exactly and the way round as a bound") {
  const auto corner = read_outline("0,0; 620,0; 580,410; 0, 410 mm");
  REQUIRE(corner.wrong.empty());
  CHECK(area_of(corner.points) == f("0.246"));
  const Bounds round = perimeter_of(corner.points);  // the slant is the root of 40^2 + 410^2: 411.946...
  CHECK(round.lo < round.hi);
  CHECK(round.hi - round.lo <= f("0.000001"));
  CHECK(round.lo < f("2.021947"));
  CHECK(round.hi > f("2.021946"));
  CHECK(perimeter_of(read_outline("0,0; 3,0; 3,4 in").points) == Bounds{f("0.3048"), f("0.3048")});  // 3, 4, 5
}

TEST_CASE("sizes: an outline that is none says why") {
  CHECK(read_outline("0,0; 1,0; 1,1").wrong == "the unit of length after the last point is missing");
  CHECK(read_outline("0,0; 1,0 mm").wrong == "an outline needs three points or more");
  CHECK(read_outline("0,0; 1,0; 1,0; 0,1 mm").wrong == "point 2 stands twice; the outline closes by itself");
  CHECK(read_outline("0,0; 2,2; 2,0; 0,2 mm").wrong == "the outline crosses or touches itself");
  CHECK(read_outline("0,0; 2,0; 1,0 mm").wrong == "the outline crosses or touches itself");
  CHECK(read_outline("0,0; 4,0; 4,4; 2,0; 0,4 mm").wrong == "the outline crosses or touches itself");  // a corner on an edge
  CHECK(read_outline("0,0; 4,0; 0,2; 4,4; 0,4 mm").wrong == "the outline crosses or touches itself");
  CHECK(read_outline("0,0; 2,0; 1,1; 2,2; 0,2; 1,1 mm").wrong == "the outline crosses or touches itself");
  CHECK(read_outline("0,0; 1,0; 1,1; 2,1; 2,0; 3,0; 3,2; 0,2 mm").wrong.empty());  // two edges in one line, apart
  CHECK(read_outline("0,0; 0,1; 1,1; 1,2; 0,2; 0,3; 2,3; 2,0 mm").wrong.empty());
  CHECK(read_outline("0,0; 2; 1,0 mm").wrong == "`2` is no point; write it `x,y`");
  CHECK(read_outline("0,0; 1,0; 1,1 kg").wrong == "the unit of length after the last point is missing");
}

namespace {

// Whether two closed stretches have a point in common, told by where each meets the other's line: written anew.
bool share_a_point(const Point& a, const Point& b, const Point& c, const Point& d) {
  const Point along{b.x - a.x, b.y - a.y}, other{d.x - c.x, d.y - c.y};
  const Fraction cross = along.x * other.y - along.y * other.x;
  const auto from_a = [&](const Point& p) { return Point{p.x - a.x, p.y - a.y}; };
  if (cross.sign() != 0) {
    const Point gap = from_a(c);
    const Fraction t = (gap.x * other.y - gap.y * other.x) / cross, u = (gap.x * along.y - gap.y * along.x) / cross;
    return t.sign() >= 0 && t <= Fraction(1) && u.sign() >= 0 && u <= Fraction(1);
  }
  const Point gap = from_a(c);
  if ((along.x * gap.y - along.y * gap.x).sign() != 0) return false;  // parallel, apart
  const auto place = [&](const Point& p) { return from_a(p).x * along.x + from_a(p).y * along.y; };
  const Fraction end = place(b), first = std::min(place(c), place(d)), last = std::max(place(c), place(d));
  return first <= end && last.sign() >= 0;
}

}  // namespace

TEST_CASE("sizes: outlines that cross or touch themselves, as told by where edges meet") {
  std::mt19937 random(77);
  int simple = 0;
  for (int round = 0; round < 4000; ++round) {
    const std::size_t count = 3 + random() % 4;
    std::vector<Point> points;
    std::string text;
    for (std::size_t at = 0; at < count; ++at) {
      const int x = static_cast<int>(random() % 5), y = static_cast<int>(random() % 5);
      points.push_back({x, y});
      text += (at == 0 ? "" : "; ") + std::to_string(x) + "," + std::to_string(y);
    }
    CAPTURE(text);
    bool twice = false, meets = false;
    for (std::size_t i = 0; i < count; ++i) {
      const Point &a = points[i], &b = points[(i + 1) % count], &c = points[(i + 2) % count];
      twice = twice || a == b;
      // Neighbours share their corner; more than that when the next one runs back along the first.
      const bool is_straight = ((b.x - a.x) * (c.y - b.y) - (b.y - a.y) * (c.x - b.x)).is_zero();
      meets = meets || (is_straight && ((b.x - a.x) * (c.x - b.x) + (b.y - a.y) * (c.y - b.y)).sign() < 0);
      for (std::size_t j = i + 2; j < count; ++j) {
        if ((j + 1) % count != i) meets = meets || share_a_point(a, b, points[j], points[(j + 1) % count]);
      }
    }
    const OutlineReading reading = read_outline(text + " m");
    REQUIRE(reading.wrong.empty() == (!twice && !meets));
    if (!reading.wrong.empty()) continue;
    ++simple;
    const Fraction area = area_of(reading.points);
    std::vector<Point> moved(reading.points.rbegin(), reading.points.rend());
    for (Point& point : moved) point = {point.x + 7, point.y - 3};
    CHECK(area.sign() > 0);
    CHECK(area_of(moved) == area);
    CHECK(perimeter_of(moved) == perimeter_of(reading.points));
  }
  CHECK(simple > 300);
}

TEST_CASE("sizes: points, limits and roots") {
  CHECK(read_outline("").wrong == "the unit of length after the last point is missing");
  CHECK(read_outline(" 0,0;1,0;1,1 m ").wrong.empty());
  CHECK(read_outline("0,0;1,0;1,1;m").wrong == "the unit of length after the last point is missing");
  CHECK(read_outline("0,0;1,0;;1,1 m").wrong == "`` is no point; write it `x,y`");
  CHECK(read_outline("0,0;1,0;1,1,1 m").wrong == "`1,1,1` is no point; write it `x,y`");
  CHECK(read_outline("0,0;1/2,0;1/2,1 1/2 m").points.back() == Point{f("0.5"), f("1.5")});
  CHECK(read_outline("0,0;-1,0;-1,-2 m").points.back() == Point{-1, -2});
  CHECK(read_outline("0,0;1,0;0,0 m").wrong == "point 3 stands twice; the outline closes by itself");
  const auto steps = [](int count) {  // up and down along a row, closed below
    std::string text = "0,-9";
    for (int at = 0; at + 2 < count; ++at) text += "; " + std::to_string(at) + "," + std::to_string(at % 2);
    return read_outline(text + "; " + std::to_string(count) + ",-9 mm").wrong;
  };
  CHECK(steps(1'000) == "");
  CHECK(steps(1'001) == "an outline may have 1000 points at most");
  CHECK(square_root_of(0) == Bounds{0, 0});
  CHECK(square_root_of(f("2.25")) == Bounds{f("1.5"), f("1.5")});
  CHECK(square_root_of(Fraction::of(4, 9)) == Bounds{Fraction::of(2, 3), Fraction::of(2, 3)});
  const Bounds two = square_root_of(2);
  CHECK(two.lo * two.lo < Fraction(2));
  CHECK(two.hi * two.hi > Fraction(2));
  CHECK(two.hi - two.lo == Fraction::of(1, 1'000'000'000));
}

TEST_CASE("sizes: stated figures win, the rest follows") {
  const Sizes plain = sizes_of(f("1"), f("0.6"), std::nullopt, {});
  CHECK(plain.perimeter == f("3.2"));
  CHECK(plain.area == f("0.6"));
  const auto film = with_margin(plain, f("0.05"));
  REQUIRE(film);
  CHECK(film->area == f("0.77"));
  CHECK(film->perimeter == f("3.6"));
  CHECK(with_margin(plain, f("0.05"), MarginSide::Inside)->area == f("0.45"));
  CHECK_FALSE(with_margin(plain, f("0.3"), MarginSide::Inside));
  const auto outline = read_outline("0,0; 620,0; 580,410; 0,410 mm").points;
  const Sizes stated = sizes_of(std::nullopt, std::nullopt, f("2.1"), outline);
  CHECK(stated.width == f("0.62"));
  CHECK(stated.height == f("0.41"));
  CHECK(stated.perimeter == f("2.1"));
  CHECK(sizes_of(std::nullopt, std::nullopt, std::nullopt, outline).perimeter_is_bound);
  CHECK_FALSE(sizes_of(f("1"), std::nullopt, std::nullopt, {}).area);
}
