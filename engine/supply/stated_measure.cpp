#include <re2/re2.h>

#include <algorithm>

#include "supply/reading_words.h"
#include "text/utf8.h"

namespace kitgap {
namespace {

// The measure, or each that it may be where the unit has more than one size.
std::vector<Measured> measures_meant(std::string_view text, DecimalMark mark) {
  const MeasuredReading read = read_measured(text, mark);
  if (read.value) return {*read.value};
  std::vector<Measured> meant;
  const std::string plain = with_plain_signs(text);
  const std::string_view figure =
      std::string_view(plain).substr(0, plain.find_first_not_of(" 0123456789.,/"));
  const auto number = parse_mixed_number(figure.substr(0, figure.find_last_not_of(' ') + 1), mark);
  for (const Unit unit : read.could_be) {
    if (number) meant.push_back({*number, unit});
  }
  return meant;
}

// Two measures of one amount, such as `750 ml / 26 fl oz`: the first is used when the second agrees with it
// within 5 %.
std::optional<Measured> read_twice(std::string_view text, DecimalMark mark,
                                   std::vector<std::string>& questions) {
  for (std::size_t stroke = text.find('/'); stroke != std::string_view::npos;
       stroke = text.find('/', stroke + 1)) {
    std::string_view one = text.substr(0, stroke), other_one = text.substr(stroke + 1);
    auto first = parse_measured(one, mark);
    // Where only the second has one size, it is the one that counts.
    if (!first) std::swap(one, other_one), first = parse_measured(one, mark);
    const std::vector<Measured> seconds = measures_meant(other_one, mark);
    if (!first || seconds.empty()) continue;
    const bool agrees = std::any_of(seconds.begin(), seconds.end(), [&](const Measured& other) {
      const auto same = in_unit(other, first->unit);
      if (!same) return false;
      const Fraction off = same->quantity < first->quantity ? first->quantity - same->quantity
                                                            : same->quantity - first->quantity;
      return off * 20 <= first->quantity;
    });
    if (agrees) return first;
    questions.push_back("the two measures in " + in_ticks(text) + " do not agree: which holds?");
    return std::nullopt;
  }
  return std::nullopt;
}

// `2 x 750 ml` multiplies; `3/8" x 54 in` is a width and a length.
std::optional<Measured> read_product(std::string_view text, DecimalMark mark,
                                     std::vector<std::string>& doubts) {
  for (const std::string_view sign : {" x ", "x ", "\xc3\x97"}) {
    const std::size_t at = text.find(sign);
    if (at == std::string_view::npos) continue;
    const std::string_view before = text.substr(0, at);
    const auto length = parse_measured(text.substr(at + sign.size()), mark);
    if (!length) continue;
    if (const auto times = parse_mixed_number(before, mark))
      return Measured{length->quantity * *times, length->unit};
    if (const auto width = parse_measured(before, mark);
        width && dimension_of(width->unit) == Dimension::Length) {
      doubts.push_back(in_ticks(text) + " is read as a length of " + to_text(*length) + ", " + to_text(*width) +
                       " wide");
      return length;
    }
  }
  return std::nullopt;
}

// `2 rolls of 10 m`, `10 m roll`, `1 roll (10 m)`, `2 off 1.2 m`: so many times the measure.
std::optional<Measured> read_packed(std::string_view text, DecimalMark mark, std::vector<std::string>& doubts) {
  static const re2::RE2 kBefore(
      R"((?:(\d{1,4}) ?(?:x ?)?|an? )?(?:rolls?|tins?|cans?|tubes?|lengths?|pieces?|pcs?|off|bottles?|cartridges?|bags?|packs?|reels?)(?: of|/| x)? ?\(?([^()]+)\)?)");
  static const re2::RE2 kAfter(
      R"((?:(\d{1,4}) ?x ?)?(.+?) (?:rolls?|tins?|cans?|tubes?|lengths?|bottles?|cartridges?|bags?|packs?|reels?))");
  for (const re2::RE2* pattern : {&kBefore, &kAfter}) {
    std::string count, each;
    if (!re2::RE2::FullMatch(re2::StringPiece(text.data(), text.size()), *pattern, &count, &each)) continue;
    const auto measured = parse_measured(each, mark);
    if (!measured) continue;
    const Measured all{measured->quantity * (count.empty() ? Fraction(1) : *Fraction::parse(count)),
                       measured->unit};
    doubts.push_back(in_ticks(text) + " is read as " + to_text(all) + " in all");
    return all;
  }
  return std::nullopt;
}

// A comma between digits, with other than three digits after it, can only be a decimal mark.
DecimalMark mark_in(std::string_view text, bool decimal_comma) {
  if (decimal_comma && text.find('.') == std::string_view::npos) return DecimalMark::Comma;
  const std::size_t comma = text.find(',');
  if (comma == std::string_view::npos || text.find('.') != std::string_view::npos) return DecimalMark::Point;
  const std::size_t end = std::min(text.find_first_not_of("0123456789", comma + 1), text.size());
  return end - comma - 1 != 3 && end != comma + 1 ? DecimalMark::Comma : DecimalMark::Point;
}

// `4 ft 6` means inches; read only where no unit stands after the second figure.
std::string with_inches(std::string_view text) {
  if (text.find_first_of("f'") == std::string_view::npos) return std::string(text);
  static const re2::RE2 kFeetAndFigure(R"(\d{1,4} ?(?:ft\.?|foot|feet|') ?\d{1,2}(?: \d/\d{1,2})?)");
  const bool lacks = re2::RE2::FullMatch(re2::StringPiece(text.data(), text.size()), kFeetAndFigure);
  return std::string(text) + (lacks ? " in" : "");
}

}  // namespace

std::optional<Measured> stated_measure(std::string_view typed, bool decimal_comma, std::vector<std::string>& questions,
                                       std::vector<std::string>& doubts) {
  const std::string text = with_inches(typed);
  const DecimalMark mark = mark_in(text, decimal_comma);
  const MeasuredReading whole = read_measured(text, mark);
  std::optional<Measured> measured = whole.value;
  const std::size_t asked = questions.size();
  if (!measured) measured = read_twice(text, mark, questions);
  if (!measured && questions.size() == asked) measured = read_product(text, mark, doubts);
  if (!measured && questions.size() == asked) measured = read_packed(text, mark, doubts);
  if (!measured && questions.size() == asked && !whole.could_be.empty()) questions.push_back(whole.wrong);
  return measured;
}

}  // namespace kitgap
