#include "value/unit.h"

#include <algorithm>
#include <array>
#include <cctype>

#include "value/internal_error.h"

namespace kitgap {
namespace {

// Length: the inch is 25.4 mm (16 CFR 500.19(a), entries marked exact). Volume: the imperial gallon is 4.54609 l, the US
// gallon 231 cubic inches; mass: the pound is 0.45359237 kg. All equal to GNU units, see tests/outside/measure.
constexpr auto kUnits = std::to_array<UnitFacts>({
    {Unit::Each, Dimension::Count, "each", 1, 1},
    {Unit::Micrometre, Dimension::Length, "um", 1, 1'000'000},
    {Unit::Millimetre, Dimension::Length, "mm", 1, 1'000},
    {Unit::Centimetre, Dimension::Length, "cm", 1, 100},
    {Unit::Metre, Dimension::Length, "m", 1, 1},
    {Unit::Mil, Dimension::Length, "mil", 254, 10'000'000},
    {Unit::MetricFilmGauge, Dimension::Length, "metric gauge", 1, 4'000'000},
    {Unit::UsFilmGauge, Dimension::Length, "US gauge", 254, 1'000'000'000},
    {Unit::Inch, Dimension::Length, "in", 254, 10'000},
    {Unit::Foot, Dimension::Length, "ft", 3'048, 10'000},
    {Unit::Yard, Dimension::Length, "yd", 9'144, 10'000},
    {Unit::SquareMillimetre, Dimension::Area, "mm2", 1, 1'000'000},
    {Unit::SquareCentimetre, Dimension::Area, "cm2", 1, 10'000},
    {Unit::SquareMetre, Dimension::Area, "m2", 1, 1},
    {Unit::SquareInch, Dimension::Area, "sq in", 64'516, 100'000'000},
    {Unit::SquareFoot, Dimension::Area, "sq ft", 9'290'304, 100'000'000},
    {Unit::SquareYard, Dimension::Area, "sq yd", 83'612'736, 100'000'000},
    {Unit::Millilitre, Dimension::Volume, "ml", 1, 1'000},
    {Unit::Centilitre, Dimension::Volume, "cl", 1, 100},
    {Unit::Litre, Dimension::Volume, "l", 1, 1},
    {Unit::ImperialFluidOunce, Dimension::Volume, "imp fl oz", 454'609, 16'000'000},
    {Unit::UsFluidOunce, Dimension::Volume, "US fl oz", 473'176'473, 16'000'000'000},
    {Unit::ImperialPint, Dimension::Volume, "imp pt", 454'609, 800'000},
    {Unit::UsPint, Dimension::Volume, "US pt", 473'176'473, 1'000'000'000},
    {Unit::ImperialQuart, Dimension::Volume, "imp qt", 454'609, 400'000},
    {Unit::UsQuart, Dimension::Volume, "US qt", 473'176'473, 500'000'000},
    {Unit::ImperialGallon, Dimension::Volume, "imp gal", 454'609, 100'000},
    {Unit::UsGallon, Dimension::Volume, "US gal", 473'176'473, 125'000'000},
    {Unit::Gram, Dimension::Mass, "g", 1, 1'000},
    {Unit::Kilogram, Dimension::Mass, "kg", 1, 1},
    {Unit::Ounce, Dimension::Mass, "oz", 45'359'237, 1'600'000'000},
    {Unit::Pound, Dimension::Mass, "lb", 45'359'237, 100'000'000},
    {Unit::Second, Dimension::Time, "s", 1, 1},
    {Unit::Minute, Dimension::Time, "min", 60, 1},
    {Unit::Hour, Dimension::Time, "h", 3'600, 1},
    {Unit::Day, Dimension::Time, "day", 86'400, 1},
});

constexpr bool in_enum_order() {
  for (std::size_t i = 0; i < kUnits.size(); ++i) {
    if (static_cast<std::size_t>(kUnits[i].unit) != i) return false;
  }
  return static_cast<std::size_t>(Unit::Day) + 1 == kUnits.size();
}
static_assert(in_enum_order());

struct Spelling {
  std::string_view text;  // lower case, single blanks
  Unit unit;
};

// One row per meaning: a text with two rows is a question. Sorted by text.
constexpr auto kSpellings = std::to_array<Spelling>({
    {"\"", Unit::Inch},
    {"'", Unit::Foot},
    {"''", Unit::Inch},
    {"centilitre", Unit::Centilitre},
    {"centilitres", Unit::Centilitre},
    {"centimeter", Unit::Centimetre},
    {"centimeters", Unit::Centimetre},
    {"centimetre", Unit::Centimetre},
    {"centimetres", Unit::Centimetre},
    {"cl", Unit::Centilitre},
    {"cm", Unit::Centimetre},
    {"cm2", Unit::SquareCentimetre},
    {"day", Unit::Day},
    {"days", Unit::Day},
    {"ea", Unit::Each},
    {"each", Unit::Each},
    {"feet", Unit::Foot},
    {"film gauge", Unit::MetricFilmGauge},
    {"film gauge", Unit::UsFilmGauge},
    {"fl oz", Unit::ImperialFluidOunce},
    {"fl oz", Unit::UsFluidOunce},
    {"fl. oz", Unit::ImperialFluidOunce},
    {"fl. oz", Unit::UsFluidOunce},
    {"fluid ounce", Unit::ImperialFluidOunce},
    {"fluid ounce", Unit::UsFluidOunce},
    {"fluid ounces", Unit::ImperialFluidOunce},
    {"fluid ounces", Unit::UsFluidOunce},
    {"foot", Unit::Foot},
    {"ft", Unit::Foot},
    {"ft2", Unit::SquareFoot},
    {"g", Unit::Gram},
    {"gal", Unit::ImperialGallon},
    {"gal", Unit::UsGallon},
    {"gallon", Unit::ImperialGallon},
    {"gallon", Unit::UsGallon},
    {"gallons", Unit::ImperialGallon},
    {"gallons", Unit::UsGallon},
    {"gauge", Unit::MetricFilmGauge},
    {"gauge", Unit::UsFilmGauge},
    {"gram", Unit::Gram},
    {"gramme", Unit::Gram},
    {"grammes", Unit::Gram},
    {"grams", Unit::Gram},
    {"h", Unit::Hour},
    {"hour", Unit::Hour},
    {"hours", Unit::Hour},
    {"hr", Unit::Hour},
    {"hrs", Unit::Hour},
    {"imp fl oz", Unit::ImperialFluidOunce},
    {"imp gal", Unit::ImperialGallon},
    {"imp pt", Unit::ImperialPint},
    {"imp qt", Unit::ImperialQuart},
    {"imperial fl oz", Unit::ImperialFluidOunce},
    {"imperial fluid ounce", Unit::ImperialFluidOunce},
    {"imperial fluid ounces", Unit::ImperialFluidOunce},
    {"imperial gal", Unit::ImperialGallon},
    {"imperial gallon", Unit::ImperialGallon},
    {"imperial gallons", Unit::ImperialGallon},
    {"imperial pint", Unit::ImperialPint},
    {"imperial pints", Unit::ImperialPint},
    {"imperial quart", Unit::ImperialQuart},
    {"imperial quarts", Unit::ImperialQuart},
    {"in", Unit::Inch},
    {"in2", Unit::SquareInch},
    {"inch", Unit::Inch},
    {"inches", Unit::Inch},
    {"ins", Unit::Inch},
    {"kg", Unit::Kilogram},
    {"kilo", Unit::Kilogram},
    {"kilogram", Unit::Kilogram},
    {"kilograms", Unit::Kilogram},
    {"kilos", Unit::Kilogram},
    {"l", Unit::Litre},
    {"lb", Unit::Pound},
    {"lbs", Unit::Pound},
    {"liter", Unit::Litre},
    {"liters", Unit::Litre},
    {"litre", Unit::Litre},
    {"litres", Unit::Litre},
    {"ltr", Unit::Litre},
    {"m", Unit::Metre},
    {"m2", Unit::SquareMetre},
    {"meter", Unit::Metre},
    {"meters", Unit::Metre},
    {"metre", Unit::Metre},
    {"metres", Unit::Metre},
    {"metric gauge", Unit::MetricFilmGauge},
    {"micrometer", Unit::Micrometre},
    {"micrometers", Unit::Micrometre},
    {"micrometre", Unit::Micrometre},
    {"micrometres", Unit::Micrometre},
    {"micron", Unit::Micrometre},
    {"microns", Unit::Micrometre},
    {"mil", Unit::Mil},
    {"milliliter", Unit::Millilitre},
    {"milliliters", Unit::Millilitre},
    {"millilitre", Unit::Millilitre},
    {"millilitres", Unit::Millilitre},
    {"millimeter", Unit::Millimetre},
    {"millimeters", Unit::Millimetre},
    {"millimetre", Unit::Millimetre},
    {"millimetres", Unit::Millimetre},
    {"mils", Unit::Mil},
    {"min", Unit::Minute},
    {"mins", Unit::Minute},
    {"minute", Unit::Minute},
    {"minutes", Unit::Minute},
    {"ml", Unit::Millilitre},
    {"mm", Unit::Millimetre},
    {"mm2", Unit::SquareMillimetre},
    {"ounce", Unit::Ounce},
    {"ounces", Unit::Ounce},
    {"oz", Unit::Ounce},
    {"pc", Unit::Each},
    {"pcs", Unit::Each},
    {"piece", Unit::Each},
    {"pieces", Unit::Each},
    {"pint", Unit::ImperialPint},
    {"pint", Unit::UsPint},
    {"pints", Unit::ImperialPint},
    {"pints", Unit::UsPint},
    {"pound", Unit::Pound},
    {"pounds", Unit::Pound},
    {"pt", Unit::ImperialPint},
    {"pt", Unit::UsPint},
    {"qt", Unit::ImperialQuart},
    {"qt", Unit::UsQuart},
    {"quart", Unit::ImperialQuart},
    {"quart", Unit::UsQuart},
    {"quarts", Unit::ImperialQuart},
    {"quarts", Unit::UsQuart},
    {"s", Unit::Second},
    {"sec", Unit::Second},
    {"second", Unit::Second},
    {"seconds", Unit::Second},
    {"sq cm", Unit::SquareCentimetre},
    {"sq ft", Unit::SquareFoot},
    {"sq in", Unit::SquareInch},
    {"sq m", Unit::SquareMetre},
    {"sq mm", Unit::SquareMillimetre},
    {"sq yd", Unit::SquareYard},
    {"square feet", Unit::SquareFoot},
    {"square foot", Unit::SquareFoot},
    {"square inch", Unit::SquareInch},
    {"square inches", Unit::SquareInch},
    {"square meter", Unit::SquareMetre},
    {"square meters", Unit::SquareMetre},
    {"square metre", Unit::SquareMetre},
    {"square metres", Unit::SquareMetre},
    {"square yard", Unit::SquareYard},
    {"square yards", Unit::SquareYard},
    {"thou", Unit::Mil},
    {"um", Unit::Micrometre},
    {"us fl oz", Unit::UsFluidOunce},
    {"us fluid ounce", Unit::UsFluidOunce},
    {"us fluid ounces", Unit::UsFluidOunce},
    {"us gal", Unit::UsGallon},
    {"us gallon", Unit::UsGallon},
    {"us gallons", Unit::UsGallon},
    {"us gauge", Unit::UsFilmGauge},
    {"us pint", Unit::UsPint},
    {"us pints", Unit::UsPint},
    {"us pt", Unit::UsPint},
    {"us qt", Unit::UsQuart},
    {"us quart", Unit::UsQuart},
    {"us quarts", Unit::UsQuart},
    {"yard", Unit::Yard},
    {"yards", Unit::Yard},
    {"yd", Unit::Yard},
    {"yd2", Unit::SquareYard},
    {"yds", Unit::Yard},
});

constexpr bool sorted_spellings() {
  for (std::size_t i = 1; i < kSpellings.size(); ++i) {
    if (kSpellings[i].text < kSpellings[i - 1].text) return false;
  }
  return true;
}
static_assert(sorted_spellings());

struct Replacement {
  std::string_view typed;
  std::string_view meant;
};

// What keyboards and word processors make of the plain signs.
constexpr auto kSigns = std::to_array<Replacement>({
    {"\u00a0", " "},  {"\u202f", " "},  {"\u2009", " "},  {"\t", " "},
    {"\u2032", "'"},  {"\u2019", "'"},  {"\u2018", "'"},  {"\u2033", "\""}, {"\u201d", "\""}, {"\u201c", "\""},
    {"\u00b5", "u"},  {"\u03bc", "u"},  {"\u00b2", "2"},  {"^2", "2"},      {"\u2044", "/"},  {"\u2212", "-"},
    {"\u00bd", " 1/2"}, {"\u00bc", " 1/4"}, {"\u00be", " 3/4"}, {"\u2153", " 1/3"}, {"\u2154", " 2/3"},
    {"\u215b", " 1/8"}, {"\u215c", " 3/8"}, {"\u215d", " 5/8"}, {"\u215e", " 7/8"},
});

}  // namespace

UnitFacts facts_of(Unit unit) { return kUnits.at(static_cast<std::size_t>(unit)); }
Dimension dimension_of(Unit unit) { return facts_of(unit).dimension; }
std::string_view word_of(Unit unit) { return facts_of(unit).word; }

std::string_view word_of(Dimension dimension) {
  switch (dimension) {
    case Dimension::Count: return "a count";
    case Dimension::Length: return "a length";
    case Dimension::Area: return "an area";
    case Dimension::Volume: return "a volume";
    case Dimension::Mass: return "a mass";
    case Dimension::Time: return "a time";
  }
  throw InternalError("a dimension has a word");
}

Unit base_unit_of(Dimension dimension) {
  switch (dimension) {
    case Dimension::Count: return Unit::Each;
    case Dimension::Length: return Unit::Metre;
    case Dimension::Area: return Unit::SquareMetre;
    case Dimension::Volume: return Unit::Litre;
    case Dimension::Mass: return Unit::Kilogram;
    case Dimension::Time: return Unit::Second;
  }
  throw InternalError("a dimension has a base unit");
}

Fraction factor_of(Unit unit) {
  const UnitFacts facts = facts_of(unit);
  return Fraction::of(facts.numerator, facts.denominator);
}

std::optional<Fraction> convert(const Fraction& quantity, Unit from, Unit to) {
  if (from == to) return quantity;
  if (dimension_of(from) != dimension_of(to)) return std::nullopt;
  return quantity * (factor_of(from) / factor_of(to));
}

std::string with_plain_signs(std::string_view text) {
  std::string out;
  while (!text.empty()) {
    // Letters, digits and most plain signs stand for themselves.
    const bool is_plain = (text.front() & 0x80) == 0 && text.front() != '\t' && text.front() != '^';
    const auto sign = is_plain ? kSigns.end() : std::ranges::find_if(kSigns, [&](const Replacement& each) { return text.starts_with(each.typed); });
    std::string_view piece = sign == kSigns.end() ? text.substr(0, 1) : sign->meant;
    text.remove_prefix(sign == kSigns.end() ? 1 : sign->typed.size());
    for (const char c : piece) {
      if (c == ' ' && (out.empty() || out.back() == ' ')) continue;
      out.push_back(static_cast<char>(std::tolower(static_cast<unsigned char>(c))));
    }
  }
  while (!out.empty() && out.back() == ' ') out.pop_back();
  return out;
}

std::vector<Unit> units_spelled(std::string_view text) {
  std::string spelling = with_plain_signs(text);
  if (spelling.size() > 1 && spelling.back() == '.') spelling.pop_back();
  std::vector<Unit> units;
  const auto first = std::lower_bound(kSpellings.begin(), kSpellings.end(), spelling,
                                      [](const Spelling& each, std::string_view typed) { return each.text < typed; });
  for (auto each = first; each != kSpellings.end() && each->text == spelling; ++each) units.push_back(each->unit);
  return units;
}

std::optional<Unit> find_unit(std::string_view text) {
  const auto units = units_spelled(text);
  if (units.size() != 1) return std::nullopt;
  return units.front();
}

std::vector<std::string> unit_spellings() {
  std::vector<std::string> spellings;
  for (const Spelling& each : kSpellings) {
    if (spellings.empty() || spellings.back() != each.text) spellings.emplace_back(each.text);
  }
  return spellings;
}

}  // namespace kitgap
