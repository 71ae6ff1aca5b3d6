#include <doctest/doctest.h>

#include "support/bench.h"

using namespace kitgap;
using test::gaps;
using test::given;

// Source: a textbook problem of material requirements planning with its printed answer, read on a homework-help page:
// a product A of one B, two C and one D; a C of two D and three E. Gross, on hand and net of one period each are its
// printed figures; lead times and lot sizes are no matter of a car.
TEST_CASE("need: net requirements of a published bill of materials") {
  struct Case {
    int period, product, b_here, c_here, d_here;
    const char* lines;
  };
  // B, C and D in the period in which so many A are begun.
  const Case cases[] = {
      {1, 10, 10, 60, 20, "boot/a/b need 10 have 10 gap 0 covered\nboot/a/c need 20 have 20 gap 0 covered\nboot/a/d need 10 have 10 gap 0 covered\n"},
      {4, 30, 0, 40, 10, "boot/a/b need 30 have 0 gap 30 missing\nboot/a/c need 60 have 40 gap 20 short\nboot/a/d need 30 have 10 gap 20 short\n"},
      {7, 40, 0, 30, 80, "boot/a/b need 40 have 0 gap 40 missing\nboot/a/c need 80 have 30 gap 50 short\nboot/a/d need 40 have 40 gap 0 covered\n"},
  };
  for (const Case& period : cases) {
    CAPTURE(period.period);
    const std::string made = std::to_string(period.product);
    const auto bench = given("part a assembly\npart b piece\npart c piece\npart d piece\nneed car a boot " + made +
                             "\nneed a b - 1\nneed a c - 2\nneed a d - 1\nstock b " + std::to_string(period.b_here) + "\nstock c " +
                             std::to_string(period.c_here) + "\nstock d " + std::to_string(period.d_here) + "\n");
    CHECK(gaps(bench) == period.lines + ("boot/car/a need " + made + " have 0 gap " + made + " missing\n"));
  }
  // D and E in period 3, in which 50 C are begun.
  CHECK(gaps(given("part c assembly\npart d piece\npart e piece\nneed car c boot 50\nneed c d - 2\nneed c e - 3\nstock d 10\nstock e 10\n")) ==
        "boot/c/d need 100 have 10 gap 90 short\nboot/c/e need 150 have 10 gap 140 short\nboot/car/c need 50 have 0 gap 50 missing\n");
}
