#include <cctype>
#include <utility>

#include "text/ascii.h"
#include "value/unit.h"

namespace kitgap {
namespace {

std::size_t skip_blanks(std::string_view text, std::size_t at) {
  while (at < text.size() && text[at] == ' ') ++at;
  return at;
}

std::size_t skip_digits(std::string_view text, std::size_t at) {
  while (at < text.size() && is_digit(text[at])) ++at;
  return at;
}

struct Number {
  Fraction value;
  std::size_t end = 0;  // where the rest begins
};

// `3/8` at `at`; digits on both sides of the stroke, no blanks.
std::optional<Number> vulgar_fraction(std::string_view text, std::size_t at) {
  const std::size_t stroke = skip_digits(text, at);
  if (stroke == at || stroke >= text.size() || text[stroke] != '/') return std::nullopt;
  const std::size_t end = skip_digits(text, stroke + 1);
  const auto top = Fraction::parse(text.substr(at, stroke - at));
  const auto bottom = Fraction::parse(text.substr(stroke + 1, end - stroke - 1));
  if (end == stroke + 1 || !top || !bottom || bottom->is_zero()) return std::nullopt;
  return Number{*top / *bottom, end};
}

std::optional<Number> decimal(std::string_view text, std::size_t at, DecimalMark mark) {
  const char point = mark == DecimalMark::Comma ? ',' : '.';
  std::size_t end = skip_digits(text, at);
  std::string digits(text.substr(at, end - at));
  if (end < text.size() && text[end] == point) {
    const std::size_t after = skip_digits(text, end + 1);
    if (after == end + 1) return std::nullopt;
    digits += "." + std::string(text.substr(end + 1, after - end - 1));
    end = after;
  }
  const auto value = Fraction::parse(digits);
  if (!value) return std::nullopt;
  return Number{*value, end};
}

// An unsigned number: decimal, vulgar fraction, or whole number and fraction with a blank or a hyphen between.
std::optional<Number> number_at(std::string_view text, std::size_t at, DecimalMark mark) {
  if (auto fraction = vulgar_fraction(text, at)) return fraction;
  auto number = decimal(text, at, mark);
  if (!number || !number->value.is_whole() || number->end != skip_digits(text, at)) return number;
  std::size_t next = number->end;
  if (next < text.size() && (text[next] == '-' || text[next] == ' ')) {
    if (auto part = vulgar_fraction(text, next + 1); part && part->value < Fraction(1)) {
      return Number{number->value + part->value, part->end};
    }
  }
  return number;
}

// The longest stretch that can be a unit's spelling: up to the next digit that does not end `m2`.
std::size_t unit_end(std::string_view text, std::size_t at) {
  std::size_t end = at;
  while (end < text.size()) {
    if (is_digit(text[end]) && (end == at || text[end] != '2' || !std::isalpha(static_cast<unsigned char>(text[end - 1])))) {
      break;
    }
    if (text[end] == '-' || text[end] == '+') break;
    ++end;
  }
  while (end > at && text[end - 1] == ' ') --end;
  return end;
}

std::string question_about(std::string_view spelling, const std::vector<Unit>& could_be) {
  std::string says = "`" + std::string(spelling) + "` has more than one size; write ";
  for (std::size_t i = 0; i < could_be.size(); ++i) {
    says += (i == 0 ? "`" : " or `") + std::string(word_of(could_be[i])) + "`";
  }
  return says;
}

// Reads number and unit pairs until the text ends.
class Reader {
 public:
  Reader(std::string text, DecimalMark mark) : text_(std::move(text)), mark_(mark) {}

  // A figure that Fraction cannot hold is the writer's slip, not ours.
  MeasuredReading read() {
    try {
      return read_all();
    } catch (const FigureOverflow& overflow) {
      return wrong(overflow.what());
    }
  }

