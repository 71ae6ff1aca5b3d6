#include <algorithm>
#include <array>
#include <charconv>
#include <chrono>
#include <cmath>

#include "text/ascii.h"
#include "text/utf8.h"
#include "text/xlsx_parts.h"

namespace kitgap {
namespace {

constexpr int kMostDigits = 15;  // a spreadsheet holds and shows no more

// `1.5E+3` written out, as long as it stays readable.
std::string without_exponent(std::string_view digits) {
  const std::size_t mark = digits.find_first_of("eE");
  if (mark == std::string_view::npos) return std::string(digits);
  int power = 0;
  std::string_view exponent = digits.substr(mark + 1);
  if (exponent.starts_with('+')) exponent.remove_prefix(1);
  std::from_chars(exponent.data(), exponent.data() + exponent.size(), power);
  if (power > 20 || power < -20) return std::string(digits);
  std::string whole(digits.substr(0, mark));
  const bool minus = whole.starts_with('-');
  if (minus) whole.erase(0, 1);
  std::size_t point = std::min(whole.find('.'), whole.size());
  if (point < whole.size()) whole.erase(point, 1);
  int place = static_cast<int>(point) + power;
  if (place <= 0) whole.insert(0, static_cast<std::size_t>(1 - place), '0'), place = 1;
  if (static_cast<std::size_t>(place) > whole.size())
    whole.append(static_cast<std::size_t>(place) - whole.size(), '0');
  if (static_cast<std::size_t>(place) < whole.size()) whole.insert(static_cast<std::size_t>(place), ".");
  return (minus ? "-" : "") + whole;
}

std::optional<double> stored_number(std::string_view stored) {
  double value = 0;
  const auto [end, error] = std::from_chars(stored.data(), stored.data() + stored.size(), value);
  if (error != std::errc() || end != stored.data() + stored.size() || !std::isfinite(value))
    return std::nullopt;
  return value;
}

}  // namespace

// Sections in brackets, text in quotes and escaped signs say nothing about days (ECMA-376 part 1, 18.8.31).
NumberStyle style_of_format(std::string_view code) {
  NumberStyle style;
  std::string plain;
  for (std::size_t at = 0; at < code.size(); ++at) {
    if (code[at] == '"')
      at = std::min(code.find('"', at + 1), code.size());
    else if (code[at] == '\\' || code[at] == '_' || code[at] == '*')
      ++at;
    else if (code[at] == '[') {
      const std::size_t close = std::min(code.find(']', at), code.size());
      const std::string_view inside = code.substr(at + 1, close - at - 1);
      if (!inside.empty() && inside.find_first_not_of("hHmMsS") == std::string_view::npos)
        style.is_date = true;
      at = close;
    } else if (code[at] == ';')
      break;
    else
      plain += code[at];
  }
  for (char& byte : plain) byte = byte >= 'A' && byte <= 'Z' ? static_cast<char>(byte + 32) : byte;
  if (plain == "general") return style;
  style.is_date = style.is_date || plain.find_first_of("ymdhs") != std::string::npos;
  const bool zeros = plain.size() > 1 && plain.find_first_not_of('0') == std::string::npos;
  if (zeros) style.leading_zeros = plain.size();
  return style;
}

// The formats without a code of their own (ECMA-376 part 1, 18.8.30; 27 to 36 and 50 to 58 are days of
// eastern calendars).
NumberStyle style_of_builtin(int id) {
  NumberStyle style;
  style.is_date =
      (id >= 14 && id <= 22) || (id >= 27 && id <= 36) || (id >= 45 && id <= 47) || (id >= 50 && id <= 58);
  return style;
}

std::string number_text(std::string_view stored, const NumberStyle& style) {
  std::string text(stored);
  const auto digits = std::count_if(stored.begin(), stored.end(), is_digit);
  const bool exponent = stored.find_first_of("eE") != std::string_view::npos;
  if (digits > kMostDigits || exponent) {
    const auto value = stored_number(stored);
    if (!value) return text;
    std::array<char, 64> buffer;
    const auto written = std::to_chars(buffer.data(), buffer.data() + buffer.size(), *value,
                                       std::chars_format::general, kMostDigits);
    text = without_exponent({buffer.data(), static_cast<std::size_t>(written.ptr - buffer.data())});
  }
  const bool whole = !text.empty() && std::all_of(text.begin(), text.end(), is_digit);
  if (whole && text.size() < style.leading_zeros) text.insert(0, style.leading_zeros - text.size(), '0');
  return text;
}

std::optional<std::string> date_text(std::string_view stored, bool from_1904) {
  const auto value = stored_number(stored);
  if (!value || *value < 0 || *value > 2'958'466) return std::nullopt;  // to the end of 9999
  double day = std::floor(*value);
  long minutes = std::lround((*value - day) * 24 * 60);
  if (minutes == 24 * 60) day += 1, minutes = 0;
  const auto two = [](unsigned number) {
    return std::string(number < 10 ? "0" : "") + std::to_string(number);
  };
  const std::string time =
      two(static_cast<unsigned>(minutes / 60)) + ":" + two(static_cast<unsigned>(minutes % 60));
  if (day == 0 && minutes != 0) return time;
  auto number = static_cast<int>(day);
  // Day 60 of the 1900 system is a 29 February that never was; before it the count is one off.
  using std::chrono::sys_days;
  const auto origin =
      from_1904 ? sys_days(std::chrono::year(1904) / 1 / 1) : sys_days(std::chrono::year(1899) / 12 / 30);
  if (!from_1904 && number == 60) return "1900-02-29";
  if (!from_1904 && number < 60) ++number;
  const std::chrono::year_month_day date(origin + std::chrono::days(number));
  std::string text = std::to_string(static_cast<int>(date.year())) + "-" +
                     two(static_cast<unsigned>(date.month())) + "-" + two(static_cast<unsigned>(date.day()));
  if (minutes != 0) text += " " + time;
  return text;
}

std::string without_escapes(std::string text) {
  if (text.find("_x") == std::string::npos) return text;
  const auto unit_at = [&](std::size_t at) -> std::optional<char32_t> {
    unsigned code = 0;
    if (at + 7 > text.size() || text.compare(at, 2, "_x") != 0 || text[at + 6] != '_') return std::nullopt;
    const auto [end, error] = std::from_chars(text.data() + at + 2, text.data() + at + 6, code, 16);
    if (error != std::errc() || end != text.data() + at + 6) return std::nullopt;
    return code;
  };
  std::string out;
  for (std::size_t at = 0; at < text.size();) {
    const auto code = unit_at(at);
    if (!code || (*code >= 0xdc00 && *code < 0xe000) || *code == 0) {
      out += text[at++];
      continue;
    }
    at += 7;
    if (*code < 0xd800 || *code >= 0xe000) {
      append_utf8(out, *code);
      continue;
    }
    const auto low = unit_at(at);
    const bool pair = low && *low >= 0xdc00 && *low < 0xe000;
    append_utf8(out, pair ? 0x10000 + ((*code - 0xd800) << 10) + (*low - 0xdc00) : char32_t{0xfffd});
    if (pair) at += 7;
  }
  return out;
}

}  // namespace kitgap
