#include "condition/typed_instead.h"

#include <doctest/doctest.h>

#include <string>

using namespace kitgap;

namespace {

const Fact kYear{"model year", {FactType::Number, true, {}, Fraction(1966), Fraction(1974)}};
const Fact kSerial{"chassis serial", {FactType::Number, true, {}, {}, {}}};
const Fact kThickness{"thickness", {FactType::Number, false, {}, Fraction(0), Fraction(20)}};
const Fact kCount{"count", {FactType::Number, true, {}, Fraction(0), Fraction(99)}};
const Fact kBuilt{"built on", {FactType::Date, true, {}, {}, {}}};
const Fact kBody{"body style", {FactType::Text, true, {std::string("saloon")}, {}, {}}};
const Fact kTwoCenturies{"year of the pattern", {FactType::Number, true, {}, Fraction(1890), Fraction(1910)}};

struct Cell {
  const Fact& fact;
  const char* typed;
  const char* write;  // `none`: it is no such thing; empty: it is, and what to write cannot be told
};

template <std::size_t N>
void check(const Cell (&cells)[N]) {
  for (const Cell& cell : cells) {
    CAPTURE(cell.fact.name);
    CAPTURE(std::string(cell.typed));
    const auto found = find_typed_instead(cell.typed, cell.fact);
    CHECK((found ? found->write : std::string("none")) == cell.write);
    const auto again = rewritten_cell(cell.typed, cell.fact);
    CHECK(again.has_value() == (found && !found->write.empty()));
  }
}

}  // namespace

// What people type where a test should stand, and what they mean by it: common practice, no source.
TEST_CASE("typed instead: ranges") {
  const Cell cells[] = {
      {kYear, "1968-1971", "[1968..1971]"},
      {kYear, "1968 - 1971", "[1968..1971]"},
      {kYear, "1968..1971", "[1968..1971]"},
      {kYear, "1968 \xE2\x80\x94 1971", "[1968..1971]"},
      {kYear, "1968\xE2\x80\x93" "71", "[1968..1971]"},
      {kYear, "'68-'71", "[1968..1971]"},
      {kYear, "1968 to 1971", "[1968..1971]"},
      {kYear, "1968 thru 1971", "[1968..1971]"},
      {kYear, "1968 TILL 1971", "[1968..1971]"},
      {kYear, "from 1968 until 1971", "[1968..1971]"},
      {kYear, "between 1968 and 1971", "[1968..1971]"},
      {kYear, "1968 and 1971", "none"},
      {kYear, "1971-1968", "[1968..1971]"},
      {kYear, "1968-1968", "[1968..1968]"},
      {kYear, "68-71", "[1968..1971]"},
      {kYear, "1968-71", "[1968..1971]"},
      {kYear, "1968-9", "[1968..1969]"},
      {kYear, "1968/9", "[1968..1969]"},
      {kYear, "1971/68", "none"},
      {kYear, "1968-", ">= 1968"},
      {kYear, "1968-1971 on", "none"},
      {kYear, "- 1971", "none"},
      {kYear, "to-1971", "none"},
      {kThickness, "2-5", "[2..5]"},
      {kThickness, "2/5", "none"},
      {kThickness, "68-71", "[68..71]"},
      {kCount, "08-12", "[08..12]"},
      {kSerial, "3-5", "[3..5]"},
      {kSerial, "30500-899", "[30500..30899]"},
      {kSerial, "30500-400", "[400..30500]"},
      {kSerial, "100000000000000000-200000000000000000", "[100000000000000000..200000000000000000]"},
      {kSerial, "1000000000000000000-2000000000000000000", "none"},
      {kSerial, "1-2000000000000000000", "none"},
      {kTwoCenturies, "98-02", "[1898..1902]"},
      {kTwoCenturies, "90-91", "[1890..1891]"},
      {kTwoCenturies, "10-11", "[1910..1911]"},
      {kBuilt, "1968-1971", "[1968-01-01..1971-12-31]"},
      {kBuilt, "1968/1971", "[1968-01-01..1971-12-31]"},
      {kBuilt, "1968-71", "[1968-01-01..1971-12-31]"},
      {kBuilt, "68-71", "none"},
      {kBuilt, "1971 to 1968", "[1968-01-01..1971-12-31]"},
      {kBody, "1968-1971", "none"},
  };
  check(cells);
}

