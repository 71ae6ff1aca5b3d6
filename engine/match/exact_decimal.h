#pragma once

#include <boost/multiprecision/cpp_int.hpp>
#include <optional>
#include <string>
#include <string_view>

namespace kitgap {

// A decimal of any length that is not negative: coefficient / 10^places. Heavy to include; for .cpp files only.
struct ExactDecimal {
  boost::multiprecision::cpp_int coefficient = 0;
  unsigned places = 0;

  // Reads `12`, `0.5`, `1e3`: digit for digit. `digits` bounds both sides of the point.
  static std::optional<ExactDecimal> parse(std::string_view text, std::size_t digits);
  bool is_zero() const { return coefficient == 0; }
  void add_product(const ExactDecimal& a, const ExactDecimal& b);
  // At least as many digits as the figure has, at most 2 more.
  std::size_t digits() const;
  std::string to_text() const;  // no exponent, no zeros after the last digit that counts
};

}  // namespace kitgap
