#include "value/value_set.h"

#include <doctest/doctest.h>

#include <random>

using namespace kitgap;

namespace {

FactDomain whole_numbers() { return {FactType::Number, true, {}, {}, {}}; }
FactDomain years() { return {FactType::Number, true, {}, Fraction(1966), Fraction(1974)}; }
FactDomain decimals() { return {FactType::Number, false, {}, {}, {}}; }
FactDomain bodies() {
  return {FactType::Text, true, {std::string("saloon"), std::string("estate"), std::string("drophead")}, {}, {}};
}
FactDomain any_text() { return {FactType::Text, true, {}, {}, {}}; }

ValueSet between(const FactDomain& domain, int lo, bool lo_closed, int hi, bool hi_closed) {
  return ValueSet::of(domain, ValueSet::Interval{Fraction(lo), Fraction(hi), lo_closed, hi_closed});
}

}  // namespace

TEST_CASE("value set: a whole number's open ends become closed ones") {
  const FactDomain domain = whole_numbers();
  CHECK(between(domain, 1, true, 4, false) == between(domain, 1, true, 3, true));
  CHECK(between(domain, 1, false, 2, false).is_empty());
  CHECK(between(domain, 1, true, 3, true).size() == 3);
  CHECK((between(domain, 1, true, 3, true) | between(domain, 4, true, 6, true)).to_unary_test() == "[1..6]");
}

TEST_CASE("value set: an end that is not there has one form") {
  for (const FactDomain& domain : {whole_numbers(), decimals()}) {
    const auto of = [&](std::optional<Fraction> lo, std::optional<Fraction> hi, bool lo_closed, bool hi_closed) {
      return ValueSet::of(domain, ValueSet::Interval{lo, hi, lo_closed, hi_closed});
    };
    CHECK(of({}, Fraction(2), false, true) == of({}, Fraction(2), true, true));
    CHECK(of(Fraction(2), {}, true, false) == of(Fraction(2), {}, true, true));
    CHECK(of({}, {}, false, false) == ValueSet::all(domain));
    CHECK((of({}, Fraction(2), false, true) | of(Fraction(2), {}, true, false)) == ValueSet::all(domain));
    CHECK((of({}, Fraction(2), false, true) & of({}, Fraction(2), true, true)) == of({}, Fraction(2), true, true));
  }
}

TEST_CASE("value set: what is left out is said where that is shorter") {
  const auto text = [](std::size_t allowed, std::size_t left_out) {
    FactDomain domain{FactType::Text, true, {}, {}, {}};
    for (std::size_t value = 0; value < allowed; ++value) domain.allowed.emplace_back(std::string(1, static_cast<char>('a' + value)));
    ValueSet set = ValueSet::all(domain);
    for (std::size_t value = 0; value < left_out; ++value) set = set - ValueSet::of(domain, domain.allowed[value]);
    return set.to_unary_test();
  };
  CHECK(text(2, 1) == "\"b\"");
  CHECK(text(3, 1) == "\"b\", \"c\"");
  CHECK(text(4, 1) == "not(\"a\")");
  CHECK(text(6, 2) == "\"c\", \"d\", \"e\", \"f\"");
  CHECK(text(7, 2) == "not(\"a\", \"b\")");
  CHECK(text(4, 4) == "null");
  CHECK(text(4, 0) == "-");
}

TEST_CASE("value set: decimals keep their open ends") {
  const FactDomain domain = decimals();
  const ValueSet low = between(domain, 1, true, 2, false);
  const ValueSet high = between(domain, 2, false, 3, true);
  CHECK((low | high).to_unary_test() == "[1..2), (2..3]");
  CHECK((low | high | ValueSet::of(domain, Fraction(2))).to_unary_test() == "[1..3]");
  CHECK(!low.size().has_value());
  CHECK(ValueSet::of(domain, Fraction(2)).size() == 1);
}

TEST_CASE("value set: nothing outside the declared range is ever in a set") {
  const FactDomain domain = years();
  const ValueSet from = ValueSet::of(domain, ValueSet::Interval{Fraction(1970), {}, true, true});
  CHECK(from.to_unary_test() == "[1970..1974]");
  CHECK(from.size() == 5);
  CHECK((ValueSet::all(domain) - from).to_unary_test() == "[1966..1969]");
  CHECK(ValueSet::of(domain, ValueSet::Interval{}).to_unary_test() == "-");
  CHECK(ValueSet::none(domain).to_unary_test() == "null");
}

TEST_CASE("value set: texts with allowed values, and without") {
  const FactDomain body = bodies();
  const ValueSet estate = ValueSet::of(body, std::string("estate"));
  CHECK(estate.to_unary_test() == "\"estate\"");
  CHECK((ValueSet::all(body) - estate).to_unary_test() == "\"saloon\", \"drophead\"");
  CHECK(ValueSet::of(body, std::string("van")).is_empty());
  CHECK(ValueSet::of(years(), std::string("1970")).is_empty());
  CHECK(ValueSet::of(whole_numbers(), std::string("1970")).is_empty());
  const FactDomain text = any_text();
  const ValueSet not_a = ValueSet::all(text) - ValueSet::of(text, std::string("a"));
  CHECK(not_a.to_unary_test() == "not(\"a\")");
  CHECK(!not_a.size().has_value());
  CHECK(!not_a.contains(FactValue(std::string("a"))));
  CHECK(not_a.contains(*not_a.witness()));
  CHECK((not_a | ValueSet::of(text, std::string("a"))) == ValueSet::all(text));
}

