#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "value/fraction.h"

namespace kitgap {

// What a unit measures. Units of one dimension convert into each other exactly; others never.
enum class Dimension : std::uint8_t { Count, Length, Area, Volume, Mass, Time };

// Every unit that a quantity, a size or a property may carry. `pair`, `bag`, `kit` and `roll` are no units: how many
// pieces they hold is a matter of the offer.
enum class Unit : std::uint8_t {
  Each,
  Micrometre, Millimetre, Centimetre, Metre,
  Mil,              // 1/1000 inch, also `thou`; never a millimetre
  MetricFilmGauge,  // 1/4 micrometre: 500 gauge is 125 um
  UsFilmGauge,      // 1/100 mil: 100 gauge is 1 mil
  Inch, Foot, Yard,
  SquareMillimetre, SquareCentimetre, SquareMetre, SquareInch, SquareFoot, SquareYard,
  Millilitre, Centilitre, Litre,
  ImperialFluidOunce, UsFluidOunce, ImperialPint, UsPint, ImperialQuart, UsQuart, ImperialGallon, UsGallon,
  Gram, Kilogram, Ounce, Pound,  // ounce and pound are avoirdupois
  Second, Minute, Hour, Day,     // a day is 24 hours
};

struct UnitFacts {
  Unit unit;
  Dimension dimension;
  std::string_view word;  // how reports and tables write it: `m2`, `US fl oz`
  std::int64_t numerator;    // one of it in the base unit of its dimension is numerator / denominator, exactly.
  std::int64_t denominator;  // Base units: each, m, m2, l, kg, s.
};

UnitFacts facts_of(Unit unit);
Dimension dimension_of(Unit unit);
std::string_view word_of(Unit unit);       // `mm`
std::string_view word_of(Dimension dimension);  // `a length`
Unit base_unit_of(Dimension dimension);

// One unit expressed in its base unit; exact.
Fraction factor_of(Unit unit);
// Exact; nothing when the dimensions differ. Throws FigureOverflow past the range of Fraction.
[[nodiscard]] std::optional<Fraction> convert(const Fraction& quantity, Unit from, Unit to);

// Lower case, single blanks, none at the ends; typographic signs (`″`, `½`, `µ`, `²`) become plain ones.
std::string with_plain_signs(std::string_view text);
// What a spelling may mean. Letter case, blanks around it and a full stop at the end count nothing. Empty: no unit. Two: it must
// be asked or declared (`fl oz`, `pint`, `quart`, `gal`, `gauge` differ by country or trade; no guess is made).
[[nodiscard]] std::vector<Unit> units_spelled(std::string_view text);
// The unit, where the spelling means exactly one.
[[nodiscard]] std::optional<Unit> find_unit(std::string_view text);
// Every spelling that means something, in byte order, for suggestions.
std::vector<std::string> unit_spellings();

// A figure with the unit as typed; nothing is converted.
struct Measured {
  Fraction quantity;
  Unit unit = Unit::Each;
  friend bool operator==(const Measured&, const Measured&) = default;
};

enum class DecimalMark : std::uint8_t { Point, Comma };

struct MeasuredReading {
  std::optional<Measured> value;
  std::string wrong;           // when there is no value: why, lower case, for a diagnostic
  std::vector<Unit> could_be;  // when the unit is a question: what it may mean
};

// Reads a number and a unit: `12 in`, `2 1/2 yd`, `2-1/2"`, `3/8"`, `6 mil`, `1.37 m`, `2½ yd`, and a number in falling units of
// one dimension: `5' 3 1/2"`, `1 h 30 min`, which is given in the last of them. A comma is a decimal mark only where `mark`
// says so; grouping is never read. A number without a unit is no measured figure.
[[nodiscard]] MeasuredReading read_measured(std::string_view text, DecimalMark mark = DecimalMark::Point);
[[nodiscard]] std::optional<Measured> parse_measured(std::string_view text, DecimalMark mark = DecimalMark::Point);
// A number alone, as `read_measured` reads it: `2 1/2`, `3/8`, `½`, `12.5`.
[[nodiscard]] std::optional<Fraction> parse_mixed_number(std::string_view text, DecimalMark mark = DecimalMark::Point);

// `12 in`, `1/3 yd`: the figure as Fraction::to_text writes it, a blank, the unit's word.
std::string to_text(const Measured& measured);
// In `unit`; nothing when the dimensions differ.
[[nodiscard]] std::optional<Measured> in_unit(const Measured& measured, Unit unit);

}  // namespace kitgap
