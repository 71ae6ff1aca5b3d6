#include <doctest/doctest.h>

#include <string>

#include "condition/feel_value.h"
#include "support/evaluated.h"

using namespace kitgap;

TEST_CASE("edges: loops over ranges whose ends do not belong to them") {
  const std::pair<const char*, const char*> cases[] = {
      {"for i in [1..3] return i", "[1, 2, 3]"},
      {"for i in (1..3] return i", "[2, 3]"},
      {"for i in [1..3) return i", "[1, 2]"},
      {"for i in (1..3) return i", "[2]"},
      {"for i in [1..1] return i", "[1]"},
      {"for i in (1..1] return i", "[]"},
      {"for i in [1..1) return i", "[]"},
      {"for i in (1..1) return i", "[]"},
      {"for i in 1..3 return i", "[1, 2, 3]"},
      {"for i in 3..1 return i", "[3, 2, 1]"},
      {"for i in [3..1] return i", "null"},
      {"for i in [1..2], j in [1..i] return i * 10 + j", "[11, 21, 22]"},
      {"some i in [1..3) satisfies i = 3", "false"},
      {"every i in (1..3] satisfies i > 1", "true"},
  };
  test::check_evaluated(cases);
}

// XML Schema part 2, years of more than four digits; ISO 8601 for offsets.
TEST_CASE("edges: years, offsets and parts of a clock") {
  const std::pair<const char*, const char*> cases[] = {
      {"date(999999999, 12, 31)", R"({"date": "999999999-12-31"})"},
      {"date(1000000000, 1, 1)", "null"},
      {"date(-999999999, 1, 1)", R"({"date": "-999999999-01-01"})"},
      {"date(-1000000000, 12, 31)", "null"},
      {"date(1970, 1, 0)", "null"},
      {"date(2000, 2, 29)", R"({"date": "2000-02-29"})"},
      {"date(1900, 2, 29)", "null"},
      {"date(1904, 2, 29)", R"({"date": "1904-02-29"})"},
      {R"(date("999999999-12-31") + duration("P1D"))", "null"},
      {R"(date("999999999-11-30") + duration("P1M"))", R"({"date": "999999999-12-30"})"},
      {R"(date("-999999999-02-01") - duration("P1M"))", R"({"date": "-999999999-01-01"})"},
      {R"(date("-999999999-01-31") - duration("P1M"))", "null"},
      {R"(date("999999999-12-31") + duration("P1M"))", "null"},
      {R"(date("-999999999-01-01") - duration("P1D"))", "null"},
      // How long a duration may be is ours to say: 10^18 months or days.
      {R"(duration("P1D") * 1e18)", R"({"duration": "P1000000000000000000D"})"},
      {R"(duration("P1D") * -1e18)", R"({"duration": "-P1000000000000000000D"})"},
      {R"(duration("P1D") * 1e18 + duration("PT0.000000001S"))", "null"},
      {R"(duration("P1D") * -1e18 - duration("PT0.000000001S"))", "null"},
      {R"(duration("PT1S") * 1e24)", "null"},
      {R"(duration("PT1S") * 1e34)", "null"},
      {R"(duration("P999999999999999999DT23H"))", R"({"duration": "P999999999999999999DT23H"})"},
      {R"(duration("P999999999999999999DT25H"))", "null"},
      {R"(duration("P1M") * 1e18)", R"({"duration": "P83333333333333333Y4M"})"},
      {R"(duration("P1M") * 1e18 + duration("P1M"))", "null"},
      {R"(duration("P1M") * -1e18 - duration("P1M"))", "null"},
      {R"(duration("P1M") * 1e33)", "null"},
      {R"(duration("P1M") / 1e-18)", R"({"duration": "P83333333333333333Y4M"})"},
      {R"(time("10:30:00+01:60"))", "null"},
      {R"(time("10:30:00+01:59"))", R"({"time": "10:30:00+01:59"})"},
      {R"(time("10:30:00+01:00:60"))", "null"},
      {R"(time("10:30:00+01:00:59"))", R"({"time": "10:30:00+01:00:59"})"},
      {R"(time("10:30:00+01:00:5"))", "null"},
      {R"(time("10:30:00+01:5"))", "null"},
      {R"(time("10:30:00+1:00"))", "null"},
      {R"(time("10:30:00+01"))", "null"},
      {R"(time("10:30:00+01:00x"))", "null"},
      {R"(time("10:30:00Zx"))", "null"},
      {R"(time("10:30:00x"))", "null"},
      {R"(time("10:30:00@Nowhere/Town"))", "null"},
      {R"(time("24:00:00"))", R"({"time": "00:00:00"})"},
      {R"(time("24:00:01"))", "null"},
      {R"(time("24:01:00"))", "null"},
      {R"(time("25:00:00"))", "null"},
      {R"(date and time("1970-01-31T24:00:00"))", R"({"date and time": "1970-02-01T00:00:00"})"},
      {R"(date and time("1970-12-31T24:00:00"))", R"({"date and time": "1971-01-01T00:00:00"})"},
  };
  test::check_evaluated(cases);
}

