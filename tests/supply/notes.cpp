#include <doctest/doctest.h>

#include "supply/shown.h"

using namespace kitgap;

namespace {

struct Note {
  std::string_view typed;
  std::string_view read;
};

template <std::size_t N, class Read>
void check(const Note (&notes)[N], Read read) {
  for (const Note& note : notes) {
    CAPTURE(note.typed);
    CHECK(read(note.typed) == note.read);
  }
}

}  // namespace

// What suppliers and owners write of chassis numbers and years: common practice, no source.
TEST_CASE("notes: a cell that is a range") {
  const Note cells[] = {
      {"48211", "48211~..48211~"},
      {"1968", "year 1968~..1968~"},
      {"1884", "1884~..1884~"},
      {"1885", "year 1885~..1885~"},
      {"2035", "year 2035~..2035~"},
      {"2036", "2036~..2036~"},
      {"'71", "year 1971~..1971~"},
      {"\u2019" "71", "year 1971~..1971~"},
      {"71", "none"},
      {"482", "none"},
      {"4821", "4821~..4821~"},
      {"482111111111", "482111111111~..482111111111~"},
      {"4821111111111", "none"},
      {"48211a", "none"},
      {"A1/48211", "48211~..48211~"},
      {"AB/CD/48211", "48211~..48211~"},
      {"ABCDEF/48211", "none"},
      {"48211 - 51000", "48211~..51000~"},
      {"48211\u2013" "51000", "48211~..51000~"},
      {"51000-48211", "48211~..51000~"},
      {"48211 to 51000 incl.", "48211..51000"},
      {"48211 to 51000 inclusive?", "48211~..51000~"},
      {"from 48211 to 51000", "48211~..51000~"},
      {"from 48211", "48211~..*"},
      {"from 48211 incl", "48211..*"},
      {"48211 up", "48211~..*"},
      {"48211 upwards", "48211~..*"},
      {"over 48211", "48211~..*"},
      {"> 48211", "48211~..*"},
      {"<48211", "*..48211~"},
      {"under 48211", "*..48211~"},
      {"prior to 48211", "*..48211~"},
      {"up 48211", "*..48211~"},
      {"48211, 51000", "48211~..48211~"},
      {"48211 1968", "48211~..48211~"},
      {"1968/69", "year 1968~..1969~"},
      {"1968/1969", "year 1968~..1969~"},
      {"1968/9", "year 1968~..1969~"},
      {"1968/67", "year 1968~..1968~"},
      {"1968-8", "year 1968~..1968~"},
      {"1968-7", "year 1968~..1968~"},
      {"1969-70", "year 1969~..1970~"},
      {"1998-05", "year 1998~..1998~"},
      {"1971-1968", "year 1968~..1971~"},
      {"mid 71", "year 1971~..1971~"},
      {"mid 7", "none"},
      {"mid on", "none"},
      {"1968 - on", "year 1968~..*"},
      {"1968-x", "year 1968~..1968~"},
      {"1968 - ?", "year 1968~..1968~"},
      {"late 1970 to early 1971", "year 1970~..1971~"},
      {"about 48211", "48211~..48211~"},
      {"on", "none"},
      {"-", "none"},
      {"", "none"},
  };
  check(cells, [](std::string_view text) { return test::shown(read_serial_range(text)); });
  CHECK(read_serial_range("48211" + std::string(395, ' ')));
  CHECK_FALSE(read_serial_range("48211" + std::string(396, ' ')));
}

TEST_CASE("notes: a range in a text about other things") {
  const Note texts[] = {
      {"fits from 48211", "48211~..*"},
      {"fits 48211 to 51000, black", "48211~..51000~"},
      {"fits 48211", "none"},
      {"fits 48211 incl", "none"},
      {"1968", "none"},
      {"1968-71 models", "year 1968~..1971~"},
      {"1968/71 models", "year 1968~..1971~"},
      {"models to 1971 (incl.)", "year *..1971"},
      {"late 1971 cars", "year 1971~..1971~"},
      {"late 48211 cars", "none"},
      {"about 48211", "none"},
      {"before 1970 or so", "year *..1970~"},
      {"1970 on", "year 1970~..*"},
      {"keep on the 48211", "none"},
      {"not before Friday", "none"},
  };
  check(texts, [](std::string_view text) { return test::shown(serial_range_in(text)); });
  CHECK(serial_range_in("from 48211" + std::string(390, ' ')));
  CHECK_FALSE(serial_range_in("from 48211" + std::string(391, ' ')));
}