TEST_CASE("typed instead: open on one side") {
  const Cell cells[] = {
      {kYear, "1968 on", ">= 1968"},
      {kYear, "1968 onwards", ">= 1968"},
      {kYear, "1968+", ">= 1968"},
      {kYear, "68+", ">= 1968"},
      {kYear, "1968 and later", ">= 1968"},
      {kYear, "1968 or later", ">= 1968"},
      {kYear, "1968 and", "none"},
      {kYear, "on 1968", "none"},
      {kYear, "from 1968", ">= 1968"},
      {kYear, "since 1968", ">= 1968"},
      {kYear, "from 1968 on", ">= 1968"},
      {kYear, "from 1968 onwards", ">= 1968"},
      {kYear, "since 1968 on", "none"},
      {kYear, "from", "none"},
      {kYear, "on", "none"},
      {kYear, "after 1968", "> 1968"},
      {kYear, "post 1968", "> 1968"},
      {kYear, "post-1968", "> 1968"},
      {kYear, "post-68", "> 1968"},
      {kYear, "post + 1968", "none"},
      {kYear, "after-1968", "none"},
      {kYear, "after 1968 on", "none"},
      {kYear, "after", "none"},
      {kYear, "up to 1971", "<= 1971"},
      {kYear, "to 1971", "<= 1971"},
      {kYear, "until 1971", "<= 1971"},
      {kYear, "not after 1971", "<= 1971"},
      {kYear, "up to and including 1971", "<= 1971"},
      {kYear, "1971 and earlier", "<= 1971"},
      {kYear, "1971 or before", "<= 1971"},
      {kYear, "and earlier 1971", "none"},
      {kYear, "1971 up to", "none"},
      {kYear, "before 1971", "< 1971"},
      {kYear, "pre 1971", "< 1971"},
      {kYear, "pre-1971", "< 1971"},
      {kYear, "pre-71", "< 1971"},
      {kYear, "1971 pre", "none"},
      {kYear, "prior to 1971", "< 1971"},
      {kYear, "before", "none"},
      {kBuilt, "from 1968", ">= 1968-01-01"},
      {kBuilt, "after 1968", "> 1968-12-31"},
      {kBuilt, "up to 1971", "<= 1971-12-31"},
      {kBuilt, "before 1971", "< 1971-01-01"},
      {kBuilt, "from 68", "none"},
      {kBuilt, "before 71", "none"},
      {kSerial, "from 30500", ">= 30500"},
      {kSerial, "68 on", ">= 68"},
  };
  check(cells);
}

TEST_CASE("typed instead: a part of a year, a year, a day") {
  const Cell cells[] = {
      {kYear, "late 1968", "1968"},
      {kYear, "1968 late", "1968"},
      {kYear, "mid-1968", "1968"},
      {kYear, "mid 68", "1968"},
      {kYear, "end of 1968", "1968"},
      {kYear, "1968 Spring", "1968"},
      {kYear, "very late 1968", "none"},
      {kYear, "late", "none"},
      {kYear, "late early", "none"},
      {kBuilt, "early 1968", "[1968-01-01..1968-06-30]"},
      {kBuilt, "late 1968", "[1968-07-01..1968-12-31]"},
      {kBuilt, "mid 1968", "[1968-01-01..1968-12-31]"},
      {kBuilt, "late 68", "none"},
      {kBuilt, "1968", "[1968-01-01..1968-12-31]"},
      {kBuilt, "68", "none"},
      {kBuilt, "19680301", "none"},
      {kBuilt, "march", "none"},
      {kYear, "1968", "none"},
      {kYear, "01/03/1968", "1968"},
      {kYear, "01.03.1968", "1968"},
      {kYear, "1-3-68", "1968"},
      {kYear, "01/03-1968", "none"},
      {kYear, "01+03+1968", "none"},
      {kYear, "1/3/1950", ""},
      {kYear, "1968-03-01", "1968"},
      {kYear, "1968-03-01 00:00:00", "1968"},
      {kYear, "1968-03-01T00:00", "1968"},
      {kYear, "1968-03-01 on", "none"},
      {kYear, "1968-03-01 t", "none"},
      {kYear, "1968-03-01 z", "none"},
      {kYear, "1968-03-01 00", "none"},
      {kYear, "1968-03-01 00:", "none"},
      {kYear, "1968-03-01 00-00", "none"},
      {kYear, "1968-03-01 to:00", "none"},
      {kBuilt, "1968-03-01", "none"},
      {kBuilt, "1968-03-01T00:00:00Z", "1968-03-01"},
      {kBuilt, "1968-03-01 00:00:00.0", "1968-03-01"},
      {kBuilt, "1968-3-1", "1968-03-01"},
      {kBuilt, "1968-03-1", "1968-03-01"},
      {kBuilt, "1968/03/01", "1968-03-01"},
      {kBuilt, "1968.3.1", "1968-03-01"},
      {kBuilt, "1968-13-1", "none"},
      {kBuilt, "31/03/1968", "1968-03-31"},
      {kBuilt, "03/31/1968", "1968-03-31"},
      {kBuilt, "3/3/1968", "1968-03-03"},
      {kBuilt, "04/03/1968", ""},
      {kBuilt, "31/31/1968", ""},
      {kBuilt, "31/03/68", ""},
  };
  check(cells);
}

TEST_CASE("typed instead: two numbers that a spreadsheet made a date of") {
  const Cell cells[] = {
      {kCount, "03-May", "[3..5]"},
      {kCount, "3/may", "[3..5]"},
      {kCount, "07-May", "[5..7]"},
      {kCount, "05-May", "[5..5]"},
      {kCount, "03-Sept", "[3..9]"},
      {kCount, "03-Ma", "none"},
      {kCount, "03-Dec", "[3..12]"},
      {kCount, "3 + may", "none"},
      {kCount, "May-68", "68"},
      {kYear, "May-68", "1968"},
      {kYear, "May-1968", "1968"},
      {kYear, "Jan-50", ""},
      {kYear, "Mayor-68", "none"},
      {kYear, "may june july", "none"},
      {kYear, "may-june", "none"},
      {kBuilt, "03-May", "none"},
      {kBuilt, "May-68", "none"},
      {kThickness, "1.5", "none"},
      {kYear, "1968, 1970", "none"},
      {kYear, ">= 1968", "none"},
      {kYear, "", "none"},
      {kYear, "  ", "none"},
      {kYear, "1 1 1 1 1 1 1 1 1 1 1 1 1", "none"},
  };
  check(cells);
  CHECK(find_typed_instead("1968 on" + std::string(73, ' '), kYear));
  CHECK_FALSE(find_typed_instead("1968 on" + std::string(74, ' '), kYear));
}