// Source of the instants: Python's zoneinfo over the IANA tables, fold=0: in the hour that is left out the clock of before
// counts, in the hour that comes twice the earlier moment.
TEST_CASE("edges: clocks that are put forward and back") {
  const auto since_midnight = [](const std::string& day, const std::string& clock) {
    return test::evaluated("date and time(\"" + day + "T" + clock + "@Europe/Berlin\") - date and time(\"" + day + "T00:00:00Z\")");
  };
  if (test::evaluated(R"(time("10:30:00@Europe/Berlin"))") == "null") {
    MESSAGE("skipped: no table of time zones on this machine");
    return;
  }
  CHECK(since_midnight("2020-03-29", "01:59:59") == R"({"duration": "PT59M59S"})");
  CHECK(since_midnight("2020-03-29", "02:30:00") == R"({"duration": "PT1H30M"})");
  CHECK(since_midnight("2020-03-29", "03:00:00") == R"({"duration": "PT1H"})");
  CHECK(since_midnight("2020-03-29", "12:00:00") == R"({"duration": "PT10H"})");
  CHECK(since_midnight("2020-03-30", "12:00:00") == R"({"duration": "PT10H"})");
  CHECK(since_midnight("2020-10-25", "01:59:59") == R"({"duration": "-PT1S"})");
  CHECK(since_midnight("2020-10-25", "02:30:00") == R"({"duration": "PT30M"})");
  CHECK(since_midnight("2020-10-25", "03:00:00") == R"({"duration": "PT2H"})");
  CHECK(since_midnight("2020-10-25", "12:00:00") == R"({"duration": "PT11H"})");
  CHECK(since_midnight("1945-05-24", "02:30:00") == R"({"duration": "PT30M"})");
  for (const char* const named : {"Etc/GMT+5", "GMT0", "America/Port-au-Prince", "America/Argentina/Buenos_Aires", "EST5EDT"}) {
    CAPTURE(std::string(named));
    CHECK(test::evaluated("time(\"10:30:00@" + std::string(named) + "\")") != "null");
  }
  for (const char* const none : {"", "/etc/passwd", "../zoneinfo/GMT0", "Europe/Berlin ", "Europe", "zone.tab", "Europe\u002fBerlin!"}) {
    CAPTURE(std::string(none));
    CHECK(test::evaluated("time(\"10:30:00@" + std::string(none) + "\")") == "null");
  }
  CHECK(test::evaluated(R"(date and time("2020-07-01T12:00:00@Etc/GMT+5") - date and time("2020-07-01T12:00:00Z"))") == R"({"duration": "PT5H"})");
  CHECK(since_midnight("1890-01-01", "12:00:00") == R"({"duration": "PT11H6M32S"})");
  // The tables under `right` list leap seconds too (RFC 8536, 3.2), which stand before the second block of the file.
  if (test::evaluated(R"(time("10:30:00@right/Europe/Berlin"))") == "null") {
    MESSAGE("skipped: no tables with leap seconds on this machine");
    return;
  }
  CHECK(test::evaluated(R"(date and time("2015-08-01T12:00:00@right/Europe/Berlin") - date and time("2015-08-01T00:00:00Z"))") == R"({"duration": "PT10H"})");
}

