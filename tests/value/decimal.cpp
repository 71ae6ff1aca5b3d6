#include "value/decimal.h"

#include <doctest/doctest.h>

#include <random>

using namespace kitgap;

namespace {
Decimal number(const char* text) { return *Decimal::parse(text); }
}  // namespace

// Expected results: OMG DMN 10.3.2.3.1 (decimal128 of IEEE 754-2008: 34 digits, half-even).
TEST_CASE("decimal: what binary numbers get wrong") {
  CHECK(*add(number("0.1"), number("0.2")) == number("0.3"));
  CHECK(*subtract(number("1.1234"), number("0.2345")) == number("0.8889"));
  CHECK(*add(*power(Decimal(2), Decimal(53)), Decimal(1)) == number("9007199254740993"));
  CHECK(number("12345678901234567890").to_text() == "12345678901234567890");
  CHECK(number("1e400").to_text() == "1e400");
  CHECK(!Decimal::parse("12345678901234567890123456789012345").has_value());
  CHECK(!Decimal::parse("1e99999").has_value());
  CHECK(number("-0") == Decimal());
  // What stands behind the text's end is none of it.
  CHECK(Decimal::parse(std::string_view("12e5").substr(0, 2)) == Decimal(12));
}

TEST_CASE("decimal: half goes to the even digit") {
  CHECK(number("2.5").rounded(0, RoundingMode::HalfEven) == Decimal(2));
  CHECK(number("3.5").rounded(0, RoundingMode::HalfEven) == Decimal(4));
  CHECK(number("2.50000000001").rounded(0, RoundingMode::HalfEven) == Decimal(3));
  CHECK(number("-2.5").rounded(0, RoundingMode::HalfUp) == Decimal(-3));
  CHECK(number("-2.5").rounded(0, RoundingMode::HalfDown) == Decimal(-2));
  CHECK(number("-2.5").rounded(0, RoundingMode::Floor) == Decimal(-3));
  CHECK(number("1250").rounded(-2, RoundingMode::HalfEven) == Decimal(1200));
  bool inexact = false;
  CHECK(divide(Decimal(2), Decimal(3), &inexact)->to_text() == "0.6666666666666666666666666666666667");
  CHECK(inexact);
  // 34 digits and a tail of exactly half: to even.
  CHECK(*add(number("1000000000000000000000000000000001"), number("0.5")) == number("1000000000000000000000000000000002"));
  CHECK(*add(number("1000000000000000000000000000000002"), number("0.5")) == number("1000000000000000000000000000000002"));
}

// 2^112 has 34 digits; times 10^18 it is a multiple of 2^128.
TEST_CASE("decimal: a whole number past 64 bits is none of them") {
  CHECK_FALSE(number("5192296858534827628530496329220096e18").to_integer().has_value());
  CHECK_FALSE(number("18446744073709551616").to_integer().has_value());
  CHECK_FALSE(number("9223372036854775808").to_integer().has_value());
  CHECK(number("9223372036854775807").to_integer() == INT64_MAX);
  CHECK(number("9e18").to_integer() == 9'000'000'000'000'000'000);
  CHECK_FALSE(number("1e19").to_integer().has_value());
}

TEST_CASE("decimal: roots are exact where there is an exact one") {
  const auto root = [](const char* of, bool& inexact) {
    inexact = false;
    return square_root(number(of), &inexact)->to_text();
  };
  bool inexact = false;
  for (const auto& [of, is] : {std::pair("4", "2"), {"2.25", "1.5"}, {"0.0004", "0.02"}, {"1e-10", "0.00001"}, {"1e20", "10000000000"}, {"0", "0"},
                               {"152415787532388367501905199875019052100", "12345678901234567890"}, {"1", "1"}}) {
    CAPTURE(std::string(of));
    if (!Decimal::parse(of)) continue;  // more digits than are held
    CHECK(root(of, inexact) == is);
    CHECK_FALSE(inexact);
  }
  CHECK(root("2", inexact) == "1.414213562373095048801688724209698");  // 1.41421356237309504880168872420969807856...
  CHECK(inexact);
  CHECK(root("3", inexact) == "1.732050807568877293527446341505872");  // 1.73205080756887729352744634150587236694...
  CHECK(inexact);
  CHECK_FALSE(square_root(number("-1")));
}

TEST_CASE("decimal: sums, products and order agree with exact fractions") {
  const unsigned seed = 4711;
  MESSAGE("seed " << seed);
  std::mt19937 random(seed);
  const auto some = [&] {
    return *Decimal::of(static_cast<std::int64_t>(random() % 2'000'001) - 1'000'000, static_cast<int>(random() % 9) - 5);
  };
  for (int round = 0; round < 5000; ++round) {
    const Decimal a = some();
    const Decimal b = some();
    CAPTURE(a.to_text());
    CAPTURE(b.to_text());
    REQUIRE(add(a, b)->to_fraction() == a.to_fraction() + b.to_fraction());
    REQUIRE(multiply(a, b)->to_fraction() == a.to_fraction() * b.to_fraction());
    REQUIRE((a <=> b) == (a.to_fraction() <=> b.to_fraction()));
    REQUIRE(*Decimal::parse(a.to_text()) == a);
    if (!b.is_zero()) REQUIRE(*divide(*multiply(a, b), b) == a);
  }
}

// Values of the functions to 20 digits and more: Abramowitz and Stegun, tables 4.2 and 4.4, as remembered.
TEST_CASE("decimal: roots, powers, exponentials and logarithms") {
  CHECK(*square_root(Decimal(4)) == Decimal(2));
  CHECK(*square_root(number("0.0625")) == number("0.25"));
  CHECK(square_root(Decimal(2))->to_text().starts_with("1.41421356237309504880168872420969"));
  CHECK(!square_root(Decimal(-1)).has_value());
  CHECK(exponential(Decimal(1))->to_text().starts_with("2.71828182845904523536028747135266"));
  CHECK(natural_logarithm(Decimal(10))->to_text().starts_with("2.3025850929940456840179914546843"));
  CHECK(*power(Decimal(2), Decimal(-2)) == number("0.25"));
  CHECK(*modulo(number("-10.1"), number("4.5")) == number("3.4"));
  CHECK(*modulo(Decimal(12), Decimal(-5)) == Decimal(-3));
}
