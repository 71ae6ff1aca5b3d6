#pragma once

#include <compare>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "value/fraction.h"

namespace kitgap {

enum class RoundingMode : std::uint8_t { HalfEven, HalfUp, HalfDown, Up, Down, Floor, Ceiling };

// The number of the expression language: decimal128 of IEEE 754-2008 (34 digits, half-even), as OMG DMN 10.3.2.3.1
// asks for, without infinities and NaN: an operation that has no such result gives nothing. Never a double.
// Value = coefficient * 10^exponent; the coefficient has at most 34 digits and no trailing zeros, so that equal
// numbers have equal parts.
class Decimal {
 public:
  using Coefficient = unsigned __int128;
  static constexpr int kDigits = 34;
  static constexpr int kMaxExponent = 6111;  // of the last digit
  static constexpr int kMinExponent = -6176;

  constexpr Decimal() = default;
  constexpr Decimal(std::int64_t whole);  // NOLINT: a whole number is a decimal
  // Digit for digit: `12`, `-0.5`, `1e400`, `.25`. Nothing for other text and for what 34 digits do not hold.
  static std::optional<Decimal> parse(std::string_view text);
  // Rounded half-even to 34 digits; `inexact` is set when a digit was lost, never cleared.
  static std::optional<Decimal> of(const Fraction& fraction, bool* inexact = nullptr);
  static std::optional<Decimal> of(__int128 coefficient, int exponent);

  constexpr bool is_zero() const { return coefficient_ == 0; }
  constexpr int sign() const { return coefficient_ == 0 ? 0 : negative_ ? -1 : 1; }
  bool is_whole() const { return exponent_ >= 0; }
  std::optional<std::int64_t> to_integer() const;          // when whole and in range
  std::optional<std::int64_t> to_integer_toward_zero() const;  // the fraction cut off
  // Throws FigureOverflow when 127 bits do not hold it.
  Fraction to_fraction() const;
  // Digits, without exponent where at most 60 are needed: `0.125`, `1e400`. Also valid JSON.
  std::string to_text() const;
  // `places` digits after the point (before it when negative).
  std::optional<Decimal> rounded(std::int64_t places, RoundingMode mode) const;

  Decimal operator-() const;
  Decimal magnitude() const;
  friend std::optional<Decimal> add(const Decimal& a, const Decimal& b, bool* inexact);
  friend std::optional<Decimal> multiply(const Decimal& a, const Decimal& b, bool* inexact);
  friend std::optional<Decimal> divide(const Decimal& a, const Decimal& b, bool* inexact);  // nothing by zero
  friend std::strong_ordering operator<=>(const Decimal& a, const Decimal& b);
  friend constexpr bool operator==(const Decimal& a, const Decimal& b) = default;

 private:
  struct Wide;
  static std::optional<Decimal> normalised(bool negative, Wide coefficient, std::int64_t exponent, bool sticky,
                                           bool* inexact);
  Coefficient coefficient_ = 0;
  std::int32_t exponent_ = 0;
  bool negative_ = false;
};

std::optional<Decimal> subtract(const Decimal& a, const Decimal& b, bool* inexact = nullptr);
// Nothing where it is not a real number. This and what follows is right to the last digit that is kept: worked out with 100
// digits and rounded once, half-even.
std::optional<Decimal> power(const Decimal& base, const Decimal& exponent, bool* inexact = nullptr);
// `a - b * floor(a / b)`, worked out exactly: the sign is that of `b` (OMG DMN 10.3.4.5).
std::optional<Decimal> modulo(const Decimal& a, const Decimal& b);
std::optional<Decimal> square_root(const Decimal& a, bool* inexact = nullptr);
std::optional<Decimal> exponential(const Decimal& a);
std::optional<Decimal> natural_logarithm(const Decimal& a);

constexpr Decimal::Decimal(std::int64_t whole) : negative_(whole < 0) {
  coefficient_ = whole < 0 ? static_cast<Coefficient>(-(whole + 1)) + 1 : static_cast<Coefficient>(whole);
  if (coefficient_ == 0) return;
  while (coefficient_ % 10 == 0) {
    coefficient_ /= 10;
    ++exponent_;
  }
}

std::optional<Decimal> add(const Decimal& a, const Decimal& b, bool* inexact = nullptr);
std::optional<Decimal> multiply(const Decimal& a, const Decimal& b, bool* inexact = nullptr);
std::optional<Decimal> divide(const Decimal& a, const Decimal& b, bool* inexact = nullptr);

}  // namespace kitgap