// OMG DMN 10.3.4.3, `range`: its ends in text are literals. How deep a pattern may be nested, and a value, is ours to say.
TEST_CASE("edges: ranges in text, and how deep a pattern and a value may be nested") {
  const std::pair<const char*, const char*> cases[] = {
      {R"(range("[date(\"1970-01-01\")..date(\"1971-01-01\")]"))", R"({"range": "[1970-01-01..1971-01-01]"})"},
      {R"(range("[time(\"08:00:00\")..time(\"09:30:00\")]"))", R"({"range": "[08:00:00..09:30:00]"})"},
      {R"(range("[duration(\"P1D\")..duration(\"P2D\")]"))", R"({"range": "[P1D..P2D]"})"},
      {R"(range("[date and time(\"1970-01-01T08:00:00\")..date and time(\"1970-01-02T08:00:00\")]"))", R"({"range": "[1970-01-01T08:00:00..1970-01-02T08:00:00]"})"},
      {R"(range("[date(1970, 1, 1)..date(1971, 1, 1)]"))", "null"},
      {R"(range("[sum(1)..3]"))", "null"},
      {R"(range("[1 + 1..3]"))", "null"},
      {R"(range("[date + 1..3]"))", "null"},
  };
  test::check_evaluated(cases);
  const auto nested = [](int groups) { return test::evaluated("matches(\"a\", \"" + std::string(static_cast<std::size_t>(groups), '(') + "a" + std::string(static_cast<std::size_t>(groups), ')') + "\")"); };
  CHECK(nested(49) == "true");
  CHECK(nested(50) == "null");
  const FeelValue text = std::string(640, 'a');
  CHECK(text.weight() == 11);
  CHECK(FeelValue::of(FeelList{text, text}).weight() > 22);
  FeelValue value = Decimal(1);
  for (std::uint32_t depth = 1; depth <= kMaxFeelDepth; ++depth) value = FeelValue::of(FeelList{value});
  CHECK(value.depth() == kMaxFeelDepth);
  CHECK_THROWS_AS(FeelValue::of(FeelList{value}), FeelTooLarge);
}

// Regular expressions of XML Schema and XPath 3.1, 5.6.1: classes, subtraction, and the flag x.
TEST_CASE("edges: classes and blanks in patterns") {
  const std::pair<const char*, const char*> cases[] = {
      {R"(matches("ab", "a\tb", "x"))", "true"},
      {R"(matches("ab", "a\nb", "x"))", "true"},
      {R"(matches("ab", "a\rb", "x"))", "true"},
      {R"(matches("a b", "a[ ]b", "x"))", "true"},
      {R"(matches("ab", "a[ ]b", "x"))", "false"},
      {R"(matches("ad", "a \\ d", "x"))", "false"},
      {R"(matches("a1", "a \\ d", "x"))", "true"},
      {R"(matches("a1", "a\\  d", "x"))", "true"},
      {R"(matches("a1", " a\\d", "x"))", "true"},
      {R"(matches("]", "[\\]] ", "x"))", "true"},
      {R"(matches("b", "^[a-c]$"))", "true"},
      {R"(matches("-", "^[a-]$"))", "true"},
      {R"(matches("-", "^[-a]$"))", "true"},
      {R"(matches("b", "^[a-a]$"))", "false"},
      {R"(matches("a", "^[a-a]$"))", "true"},
      {R"(matches("b", "[c-a]"))", "null"},
      {R"(matches("b", "[a-\\d]"))", "null"},
      {R"(matches("b", "[\\d-z]"))", "null"},
      {R"(matches("b", "^[a-z-[aeiou]]$"))", "true"},
      {R"(matches("e", "^[a-z-[aeiou]]$"))", "false"},
      {R"(matches("b", "[a-z-[aeiou]x]"))", "null"},
      {R"(matches("b", "^[^a-z-[0]]$"))", "false"},
      {R"(matches("1", "^[^a-z-[0]]$"))", "true"},
      {R"(matches("0", "^[^a-z-[0]]$"))", "false"},
      {R"(matches("b", "[]"))", "null"},
      {R"(matches("b", "[a"))", "null"},
      {R"(matches("b", "[a-"))", "null"},
      {R"(matches("b", "[a[b]]"))", "null"},
      {R"(matches("c", "^[^a-cc-d]$"))", "false"},
      {R"(matches("d", "^[^a-cb-d]$"))", "false"},
      {R"(matches("e", "^[^a-cb-d]$"))", "true"},
      {R"(matches("d", "^[a-z-[a-cc-d]]$"))", "false"},
      {R"(matches("e", "^[a-z-[a-cc-d]]$"))", "true"},
      {R"(matches("aa", "^(a)\\1$"))", "true"},
      {R"(matches("a", "^(a)\\1$"))", "false"},
      {R"(matches("ab", "^(a)\\1$"))", "false"},
      {R"(matches("aA", "^(a)\\1$", "i"))", "true"},
      {R"(replace("aab", "(a)\\1", "x"))", R"("xb")"},
      {R"(replace("abab", "(a)b\\1", "[$1]"))", R"("[a]b")"},
      {R"(split("1aa2", "(a)\\1"))", R"(["1", "2"])"},
      {R"(matches("abab", "^(ab)\\1$"))", "true"},
      {R"(matches("aba", "^(ab)\\1$"))", "false"},
      {R"(matches("a", "^(b)?\\1a$"))", "true"},
  };
  test::check_evaluated(cases);
}

// The escapes of the standard's grammar (10.3.1.2, rule 35) and the ranges of surrogates of Unicode 3.9, D71 to D75.
TEST_CASE("edges: escapes in texts") {
  const std::pair<const char*, const char*> cases[] = {
      {R"(string length("\uD7FF"))", "1"},
      {R"(string length("\uE000"))", "1"},
      {R"(string length("\uD800\uDC00"))", "1"},
      {R"(string length("\uDBFF\uDFFF"))", "1"},
      {R"("\uD800\uDC00" = "\U010000")", "true"},
      {R"("\uDBFF\uDFFF" = "\U10FFFF")", "true"},
      {R"("\uD83D\uDE00" = "\U01F600")", "true"},
      {R"("\uD800")", "unreadable"},
      {R"("\uDBFF")", "unreadable"},
      {R"("\uDC00")", "unreadable"},
      {R"("\uDFFF")", "unreadable"},
      {R"("\uD800\uDBFF")", "unreadable"},
      {R"("\uD800\uE000")", "unreadable"},
      {R"("\uD800x")", "unreadable"},
      {R"("\uDC00\uD800")", "unreadable"},
      {R"("\U110000")", "unreadable"},
      {R"("\U00D800")", "unreadable"},
      {R"("\u00e9" = "\u00E9")", "true"},
      {R"("\u00aA" = "\u00Aa")", "true"},
      {R"("\u00ff" = "\u00FF")", "true"},
      {R"("\u00fF" = "\U0000fF")", "true"},
      {R"("\u00f9" = "\u00F9")", "true"},
      {R"("\u0040")", R"("@")"},
      {R"("\u00g0")", "unreadable"},
      {R"("\u00G0")", "unreadable"},
      {R"("\u00`0")", "unreadable"},
      {R"("\u12")", "unreadable"},
      {R"("\u12G4")", "unreadable"},
      {R"("\U12345")", "unreadable"},
      {R"("\u0041\U000042")", R"("AB")"},
      {R"("\n\r\t\"\\\'")", R"("\n\r\t\"\\'")"},
      {R"("\q")", R"("\\q")"},
      {R"("a)", "unreadable"},
      {R"("\)", "unreadable"},
  };
  test::check_evaluated(cases);
}

// XML Schema part 2, 3.2.6 (durations), each part at most once and in order; OMG DMN table 65 (properties of ranges).
TEST_CASE("edges: parts of durations and ends of ranges") {
  const std::pair<const char*, const char*> cases[] = {
      {R"(duration("P1DT2H3M4.5S"))", R"({"duration": "P1DT2H3M4.5S"})"},
      {R"(duration("PT2H4S"))", R"({"duration": "PT2H4S"})"},
      {R"(duration("P1D2D"))", "null"},
      {R"(duration("PT2H1H"))", "null"},
      {R"(duration("PT2M1H"))", "null"},
      {R"(duration("PT1D"))", "null"},
      {R"(duration("P2H"))", "null"},
      {R"(duration("P1DT"))", "null"},
      {R"(duration("PTT1H"))", "null"},
      {R"(duration("P1.5D"))", "null"},
      {R"(duration("PT1.5H"))", "null"},
      {R"(duration("PT1.5M"))", "null"},
      {R"(duration("PT1.S"))", R"({"duration": "PT1S"})"},  // as XML Schema 1.1 allows
      {R"(duration("PT1X"))", "null"},
      {R"(duration("--PT1H"))", "null"},
      {R"(duration("T1H"))", "null"},
      {R"(duration("P1M1Y"))", "null"},
      {R"(duration("P1Y1Y"))", "null"},
      {R"(duration("P1.5Y"))", "null"},
      {"[1..2].start", "1"},
      {"[1..2].end", "2"},
      {"[1..2).start included", "true"},
      {"[1..2).end included", "false"},
      {"(1..2].start included", "false"},
      {"(1..2].end included", "true"},
      {"(> 1).start", "1"},
      {"(> 1).end", "null"},
      {"(> 1).start included", "false"},
      {"(>= 1).start included", "true"},
      {"(<= 1).end included", "true"},
      {"(< 1).end included", "false"},
      {"(= 1).start", "1"},
      {"(= 1).end", "1"},
      {"(= 1).start included", "true"},
      {"(= 1).end included", "true"},
      {"(!= 1).start", "null"},
      {"(!= 1).end", "null"},
      {"(!= 1).start included", "false"},
      {"(!= 1).end included", "false"},
  };
  test::check_evaluated(cases);
}

// The blanks of the standard's grammar (10.3.1.2, rules 61 and 62), between any two words; their neighbours are letters.
TEST_CASE("edges: blanks of every kind") {
  for (const char* const blank : {" ", "\t", "\n", "\v", "\f", "\r", "\u0085", "\u00a0", "\u1680", "\u180e", "\u2000", "\u2005", "\u200b", "\u2028", "\u2029", "\u202f", "\u205f",
                                  "\u3000", "\ufeff"}) {
    CAPTURE(std::string(blank));
    CHECK(test::evaluated("1" + std::string(blank) + "+" + blank + "2") == "3");
  }
  for (const char* const letter : {"\u4e00", "\u00e9", "\u1000", "\u3001"}) {
    CAPTURE(std::string(letter));
    CHECK(test::evaluated("{" + std::string(letter) + "a: 2}." + letter + "a") == "2");
  }
}

// OMG DMN 10.3.1.2: numbers (rule 37), names with blanks and signs in them (rules 26 to 30), comments (10.3.1.4).
TEST_CASE("edges: numbers, names, words and comments") {
  const std::pair<const char*, const char*> cases[] = {
      {"1", "1"},
      {"1.5", "1.5"},
      {".5", "0.5"},
      {"1.", "unreadable"},
      {"1..", "unreadable"},
      {"1e3", "1000"},
      {"1E3", "1000"},
      {"1e+3", "1000"},
      {"1e-3", "0.001"},
      {"1.5e3", "1500"},
      {".5e1", "5"},
      {"1e", "unreadable"},
      {"1e+", "unreadable"},
      {"1e3.5", "unreadable"},
      {"1 e3", "unreadable"},
      {"00012", "12"},
      {"1/* one */+2", "3"},
      {"1+ // two\n2", "3"},
      {"1+2 // three", "3"},
      {"1 /* /* */ + 2", "3"},
      {"1 /* two", "unreadable"},
      {"1 /*/ + 2", "unreadable"},
      {"1 / 2", "0.5"},
      {"1 // 2", "1"},
      {"2**3", "8"},
      {"2 ** 3 ** 2", "64"},
      {"2 * *3", "unreadable"},
      {"-2**2", "4"},
      {"1<2", "true"},
      {"1<=1", "true"},
      {"1< =1", "unreadable"},
      {"1!=1", "false"},
      {"1! =1", "unreadable"},
      {"1=1", "true"},
      {"1==1", "unreadable"},
      {"true and true", "true"},
      {"trueand true", "null"},  // a name that nothing has
      {"true andtrue", "unreadable"},
      {"(true)and(true)", "true"},
      {"if true then 1 else 2", "1"},
      {"iftrue then 1 else 2", "unreadable"},
      {"if(true)then(1)else(2)", "1"},
      {"{a b: 1}.a b", "1"},
      {"{a b: 1}.a  b", "1"},
      {"{a b: 1}.a\u00a0\n b", "1"},
      {"{a b: 1, r: a  b}.r", "1"},
      {"{a b: 1, r: a b + 1}.r", "2"},
      {"{a-b: 1, r: a-b + 1}.r", "2"},
      {"{a: 3, b: 1, r: a-b}.r", "2"},
      {"{a+b: 5, r: a+b}.r", "5"},
      {"{a: 3, ab: 1, r: ab}.r", "1"},
      {"{a: 3, r: a b}.r", "unreadable"},
      {"{a1: 3, r: a1}.r", "3"},
      {"{1a: 3}", "unreadable"},
      {"{_a: 3, r: _a}.r", "3"},
      {"{and: 3}", R"({"and": 3})"},
      {"{\"and\": 3}", R"({"and": 3})"},
      {"{a: 1,}", "unreadable"},
      {"{a 1}", "unreadable"},
      {"{: 1}", "unreadable"},
      {"{a: 1", "unreadable"},
      {"[1, 2", "unreadable"},
      {"[1,, 2]", "unreadable"},
      {"[, 1]", "unreadable"},
      {"(1", "unreadable"},
      {"()", "unreadable"},
      {"", "unreadable"},
      {" ", "unreadable"},
      {"1 2", "unreadable"},
      {"1 +", "unreadable"},
      {"+ 1", "unreadable"},
      {"- 1", "-1"},
      {"--1", "1"},
      {"1 - - 1", "2"},
      {"1--1", "2"},
      {"not(true)", "false"},
      {"not true", "unreadable"},
      {"@\"1970-01-01\"", R"({"date": "1970-01-01"})"},
      {"@\"10:30:00\"", R"({"time": "10:30:00"})"},
      {"@\"P1D\"", R"({"duration": "P1D"})"},
      {"@\"P1Y\"", R"({"duration": "P1Y"})"},
      {"@\"x\"", "unreadable"},
      {"@1", "unreadable"},
      {"1 between 0 and 2", "true"},
      {"3 between 0 and 2", "false"},
      {"0 between 0 and 2", "true"},
      {"2 between 0 and 2", "true"},
      {"1 between 0 or 2", "unreadable"},
      {"1 in (0, 1)", "true"},
      {"1 in ()", "unreadable"},
      {"1 instance of number", "true"},
      {"1 instance of string", "false"},
      {"1 instance of nothing", "unreadable"},
      {"some x in [1, 2] satisfies x = 2", "true"},
      {"some x in [1, 2] satisfy x = 2", "unreadable"},
      {"every x in [] satisfies x = 2", "true"},
      {"some x in [] satisfies x = 2", "false"},
      {"function(x) x + 1", "null"},
      {"(function(x) x + 1)(2)", "3"},
      {"{f: function(x, y) x - y, r: f(5, 3)}.r", "2"},
      {"{f: function(x, y) x - y, r: f(y: 5, x: 3)}.r", "-2"},
      {"{f: function(x) x, r: f()}.r", "null"},
      {"{f: function(x) x, r: f(1, 2)}.r", "null"},
      {"[1, 2, 3][1]", "1"},
      {"[1, 2, 3][-1]", "3"},
      {"[1, 2, 3][0]", "null"},
      {"(1, 2)", "unreadable"},
      {"2 in (1, 2)", "true"},
      {"[1, 2, 3][4]", "null"},
      {"[1, 2, 3][-4]", "null"},
      {"[1, 2, 3][item > 1]", "[2, 3]"},
      {"[{a: 1}, {a: 2}][a = 2]", R"([{"a": 2}])"},
      {"[{a: 1}, {a: 2}].a", "[1, 2]"},
      {"1[1]", "1"},
      {"1[2]", "null"},
  };
  test::check_evaluated(cases);
}

TEST_CASE("edges: a function has a hundred parameters at most") {
  const auto with = [](int count) {
    std::string parameters, arguments;
    for (int at = 0; at < count; ++at) {
      parameters += (at == 0 ? "p" : ", p") + std::to_string(at);
      arguments += (at == 0 ? "" : ", ") + std::to_string(at);
    }
    return "(function(" + parameters + ") p" + std::to_string(count - 1) + ")(" + arguments + ")";
  };
  CHECK(test::evaluated(with(2)) == "1");
  CHECK(test::evaluated(with(100)) == "99");
  CHECK(test::evaluated(with(101)) == "unreadable");
}
