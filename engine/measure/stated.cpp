#include "measure/stated.h"

#include <algorithm>
#include <array>
#include <utility>

#include "text/ascii.h"
#include "text/utf8.h"
#include "value/unit.h"

namespace kitgap {
namespace {

constexpr auto kSpannerWords = std::to_array<std::string_view>({"spanner", "wrench", "socket", "af", "a/f", "hex", "hexagon"});

bool is_spanner_word(std::string_view word) { return std::ranges::find(kSpannerWords, word) != kSpannerWords.end(); }

bool is_unit_word(std::string_view word) { return word == "awg" || word == "mm/min" || word == "in/min" || !units_spelled(word).empty(); }

// Words as the readers below want them: lower case, brackets and stops gone, `6mil` as `6 mil`, `m5x0.8x20` as `m5x0.8 x 20`.
class Words {
 public:
  explicit Words(std::string_view text) {
    const std::string plain = replaced(with_plain_signs(text), "\u00d7", "x");
    std::string word;
    for (const char c : plain + " ") {
      if (c != ' ' && c != '(' && c != ')' && c != ';' && c != ',') {
        word += c;
        continue;
      }
      // A comma between digits is a decimal mark.
      if (c == ',' && !word.empty() && is_digit(word.back())) word += '.';
      else add(std::exchange(word, {}));
    }
  }
  std::size_t size() const { return words_.size(); }
  // Empty past the end.
  std::string_view at(std::size_t index) const { return index < words_.size() ? std::string_view(words_[index]) : std::string_view(); }
  std::string joined(std::size_t from, std::size_t count) const {
    std::string text;
    for (std::size_t i = from; i < from + count && i < words_.size(); ++i) text += (i == from ? "" : " ") + words_[i];
    return text;
  }

 private:
  void add(std::string word) {
    while (!word.empty() && (word.back() == '.' || word.back() == ':')) word.pop_back();
    if (word.empty()) return;
    if (const std::size_t cut = length_of_thread(word); cut != std::string::npos) {
      words_.push_back(word.substr(0, cut));
      words_.emplace_back("x");
      return add(word.substr(cut + 1));
    }
    std::size_t figure = 0;
    while (figure < word.size() && (is_digit(word[figure]) || word[figure] == '.' || word[figure] == '/')) ++figure;
    if (figure > 0 && figure < word.size() && is_unit_word(std::string_view(word).substr(figure))) {
      push(word.substr(0, figure));
      word.erase(0, figure);
    }
    push(std::move(word));
  }
  // `1 1/4` is one figure, but for the `8 1/2` of `No 8 1/2`, a size and a length.
  void push(std::string word) {
    const auto is_whole = [](std::string_view text) { return !text.empty() && std::ranges::all_of(text, is_digit); };
    const std::size_t stroke = std::min(word.find('/'), word.size());
    const bool is_fraction = stroke < word.size() && is_whole(word.substr(0, stroke)) && is_whole(word.substr(stroke + 1));
    const bool follows_size = words_.size() > 1 && (words_[words_.size() - 2] == "no" || words_[words_.size() - 2] == "size");
    if (is_fraction && !words_.empty() && is_whole(words_.back()) && !follows_size) words_.back() += " " + word;
    else words_.push_back(std::move(word));
  }
  // Where the `x` before a length stands: the second of `m5x0.8x20`, the first of `1/4-20x3/4`.
  static std::size_t length_of_thread(const std::string& word) {
    const std::size_t first = word.find('x');
    if (first == std::string::npos || first == 0 || first + 1 == word.size() || !is_digit(word[first + 1])) return std::string::npos;
    if (word[0] == 'm') return word.find('x', first + 1);
    return is_digit(word[0]) && word.find('-') < first ? first : std::string::npos;
  }
  std::vector<std::string> words_;
};

class Reader {
 public:
  explicit Reader(std::string_view description) : words_(description), is_taken_(words_.size()) {}

  StatedHardware read() {
    for (std::size_t at = 0; at < words_.size(); ++at) {
      if (!stated_.typed_thread && read_thread(at)) continue;
      read_class(at);
      read_figure(at);
    }
    for (std::size_t at = 0; at < words_.size(); ++at) {
      if (!is_taken_[at]) stated_.rest += (stated_.rest.empty() ? "" : " ") + std::string(words_.at(at));
    }
    return std::move(stated_);
  }

 private:
  bool read_thread(std::size_t at) {
    for (std::size_t count = 4; count > 0; --count) {
      if (at + count > words_.size()) continue;
      const std::string text = words_.joined(at, count);
      auto typed = parse_thread(text);
      if (!typed) continue;
      std::size_t end = at + count;
      if (typed->system == ThreadSystem::Metric && typed->pitch_mm && *typed->pitch_mm * Fraction(2) > typed->diameter_mm) {
        add("length", "mm", text, {*typed->pitch_mm});  // `M5 x 20`
        typed->pitch_mm.reset();
      } else if (typed->system == ThreadSystem::Unified && text.find('-') == std::string::npos && typed->series.empty()) {
        return false;  // `No 8 x 20`
      } else if (words_.at(end) == "x") {
        read_length(end + 1, *typed);
      }
      const bool is_sure = typed->system != ThreadSystem::Unified || !typed->series.empty() || text.find_first_of("#/n") != std::string::npos;
      if (!is_sure && *typed->pitch_mm * Fraction(2) > typed->diameter_mm) return false;  // `8-10 off`
      stated_.thread = text;
      for (char& c : stated_.thread) c = static_cast<char>(c == 'x' ? c : std::toupper(static_cast<unsigned char>(c)));
      stated_.is_surely_thread = is_sure;
      stated_.typed_thread = std::move(typed);
      take(at, count);
      return true;
    }
    return false;
  }

