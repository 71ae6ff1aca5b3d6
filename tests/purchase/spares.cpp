#include "purchase/spares.h"

#include <doctest/doctest.h>

namespace kitgap {
namespace {

// Source: R qnbinom, R pbinom, R qbinom and exact fractions agree on each: the smallest m with
// P(Binomial(m, 1 - p) >= n) >= target.
TEST_CASE("spares: the smallest number to buy agrees with R") {
  struct Case {
    std::int64_t needed;
    const char* break_rate;
    const char* confidence;
    std::int64_t buy;
  };
  const Case cases[] = {
      {9, "0.01", "0.9", 9},     {9, "0.01", "0.95", 10},   {9, "0.02", "0.99", 11},    {9, "0.05", "0.9", 10},
      {9, "0.1", "0.95", 12},    {9, "0.1", "0.99", 13},    {23, "0.01", "0.99", 25},   {23, "0.05", "0.9", 26},
      {23, "0.1", "0.95", 29},   {46, "0.01", "0.95", 48},  {46, "0.02", "0.99", 50},   {46, "0.1", "0.99", 57},
      {64, "0.02", "0.99", 69},  {64, "0.1", "0.9", 75},    {64, "0.1", "0.99", 78},    {100, "0.01", "0.95", 103},
      {100, "0.05", "0.9", 108}, {100, "0.1", "0.95", 117}, {100, "0.02", "0.99", 106}, {100, "0.1", "0.99", 120}};
  for (const Case& one : cases) {
    CAPTURE(one.needed);
    CAPTURE(one.break_rate);
    CAPTURE(one.confidence);
    CHECK(pieces_to_buy(one.needed, *Fraction::parse(one.break_rate), *Fraction::parse(one.confidence)) == one.buy);
  }
}

// Source: the same probabilities as exact fractions, worked out in another language. A confidence of exactly that
// probability is met, one a millionth of a billionth higher is not.
TEST_CASE("spares: the border is met exactly") {
  struct Case {
    std::int64_t needed;
    const char* break_rate;
    std::int64_t buy;
    std::int64_t numerator;
    std::int64_t denominator;
  };
  const Case cases[] = {{9, "0.1", 9, 387420489, 1000000000},
                        {9, "0.1", 11, 18208762983, 20000000000},
                        {9, "0.1", 12, 194872505967, 200000000000},
                        {2, "0.5", 3, 1, 2},
                        {1, "0.5", 4, 15, 16},
                        {3, "0.1", 4, 9477, 10000}};
  for (const Case& one : cases) {
    CAPTURE(one.needed);
    CAPTURE(one.buy);
    const Fraction rate = *Fraction::parse(one.break_rate);
    const Fraction exactly = Fraction::of(one.numerator, one.denominator);
    CHECK(are_enough(one.buy, one.needed, rate, exactly));
    CHECK(pieces_to_buy(one.needed, rate, exactly) == one.buy);
    const Fraction above = exactly + Fraction::of(1, 1'000'000'000'000'000);
    CHECK_FALSE(are_enough(one.buy, one.needed, rate, above));
    CHECK(pieces_to_buy(one.needed, rate, above) == one.buy + 1);
  }
}

TEST_CASE("spares: nothing breaks, nothing is needed") {
  CHECK(pieces_to_buy(17, Fraction(0), default_confidence()) == 17);
  CHECK(pieces_to_buy(0, Fraction::of(1, 10), default_confidence()) == 0);
  CHECK_FALSE(are_enough(16, 17, Fraction(0), default_confidence()));
  CHECK(are_enough(17, 17, Fraction(0), default_confidence()));
  CHECK(are_enough(0, 0, Fraction::of(1, 10), default_confidence()));
  CHECK(are_enough(3, 0, Fraction::of(1, 10), default_confidence()));
}

TEST_CASE("spares: shares and numbers that are none") {
  const Fraction tenth = Fraction::of(1, 10);
  CHECK_THROWS(static_cast<void>(pieces_to_buy(3, Fraction(1), default_confidence())));
  CHECK_THROWS(static_cast<void>(pieces_to_buy(3, -tenth, default_confidence())));
  CHECK_THROWS(static_cast<void>(pieces_to_buy(3, tenth, Fraction(1))));
  CHECK_THROWS(static_cast<void>(pieces_to_buy(3, tenth, Fraction(0))));
  CHECK_THROWS(static_cast<void>(pieces_to_buy(-1, tenth, default_confidence())));
  CHECK_THROWS(static_cast<void>(are_enough(3, -1, tenth, default_confidence())));
  CHECK_THROWS(static_cast<void>(are_enough(3, 3, Fraction(1), default_confidence())));
}

TEST_CASE("spares: thousands of pieces are worked out too") {
  const std::int64_t buy = pieces_to_buy(5000, Fraction::of(7, 100), default_confidence());
  CHECK(are_enough(buy, 5000, Fraction::of(7, 100), default_confidence()));
  CHECK_FALSE(are_enough(buy - 1, 5000, Fraction::of(7, 100), default_confidence()));
}

TEST_CASE("spares: what is no probability is refused") {
  CHECK_THROWS_AS((void)pieces_to_buy(1, Fraction(1), default_confidence()), FigureOverflow);
  CHECK_THROWS_AS((void)pieces_to_buy(1, Fraction(-1), default_confidence()), FigureOverflow);
  CHECK_THROWS_AS((void)pieces_to_buy(1, Fraction::of(1, 2), Fraction(1)), FigureOverflow);
  CHECK_THROWS_AS((void)pieces_to_buy(-1, Fraction::of(1, 2), default_confidence()), FigureOverflow);
}

}  // namespace
}  // namespace kitgap
