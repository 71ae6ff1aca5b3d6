#include <algorithm>
#include <array>
#include <cctype>

#include "measure/fastener.h"
#include "text/ascii.h"
#include "text/utf8.h"
#include "value/unit.h"

namespace kitgap {
namespace {

// Upper case, single blanks, `x` for the sign of multiplication, a point for a decimal comma between digits.
std::string plain_name(std::string_view text) {
  std::string out = replaced(with_plain_signs(text), "\u00d7", "x");
  for (std::size_t i = 0; i < out.size(); ++i) {
    out[i] = static_cast<char>(std::toupper(static_cast<unsigned char>(out[i])));
    if (out[i] == ',' && i > 0 && i + 1 < out.size() && std::isdigit(static_cast<unsigned char>(out[i - 1])) &&
        std::isdigit(static_cast<unsigned char>(out[i + 1]))) {
      out[i] = '.';
    }
  }
  return out;
}

class Scanner {
 public:
  explicit Scanner(std::string text) : text_(std::move(text)) {}
  void blanks() {
    while (at_ < text_.size() && text_[at_] == ' ') ++at_;
  }
  bool take(std::string_view word) {
    if (!std::string_view(text_).substr(at_).starts_with(word)) return false;
    at_ += word.size();
    return true;
  }
  // `5`, `0.8`, `.8`, `7/16`, as far as it goes.
  std::string number() {
    const std::size_t from = at_;
    while (at_ < text_.size() && (std::isdigit(static_cast<unsigned char>(text_[at_])) || text_[at_] == '.' || text_[at_] == '/')) ++at_;
    return text_.substr(from, at_ - from);
  }
  bool ended() const { return at_ == text_.size(); }

 private:
  std::string text_;
  std::size_t at_ = 0;
};

std::optional<Fraction> above_zero(const std::string& text) {
  const auto value = parse_mixed_number(text);
  return value && value->sign() > 0 && *value < Fraction(1'000) ? value : std::nullopt;
}

// `6G` or `2A`, in capitals.
bool take_tolerance_class(Scanner& scanner) {
  if (scanner.number().size() != 1) return false;
  return std::ranges::any_of(std::array{"A", "B", "G", "H", "E", "F"}, [&](const char* letter) { return scanner.take(letter); });
}

// After the pitch: a tolerance class such as `-6g`, `- 2A`, `-5g6g` (of pitch and outer diameter), and no more.
bool is_tolerance_or_end(Scanner& scanner) {
  scanner.blanks();
  if (scanner.ended()) return true;
  if (!scanner.take("-")) return false;
  scanner.blanks();
  return take_tolerance_class(scanner) && (scanner.ended() || (take_tolerance_class(scanner) && scanner.ended()));
}

std::optional<TypedThread> metric(Scanner scanner) {
  if (!scanner.take("M")) return std::nullopt;
  scanner.blanks();
  const std::string size = scanner.number();
  const auto diameter = size.find('/') == std::string::npos ? above_zero(size) : std::nullopt;
  if (!diameter) return std::nullopt;
  TypedThread typed{.system = ThreadSystem::Metric, .size = "M" + diameter->to_text(), .diameter_mm = *diameter, .pitch_mm = {}, .series = ""};
  scanner.blanks();
  if (scanner.take("X") || scanner.take("*")) {
    scanner.blanks();
    typed.pitch_mm = above_zero(scanner.number());
    if (!typed.pitch_mm) return std::nullopt;
  }
  return is_tolerance_or_end(scanner) ? std::optional(typed) : std::nullopt;
}

std::optional<TypedThread> british_association(Scanner scanner) {
  const std::string number = scanner.number();
  scanner.blanks();
  if (number.empty() || number.size() > 2 || !scanner.take("BA") || !scanner.ended()) return std::nullopt;
  if (!std::all_of(number.begin(), number.end(), is_digit)) return std::nullopt;
  return TypedThread{.system = ThreadSystem::BritishAssociation, .size = number + " BA", .diameter_mm = 0, .pitch_mm = {}, .series = ""};
}

// Numbered sizes: No. 0 is 0.060 in, each number 0.013 in more (ASME B1.1 rule; its diameters in the table agree).
Fraction diameter_of_number(const Fraction& number) { return (Fraction::of(60, 1'000) + number * Fraction::of(13, 1'000)) * Fraction::of(254, 10); }

bool read_size(Scanner& scanner, TypedThread& typed) {
  const bool is_numbered = scanner.take("NO.") || scanner.take("NO") || scanner.take("#");
  scanner.blanks();
  const std::string text = scanner.number();
  const auto figure = parse_mixed_number(text);
  if (!figure || figure->sign() < 0) return false;
  scanner.take("\"");
  if (figure->is_whole() && (is_numbered || *figure >= Fraction(2))) {
    if (*figure > Fraction(14)) return false;
    typed.size = "No." + figure->to_text();
    typed.diameter_mm = diameter_of_number(*figure);
    return true;
  }
  if (is_numbered || figure->sign() == 0 || *figure > Fraction(4)) return false;
  typed.size = text;
  typed.diameter_mm = *figure * Fraction::of(254, 10);
  return true;
}

std::optional<TypedThread> unified(Scanner scanner) {
  TypedThread typed{.system = ThreadSystem::Unified, .size = "", .diameter_mm = 0, .pitch_mm = {}, .series = ""};
  if (!read_size(scanner, typed)) return std::nullopt;
  scanner.blanks();
  if (scanner.take("-") || scanner.take("X")) {
    scanner.blanks();
    const auto per_inch = above_zero(scanner.number());
    if (!per_inch || !per_inch->is_whole()) return std::nullopt;
    typed.pitch_mm = Fraction::of(254, 10) / *per_inch;
    scanner.blanks();
    scanner.take("TPI");
    scanner.blanks();
  }
  for (const char* series : {"UNC", "UNF", "NC", "NF"}) {
    if (!scanner.take(series)) continue;
    typed.series = std::string(series).size() == 2 ? "U" + std::string(series) : series;
    break;
  }
  if (typed.series.empty() && !typed.pitch_mm) return std::nullopt;
  return is_tolerance_or_end(scanner) ? std::optional(typed) : std::nullopt;
}

}  // namespace

std::optional<TypedThread> parse_thread(std::string_view text) {
  if (text.size() > 40) return std::nullopt;
  const Scanner scanner(plain_name(text));
  try {
    if (auto typed = metric(scanner)) return typed;
    if (auto typed = british_association(scanner)) return typed;
    return unified(scanner);
  } catch (const FigureOverflow&) {
    return std::nullopt;
  }
}

}  // namespace kitgap
