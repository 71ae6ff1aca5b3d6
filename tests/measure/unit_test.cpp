#include "value/unit.h"

#include <doctest/doctest.h>

using namespace kitgap;

namespace {

std::string read(std::string_view text, DecimalMark mark = DecimalMark::Point) {
  const auto reading = read_measured(text, mark);
  return reading.value ? to_text(*reading.value) : "wrong: " + reading.wrong;
}

}  // namespace

TEST_CASE("units: a figure reads as people type it") {
  struct Case {
    const char* typed;
    const char* reads;
  };
  for (const Case& each : {Case{"12 in", "12 in"}, Case{"2 1/2 yd", "2.5 yd"}, Case{"2-1/2\"", "2.5 in"},
                           Case{"3/8\"", "0.375 in"}, Case{"6 mil", "6 mil"}, Case{"1.37 m", "1.37 m"},
                           Case{"2½ yd", "2.5 yd"}, Case{"½ in", "0.5 in"}, Case{"5' 3 1/2\"", "63.5 in"},
                           Case{"5'-3\"", "63 in"}, Case{"1 h 30 min", "90 min"}, Case{"2 lb 4 oz", "36 oz"},
                           Case{"125 µm", "125 um"}, Case{"125 μm", "125 um"}, Case{"3 m²", "3 m2"}, Case{"3 m^2", "3 m2"},
                           Case{"8 US fl. oz", "wrong: `us fl. oz` is no unit"}, Case{"8 US fl oz", "8 US fl oz"},
                           Case{"1/3 yd", "1/3 yd"}, Case{"4 pcs", "4 each"}, Case{"10 MM", "10 mm"}, Case{"7 ins.", "7 in"},
                           Case{"-1/2 in", "-0.5 in"}, Case{"500 metric gauge", "500 metric gauge"}}) {
    CAPTURE(each.typed);
    CHECK(read(each.typed) == each.reads);
  }
}

TEST_CASE("units: what cannot be read says why") {
  CHECK(read("12") == "wrong: the unit is missing");
  CHECK(read("") == "wrong: a number and a unit are missing");
  CHECK(read("4 pair") == "wrong: `pair` is no unit");
  CHECK(read("1/0 in") == "wrong: the number is not readable");
  CHECK(read("1,5 m") == "wrong: a comma stands in the number; write a decimal point and no grouping");
  CHECK(read("1.5 m", DecimalMark::Comma) == "wrong: a point stands in the number; write a decimal comma and no grouping");
  CHECK(read("1,5 m", DecimalMark::Comma) == "1.5 m");
  CHECK(read("1 m 2 kg") == "wrong: two units that do not measure the same thing");
  CHECK(read("3 in 2 ft") == "wrong: the second unit is not smaller than the first");
  CHECK(read("5 1/2 ft 3 in") == "wrong: a figure in two units must be whole in the first and less than one of it in the second");
  CHECK(read("5 ft 12 in") == "wrong: a figure in two units must be whole in the first and less than one of it in the second");
  CHECK(read("99999999999999999999999999999999999999999 in") == "wrong: a figure is too large to be held exactly");
}

TEST_CASE("units: a spelling with two sizes is a question, never a guess") {
  for (const char* typed : {"8 fl oz", "2 pints", "1 gal", "1 qt", "500 gauge"}) {
    CAPTURE(typed);
    CHECK_FALSE(parse_measured(typed));
    CHECK(read_measured(typed).could_be.size() == 2);
  }
  CHECK(read("8 fl oz") == "wrong: `fl oz` has more than one size; write `imp fl oz` or `US fl oz`");
}

TEST_CASE("units: different dimensions never convert, and every spelling of a unit is one that is read") {
  CHECK_FALSE(convert(1, Unit::Metre, Unit::SquareMetre));
  CHECK_FALSE(convert(1, Unit::Ounce, Unit::UsFluidOunce));
  CHECK_FALSE(convert(1, Unit::Each, Unit::Gram));
  for (int i = 0; i <= static_cast<int>(Unit::Day); ++i) {
    const auto unit = static_cast<Unit>(i);
    CAPTURE(word_of(unit));
    CHECK(find_unit(word_of(unit)) == unit);
    CHECK(factor_of(base_unit_of(dimension_of(unit))) == Fraction(1));
    CHECK(convert(*convert(7, unit, base_unit_of(dimension_of(unit))), base_unit_of(dimension_of(unit)), unit) == Fraction(7));
  }
  CHECK(parse_mixed_number("2 1/2") == Fraction::parse("2.5"));
  CHECK_FALSE(parse_mixed_number("2 in"));
}
