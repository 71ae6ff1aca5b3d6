#include "value/decimal.h"

#include <algorithm>

namespace kitgap {
namespace {

// e^x for |x| <= 1 by the series of the exponential function.
Decimal small_exponential(const Decimal& x) {
  Decimal total(1);
  Decimal term(1);
  for (int n = 1; n < 60; ++n) {
    const auto product = multiply(term, x);
    const auto next = product ? divide(*product, Decimal(n)) : std::nullopt;
    if (!next || next->is_zero()) break;
    term = *next;
    const Decimal before = total;
    total = *add(total, term);
    if (total == before) break;
  }
  return total;
}

const Decimal& euler_number() {
  static const Decimal kValue = *Decimal::parse("2.718281828459045235360287471352662");
  return kValue;
}

const Decimal& logarithm_of_ten() {
  static const Decimal kValue = *Decimal::parse("2.302585092994045684017991454684364");
  return kValue;
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
  if (const auto whole = exponent.to_integer()) {
    const auto magnitude = static_cast<std::uint64_t>(*whole < 0 ? -*whole : *whole);
    if (*whole > 0) return whole_power(base, magnitude, inexact);
    const auto result = whole_power(base, magnitude, inexact);
    return result ? divide(Decimal(1), *result, inexact) : std::nullopt;
  }
  if (base.sign() < 0) return std::nullopt;
  if (inexact != nullptr) *inexact = true;
  const auto logarithm = natural_logarithm(base);
  const auto product = logarithm ? multiply(*logarithm, exponent) : std::nullopt;
  return product ? exponential(*product) : std::nullopt;
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
  // Newton's iteration from above 1; it doubles the right digits each time once it is near.
  Decimal guess = a > Decimal(1) ? a : Decimal(1);
  for (int step = 0; step < 40 && guess > Decimal(100); ++step) {
    const auto halved = Decimal::parse("1e" + std::to_string(std::max<std::size_t>(guess.to_text().size() / 2, 1)));
    if (!halved || *halved >= guess) break;
    guess = *halved;
    break;
  }
  for (int step = 0; step < 11'000; ++step) {
    const auto quotient = divide(a, guess);
    const auto total = quotient ? add(guess, *quotient) : std::nullopt;
    const auto next = total ? divide(*total, Decimal(2)) : std::nullopt;
    if (!next) return std::nullopt;
    const Decimal before = guess;
    guess = *next;
    const auto change = subtract(before, guess);
    if (change->is_zero()) break;
    const auto size = divide(change->magnitude(), guess);
    if (size && *size < *Decimal::parse("1e-33")) break;
  }
  bool lost = false;
  const auto square = multiply(guess, guess, &lost);
  if (square && *square == a && !lost) return guess;
  // A root with few digits comes out exactly when the last digit of the iteration is rounded away.
  const auto text = guess.to_text();
  const auto point = text.find('.');
  const auto whole = static_cast<std::int64_t>(point == std::string::npos ? text.size() : point);
  const auto near = guess.rounded(32 - whole, RoundingMode::HalfEven);
  bool near_lost = false;
  const auto near_square = near ? multiply(*near, *near, &near_lost) : std::nullopt;
  if (near_square && *near_square == a && !near_lost) return near;
  if (inexact != nullptr) *inexact = true;
  return guess;
}

std::optional<Decimal> exponential(const Decimal& a) {
  const auto whole = a.to_integer_toward_zero();
  if (!whole || *whole > 15'000 || *whole < -15'000) return a.sign() < 0 ? std::optional(Decimal()) : std::nullopt;
  const auto rest = subtract(a, Decimal(*whole));
  const auto base = power(euler_number(), Decimal(*whole));
  return base ? multiply(*base, small_exponential(*rest)) : std::nullopt;
}

std::optional<Decimal> natural_logarithm(const Decimal& a) {
  if (a.sign() <= 0) return std::nullopt;
  // a = m * 10^k with m near 1; ln m = 2 atanh((m - 1) / (m + 1)).
  std::int64_t tens = 0;
  Decimal mantissa = a;
  while (mantissa > Decimal(3)) {
    mantissa = *divide(mantissa, Decimal(10));
    ++tens;
  }
  while (mantissa < *Decimal::parse("0.3")) {
    mantissa = *multiply(mantissa, Decimal(10));
    --tens;
  }
  const Decimal ratio = *divide(*subtract(mantissa, Decimal(1)), *add(mantissa, Decimal(1)));
  const Decimal square = *multiply(ratio, ratio);
  Decimal term = ratio;
  Decimal total = ratio;
  for (int n = 3; n < 400; n += 2) {
    const auto next = multiply(term, square);
    if (!next || next->is_zero()) break;
    term = *next;
    const Decimal before = total;
    total = *add(total, *divide(term, Decimal(n)));
    if (total == before) break;
  }
  const auto twice = multiply(total, Decimal(2));
  const auto scale = multiply(logarithm_of_ten(), Decimal(tens));
  return add(*twice, *scale);
}

}  // namespace kitgap
