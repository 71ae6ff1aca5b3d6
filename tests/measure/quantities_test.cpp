#include "measure/quantities.h"

#include <doctest/doctest.h>

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
