#include <doctest/doctest.h>

#include "support/bench.h"

using namespace kitgap;
using test::gaps;
using test::given;

TEST_CASE("cover: a left-hand panel never meets a right-hand need") {
  const auto bench = given(R"(
    part door-panel assembly handed=yes fits=hand
    need car door-panel front.left 1
    need car door-panel front.right 1
    offer S K-1 door-panel complete
    list K-1 2 front.left
  )");
  CHECK(gaps(bench) == "front.left/car/door-panel need 1 have 1 gap 0 covered\n"
                       "front.right/car/door-panel need 1 have 0 gap 1 missing\n");
}

TEST_CASE("cover: what a bundle brings is asked where it is not stated") {
  const auto bench = given(R"(
    part door-panel assembly
    part clip piece
    part handle-hole hole
    need car door-panel front.left 1
    need door-panel clip - 9
    need door-panel handle-hole - 2
    offer S K-1 door-panel bare
    list K-1 1 front.left
  )");
  CHECK(gaps(bench) == "front.left/car/door-panel need 1 have 1 gap 0 covered\n"
                       "front.left/door-panel/clip need 9 have 0 gap 9 missing\n"
                       "front.left/door-panel/handle-hole need 2 have 0..2 gap 0..2 to settle\n");
}
