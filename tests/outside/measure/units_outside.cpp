#include <doctest/doctest.h>

#include <cmath>
#include <map>

#include "peer.h"
#include "value/unit.h"

using namespace kitgap;

namespace {

// What GNU units calls ours.
const std::map<Unit, std::string>& gnu_names() {
  static const std::map<Unit, std::string> names = {
      {Unit::Micrometre, "micrometer"}, {Unit::Millimetre, "mm"}, {Unit::Centimetre, "cm"}, {Unit::Metre, "m"}, {Unit::Mil, "mil"},
      {Unit::MetricFilmGauge, "micrometer/4"}, {Unit::UsFilmGauge, "mil/100"}, {Unit::Inch, "inch"}, {Unit::Foot, "ft"}, {Unit::Yard, "yd"},
      {Unit::SquareMillimetre, "mm^2"}, {Unit::SquareCentimetre, "cm^2"}, {Unit::SquareMetre, "m^2"}, {Unit::SquareInch, "inch^2"},
      {Unit::SquareFoot, "ft^2"}, {Unit::SquareYard, "yd^2"}, {Unit::Millilitre, "ml"}, {Unit::Centilitre, "cl"}, {Unit::Litre, "liter"},
      {Unit::ImperialFluidOunce, "brfloz"}, {Unit::UsFluidOunce, "usfloz"}, {Unit::ImperialPint, "brpint"}, {Unit::UsPint, "uspint"},
      {Unit::ImperialQuart, "brquart"}, {Unit::UsQuart, "usquart"}, {Unit::ImperialGallon, "brgallon"}, {Unit::UsGallon, "usgallon"},
      {Unit::Gram, "gram"}, {Unit::Kilogram, "kg"}, {Unit::Ounce, "ounce"}, {Unit::Pound, "pound"}, {Unit::Second, "s"},
      {Unit::Minute, "minute"}, {Unit::Hour, "hour"}, {Unit::Day, "day"}};
  return names;
}

}  // namespace

TEST_CASE("outside: published conversions hold exactly") {
  OutsideTable published("conversions.csv");
  REQUIRE(published.table);
  for (std::size_t row = 0; row < published.table->rows(); ++row) {
    const auto from = find_unit(published.table->text(row, "from"));
    const auto to = find_unit(published.table->text(row, "to"));
    CAPTURE(published.table->text(row, "source"));
    REQUIRE(from);
    REQUIRE(to);
    CHECK(convert(1, *from, *to) == published.table->figure(row, "numerator") / published.table->figure(row, "denominator"));
  }
  CHECK_FALSE(published.diagnostics.has_errors());
}

TEST_CASE("outside: GNU units gives every factor") {
  std::string pairs;
  std::vector<Fraction> ours;
  for (const auto& [from, from_name] : gnu_names()) {
    for (const auto& [to, to_name] : gnu_names()) {
      const auto factor = from == to ? std::nullopt : convert(1, from, to);
      if (!factor) continue;
      pairs += from_name + "\n" + to_name + "\n";
      ours.push_back(*factor);
    }
  }
  const auto theirs = peer_says("units", "-t -q -d 17", pairs);
  if (!theirs) {
    MESSAGE("skipped: GNU units is not installed");
    return;
  }
  REQUIRE(theirs->size() == ours.size());
  CHECK(ours.size() >= 200);
  for (std::size_t i = 0; i < ours.size(); ++i) {
    CAPTURE((*theirs)[i]);
    const double outside = std::strtod((*theirs)[i].c_str(), nullptr);
    CHECK(std::fabs(ours[i].to_approximate() - outside) <= 1e-14 * outside);  // their doubles have 16 digits
  }
}

TEST_CASE("outside: GNU units reads compound figures the same") {
  const std::vector<std::pair<std::string, std::string>> figures = {
      {"5' 3 1/2\"", "5 ft + 3.5 inch"}, {"2 1/2 yd", "2.5 yd"}, {"3/8\"", "3|8 inch"}, {"2 lb 4 oz", "2 lb + 4 ounce"}, {"6 mil", "6 mil"}};
  std::string input;
  for (const auto& [ours, theirs] : figures) input += theirs + "\n" + (ours.find("lb") == std::string::npos ? "mm\n" : "gram\n");
  const auto theirs = peer_says("units", "-t -q -d 17", input);
  if (!theirs) {
    MESSAGE("skipped: GNU units is not installed");
    return;
  }
  REQUIRE(theirs->size() == figures.size());
  for (std::size_t i = 0; i < figures.size(); ++i) {
    const auto measured = parse_measured(figures[i].first);
    REQUIRE(measured);
    const Unit into = dimension_of(measured->unit) == Dimension::Mass ? Unit::Gram : Unit::Millimetre;
    const double outside = std::strtod((*theirs)[i].c_str(), nullptr);
    CHECK(std::fabs(in_unit(*measured, into)->quantity.to_approximate() - outside) <= 1e-14 * outside);
  }
}
