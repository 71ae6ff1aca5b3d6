#include <doctest/doctest.h>

#include <cmath>
#include <set>

#include "measure/fastener.h"
#include "peer.h"

using namespace kitgap;

namespace {

const FastenerTables& tables() {
  static const FastenerTables read = [] {
    Sources sources;
    Diagnostics diagnostics;
    return read_fastener_tables(std::filesystem::path(KITGAP_SOURCE_DIR) / "data/standards", sources, diagnostics).value();
  }();
  return read;
}

const Thread& thread_named(const std::string& text) {
  const auto typed = parse_thread(text);
  REQUIRE(typed);
  const ThreadFinding finding = find_thread(tables(), *typed);
  REQUIRE(finding.kind == ThreadFinding::Kind::Known);
  return tables().threads[finding.candidates.front()];
}

// `value` within half a unit of the last digit that a table prints.
bool rounds_to(double value, const std::string& printed) {
  const std::size_t point = printed.find('.');
  const std::size_t digits = point == std::string::npos ? 0 : printed.size() - point - 1;
  return std::fabs(value - std::strtod(printed.c_str(), nullptr)) <= 0.5000001 * std::pow(10.0, -static_cast<double>(digits));
}

double middle_of(const Bounds& bounds) { return (bounds.lo.to_approximate() + bounds.hi.to_approximate()) / 2; }

}  // namespace

TEST_CASE("outside: ISO 261 has this pitch, or has it not") {
  OutsideTable published("metric-pitches.csv");
  REQUIRE(published.table);
  for (std::size_t row = 0; row < published.table->rows(); ++row) {
    const std::string name = "M" + published.table->text(row, "diameter_mm") + "x" + published.table->text(row, "pitch_mm");
    CAPTURE(name);
    const auto typed = parse_thread(name);
    REQUIRE(typed);
    const bool is_known = find_thread(tables(), *typed).kind == ThreadFinding::Kind::Known;
    CHECK(is_known == (published.table->text(row, "in_standard") == "yes"));
  }
}

TEST_CASE("outside: inch threads in millimetres, and their stress areas, as printed") {
  OutsideTable published("inch-pitches.csv");
  REQUIRE(published.table);
  for (std::size_t row = 0; row < published.table->rows(); ++row) {
    const std::string name = published.table->text(row, "thread");
    CAPTURE(name);
    const Thread& thread = thread_named(name);
    CHECK(thread.diameter_mm == published.table->figure(row, "diameter_mm"));
    CHECK(rounds_to(thread.pitch_mm.to_approximate(), published.table->text(row, "pitch_mm")));
    CHECK(rounds_to(middle_of(*stress_area_mm2(thread)) / 645.16, published.table->text(row, "stress_area_in2")));
  }
}

TEST_CASE("outside: metric stress areas worked out elsewhere") {
  OutsideTable published("stress-areas.csv");
  REQUIRE(published.table);
  for (std::size_t row = 0; row < published.table->rows(); ++row) {
    CAPTURE(published.table->text(row, "thread"));
    const auto area = stress_area_mm2(thread_named(published.table->text(row, "thread")));
    REQUIRE(area);
    CHECK(area->hi - area->lo <= Fraction::of(2, 1'000'000));
    // The other program took 0.938194 for the standard's 0.9382: less than 0.001 mm2 apart at these sizes, then rounded.
    CHECK(std::fabs(middle_of(*area) - published.table->figure(row, "stress_area_mm2").to_approximate()) < 0.0015);
  }
}

TEST_CASE("outside: near misses by arithmetic on the published sizes") {
  OutsideTable published("near-threads.csv");
  REQUIRE(published.table);
  for (std::size_t row = 0; row < published.table->rows(); ++row) {
    const Thread& unified = thread_named(published.table->text(row, "unified"));
    const std::string metric = thread_named(published.table->text(row, "metric")).name;
    CAPTURE(unified.name);
    bool found = false;
    for (const NearMiss& miss : near_misses(tables(), static_cast<std::size_t>(&unified - tables().threads.data()))) {
      if (tables().threads[miss.thread].name != metric) continue;
      found = true;
      CHECK(rounds_to(miss.diameter_more_mm.to_approximate(), published.table->text(row, "diameter_more_mm")));
      CHECK(rounds_to(miss.pitch_more_mm.to_approximate(), published.table->text(row, "pitch_more_mm")));
    }
    CHECK(found);
  }
}

TEST_CASE("outside: how many sizes one spanner fits") {
  OutsideTable published("spanners.csv");
  REQUIRE(published.table);
  for (std::size_t row = 0; row < published.table->rows(); ++row) {
    std::set<std::string> sizes;
    for (const FlatsRow* flats : threads_for_spanner(tables(), published.table->figure(row, "across_flats_mm"))) {
      if (flats->system != "DIN, before about 1970") sizes.insert(flats->thread);
    }
    CAPTURE(published.table->text(row, "across_flats_mm"));
    CHECK(Fraction(static_cast<std::int64_t>(sizes.size())) == published.table->figure(row, "sizes"));
  }
}

