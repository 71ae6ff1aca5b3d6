#include <boost/multiprecision/cpp_bin_float.hpp>
#include <ios>
#include <string>

#include "value/decimal.h"

namespace kitgap {
namespace {

// What has no end in digits is worked out with nearly three times the digits that are kept, and rounded once. (Boost's decimal
// float would fill a table at every start of the program; its binary one does not.)
using Long = boost::multiprecision::number<boost::multiprecision::cpp_bin_float<100>, boost::multiprecision::et_off>;

Long long_of(const Decimal& value) { return Long(value.to_text()); }

std::optional<Decimal> kept_of(const Long& value) {
  constexpr int kShown = 80;  // digits after the first: a root may lie so near the middle between two that 70 decide
  constexpr int kTaken = 37;  // digits that the coefficient holds
  std::string text = value.str(kShown, std::ios_base::scientific);  // -d.ddde-dd
  const bool negative = text.front() == '-';
  const std::size_t e = text.find('e');
  const int exponent = std::stoi(text.substr(e + 1));
  std::string digits = text.substr(negative ? 1 : 0, e - (negative ? 1 : 0));
  digits.erase(1, 1);
  __int128 coefficient = 0;
  for (const char digit : digits.substr(0, kTaken)) coefficient = coefficient * 10 + (digit - '0');
  // What is cut off must not look like nothing where the last digit decides a rounding.
  const bool is_cut = digits.find_first_not_of('0', kTaken) != std::string::npos;
  if (is_cut && coefficient % 5 == 0) ++coefficient;
  return Decimal::of(negative ? -coefficient : coefficient, exponent - (kTaken - 1));
}

// e^x; nothing where it is too large to be held, and zero where too small.
std::optional<Decimal> exponential_of(const Long& x) {
  constexpr int kFar = 15'000;
  if (x > kFar) return std::nullopt;
  return x < -kFar ? std::optional(Decimal()) : kept_of(exp(x));
}

std::optional<Decimal> whole_power(Decimal base, std::uint64_t exponent, bool* inexact) {
  Decimal result(1);
  while (true) {
    if ((exponent & 1) != 0) {
      const auto product = multiply(result, base, inexact);
      if (!product) return std::nullopt;
      result = *product;
    }
    exponent >>= 1;
    if (exponent == 0) return result;
    const auto square = multiply(base, base, inexact);
    if (!square) return std::nullopt;
    base = *square;
  }
}

}  // namespace

std::optional<Decimal> power(const Decimal& base, const Decimal& exponent, bool* inexact) {
  if (exponent.is_zero()) return Decimal(1);
  if (base.is_zero()) return exponent.sign() > 0 ? std::optional(Decimal()) : std::nullopt;
  if (base.sign() < 0 && !exponent.is_whole()) return std::nullopt;
  if (const auto whole = exponent.to_integer()) {
    bool is_rounded = false;
    const auto result = whole_power(base, static_cast<std::uint64_t>(*whole < 0 ? -*whole : *whole), &is_rounded);
    if (result && !is_rounded) return *whole > 0 ? result : divide(Decimal(1), *result, inexact);
  }
  if (inexact != nullptr) *inexact = true;
  const auto size = exponential_of(log(long_of(base.magnitude())) * long_of(exponent));
  const bool is_odd = base.sign() < 0 && !modulo(exponent, Decimal(2))->is_zero();
  return size && is_odd ? -*size : size;
}

std::optional<Decimal> modulo(const Decimal& a, const Decimal& b) {
  if (b.is_zero()) return std::nullopt;
  try {
    const Fraction left = a.to_fraction();
    const Fraction right = b.to_fraction();
    return Decimal::of(left - right * (left / right).floor());
  } catch (const FigureOverflow&) {
    const auto quotient = divide(a, b);
    const auto whole = quotient ? quotient->rounded(0, RoundingMode::Floor) : std::nullopt;
    const auto product = whole ? multiply(b, *whole) : std::nullopt;
    return product ? subtract(a, *product) : std::nullopt;
  }
}

std::optional<Decimal> square_root(const Decimal& a, bool* inexact) {
  if (a.sign() < 0) return std::nullopt;
  if (a.is_zero()) return Decimal();
  const auto root = kept_of(sqrt(long_of(a)));
  bool is_rounded = false;
  const auto square = multiply(*root, *root, &is_rounded);
  if (inexact != nullptr && (is_rounded || square != a)) *inexact = true;
  return root;
}

std::optional<Decimal> exponential(const Decimal& a) { return exponential_of(long_of(a)); }

std::optional<Decimal> natural_logarithm(const Decimal& a) {
  if (a.sign() <= 0) return std::nullopt;
  return kept_of(log(long_of(a)));
}

}  // namespace kitgap