TEST_CASE("value set: days are whole numbers in order") {
  const FactDomain domain{FactType::Date, true, {}, {}, {}};
  const Fraction first(*day_number_of("1970-02-27"));
  const Fraction last(*day_number_of("1970-03-01"));
  const ValueSet days = ValueSet::of(domain, ValueSet::Interval{first, last, true, false});
  CHECK(days.to_unary_test() == "[1970-02-27..1970-02-28]");
  CHECK(day_number_of("1970-01-01") == 0);
  CHECK(day_number_of("1969-12-31") == -1);
  CHECK(!day_number_of("1970-02-29").has_value());
  CHECK(iso_date_of(*day_number_of("2000-02-29")) == "2000-02-29");
}

TEST_CASE("value set: unions, cuts and differences agree with listing the values") {
  const unsigned seed = 20260;
  MESSAGE("seed " << seed);
  std::mt19937 random(seed);
  const FactDomain domain{FactType::Number, true, {}, Fraction(0), Fraction(12)};
  const auto some_set = [&] {
    ValueSet set = ValueSet::none(domain);
    for (unsigned part = random() % 4; part > 0; --part) {
      const int lo = static_cast<int>(random() % 14) - 1;
      set = set | between(domain, lo, random() % 2 == 0, lo + static_cast<int>(random() % 5), random() % 2 == 0);
    }
    return set;
  };
  for (int round = 0; round < 2000; ++round) {
    const ValueSet a = some_set();
    const ValueSet b = some_set();
    CAPTURE(a.to_unary_test());
    CAPTURE(b.to_unary_test());
    for (int value = -1; value <= 13; ++value) {
      const FactValue number = Fraction(value);
      REQUIRE((a & b).contains(number) == (a.contains(number) && b.contains(number)));
      REQUIRE((a | b).contains(number) == (a.contains(number) || b.contains(number)));
      REQUIRE((a - b).contains(number) == (a.contains(number) && !b.contains(number)));
    }
    REQUIRE(a.meets(b) == !(a & b).is_empty());
    REQUIRE(a.contains(b) == ((a | b) == a));
    REQUIRE(a.values().size() == *a.size());
  }
}

// Ends that are open or missing: every point where something may change, and one between each two, is asked.
TEST_CASE("value set: sets with open and missing ends are what a value is asked, and one set is written in one way") {
  const unsigned seed = 20261;
  MESSAGE("seed " << seed);
  std::mt19937 random(seed);
  const FactDomain whole = whole_numbers(), decimal = decimals(), declared{FactType::Number, false, {}, Fraction(1), Fraction(6)};
  for (const FactDomain* domain : {&whole, &decimal, &declared}) {
    const auto some_set = [&] {
      ValueSet set = ValueSet::none(*domain);
      for (unsigned part = random() % 4; part > 0; --part) {
        const int lo = static_cast<int>(random() % 9) - 1;
        ValueSet::Interval interval{Fraction(lo), Fraction(lo + static_cast<int>(random() % 4)), random() % 2 == 0, random() % 2 == 0};
        if (random() % 5 == 0) interval.lo.reset();
        if (random() % 5 == 0) interval.hi.reset();
        set = set | ValueSet::of(*domain, interval);
      }
      return set;
    };
    for (int round = 0; round < 2000; ++round) {
      const ValueSet a = some_set(), b = some_set();
      CAPTURE(a.to_unary_test());
      CAPTURE(b.to_unary_test());
      for (int half = -6; half <= 26; ++half) {
        const FactValue number = Fraction::of(half, 2);
        REQUIRE((a & b).contains(number) == (a.contains(number) && b.contains(number)));
        REQUIRE((a | b).contains(number) == (a.contains(number) || b.contains(number)));
        REQUIRE((a - b).contains(number) == (a.contains(number) && !b.contains(number)));
      }
      REQUIRE((a | b) == (b | a));
      REQUIRE((a & b) == (b & a));
      REQUIRE((a - b) == (a & (ValueSet::all(*domain) - b)));
      REQUIRE(((a - b) | (a & b)) == a);
      REQUIRE(((a - b) & b).is_empty());
      REQUIRE(a.meets(b) == !(a & b).is_empty());
      REQUIRE(a.contains(b) == (b - a).is_empty());
      REQUIRE(a.witness().has_value() == !a.is_empty());
      if (!a.is_empty()) REQUIRE(a.contains(*a.witness()));
      if (a.size()) REQUIRE(a.values().size() == *a.size());
    }
  }
}