// ISO 898-1, designation of bolts: a hundredth of the nominal tensile strength, and ten times the ratio of yield to it. The rule
// and the table were read on different pages.
TEST_CASE("outside: property classes obey the rule that names them") {
  CHECK(tables().classes.size() == 10);
  for (const PropertyClass& each : tables().classes) {
    CAPTURE(each.name);
    const std::size_t point = each.name.find('.');
    const Fraction tensile = *Fraction::parse(each.name.substr(0, point)) * Fraction(100);
    const Fraction yield = tensile * *Fraction::parse(each.name.substr(point + 1)) / Fraction(10);
    CHECK(each.tensile_least_mpa >= tensile);
    CHECK(each.yield_nominal_mpa == yield);
    CHECK(each.proof_mpa < each.yield_nominal_mpa);
  }
  CHECK(find_class(tables(), "8.8", 16)->tensile_least_mpa == Fraction(800));
  CHECK(find_class(tables(), "8.8", 18)->tensile_least_mpa == Fraction(830));
  CHECK(find_class(tables(), "9.8", 18) == nullptr);
}

// Forces of 49 CFR 571.209 S4.3 in pounds (read) and newtons (from memory): GNU units decides, not the memory.
TEST_CASE("outside: GNU units turns the belt forces of the regulation into newtons") {
  const auto theirs = peer_says("units", "-t -q -d 12", "9000 lbf\nN\n5000 lbf\nN\n6000 lbf\nN\n");
  if (!theirs) {
    MESSAGE("skipped: GNU units is not installed");
    return;
  }
  REQUIRE(theirs->size() == 3);
  const std::vector<std::pair<std::string, std::string>> pairs = {{"9000", "40034"}, {"5000", "22241"}, {"6000", "26689"}};
  for (std::size_t i = 0; i < pairs.size(); ++i) {
    CHECK(rounds_to(std::strtod((*theirs)[i].c_str(), nullptr), pairs[i].second));
    bool has_pounds = false, has_newtons = false;
    for (const RegulationRow& rule : tables().belt_rules) {
      has_pounds = has_pounds || (rule.regulation == "49 CFR 571.209" && rule.value == pairs[i].first && rule.unit == "lbf");
      has_newtons = has_newtons || (rule.regulation == "49 CFR 571.209" && rule.value == pairs[i].second && rule.unit == "N");
    }
    CHECK(has_pounds);
    CHECK(has_newtons);
  }
}

TEST_CASE("outside: wire gauges by GNU units, film by exact arithmetic") {
  Sources sources;
  Diagnostics diagnostics;
  const std::filesystem::path folder = std::filesystem::path(KITGAP_SOURCE_DIR) / "data/standards";
  auto film = StandardTable::open(folder / "film-thickness.csv", sources, diagnostics);
  REQUIRE(film);
  for (std::size_t row = 0; row < film->rows(); ++row) {
    CHECK(film->figure(row, "micrometre") == film->figure(row, "mil") * Fraction::of(254, 10));  // 16 CFR 500.19(a)
    CHECK(film->figure(row, "us_gauge") == film->figure(row, "mil") * Fraction(100));
    CHECK(film->figure(row, "metric_gauge") == film->figure(row, "micrometre") * Fraction(4));
  }
  auto wire = StandardTable::open(folder / "wire-gauge.csv", sources, diagnostics);
  REQUIRE(wire);
  std::string input;
  for (std::size_t row = 0; row < wire->rows(); ++row) {
    const std::string gauge = wire->text(row, "awg");
    const std::size_t stroke = gauge.find('/');
    const std::string number = stroke == std::string::npos ? gauge : std::to_string(1 - std::stoi(gauge.substr(0, stroke)));
    input += "wiregauge(" + number + ")\ninch\n";
  }
  const auto theirs = peer_says("units", "-t -q -d 12", input);
  if (!theirs) {
    MESSAGE("skipped: GNU units is not installed");
    return;
  }
  REQUIRE(theirs->size() == wire->rows());
  for (std::size_t row = 0; row < wire->rows(); ++row) {
    CAPTURE(wire->text(row, "awg"));
    const double inches = std::strtod((*theirs)[row].c_str(), nullptr);
    CHECK(rounds_to(inches, wire->text(row, "diameter_in")));
    CHECK(rounds_to(inches * 25.4, wire->text(row, "diameter_mm")));
    CHECK(rounds_to(inches * inches * 645.16 * 3.14159265358979 / 4, wire->text(row, "area_mm2")));
  }
}
