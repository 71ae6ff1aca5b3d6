#include "match/exact_decimal.h"

#include <algorithm>

#include "text/ascii.h"

namespace kitgap {
namespace {

using boost::multiprecision::cpp_int;

cpp_int power_of_ten(unsigned exponent) { return boost::multiprecision::pow(cpp_int(10), exponent); }

}  // namespace

std::optional<ExactDecimal> ExactDecimal::parse(std::string_view text, std::size_t digits) {
  if (text.size() > 2 * digits + 16) return std::nullopt;
  std::string figures;
  std::size_t at = !text.empty() && text[0] == '+' ? 1 : 0;
  long places = 0;
  bool after_point = false;
  for (; at < text.size() && (is_digit(text[at]) || (text[at] == '.' && !after_point)); ++at) {
    if (text[at] == '.') {
      after_point = true;
      continue;
    }
    figures.push_back(text[at]);
    if (after_point) ++places;
  }
  if (figures.empty() || text[at - 1] == '.') return std::nullopt;
  if (at < text.size() && (text[at] == 'e' || text[at] == 'E')) {
    const bool down = ++at < text.size() && text[at] == '-';
    if (at < text.size() && (text[at] == '-' || text[at] == '+')) ++at;
    if (at == text.size() || text.size() - at > 6) return std::nullopt;
    long exponent = 0;
    for (; at < text.size() && is_digit(text[at]); ++at) exponent = exponent * 10 + (text[at] - '0');
    places += down ? exponent : -exponent;
  }
  if (at != text.size()) return std::nullopt;
  figures.erase(0, std::min(figures.find_first_not_of('0'), figures.size()));
  while (places > 0 && !figures.empty() && figures.back() == '0') {
    figures.pop_back();
    --places;
  }
  if (figures.empty()) return ExactDecimal{};
  const auto limit = static_cast<long>(digits);
  if (places > limit || static_cast<long>(figures.size()) - places > limit) return std::nullopt;
  ExactDecimal result{cpp_int(figures), static_cast<unsigned>(std::max(places, 0L))};
  if (places < 0) result.coefficient *= power_of_ten(static_cast<unsigned>(-places));
  return result;
}

void ExactDecimal::add_product(const ExactDecimal& a, const ExactDecimal& b) {
  cpp_int product = a.coefficient * b.coefficient;
  const unsigned product_places = a.places + b.places;
  if (product_places < places) product *= power_of_ten(places - product_places);
  if (product_places > places) {
    coefficient *= power_of_ten(product_places - places);
    places = product_places;
  }
  coefficient += product;
}

std::size_t ExactDecimal::digits() const {
  if (coefficient == 0) return 1;
  const auto bits = static_cast<std::size_t>(boost::multiprecision::msb(coefficient)) + 1;
  return std::max<std::size_t>(bits * 30103 / 100000 + 1, places);
}

std::string ExactDecimal::to_text() const {
  std::string text = coefficient.str();
  if (places == 0) return text;
  if (text.size() <= places) text.insert(0, places + 1 - text.size(), '0');
  text.insert(text.size() - places, 1, '.');
  while (text.back() == '0') text.pop_back();
  if (text.back() == '.') text.pop_back();
  return text;
}

}  // namespace kitgap
