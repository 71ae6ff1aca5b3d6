#pragma once

#include <algorithm>
#include <compare>
#include <cstdint>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>

namespace kitgap {

// A figure left the range that is held exactly. The reader of a pack turns it into a diagnostic that names
// the cell; nothing is ever rounded to avoid it.
struct FigureOverflow : std::overflow_error {
  FigureOverflow() : std::overflow_error("a figure is too large to be held exactly") {}
};

// An exact fraction: a quantity, a length, a price. Always in lowest terms, denominator above zero.
// Numerator and denominator each hold 127 bits; what does not fit throws FigureOverflow.
class Fraction {
 public:
  using Wide = __int128;

  constexpr Fraction() = default;
  constexpr Fraction(std::int64_t whole) : numerator_(whole) {}  // NOLINT: a whole number is a fraction
  // Throws FigureOverflow when `denominator` is zero.
  static Fraction of(Wide numerator, Wide denominator);
  // Reads `12`, `-0.5`, `1e3`, `.25`: digit for digit. Nothing else; no blanks, no grouping.
  static std::optional<Fraction> parse(std::string_view text);

  constexpr Wide numerator() const { return numerator_; }
  constexpr Wide denominator() const { return denominator_; }
  constexpr bool is_whole() const { return denominator_ == 1; }
  constexpr bool is_zero() const { return numerator_ == 0; }
  constexpr int sign() const { return numerator_ < 0 ? -1 : numerator_ > 0 ? 1 : 0; }

  Fraction floor() const;  // toward minus infinity
  Fraction ceil() const;   // toward plus infinity
  // The whole number, when it is one and fits.
  std::optional<std::int64_t> to_integer() const;
  // Digits without exponent (`12`, `0.125`); nothing when no finite decimal is exact (1/3).
  std::optional<std::string> to_decimal() const;
  // As `to_decimal`, else `1/3`: for reasons and messages.
  std::string to_text() const;
  // For pictures and statistics only; never on the path of a quantity or a price.
  double to_approximate() const;

  // Nearly all figures are whole: those are reckoned where they stand.
  friend Fraction operator+(const Fraction& a, const Fraction& b) {
    Wide sum = 0;
    if (a.denominator_ == 1 && b.denominator_ == 1 && !__builtin_add_overflow(a.numerator_, b.numerator_, &sum)) return {sum, 1, 0};
    return sum_of(a, b);
  }
  friend Fraction operator-(const Fraction& a, const Fraction& b) {
    Wide difference = 0;
    if (a.denominator_ == 1 && b.denominator_ == 1 && !__builtin_sub_overflow(a.numerator_, b.numerator_, &difference)) return {difference, 1, 0};
    return sum_of(a, -b);
  }
  friend Fraction operator*(const Fraction& a, const Fraction& b);
  friend Fraction operator/(const Fraction& a, const Fraction& b);  // b is not zero, else FigureOverflow
  Fraction operator-() const;
  Fraction& operator+=(const Fraction& b) { return *this = *this + b; }
  Fraction& operator-=(const Fraction& b) { return *this = *this - b; }
  Fraction& operator*=(const Fraction& b) { return *this = *this * b; }

  friend constexpr bool operator==(const Fraction&, const Fraction&) = default;
  friend std::strong_ordering operator<=>(const Fraction& a, const Fraction& b) {
    return a.denominator_ == b.denominator_ ? a.numerator_ <=> b.numerator_ : order_of(a, b);
  }

 private:
  static Fraction sum_of(const Fraction& a, const Fraction& b);
  static std::strong_ordering order_of(const Fraction& a, const Fraction& b);
  constexpr Fraction(Wide numerator, Wide denominator, int) : numerator_(numerator), denominator_(denominator) {}
  Wide numerator_ = 0;
  Wide denominator_ = 1;
};

inline std::size_t hash_of(const Fraction& fraction) {
  return static_cast<std::size_t>(fraction.numerator()) * 0x9e3779b97f4a7c15U + static_cast<std::size_t>(fraction.denominator());
}

// lo..hi, both ends reachable.
struct Range {
  Fraction lo;
  Fraction hi;
  bool is_exact_value() const { return lo == hi; }
  // Takes in one more value; the first stands alone.
  void widen(const Fraction& value, bool is_first) {
    lo = is_first ? value : std::min(lo, value);
    hi = is_first ? value : std::max(hi, value);
  }
  friend bool operator==(const Range&, const Range&) = default;
};

}  // namespace kitgap
