#include "value/fraction.h"

#include <algorithm>
#include <utility>

#include "text/ascii.h"

namespace kitgap {
namespace {

using Wide = Fraction::Wide;
using UnsignedWide = unsigned __int128;

Wide checked_multiply(Wide a, Wide b) {
  Wide product = 0;
  if (__builtin_mul_overflow(a, b, &product)) throw FigureOverflow();
  return product;
}

Wide checked_add(Wide a, Wide b) {
  Wide sum = 0;
  if (__builtin_add_overflow(a, b, &sum)) throw FigureOverflow();
  return sum;
}

Wide checked_negate(Wide a) {
  Wide negated = 0;
  if (__builtin_sub_overflow(Wide{0}, a, &negated)) throw FigureOverflow();
  return negated;
}

UnsignedWide magnitude(Wide a) {
  return a < 0 ? ~static_cast<UnsignedWide>(a) + 1 : static_cast<UnsignedWide>(a);
}

Wide greatest_common_divisor(Wide a, Wide b) {
  UnsignedWide x = magnitude(a);
  UnsignedWide y = magnitude(b);
  if (x == 1 || y == 1) return 1;
  while (y != 0) x = std::exchange(y, x % y);
  return static_cast<Wide>(x);
}

std::string digits_of(UnsignedWide value) {
  if (const auto narrow = static_cast<std::uint64_t>(value); narrow == value) return std::to_string(narrow);
  std::string digits;
  do {
    digits.push_back(static_cast<char>('0' + static_cast<int>(value % 10)));
    value /= 10;
  } while (value != 0);
  std::reverse(digits.begin(), digits.end());
  return digits;
}

std::string text_of(Wide value) {
  return (value < 0 ? "-" : "") + digits_of(magnitude(value));
}

}  // namespace

Fraction Fraction::of(Wide numerator, Wide denominator) {
  if (denominator == 0) throw FigureOverflow();
  if (denominator < 0) {
    numerator = checked_negate(numerator);
    denominator = checked_negate(denominator);
  }
  const Wide divisor = greatest_common_divisor(numerator, denominator);
  return {numerator / divisor, denominator / divisor, 0};
}

std::optional<Fraction> Fraction::parse(std::string_view text) {
  std::size_t at = 0;
  const bool negative = at < text.size() && text[at] == '-';
  if (negative || (at < text.size() && text[at] == '+')) ++at;
  Wide coefficient = 0;
  std::int64_t exponent = 0;
  bool any_digit = false;
  bool after_point = false;
  for (; at < text.size(); ++at) {
    const char c = text[at];
    if (c == '.' && !after_point) {
      after_point = true;
    } else if (is_digit(c)) {
      any_digit = true;
      coefficient = checked_add(checked_multiply(coefficient, 10), c - '0');
      if (after_point) --exponent;
    } else {
      break;
    }
  }
  if (!any_digit || text.back() == '.') return std::nullopt;
  if (at < text.size() && (text[at] == 'e' || text[at] == 'E')) {
    ++at;
    const bool down = at < text.size() && text[at] == '-';
    if (down || (at < text.size() && text[at] == '+')) ++at;
    std::int64_t power = 0;
    const std::size_t first = at;
    for (; at < text.size() && text[at] >= '0' && text[at] <= '9'; ++at) {
      power = std::min<std::int64_t>(power * 10 + (text[at] - '0'), 1'000'000);
    }
    if (at == first) return std::nullopt;
    exponent += down ? -power : power;
  }
  if (at != text.size()) return std::nullopt;
  if (coefficient == 0) return Fraction(0);
  Wide scale = 1;
  for (std::int64_t step = exponent < 0 ? -exponent : exponent; step > 0; --step) {
    scale = checked_multiply(scale, 10);
  }
  const Wide signed_coefficient = negative ? -coefficient : coefficient;
  return exponent < 0 ? of(signed_coefficient, scale) : of(checked_multiply(signed_coefficient, scale), 1);
}

Fraction Fraction::floor() const {
  if (denominator_ == 1) return *this;
  const Wide quotient = numerator_ / denominator_;
  const bool above = numerator_ < 0 && numerator_ % denominator_ != 0;
  return {above ? quotient - 1 : quotient, 1, 0};
}

Fraction Fraction::ceil() const {
  if (denominator_ == 1) return *this;
  const Wide quotient = numerator_ / denominator_;
  const bool below = numerator_ > 0 && numerator_ % denominator_ != 0;
  return {below ? quotient + 1 : quotient, 1, 0};
}

std::optional<std::int64_t> Fraction::to_integer() const {
  const auto narrow = static_cast<std::int64_t>(numerator_);
  if (!is_whole() || narrow != numerator_) return std::nullopt;
  return narrow;
}

std::optional<std::string> Fraction::to_decimal() const {
  if (denominator_ == 1) return text_of(numerator_);
  int twos = 0;
  int fives = 0;
  Wide rest = denominator_;
  for (; rest % 2 == 0; rest /= 2) ++twos;
  for (; rest % 5 == 0; rest /= 5) ++fives;
  if (rest != 1) return std::nullopt;
  const int places = std::max(twos, fives);
  UnsignedWide remainder = magnitude(numerator_) % static_cast<UnsignedWide>(denominator_);
  std::string text = (numerator_ < 0 ? "-" : "") +
                     digits_of(magnitude(numerator_) / static_cast<UnsignedWide>(denominator_));
  if (places == 0) return text;
  if (static_cast<UnsignedWide>(denominator_) > ~UnsignedWide{0} / 10) return std::nullopt;
  text.push_back('.');
  for (int place = 0; place < places; ++place) {
    remainder *= 10;
    text.push_back(static_cast<char>('0' + static_cast<int>(remainder / static_cast<UnsignedWide>(denominator_))));
    remainder %= static_cast<UnsignedWide>(denominator_);
  }
  return text;
}

std::string Fraction::to_text() const {
  if (auto decimal = to_decimal()) return *decimal;
  return text_of(numerator_) + "/" + text_of(denominator_);
}

double Fraction::to_approximate() const {
  return static_cast<double>(numerator_) / static_cast<double>(denominator_);
}

Fraction Fraction::sum_of(const Fraction& a, const Fraction& b) {
  if (a.denominator_ == b.denominator_) return of(checked_add(a.numerator_, b.numerator_), a.denominator_);
  const Wide divisor = greatest_common_divisor(a.denominator_, b.denominator_);
  const Wide a_scale = b.denominator_ / divisor;
  const Wide b_scale = a.denominator_ / divisor;
  return of(checked_add(checked_multiply(a.numerator_, a_scale), checked_multiply(b.numerator_, b_scale)),
            checked_multiply(a.denominator_, a_scale));
}

Fraction Fraction::operator-() const { return {checked_negate(numerator_), denominator_, 0}; }

Fraction operator*(const Fraction& a, const Fraction& b) {
  if (a.denominator_ == 1 && b.denominator_ == 1) return {checked_multiply(a.numerator_, b.numerator_), 1, 0};
  // Crosswise reduction first, so that only a product which is itself too large overflows.
  const Wide left = std::max<Wide>(1, greatest_common_divisor(a.numerator_, b.denominator_));
  const Wide right = std::max<Wide>(1, greatest_common_divisor(b.numerator_, a.denominator_));
  return Fraction(checked_multiply(a.numerator_ / left, b.numerator_ / right),
                  checked_multiply(a.denominator_ / right, b.denominator_ / left), 0);
}

Fraction operator/(const Fraction& a, const Fraction& b) {
  if (b.is_zero()) throw FigureOverflow();
  return a * Fraction::of(b.denominator_, b.numerator_);
}

std::strong_ordering Fraction::order_of(const Fraction& a, const Fraction& b) {
  // Compare whole parts, then the reciprocals of what is left: no product can overflow.
  const Fraction a_floor = a.floor();
  const Fraction b_floor = b.floor();
  if (a_floor.numerator_ != b_floor.numerator_) return a_floor.numerator_ <=> b_floor.numerator_;
  const Wide a_rest = a.numerator_ - a_floor.numerator_ * a.denominator_;
  const Wide b_rest = b.numerator_ - b_floor.numerator_ * b.denominator_;
  if (a_rest == 0 || b_rest == 0) return a_rest <=> b_rest;
  return Fraction(b.denominator_, b_rest, 0) <=> Fraction(a.denominator_, a_rest, 0);
}

}  // namespace kitgap
