#include "purchase/pooling.h"

#include <doctest/doctest.h>

#include "purchase/spares.h"

namespace kitgap {
namespace {

PoolSpot spot(const std::string& part, const std::string& car, int wanted) {
  PoolSpot made;
  made.part = part;
  made.car = car;
  made.wanted = Fraction(wanted);
  made.lacking[std::nullopt] = Fraction(wanted);
  return made;
}

std::string dump(const std::vector<PoolItem>& items, const std::vector<PoolSpot>& spots) {
  std::string text;
  for (const PoolItem& item : items) text += item.name + " " + needs_of(item, spots, default_confidence()).front().quantity.to_text() + "\n";
  return text;
}

// 13 clips for each car and every bag fits both: 26 clips, one need. That is three bags of 10, not two for each car.
TEST_CASE("order: cars that every offer serves share one need") {
  const std::vector<PoolSpot> spots = {spot("clip", "amber", 13), spot("clip", "blue", 13)};
  CHECK(dump(pool_items(spots, {{0, {0, 1}, Fraction(10)}}), spots) == "clip 26\n");
}

// One bag fits amber alone, the other both: together they want 26, and blue wants 13 of what fits it.
TEST_CASE("order: a car that an offer does not fit keeps a need of its own beside the common one") {
  const std::vector<PoolSpot> spots = {spot("clip", "amber", 13), spot("clip", "blue", 13)};
  CHECK(dump(pool_items(spots, {{0, {0}, Fraction(10)}, {1, {0, 1}, Fraction(10)}}), spots) == "clip 26\nclip (blue) 13\n");
}

TEST_CASE("order: places that no piece links are needs apart") {
  const std::vector<PoolSpot> spots = {spot("panel front.left", "amber", 1), spot("panel front.right", "amber", 1)};
  CHECK(dump(pool_items(spots, {{0, {0}, Fraction(1)}, {1, {1}, Fraction(1)}}), spots) == "panel front.left 1\npanel front.right 1\n");
}

// 9 of 9 lacking that break at 10 %: 12 are enough at 0.95 (shared reference, table of spares: 0.974; 11 give 0.910).
// Where 2 old ones are there already, 7 lack and 10 are bought: the old ones break too.
TEST_CASE("order: spares are for all pieces that are fitted, not only those bought") {
  std::vector<PoolSpot> spots = {spot("clip", "amber", 9)};
  spots[0].break_rate = Fraction::of(1, 10);
  CHECK(dump(pool_items(spots, {}), spots) == "clip 12\n");
  spots[0].lacking[std::nullopt] = Fraction(7);
  CHECK(dump(pool_items(spots, {}), spots) == "clip 10\n");
}

}  // namespace
}  // namespace kitgap