  void read_length(std::size_t at, const TypedThread& thread) {
    const auto figure = parse_mixed_number(words_.at(at));
    if (!figure) return;
    const auto unit = find_unit(words_.at(at + 1)).value_or(thread.system == ThreadSystem::Metric ? Unit::Millimetre : Unit::Inch);
    const auto length = convert(*figure, unit, Unit::Millimetre);
    if (!length) return;
    add("length", "mm", std::string(words_.at(at)) + " " + std::string(word_of(unit)), {*length});
    take(at - 1, find_unit(words_.at(at + 1)) ? 3 : 2);
  }

  void read_class(std::size_t at) {
    if (words_.at(at) != "class" && words_.at(at) != "grade") return;
    const std::string_view next = words_.at(at + 1);
    const std::size_t point = next.find('.');
    if (point == std::string_view::npos || point == 0 || point + 2 != next.size()) return;
    if (!std::ranges::all_of(next, [](char c) { return c == '.' || is_digit(c); })) return;
    stated_.property_class = std::string(next);
    take(at, 2);
  }

  void read_figure(std::size_t at) {
    if (words_.at(at) == "awg") {
      if (at > 0 && add_gauge(words_.at(at - 1))) take(at - 1, 2);
      else if (add_gauge(words_.at(at + 1))) take(at, 2);
      return;
    }
    const auto figure = parse_mixed_number(words_.at(at));
    if (!figure || figure->sign() <= 0) return;
    const std::string_view next = words_.at(at + 1);
    const std::string text = words_.joined(at, 2);
    if (next == "mm/min" || next == "in/min") {
      add("burn rate", "mm/min", text, {next == "mm/min" ? *figure : *figure * Fraction::of(254, 10)});
      return take(at, 2);
    }
    std::vector<Unit> units = units_spelled(next);
    read_spanner(at, *figure, units);
    std::vector<Fraction> thicknesses;
    for (const Unit unit : units) {
      const bool is_thickness = unit == Unit::Mil || unit == Unit::Micrometre || unit == Unit::MetricFilmGauge || unit == Unit::UsFilmGauge ||
                                (dimension_of(unit) == Dimension::Length && words_.at(at + 2) == "thick");
      if (is_thickness) thicknesses.push_back(*convert(*figure, unit, Unit::Micrometre));
    }
    if (!thicknesses.empty()) {
      add("thickness", "um", text, std::move(thicknesses));
      return take(at, words_.at(at + 2) == "thick" ? 3 : 2);
    }
    if (units.size() != 1) return;
    if (units[0] == Unit::SquareMillimetre) {
      add("conductor area", "mm2", text, {*figure});
      take(at, 2);
    } else if (dimension_of(units[0]) == Dimension::Length && words_.at(at + 2) == "long") {
      add("length", "mm", text, {*convert(*figure, units[0], Unit::Millimetre)});
      take(at, 3);
    }
  }

  // `13 mm AF`, `1/2 in across flats`, `spanner 13`: whole figures without a unit are millimetres, fractions inches.
  void read_spanner(std::size_t at, const Fraction& figure, const std::vector<Unit>& units) {
    const std::size_t after = at + (units.empty() ? 1 : 2);
    const bool follows = is_spanner_word(words_.at(after)) || (words_.at(after) == "across" && words_.at(after + 1) == "flats");
    const bool precedes = at > 0 && is_spanner_word(words_.at(at - 1));
    if (stated_.across_flats_mm || (!follows && !precedes) || units.size() > 1) return;
    const Unit unit = !units.empty() ? units[0] : figure.is_whole() || words_.at(at).find('/') == std::string_view::npos ? Unit::Millimetre : Unit::Inch;
    const auto flats = convert(figure, unit, Unit::Millimetre);
    if (!flats || *flats > Fraction(100)) return;
    stated_.across_flats_mm = *flats;
    stated_.spanner = words_.joined(at, units.empty() ? 1 : 2);
    if (precedes) take(at - 1, after - at + 1);
    else take(at, after - at + (words_.at(after) == "across" ? 2 : 1));
  }

  bool add_gauge(std::string_view gauge) {
    if (gauge.empty() || !is_digit(gauge.front())) return false;
    for (const WireGauge& wire : built_in_fastener_tables().wires) {
      if (wire.gauge != gauge) continue;
      add("conductor area", "mm2", std::string(gauge) + " AWG", {wire.area_mm2});
      return true;
    }
    return false;
  }

  void add(std::string_view property, std::string_view unit, std::string as_typed, std::vector<Fraction> values) {
    stated_.figures.push_back({.property = property, .unit = unit, .as_typed = std::move(as_typed), .values = std::move(values)});
  }

  void take(std::size_t from, std::size_t count) {
    for (std::size_t at = from; at < from + count && at < is_taken_.size(); ++at) is_taken_[at] = true;
  }

  Words words_;
  std::vector<bool> is_taken_;
  StatedHardware stated_;
};

}  // namespace

StatedHardware read_stated(std::string_view description) {
  if (description.size() > 1'000 || std::ranges::none_of(description, is_digit)) return {};
  try {
    return Reader(description).read();
  } catch (const FigureOverflow&) {
    return {};  // a figure past all sizes is no size
  }
}

}  // namespace kitgap
