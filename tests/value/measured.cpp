#include <doctest/doctest.h>

#include <string>

#include "value/unit.h"

using namespace kitgap;

namespace {

struct Figure {
  const char* typed;
  const char* read;
};

std::string read(const char* typed, DecimalMark mark = DecimalMark::Point) {
  const MeasuredReading reading = read_measured(typed, mark);
  return reading.value ? to_text(*reading.value) : "! " + reading.wrong;
}

}  // namespace

// 1 ft = 12 in, 1 yd = 3 ft (NIST Handbook 44, appendix C); how people write figures: common practice, no source.
TEST_CASE("measured: figures as people write them") {
  const Figure figures[] = {
      {"3 mm", "3 mm"},
      {"3mm", "3 mm"},
      {"  3   mm ", "3 mm"},
      {"-3 mm", "-3 mm"},
      {"- 3 mm", "-3 mm"},
      {"0.5 m", "0.5 m"},
      {".5 m", "0.5 m"},
      {"5. m", "! this is no number followed by a unit"},
      {"1.5.2 m", "! the number is not readable"},
      {"1,5 m", "! a comma stands in the number; write a decimal point and no grouping"},
      {"3/8 in", "0.375 in"},
      {"3/8\"", "0.375 in"},
      {"\u00bd in", "0.5 in"},
      {"2 1/2 yd", "2.5 yd"},
      {"2-1/2 yd", "2.5 yd"},
      {"2\u00bd yd", "2.5 yd"},
      {"2 5/2 yd", "! the unit is missing"},
      {"2 3/3 yd", "! the unit is missing"},
      {"2.5 1/2 yd", "! the unit is missing"},
      {"1/2/3 in", "! the number is not readable"},
      {"1/0 in", "! the number is not readable"},
      {"1/ in", "! the number is not readable"},
      {"/2 in", "! this is no number followed by a unit"},
      {"5' 3\"", "63 in"},
      {"5'3\"", "63 in"},
      {"5'-3\"", "63 in"},
      {"5' 3 1/2\"", "63.5 in"},
      {"5' 11\"", "71 in"},
      {"5' 12\"", "! a figure in two units must be whole in the first and less than one of it in the second"},
      {"5.5' 3\"", "! a figure in two units must be whole in the first and less than one of it in the second"},
      {"1 yd 2 ft 3 in", "63 in"},
      {"1 yd 3 ft", "! a figure in two units must be whole in the first and less than one of it in the second"},
      {"3\" 5'", "! the second unit is not smaller than the first"},
      {"3 ft 5 ft", "! the second unit is not smaller than the first"},
      {"5' 3 kg", "! two units that do not measure the same thing"},
      {"1 m 5 cm", "105 cm"},
      {"5'-", "! this is no number followed by a unit"},
      {"5 furlongs", "! `furlongs` is no unit"},
      {"5", "! the unit is missing"},
      {"", "! a number and a unit are missing"},
      {"-", "! a number and a unit are missing"},
      {"mm", "! this is no number followed by a unit"},
      {"2 m2", "2 m2"},
      {"2 mm2 3", "! the unit is missing"},
      {"2 m\u00b2", "2 m2"},
  };
  for (const Figure& figure : figures) {
    CAPTURE(std::string(figure.typed));
    CHECK(read(figure.typed) == figure.read);
  }
  CHECK(read("1,5 m", DecimalMark::Comma) == "1.5 m");
  CHECK(read("1.5 m", DecimalMark::Comma) == "! a point stands in the number; write a decimal comma and no grouping");
  CHECK(read("1, m", DecimalMark::Comma) == "! this is no number followed by a unit");
}

TEST_CASE("measured: a number alone") {
  const auto number = [](const char* typed, DecimalMark mark = DecimalMark::Point) {
    const auto value = parse_mixed_number(typed, mark);
    return value ? value->to_text() : std::string("none");
  };
  const Figure figures[] = {
      {"12", "12"}, {"12.5", "12.5"}, {"-12.5", "-12.5"}, {"2 1/2", "2.5"}, {"2-1/2", "2.5"}, {"\u00be", "0.75"}, {"2\u00be", "2.75"}, {"3/8", "0.375"},
      {"9/8", "1.125"}, {"-3/8", "-0.375"}, {"2 9/8", "none"}, {"3/0", "none"}, {"3/", "none"}, {"12.", "none"}, {".5", "0.5"}, {"1 2", "none"}, {"1/2 3", "none"},
      {"12 ", "12"}, {" 12", "12"}, {"x", "none"}, {"", "none"}, {"-", "none"}, {"--1", "none"}, {"1,5", "none"}, {"1e3", "none"},
      {"99999999999999999999999999999999999999999999", "none"},
  };
  for (const Figure& figure : figures) {
    CAPTURE(std::string(figure.typed));
    CHECK(number(figure.typed) == figure.read);
  }
  CHECK(number("1,5", DecimalMark::Comma) == "1.5");
  CHECK(number("1.5", DecimalMark::Comma) == "none");
}