TEST_CASE("notes: other numbers") {
  const Note texts[] = {
      {"superseded by K-18", "now K-18"},
      {"SUPERCEDED BY K-18.", "now K-18"},
      {"now K-18!", "now K-18"},
      {"now available", ""},
      {"now 4", ""},
      {"now 44", "now 44"},
      {"replaced with K-18", "now K-18"},
      {"replaced K-18", ""},
      {"s/s to K-18", "now K-18"},
      {"s/s K-18", "now K-18"},
      {"if nla K-18", "else K-18"},
      {"if none, K-18", "else K-18"},
      {"nla, use K-18", "else K-18"},
      {"no longer made: use K-18", "else K-18"},
      {"out of stock; use K-18?", "else K-18"},
      {"unavailable, use K-18", "else K-18"},
      {"use K-18", ""},
      {"nla, use", ""},
      {"nla, use other", ""},
      {"or K-18", "or K-18"},
      {"or use K-18", "or K-18"},
      {"alt. K-18", "or K-18"},
      {"alternatively K-18", "or K-18"},
      {"alt K-18, K-19", "or K-18; or K-19"},
      {"alt K-18, K-19, K-20 or K-21", "or K-18; or K-19; or K-20; or K-21"},
      {"alt K-18 or K-19", "or K-18; or K-19"},
      {"alt K-18 and K-19", "or K-18; or K-19"},
      {"alt K-18 & K-19", "or K-18; or K-19"},
      {"alt K-18 / K-19", "or K-18; or K-19"},
      {"alt K-18 K-19", "or K-18"},
      {"alt K-18, K-19 K-20", "or K-18; or K-19"},
      {"alt K-18, 4 off", "or K-18"},
      {"alt K-18, 4411", "or K-18; or 4411"},
      {"alt K-18, 441", "or K-18"},
      {"alt K-18, black, K-19", "or K-18"},
      {"now K-18, K-19", "now K-18"},
      {"now K-18 or K-19", "now K-18; or K-19"},
      {"front or rear", ""},
      {"left or 2 right", ""},
      {"superseded by", ""},
  };
  check(texts, test::substitutes);
}

TEST_CASE("notes: another number in the cell of a number") {
  const Note cells[] = {
      {"K-17 => K-18", "K-17 now K-18"},
      {"K-17\u2192K-18", "K-17 now K-18"},
      {"K-17 > K-18", "K-17 now K-18"},
      {"K-17>K-18", "K-17>K-18"},
      {"K-17 -> K-18 K-19", "K-17 -> K-18 K-19"},
      {"-> K-18", "-> K-18"},
      {"K -> K-18", "K -> K-18"},
      {"K-17 ->", "K-17 ->"},
      {"K-17 / left", "K-17 / left"},
      {"K-17; now K-18", "K-17 now K-18"},
      {"K-17 - superseded by K-18", "K-17 now K-18"},
      {"K-17 or K-18 or K-19", "K-17 or K-18 or K-19"},
      {"K-17 nla use K-18", "K-17 else K-18"},
      {"now K-18", "now K-18"},
      {"clip (alt K-18)", "clip (alt K-18)"},
  };
  check(cells, test::split);
}

// Two-digit years as POSIX says of strptime's %y: 69 to 99 are 1969 to 1999, 00 to 68 are 2000 to 2068.
TEST_CASE("notes: days") {
  const Note cells[] = {
      {"25/3/69", "1969-03-25!"},
      {"25/3/68", "2068-03-25!"},
      {"25/3/099", "?"},
      {"25/3/1000", "1000-03-25"},
      {"25/3/0999", "?"},
      {"31/12/9999", "9999-12-31"},
      {"19690325", "1969-03-25!"},
      {"18990325", "?"},
      {"19000325", "1900-03-25!"},
      {"20991231", "2099-12-31!"},
      {"21000101", "?"},
      {"19691332", "?"},
      {"1996-3-4", "1996-03-04"},
      {"1996 Mar 4", "?"},
      {"4th of March 1996", "1996-03-04"},
      {"due Mon, 4 March 1996", "1996-03-04"},
      {"Monday 4.III.1996", "?"},
      {"1st Sept 1996", "1996-09-01"},
      {"4thu March 1996", "1996-03-04"},
      {"2nd/3rd/1996", "1996-03-02|1996-02-03|?"},
      {"Mar 4 96", "1996-03-04!"},
      {"Mar Apr 1996", "?"},
      {"4 4 March", "?"},
      {"March 1996", "?"},
      {"4 March 1996 10", "?"},
      {"30 Feb 1996", "?"},
      {"29 Feb 1996", "1996-02-29"},
      {"29 Feb 1995", "?"},
      {"12/12/1996", "1996-12-12"},
      {"13/13/1996", "?"},
      {"13/12/1996", "1996-12-13"},
      {"12/13/1996", "1996-12-13"},
      {"0/1/1996", "?"},
      {"4/3/19960", "?"},
      {"4#3#1996", "?"},
      {"4 March '96", "1996-03-04!"},
      {"?", ""},
      {"-", ""},
      {"                                   soon!", "?"},
  };
  check(cells, test::day);
}
