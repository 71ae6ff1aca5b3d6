#include "value/decimal.h"

#include <algorithm>
#include <array>

namespace kitgap {

// 256 bits without sign: the product of two coefficients, or one of them moved up by 35 digits.
struct Decimal::Wide {
  Coefficient high = 0;
  Coefficient low = 0;
  bool is_zero() const { return high == 0 && low == 0; }
  friend auto operator<=>(const Wide&, const Wide&) = default;
};

namespace {

using Coefficient = Decimal::Coefficient;

constexpr auto kPowers = [] {
  std::array<Coefficient, 39> powers{};
  powers[0] = 1;
  for (std::size_t n = 1; n < powers.size(); ++n) powers[n] = powers[n - 1] * 10;
  return powers;
}();

Coefficient power_of_ten(int exponent) { return kPowers[static_cast<std::size_t>(exponent)]; }

int digits_of(Coefficient value) {
  const auto place = std::upper_bound(kPowers.begin(), kPowers.end(), value);
  return static_cast<int>(place - kPowers.begin());
}

template <class Wide>
Wide product(Coefficient a, Coefficient b) {
  constexpr Coefficient kLow = ~std::uint64_t{0};
  const Coefficient a_low = a & kLow, a_high = a >> 64, b_low = b & kLow, b_high = b >> 64;
  const Coefficient low = a_low * b_low;
  const Coefficient middle = a_high * b_low + (low >> 64);
  const Coefficient carried = a_low * b_high + (middle & kLow);
  return {a_high * b_high + (middle >> 64) + (carried >> 64), (carried << 64) | (low & kLow)};
}

template <class Wide>
Wide sum(const Wide& a, const Wide& b) {
  const Coefficient low = a.low + b.low;
  return {a.high + b.high + (low < a.low ? 1 : 0), low};
}

template <class Wide>
Wide difference(const Wide& a, const Wide& b) {
  return {a.high - b.high - (a.low < b.low ? 1 : 0), a.low - b.low};
}

// Divides in place by a divisor below 2^64 and returns the remainder.
template <class Wide>
std::uint64_t divide_small(Wide& value, std::uint64_t divisor) {
  std::array<std::uint64_t, 4> limbs{
      static_cast<std::uint64_t>(value.high >> 64), static_cast<std::uint64_t>(value.high),
      static_cast<std::uint64_t>(value.low >> 64), static_cast<std::uint64_t>(value.low)};
  Coefficient remainder = 0;
  for (std::uint64_t& limb : limbs) {
    const Coefficient part = (remainder << 64) | limb;
    limb = static_cast<std::uint64_t>(part / divisor);
    remainder = part % divisor;
  }
  value.high = (static_cast<Coefficient>(limbs[0]) << 64) | limbs[1];
  value.low = (static_cast<Coefficient>(limbs[2]) << 64) | limbs[3];
  return static_cast<std::uint64_t>(remainder);
}

bool rounds_away(RoundingMode mode, bool negative, bool is_odd, int against_half, bool any) {
  switch (mode) {
    case RoundingMode::HalfEven: return against_half > 0 || (against_half == 0 && is_odd);
    case RoundingMode::HalfUp: return against_half >= 0;
    case RoundingMode::HalfDown: return against_half > 0;
    case RoundingMode::Up: return any;
    case RoundingMode::Down: return false;
    case RoundingMode::Floor: return any && negative;
    case RoundingMode::Ceiling: return any && !negative;
  }
  return false;
}

// value / 10^count, rounded; `lost` says whether anything was cut off.
template <class Wide>
Wide shifted_down(Wide value, int count, bool negative, RoundingMode mode, bool sticky, bool& lost) {
  bool rest = sticky;
  int last = 0;
  for (int step = 0; step < count; ++step) {
    rest = rest || last != 0;
    last = static_cast<int>(divide_small(value, 10));
  }
  lost = rest || last != 0;
  const int against_half = last != 5 || !rest ? (last > 5) - (last < 5) : 1;
  if (count == 0 ? false : rounds_away(mode, negative, (value.low & 1) != 0, against_half, lost)) {
    value = sum(value, Wide{0, 1});
  }
  return value;
}

}  // namespace

std::optional<Decimal> Decimal::normalised(bool negative, Wide coefficient, std::int64_t exponent, bool sticky,
                                           bool* inexact) {
  int surplus = 0;
  const Wide limit{0, power_of_ten(kDigits)};
  for (Wide rest = coefficient; rest >= limit; ++surplus) divide_small(rest, 10);
  if (exponent + surplus < kMinExponent) surplus = static_cast<int>(std::min<std::int64_t>(kMinExponent - exponent, 80));
  bool lost = false;
  if (surplus == 0 && sticky) lost = true;
  if (surplus > 0) coefficient = shifted_down(coefficient, surplus, negative, RoundingMode::HalfEven, sticky, lost);
  if (lost && inexact != nullptr) *inexact = true;
  exponent += surplus;
  Decimal result;
  result.coefficient_ = coefficient.low;
  if (result.coefficient_ == 0) return result;
  while (result.coefficient_ % 10 == 0) {
    result.coefficient_ /= 10;
    ++exponent;
  }
  if (exponent > kMaxExponent + kDigits - digits_of(result.coefficient_)) return std::nullopt;
  result.exponent_ = static_cast<std::int32_t>(exponent);
  result.negative_ = negative;
  return result;
}

std::optional<Decimal> Decimal::of(__int128 coefficient, int exponent) {
  const bool negative = coefficient < 0;
  const auto value = static_cast<Coefficient>(coefficient);
  return normalised(negative, Wide{0, negative ? ~value + 1 : value}, exponent, false, nullptr);
}

std::optional<Decimal> Decimal::parse(std::string_view text) {
  std::size_t at = 0;
  const bool negative = at < text.size() && text[at] == '-';
  if (negative || (at < text.size() && text[at] == '+')) ++at;
  Coefficient coefficient = 0;
  std::int64_t exponent = 0;
  bool any_digit = false, after_point = false;
  std::int64_t zeros = 0;  // held back: a trailing zero costs no digit
  const auto take = [&](int digit) {
    any_digit = true;
    if (after_point) --exponent;
    if (digit == 0) {
      if (coefficient != 0) ++zeros;
      return true;
    }
    for (; zeros > 0; --zeros) {
      if (coefficient >= power_of_ten(kDigits - 1)) return false;
      coefficient *= 10;
    }
    if (coefficient >= power_of_ten(kDigits - 1)) return false;
    coefficient = coefficient * 10 + static_cast<Coefficient>(digit);
    return true;
  };
  for (; at < text.size(); ++at) {
    if (text[at] == '.' && !after_point) {
      after_point = true;
    } else if (text[at] >= '0' && text[at] <= '9') {
      if (!take(text[at] - '0')) return std::nullopt;
    } else {
      break;
    }
  }
  if (!any_digit || text[at - 1] == '.') return std::nullopt;
  if (at < text.size() && (text[at] == 'e' || text[at] == 'E')) {
    ++at;
    const bool down = at < text.size() && text[at] == '-';
    if (down || (at < text.size() && text[at] == '+')) ++at;
    const std::size_t first = at;
    std::int64_t places = 0;
    for (; at < text.size() && text[at] >= '0' && text[at] <= '9'; ++at) {
      places = std::min<std::int64_t>(places * 10 + (text[at] - '0'), 1'000'000);
    }
    if (at == first) return std::nullopt;
    exponent += down ? -places : places;
  }
  if (at != text.size()) return std::nullopt;
  bool inexact = false;
  auto result = normalised(negative, Wide{0, coefficient}, exponent + zeros, false, &inexact);
  return inexact ? std::nullopt : result;
}

std::optional<Decimal> Decimal::of(const Fraction& fraction, bool* inexact) {
  const auto magnitude_of = [](Fraction::Wide value) {
    return value < 0 ? ~static_cast<Coefficient>(value) + 1 : static_cast<Coefficient>(value);
  };
  const auto top = normalised(fraction.sign() < 0, Wide{0, magnitude_of(fraction.numerator())}, 0, false, inexact);
  if (fraction.is_whole() || !top) return top;
  const auto bottom = normalised(false, Wide{0, magnitude_of(fraction.denominator())}, 0, false, inexact);
  return bottom ? divide(*top, *bottom, inexact) : std::nullopt;
}

std::optional<std::int64_t> Decimal::to_integer() const {
  return is_whole() ? to_integer_toward_zero() : std::nullopt;
}

std::optional<std::int64_t> Decimal::to_integer_toward_zero() const {
  if (exponent_ < -kDigits) return 0;
  Coefficient value = coefficient_;
  if (exponent_ < 0) value /= power_of_ten(-exponent_);
  if (exponent_ > 0) {
    if (exponent_ > 18 || digits_of(value) + exponent_ > 19) return std::nullopt;
    value *= power_of_ten(exponent_);
  }
  if (value > static_cast<Coefficient>(INT64_MAX)) return std::nullopt;
  const auto whole = static_cast<std::int64_t>(value);
  return negative_ ? -whole : whole;
}

Fraction Decimal::to_fraction() const {
  if (coefficient_ == 0) return Fraction(0);
  if (exponent_ > 38 || exponent_ < -38) throw FigureOverflow();
  const auto value = static_cast<Fraction::Wide>(coefficient_);
  const Fraction whole = Fraction::of(negative_ ? -value : value, 1);
  if (exponent_ == 0) return whole;
  const auto scale_value = power_of_ten(exponent_ < 0 ? -exponent_ : exponent_);
  if (scale_value > static_cast<Coefficient>(~Coefficient{0} >> 1)) throw FigureOverflow();
  const Fraction scale = Fraction::of(static_cast<Fraction::Wide>(scale_value), 1);
  return exponent_ < 0 ? whole / scale : whole * scale;
}

std::string Decimal::to_text() const {
  if (coefficient_ == 0) return "0";
  std::string digits;
  for (Coefficient rest = coefficient_; rest != 0; rest /= 10) {
    digits.push_back(static_cast<char>('0' + static_cast<int>(rest % 10)));
  }
  std::reverse(digits.begin(), digits.end());
  const std::string sign = negative_ ? "-" : "";
  const auto count = static_cast<int>(digits.size());
  if (exponent_ >= 0 && count + exponent_ <= 60) return sign + digits + std::string(static_cast<std::size_t>(exponent_), '0');
  if (exponent_ < 0 && exponent_ >= -60) {
    if (-exponent_ < count) digits.insert(static_cast<std::size_t>(count + exponent_), ".");
    else digits = "0." + std::string(static_cast<std::size_t>(-exponent_ - count), '0') + digits;
    return sign + digits;
  }
  const int power = exponent_ + count - 1;
  if (count > 1) digits.insert(1, ".");
  return sign + digits + "e" + std::to_string(power);
}

std::optional<Decimal> Decimal::rounded(std::int64_t places, RoundingMode mode) const {
  if (-exponent_ <= places) return *this;
  const std::int64_t surplus = -exponent_ - places;
  const int count = static_cast<int>(std::min<std::int64_t>(surplus, 80));
  bool lost = false;
  const Wide kept = shifted_down(Wide{0, coefficient_}, count, negative_, mode, false, lost);
  return normalised(negative_, kept, -places, false, nullptr);
}

Decimal Decimal::operator-() const {
  Decimal result = *this;
  result.negative_ = coefficient_ != 0 && !negative_;
  return result;
}

Decimal Decimal::magnitude() const { return negative_ ? -*this : *this; }

std::optional<Decimal> add(const Decimal& a, const Decimal& b, bool* inexact) {
  if (a.is_zero()) return b;
  if (b.is_zero()) return a;
  const Decimal& upper = a.exponent_ >= b.exponent_ ? a : b;
  const Decimal& lower = a.exponent_ >= b.exponent_ ? b : a;
  // `upper` is moved up until both have one exponent; past 40 digits `lower` only says on which side the rest lies.
  const int distance = upper.exponent_ - lower.exponent_;
  const int moved = std::min(distance, 40);
  auto left = product<Decimal::Wide>(upper.coefficient_, power_of_ten(std::min(moved, 38)));
  if (moved > 38) {
    const auto once = left;
    const std::uint64_t factor = moved == 39 ? 10 : 100;
    for (std::uint64_t step = 1; step < factor; ++step) left = sum(left, once);
  }
  Decimal::Wide right{0, lower.coefficient_};
  bool sticky = false;
  if (distance > moved) {
    const int gone = std::min(distance - moved, 80);
    for (int step = 0; step < gone; ++step) sticky = divide_small(right, 10) != 0 || sticky;
  }
  const std::int64_t exponent = upper.exponent_ - moved;
  if (upper.negative_ == lower.negative_) {
    return Decimal::normalised(upper.negative_, sum(left, right), exponent, sticky, inexact);
  }
  if (left == right && !sticky) return Decimal();
  const bool upper_wins = left >= right;
  auto rest = upper_wins ? difference(left, right) : difference(right, left);
  if (sticky && upper_wins) rest = difference(rest, Decimal::Wide{0, 1});
  return Decimal::normalised(upper_wins ? upper.negative_ : lower.negative_, rest, exponent, sticky, inexact);
}

std::optional<Decimal> subtract(const Decimal& a, const Decimal& b, bool* inexact) { return add(a, -b, inexact); }

std::optional<Decimal> multiply(const Decimal& a, const Decimal& b, bool* inexact) {
  return Decimal::normalised(a.negative_ != b.negative_, product<Decimal::Wide>(a.coefficient_, b.coefficient_),
                             std::int64_t{a.exponent_} + b.exponent_, false, inexact);
}

std::optional<Decimal> divide(const Decimal& a, const Decimal& b, bool* inexact) {
  if (b.is_zero()) return std::nullopt;
  if (a.is_zero()) return Decimal();
  // One decimal digit at a time until the quotient has a digit more than is kept; the rest is only "something".
  Coefficient quotient = a.coefficient_ / b.coefficient_;
  Coefficient remainder = a.coefficient_ % b.coefficient_;
  std::int64_t exponent = std::int64_t{a.exponent_} - b.exponent_;
  while (remainder != 0 && quotient < power_of_ten(Decimal::kDigits)) {
    remainder *= 10;
    quotient = quotient * 10 + remainder / b.coefficient_;
    remainder %= b.coefficient_;
    --exponent;
  }
  return Decimal::normalised(a.negative_ != b.negative_, {0, quotient}, exponent, remainder != 0, inexact);
}

std::strong_ordering operator<=>(const Decimal& a, const Decimal& b) {
  if (a.sign() != b.sign()) return a.sign() <=> b.sign();
  if (a.is_zero()) return std::strong_ordering::equal;
  const bool negative = a.negative_;
  const int a_top = digits_of(a.coefficient_) + a.exponent_;
  const int b_top = digits_of(b.coefficient_) + b.exponent_;
  if (a_top != b_top) return negative ? b_top <=> a_top : a_top <=> b_top;
  // Same leading place: the exponents differ by 33 at most, so both fit when aligned.
  const int low = std::min(a.exponent_, b.exponent_);
  const Coefficient left = a.coefficient_ * power_of_ten(a.exponent_ - low);
  const Coefficient right = b.coefficient_ * power_of_ten(b.exponent_ - low);
  return negative ? right <=> left : left <=> right;
}

}  // namespace kitgap
