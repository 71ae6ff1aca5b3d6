#include <doctest/doctest.h>

#include <random>

#include "support/evaluated.h"
#include "value/fraction.h"

using namespace kitgap;

namespace {

std::string decimal(std::int64_t hundredths) {
  const std::string cents = std::to_string(hundredths % 100);
  return std::to_string(hundredths / 100) + "." + (cents.size() == 1 ? "0" : "") + cents;
}

}  // namespace

// Against the integer arithmetic of the processor.
TEST_CASE("numbers: the sum of 1,000 random receipts is that of whole hundredths") {
  constexpr unsigned kSeed = 20261125;
  std::mt19937 random(kSeed);
  INFO("seed ", kSeed);
  for (int receipt = 0; receipt < 1'000; ++receipt) {
    std::int64_t sum = 0;
    Fraction exact;
    std::string expression;
    const int entries = 1 + static_cast<int>(random() % 20);
    for (int entry = 0; entry < entries; ++entry) {
      const std::int64_t price = static_cast<std::int64_t>(random() % 100'000);
      const std::int64_t pieces = 1 + static_cast<std::int64_t>(random() % 60);
      sum += price * pieces;
      exact += *Fraction::parse(decimal(price)) * Fraction(pieces);
      expression += (entry == 0 ? "" : " + ") + decimal(price) + " * " + std::to_string(pieces);
    }
    REQUIRE(exact == Fraction(sum) / Fraction(100));
    std::string error;
    REQUIRE(test::evaluated("(" + expression + ") = " + decimal(sum), error) == "true");
  }
}

TEST_CASE("numbers: what a double loses is kept digit for digit or refused") {
  struct Case {
    const char* expression;
    const char* expected;
  };
  const Case cases[] = {
      {"9007199254740993", "9007199254740993"},  // 2^53 + 1: no double
      {"9007199254740993 - 9007199254740992", "1"},
      {"12345678901234567890", "12345678901234567890"},
      {"12345678901234567890.5 * 2", "24691357802469135781"},
      {"-0", "0"},
      {"0.1 + 0.2", "0.3"},
      {"1.005 * 1000", "1005"},
  };
  for (const Case& of : cases) {
    std::string error;
    CHECK_MESSAGE(test::evaluated(of.expression, error) == of.expected, of.expression);
  }
  for (const char* refused : {"NaN", "Infinity", "1e400 * 1e400 * 1e6200"}) {
    std::string error;
    const std::string value = test::evaluated(refused, error);
    CHECK_MESSAGE((value == "null" || !error.empty()), refused, " gave ", value);
  }
}
