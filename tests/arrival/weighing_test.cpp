#include "arrival/weighing.h"

#include <doctest/doctest.h>

#include <random>

using namespace kitgap;

namespace {

Fraction f(const char* text) { return *Fraction::parse(text); }

std::string counted(const Weighing& weighing, std::int64_t expected) {
  REQUIRE(what_is_wrong_with(weighing) == "");
  return says_of(count_by_weight(weighing), expected);
}

}  // namespace

// Worked by hand: 10 clips 23.0 g on a scale of 0.1 g are 2.295..2.305 g each; 108.1 +- 0.05 g are 46.88..47.13 of them.
TEST_CASE("weighing: a sharp scale counts, a blunt one says count by hand") {
  Weighing clips{.sample_pieces = 10, .sample_weight = 23, .gross_weight = f("108.1"), .tare_weight = std::nullopt, .resolution = f("0.1")};
  CHECK(counted(clips, 47) == "47 by weight; 47 expected: all there");
  CHECK(counted(clips, 48) == "47 by weight; 48 expected: short");
  clips.resolution = 1;  // 2.25..2.35 g each: 45.79..48.27
  CHECK(counted(clips, 46) == "46..48 by weight; 46 expected: all there");
  CHECK(counted(clips, 47) == "46..48 by weight; 47 expected: count by hand, the weight could hide a gap");
  CHECK(counted(clips, 48) == "46..48 by weight; 48 expected: count by hand, the weight could hide a gap");
  CHECK(counted(clips, 49) == "46..48 by weight; 49 expected: short");
}

TEST_CASE("weighing: a bag read on the same scale doubles the error, uneven pieces widen it") {
  Weighing clips{.sample_pieces = 10, .sample_weight = 23, .gross_weight = f("112.1"), .tare_weight = 4, .resolution = f("0.1")};
  CHECK(count_by_weight(clips) == WeightCount{47, 47});
  clips.spread = f("0.01");
  CHECK(count_by_weight(clips) == WeightCount{46, 48});
  clips.spread = 0;
  clips.uncertainty = 1;
  CHECK(count_by_weight(clips) == WeightCount{45, 50});  // 106.0 / 2.405 and 110.2 / 2.195
}

TEST_CASE("weighing: no whole count agrees") {
  const Weighing clips{.sample_pieces = 10, .sample_weight = 23, .gross_weight = f("109.3"), .tare_weight = std::nullopt, .resolution = f("0.1")};
  CHECK(counted(clips, 47) == "no whole number of such pieces has this weight: count by hand");
  CHECK(verdict_on(count_by_weight(clips), 47) == WeightVerdict::CountByHand);
}

TEST_CASE("weighing: readings that cannot be used say why") {
  const Weighing good{.sample_pieces = 5, .sample_weight = 10, .gross_weight = 100, .tare_weight = 2, .resolution = 1};
  CHECK(what_is_wrong_with(good) == "");
  auto with = [&](auto change) {
    Weighing weighing = good;
    change(weighing);
    return what_is_wrong_with(weighing);
  };
  CHECK(with([](Weighing& w) { w.sample_pieces = 0; }) == "the sample needs one piece or more, counted by hand");
  CHECK(with([](Weighing& w) { w.sample_weight = 0; }) == "the sample's weight is not above zero");
  CHECK(with([](Weighing& w) { w.resolution = 0; }) == "the scale's step is not above zero");
  CHECK(with([](Weighing& w) { w.uncertainty = -1; }) == "the scale's uncertainty is below zero");
  CHECK(with([](Weighing& w) { w.spread = 1; }) == "the spread of the pieces is no share from 0 to 1");
  CHECK(with([](Weighing& w) { w.tare_weight = -1; }) == "the bag's weight is below zero");
  CHECK(with([](Weighing& w) { w.tare_weight = 100; }) == "");
  CHECK(with([](Weighing& w) { w.uncertainty = 0; }) == "");
  CHECK(with([](Weighing& w) { w.spread = 0; }) == "");
  CHECK(with([](Weighing& w) { w.tare_weight = 0; }) == "");
  CHECK(with([](Weighing& w) { w.tare_weight = 101; }) == "the bag alone weighs more than the full bag");
  CHECK(with([](Weighing& w) { w.resolution = 20; }) == "the sample weighs no more than the scale may be off; take a larger one");
}

// A law: whatever the true weights within the stated spread and the true errors within the scale's, the true count lies in lo..hi.
TEST_CASE("weighing: the true count is never outside the range") {
  std::mt19937 random(7);
  auto between = [&](int lo, int hi) { return lo + static_cast<int>(random() % static_cast<unsigned>(hi - lo + 1)); };
  for (int trial = 0; trial < 3'000; ++trial) {
    const int pieces = between(1, 300), sample = between(1, 20), mean = between(200, 9'000), spread = between(0, 5), step = between(1, 100);
    auto weight_of = [&](int count) {
      std::int64_t weight = 0;
      for (int i = 0; i < count; ++i) weight += mean * 100 + mean * between(-spread, spread);
      return weight;  // in 1/100 mg
    };
    auto read = [&](std::int64_t weight) {  // the display rounds to its step, then is off by no more
      const std::int64_t grid = step * 100;
      return Fraction((weight + grid / 2) / grid * step);
    };
    const std::int64_t bag = between(1, 50'000) * 100;
    const Weighing weighing{.sample_pieces = sample, .sample_weight = read(weight_of(sample)), .gross_weight = read(weight_of(pieces) + bag),
                            .tare_weight = read(bag), .resolution = step, .uncertainty = 0, .spread = Fraction::of(spread, 100)};
    if (!what_is_wrong_with(weighing).empty()) continue;
    const auto count = count_by_weight(weighing);
    CAPTURE(trial);
    REQUIRE(count);
    CHECK(count->lo <= pieces);
    CHECK(count->hi >= pieces);
  }
}