 private:
  MeasuredReading read_all() {
    negative_ = text_.starts_with('-');
    at_ = skip_blanks(text_, negative_ ? 1 : 0);
    if (at_ >= text_.size()) return wrong("a number and a unit are missing");
    while (at_ < text_.size()) {
      if (!read_pair()) return std::move(reading_);
      at_ = skip_blanks(text_, at_);
      if (at_ + 1 < text_.size() && text_[at_] == '-') ++at_;  // 5'-3"
    }
    reading_.value = Measured{negative_ ? -total_ : total_, *last_};
    return std::move(reading_);
  }

  MeasuredReading wrong(std::string says) {
    reading_.wrong = std::move(says);
    return std::move(reading_);
  }
  bool refuse(std::string says) {
    reading_.wrong = std::move(says);
    return false;
  }

  bool read_pair() {
    const auto number = number_at(text_, at_, mark_);
    if (!number) return refuse("this is no number followed by a unit");
    const std::size_t from = skip_blanks(text_, number->end);
    const std::size_t to = unit_end(text_, from);
    const std::string_view spelling = std::string_view(text_).substr(from, to - from);
    if (spelling.empty()) return refuse("the unit is missing");
    if (spelling.front() == (mark_ == DecimalMark::Point ? ',' : '.')) return refuse(mark_says());
    if (std::string_view(",./").find(spelling.front()) != std::string_view::npos) return refuse("the number is not readable");
    const auto units = units_spelled(spelling);
    if (units.empty()) return refuse("`" + std::string(spelling) + "` is no unit");
    if (units.size() > 1) {
      reading_.could_be = units;
      return refuse(question_about(spelling, units));
    }
    at_ = to;
    return add(number->value, units.front());
  }

  // `5' 3"`: each unit smaller than the one before, each figure less than one of it, only the last with a fraction.
  bool add(const Fraction& figure, Unit unit) {
    if (!last_) {
      total_ = figure;
      last_ = unit;
      last_figure_ = figure;
      return true;
    }
    const auto one_before = convert(1, *last_, unit);
    if (!one_before) return refuse("two units that do not measure the same thing");
    if (*one_before <= Fraction(1)) return refuse("the second unit is not smaller than the first");
    if (!one_before->is_whole() || !last_figure_.is_whole() || figure >= *one_before) {
      return refuse("a figure in two units must be whole in the first and less than one of it in the second");
    }
    total_ = total_ * *one_before + figure;
    last_ = unit;
    last_figure_ = figure;
    return true;
  }

  std::string mark_says() const {
    return mark_ == DecimalMark::Point ? "a comma stands in the number; write a decimal point and no grouping"
                                       : "a point stands in the number; write a decimal comma and no grouping";
  }

  std::string text_;
  DecimalMark mark_;
  bool negative_ = false;
  std::size_t at_ = 0;
  Fraction total_;
  Fraction last_figure_;
  std::optional<Unit> last_;
  MeasuredReading reading_;
};

}  // namespace

MeasuredReading read_measured(std::string_view text, DecimalMark mark) { return Reader(with_plain_signs(text), mark).read(); }

std::optional<Measured> parse_measured(std::string_view text, DecimalMark mark) { return read_measured(text, mark).value; }

std::optional<Fraction> parse_mixed_number(std::string_view text, DecimalMark mark) {
  const std::string signs = with_plain_signs(text);
  const bool negative = signs.starts_with('-');
  try {
    const auto number = number_at(signs, negative ? 1 : 0, mark);
    if (!number || number->end != signs.size()) return std::nullopt;
    return negative ? -number->value : number->value;
  } catch (const FigureOverflow&) {
    return std::nullopt;
  }
}

std::string to_text(const Measured& measured) {
  return measured.quantity.to_text() + " " + std::string(word_of(measured.unit));
}

std::optional<Measured> in_unit(const Measured& measured, Unit unit) {
  const auto quantity = convert(measured.quantity, measured.unit, unit);
  if (!quantity) return std::nullopt;
  return Measured{*quantity, unit};
}

}  // namespace kitgap
