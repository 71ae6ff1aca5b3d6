#include "arrival/sampling.h"

#include <doctest/doctest.h>

#include "arrival/natural.h"

using namespace kitgap;

namespace {

const SamplingTables& tables() {
  static const SamplingTables read = [] {
    Sources sources;
    Diagnostics diagnostics;
    auto all = read_sampling_tables(std::filesystem::path(KITGAP_SOURCE_DIR) / "data/standards", sources, diagnostics);
    REQUIRE_MESSAGE(all.has_value(), layout(diagnostics, sources));
    return std::move(*all);
  }();
  return read;
}

}  // namespace

TEST_CASE("sampling: every lot from 2 on has one letter, and every letter a plan for every AQL") {
  CHECK(tables().letters.size() == 15);
  CHECK(tables().aqls().size() == 5);
  for (std::size_t i = 1; i < tables().letters.size(); ++i) {
    CHECK(tables().letters[i].lot_from == *tables().letters[i - 1].lot_to + 1);
    CHECK(tables().letters[i].sample_size > tables().letters[i - 1].sample_size);
  }
  for (const CodeLetter& letter : tables().letters) {
    for (const Fraction& aql : tables().aqls()) {
      const auto plan = plan_for(tables(), letter.lot_from, aql);
      REQUIRE(plan);
      CHECK(plan->lot_letter == letter.letter);
      CHECK(plan->reject == plan->accept + 1);  // single sampling, normal inspection
      CHECK(plan->inspect_all == (plan->sample_size == letter.lot_from));
    }
  }
  CHECK_FALSE(plan_for(tables(), 1, 1));
  CHECK_FALSE(plan_for(tables(), 500, Fraction::of(7, 3)));
}

TEST_CASE("sampling: a chance is worked out exactly") {
  CHECK(acceptance_of_share(2, 0, Fraction::of(1, 2)) == "0.2500000000");
  CHECK(acceptance_of_share(3, 3, Fraction::of(1, 2), 3) == "1.000");
  CHECK(acceptance_of_share(5, 0, 0, 2) == "1.00");
  CHECK(acceptance_of_share(5, 4, 1, 2) == "0.00");
  CHECK(acceptance_of_lot(9, 1, 3, 0) == "0.6666666667");
  CHECK(acceptance_of_lot(10, 10, 3, 2, 4) == "0.0000");
  CHECK(acceptance_of_lot(4, 2, 2, 1, 4) == "0.8333");  // 1 - 1/6
}

TEST_CASE("sampling: the more is bad, the less often a lot is accepted") {
  for (const Fraction& aql : tables().aqls()) {
    const auto plan = plan_for(tables(), 600, aql);
    std::string before = "1.0000000001";
    for (int bad = 0; bad <= 20; ++bad) {
      const std::string chance = acceptance_of_share(plan->sample_size, plan->accept, Fraction::of(bad, 100));
      CHECK(chance <= before);
      before = chance;
    }
  }
}

TEST_CASE("naturals: rounding carries, subtraction borrows") {
  Natural one(1), three(3), wide(1);
  CHECK(decimal_of(one, three, 4) == "0.3333");
  Natural two(2);
  CHECK(decimal_of(two, three, 4) == "0.6667");
  Natural almost(19'999);
  CHECK(decimal_of(almost, Natural(20'000), 3) == "1.000");
  for (int i = 0; i < 5; ++i) wide.multiply(0xffffffffU);
  Natural less = wide;
  less.subtract(one);
  CHECK(less < wide);
  less.add(one);
  CHECK(less == wide);
}

// What is no sample ends with a message of its own, not with a figure.
TEST_CASE("sampling: shares and lots that are none") {
  CHECK(acceptance_of_share(0, 0, Fraction(0), 1) == "1.0");
  CHECK(acceptance_of_share(10, 0, Fraction(1), 1) == "0.0");
  CHECK(acceptance_of_share(10, 10, Fraction(1), 15) == "1.000000000000000");
  CHECK(acceptance_of_share(2'000, 2'000, Fraction::of(1, 2), 1) == "1.0");
  CHECK(acceptance_of_share(1, 0, Fraction::of(1, 1'000'000), 6) == "0.999999");
  CHECK_THROWS(acceptance_of_share(1, 0, Fraction::of(-1, 2), 6));
  CHECK_THROWS(acceptance_of_share(1, 0, Fraction::of(3, 2), 6));
  CHECK_THROWS(acceptance_of_share(1, 0, Fraction::of(1, 1'000'001), 6));
  CHECK_THROWS(acceptance_of_share(-1, 0, Fraction(0), 6));
  CHECK_THROWS(acceptance_of_share(2'001, 0, Fraction(0), 6));
  CHECK_THROWS(acceptance_of_share(1, 0, Fraction(0), 0));
  CHECK_THROWS(acceptance_of_share(1, 0, Fraction(0), 16));
  CHECK(acceptance_of_lot(10, 0, 10, 0, 1) == "1.0");
  CHECK(acceptance_of_lot(10, 10, 1, 0, 15) == "0.000000000000000");
  CHECK(acceptance_of_lot(0, 0, 0, 0, 1) == "1.0");
  // Of 10 with 8 bad ones any 5 hold at least 3: 56 of the 252 hold just 3.
  CHECK(acceptance_of_lot(10, 8, 5, 2, 3) == "0.000");
  CHECK(acceptance_of_lot(10, 8, 5, 3, 6) == "0.222222");
  CHECK(acceptance_of_lot(100'000, 1, 1, 0, 5) == "0.99999");
  CHECK_THROWS(acceptance_of_lot(10, -1, 1, 0, 6));
  CHECK_THROWS(acceptance_of_lot(10, 11, 1, 0, 6));
  CHECK_THROWS(acceptance_of_lot(100'001, 1, 1, 0, 6));
  CHECK_THROWS(acceptance_of_lot(10, 1, -1, 0, 6));
  CHECK_THROWS(acceptance_of_lot(10, 1, 11, 0, 6));
  CHECK_THROWS(acceptance_of_lot(10, 1, 1, 0, 0));
  CHECK_THROWS(acceptance_of_lot(10, 1, 1, 0, 16));
}
