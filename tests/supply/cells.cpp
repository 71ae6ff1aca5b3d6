#include <doctest/doctest.h>

#include "supply/reading.h"
#include "support/folder.h"

using namespace kitgap;

namespace {

struct Cell {
  const char* typed;
  const char* reading;  // questions after `?`, doubts after `!`
};

// How the cell of a row with the part number K is read.
std::string read(std::string_view column, std::string_view typed, ListKind kind) {
  std::string cell;
  for (const char letter : typed) cell += letter == '"' ? "\"\"" : std::string(1, letter);
  const std::string others = column == "quantity" ? "" : "quantity,";
  const test::Folder folder;
  const std::string path = folder.write("list.csv", "part number," + others + std::string(column) + "\nK," + (others.empty() ? "" : "2,") + '"' + cell + "\"\n");
  Sources sources;
  Diagnostics diagnostics;
  const auto list = read_list(path, kind, {}, sources, diagnostics);
  REQUIRE(list);
  REQUIRE(list->lines.size() == 2);
  const ReadLine& line = list->lines[1];
  std::string reading = line.set_aside.empty() ? line.read_as : "- " + line.set_aside;
  for (const std::string& question : line.questions) reading += " ? " + question;
  for (const std::string& doubt : line.doubts) reading += " ! " + doubt;
  return reading;
}

void check(std::string_view column, std::span<const Cell> cells, ListKind kind = ListKind::List) {
  for (const Cell& cell : cells) {
    CAPTURE(cell.typed);
    CHECK(read(column, cell.typed, kind) == cell.reading);
  }
}

}  // namespace

// What people type, common practice, no source. What can be meant in two ways is a question, never a number.
TEST_CASE("cells: quantities") {
  const Cell cells[] = {
      // 80 letters are read, 81 are not.
      {"4                                                                         pieces", "4 pieces of `K`"},
      {"4                                                                          pieces", "an unknown number of `K` ? the quantity is too long to be read"},
      {"1,000.50", "1000.5 of `K` ! `1,000.50` is no whole number: it is read in the part's own unit"},
      {"1.234.567", "1234567 of `K`"},
      {"1,234,567", "1234567 of `K`"},
      {"1,234.567,8", "an unknown number of `K` ? `1,234.567,8` can be read more than one way: how many are meant?"},
      {"1,23,456", "an unknown number of `K` ? `1,23,456` can be read more than one way: how many are meant?"},
      {"12,34", "12.34 of `K` ! `12,34` is no whole number: it is read in the part's own unit"},
      {"0,5", "0.5 of `K` ! `0,5` is no whole number: it is read in the part's own unit"},
      {"0.125", "0.125 of `K` ! `0.125` is no whole number: it is read in the part's own unit"},
      {"0,125", "0.125 of `K` ! `0,125` is no whole number: it is read in the part's own unit"},
      {"1,500", "an unknown number of `K` ? `1,500` can be read more than one way: how many are meant?"},
      {"1.500", "1.5 of `K` ! `1.500` is no whole number: it is read in the part's own unit"},
      {"123,456", "an unknown number of `K` ? `123,456` can be read more than one way: how many are meant?"},
      {"1234,567", "1234.567 of `K` ! `1234,567` is no whole number: it is read in the part's own unit"},
      {"1234.567", "1234.567 of `K` ! `1234.567` is no whole number: it is read in the part's own unit"},
      {".5", "0.5 of `K` ! `.5` is no whole number: it is read in the part's own unit"},
      {"1/2", "an unknown number of `K` ? `1/2` is no whole number: how many, or in which unit?"},
      {"2 1/2", "an unknown number of `K` ? `2 1/2` is no whole number: how many, or in which unit?"},
      {"3/4", "an unknown number of `K` ? `3/4` is no whole number: how many, or in which unit?"},
      {"5/4", "an unknown number of `K` ? `5/4` is no whole number: how many, or in which unit?"},
      {"2 5/4", "an unknown number of `K` ? how many are meant by `2 5/4`?"},
      {"1/0", "an unknown number of `K` ? `1/0` can be read more than one way: how many are meant?"},
      {"100000/3", "an unknown number of `K` ? `100000/3` can be read more than one way: how many are meant?"},
      {"1000000/3", "an unknown number of `K` ? `1000000/3` can be read more than one way: how many are meant?"},
      {"12345678901234", "an unknown number of `K` ? `12345678901234` is too many to be meant"},
      {"1234567890123456", "an unknown number of `K` ? `1234567890123456` can be read more than one way: how many are meant?"},
      {"2 order", "an unknown number of `K` ? how many are meant by `2 order`?"},
      {"4 back", "an unknown number of `K` ? how many are meant by `4 back`?"},
      {"4 back order", "4 of `K`, 4 of them on back order"},
      {"doz", "12 pieces of `K`"},
      {"2 doz", "24 pieces of `K`"},
      {"1 gross", "144 pieces of `K`"},
      {"2.5 doz", "30 pieces of `K`"},
      {"half doz", "6 pieces of `K`"},
      {"a pair", "1 pair of `K`"},
      {"half", "0.5 of `K` ! `half` is no whole number: it is read in the part's own unit"},
      {"none", "0 of `K`"},
      {"nil", "0 of `K`"},
      {"two", "2 of `K`"},
      {"twelve", "12 of `K`"},
      {"2 pr", "2 pairs of `K`"},
      {"3 pairs", "3 pairs of `K`"},
      {"1 set (4)", "1 pack of `K`, 4 to a pack"},
      {"2 sets", "2 packs of `K`"},
      {"6 (2 spare)", "6 of `K`, 2 of them spare"},
      {"6 (2 spare) (1 b/o)", "6 of `K`, 2 of them spare, 1 of them on back order"},
      {"6 (bag/25)", "6 of `K`, 25 to a pack"},
      {"bag/25", "an unknown number of `K`, 25 to a pack ? `bag/25` says what one pack holds, not how many are meant"},
      {"2 x bag/25", "2 packs of `K`, 25 to a pack"},
      {"bag/25 x2", "2 packs of `K`, 25 to a pack"},
      {"4 ft 6", "54 in of `K`"},
      {"4 ft 6 in", "54 in of `K`"},
      {R"(4'6")", "54 in of `K`"},
      {"1.5 m", "1.5 m of `K`"},
      {"150 cm", "150 cm of `K`"},
      {"1,5 m", "1.5 m of `K`"},
      {"2 @ 3.20", "2 of `K` ! `2 @ 3.20` is read as `2` and a price"},
      {"1 L + 1 R", "2 of `K`, left and right ! `1 L + 1 R` is read as 2, half of them to each side"},
      {"2L+2R", "4 of `K`, left and right ! `2L+2R` is read as 4, half of them to each side"},
      {"4 (in 2 bags)", "4 of `K`"},
      {"3 of 5", "an unknown number of `K` ? how many are meant by `3 of 5`?"},
      {"3 or 4", "an unknown number of `K` ? how many are meant by `3 or 4`?"},
      {"3-4", "an unknown number of `K` ? how many are meant by `3-4`?"},
      {"approx 10", "10 of `K` ! `approx 10` is read as if it were exact"},
      {"~10", "10 of `K` ! `~10` is read as if it were exact"},
      {"10+", "an unknown number of `K` ? how many are meant by `10+`?"},
      {">10", "an unknown number of `K` ? how many are meant by `>10`?"},
      {"l0", "an unknown number of `K` ? `l0` has a letter where a digit would stand: how many are meant?"},
      {"1O", "an unknown number of `K` ? `1O` has a letter where a digit would stand: how many are meant?"},
      {"o2", "an unknown number of `K` ? `o2` has a letter where a digit would stand: how many are meant?"},
      {"x12", "12 of `K`"},
      {"12x", "12 of `K`"},
      {"12 off", "12 of `K`"},
      {"12 no", "12 of `K`"},
      {"12 nos", "12 of `K`"},
      {"1 ea", "1 piece of `K`"},
      {"each", "an unknown number of `K` ? how many are meant by `each`?"},
      {"2 each side", "4 of `K`, left and right ! `2 each side` is read as 4, half of them to each side"},
      {"2 per side", "4 of `K`, left and right ! `2 per side` is read as 4, half of them to each side"},
      {"2 a side", "4 of `K`, left and right ! `2 a side` is read as 4, half of them to each side"},
      {"1 per door", "an unknown number of `K` ? how many are meant by `1 per door`?"},
      {"as reqd", "an unknown number of `K`"},
      {"some", "an unknown number of `K`"},
      {"?", "an unknown number of `K`"},
      {"-3", "3 of `K`, to be returned ! a return on a list takes from what is on order"},
      {"+3", "3 of `K`"},
      {"3-", "3 of `K`, to be returned ! a return on a list takes from what is on order"},
      {"3 3", "3 of `K`"},
      {"1 1/2 doz", "18 pieces of `K`"},
      {"1e3", "an unknown number of `K` ? how many are meant by `1e3`?"},
      {"0", "0 of `K`"},
      {"0.0", "0 of `K`"},
      {"00", "0 of `K`"},
      {"007", "7 of `K`"},
      {" 4", "4 of `K`"},
      {"4 pcs", "4 pieces of `K`"},
      {"4 pieces", "4 pieces of `K`"},
      {"1 L/H", "1 of `K`, left"},
      {"2 L/H", "2 of `K`, left"},
      {"1 R/H and 1 L/H", "2 of `K`, left and right ! `1 R/H and 1 L/H` is read as 2, half of them to each side"},
      {"3 pr L/H", "3 pairs of `K`, left ? a pair, but left: one of each hand, or two of that one?"},
      {"0.75 m2", "0.75 m2 of `K`"},
      {"10 sq ft", "10 sq ft of `K`"},
      {"2 rolls", "2 packs of `K`"},
      {"1 roll of 5 m", "5 m of `K` ! `1 roll of 5 m` is read as 5 m in all"},
      {"5 m roll", "5 m of `K` ! `5 m roll` is read as 5 m in all"},
      {"2 x 5 m", "10 m of `K`"},
      {"3 x 2", "6 pieces of `K`"},
      {"6/pk", "an unknown number of `K`, 6 to a pack ? `6/pk` says what one pack holds, not how many are meant"},
      {"pk of 6", "an unknown number of `K`, 6 to a pack ? `pk of 6` says what one pack holds, not how many are meant"},
      {"2 pk of 6", "2 packs of `K`, 6 to a pack"},
      {"4 (b/o)", "4 of `K`, 4 of them on back order"},
      {"4 b/o", "4 of `K`, 4 of them on back order"},
      {"4 (1 b/o, 1 spare)", "an unknown number of `K` ? how many are meant by `4 (1 b/o, 1 spare)`?"},
      {"4 (5 b/o)", "an unknown number of `K` ? `4 (5 b/o)` has more on back order than there are"},
      {"4 incl 1 spare", "4 of `K`, 1 of them spare"},
      {"4 + 1 spare", "5 of `K`, 1 of them spare"},
      {"1.25 pr", "an unknown number of `K` ? `1.25 pr` is no whole number: how many, or in which unit?"},
      {"2 (pair)", "an unknown number of `K` ? how many are meant by `2 (pair)`?"},
      {"pair of 2", "an unknown number of `K` ? how many are meant by `pair of 2`?"},
      {"12 3/4", "an unknown number of `K` ? `12 3/4` is no whole number: how many, or in which unit?"},
      {"1 1/2", "an unknown number of `K` ? `1 1/2` is no whole number: how many, or in which unit?"},
      {"10 metres", "10 m of `K`"},
      {"12 inches", "12 in of `K`"},
      {"3 feet", "3 ft of `K`"},
      {"2 yd", "2 yd of `K`"},
      {"1.000", "an unknown number of `K` ? `1.000` can be read more than one way: how many are meant?"},
      {"10,000", "an unknown number of `K` ? `10,000` can be read more than one way: how many are meant?"},
      {"100,000.5", "100000.5 of `K` ! `100,000.5` is no whole number: it is read in the part's own unit"},
      {"12.345.678,9", "12345678.9 of `K` ! `12.345.678,9` is no whole number: it is read in the part's own unit"},
      {"2/", "an unknown number of `K` ? how many are meant by `2/`?"},
      {"2.", "an unknown number of `K` ? how many are meant by `2.`?"},
      {"2,", "an unknown number of `K` ? how many are meant by `2,`?"},
      {"/2", "an unknown number of `K` ? how many are meant by `/2`?"},
      {"2 /", "an unknown number of `K` ? how many are meant by `2 /`?"},
      {"1//2", "an unknown number of `K` ? how many are meant by `1//2`?"},
      {"1234.000", "1234 of `K`"},
      {"1234,000", "1234 of `K`"},
      {"123.000", "an unknown number of `K` ? `123.000` can be read more than one way: how many are meant?"},
      {"0.000", "0 of `K`"},
  };
  check("quantity", cells);
}

TEST_CASE("cells: notes") {
  const Cell cells[] = {
      {"late '71", "2 of `K`; year about 1971"},
      {"early 1971", "2 of `K`; year about 1971"},
      {"mid 71", "2 of `K`; year about 1971"},
      {"1966-71", "2 of `K`; year from about 1966 to about 1971"},
      {"1966-1971", "2 of `K`; year from about 1966 to about 1971"},
      {"1966/71", "2 of `K`; year from about 1966 to about 1971"},
      {"66-71", "2 of `K`"},
      {"1970 on", "2 of `K`; year from about 1970"},
      {"from 1970", "2 of `K`; year from about 1970"},
      {"up to 1970", "2 of `K`; year to about 1970"},
      {"until 1970", "2 of `K`; year to about 1970"},
      {"1968 to 1970", "2 of `K`; year from about 1968 to about 1970"},
      {"superseded by K-2", "2 of `K`; replaced by `K-2`"},
      {"replaced by K-2", "2 of `K`; replaced by `K-2`"},
      {"replaces K-2", "2 of `K`"},
      {"use K-2 instead", "2 of `K`"},
      {"SUPERSEDED BY K-2; late '71", "2 of `K`; replaced by `K-2`; year about 1971"},
      {"if available", "2 of `K`"},
      {"n/a", "2 of `K`"},
      {"out of stock", "2 of `K`"},
      {"discontinued", "2 of `K`"},
      {"substitute K-9 if none", "2 of `K`"},
      {"2 of these", "2 of `K`"},
      {"for '71 cars", "2 of `K`"},
      {"1971?", "2 of `K`"},
      {"before 1970", "2 of `K`; year to about 1970"},
      {"after 1970", "2 of `K`; year from about 1970"},
      {"c. 1970", "2 of `K`"},
      {"ca 1970", "2 of `K`"},
      {"1970s", "2 of `K`"},
      {"12345", "2 of `K`"},
      {"19711", "2 of `K`"},
      {"1871", "2 of `K`"},
      {"2071", "2 of `K`"},
      {"'71", "2 of `K`"},
      {"'71-'73", "2 of `K`; year from about 1971 to about 1973"},
      {"71", "2 of `K`"},
  };
  check("note", cells);
}

TEST_CASE("cells: days") {
  const Cell cells[] = {
      {"04/03/1996", "2 of `K` ? is `04/03/1996` 1996-03-04 or 1996-04-03?"},
      {"31/12/1996", "2 of `K`, due 1996-12-31"},
      {"12/31/1996", "2 of `K`, due 1996-12-31"},
      {"13/13/1996", "2 of `K` ? which day is `13/13/1996`?"},
      {"1996-03-04", "2 of `K`, due 1996-03-04"},
      {"1996/03/04", "2 of `K`, due 1996-03-04"},
      {"4 Mar 1996", "2 of `K`, due 1996-03-04"},
      {"4 March 1996", "2 of `K`, due 1996-03-04"},
      {"March 4, 1996", "2 of `K`, due 1996-03-04"},
      {"4.3.1996", "2 of `K` ? is `4.3.1996` 1996-03-04 or 1996-04-03?"},
      {"31.4.1996", "2 of `K` ? which day is `31.4.1996`?"},
      {"29/02/1996", "2 of `K`, due 1996-02-29"},
      {"29/02/1995", "2 of `K` ? which day is `29/02/1995`?"},
      {"04/04/1996", "2 of `K`, due 1996-04-04"},
      {"4-Mar-96", "2 of `K`, due 1996-03-04 ! `4-Mar-96` is read as 1996-03-04"},
      {"04/03/96", "2 of `K` ? is `04/03/96` 1996-03-04 or 1996-04-03?"},
      {"next week", "2 of `K` ? which day is `next week`?"},
      {"2 weeks", "2 of `K` ? which day is `2 weeks`?"},
      {"in 10 days", "2 of `K` ? which day is `in 10 days`?"},
      {"1996", "2 of `K` ? which day is `1996`?"},
      {"00/01/1996", "2 of `K` ? which day is `00/01/1996`?"},
      {"01/00/1996", "2 of `K` ? which day is `01/00/1996`?"},
      {"32/01/1996", "2 of `K` ? which day is `32/01/1996`?"},
      {"19960304", "2 of `K`, due 1996-03-04 ! `19960304` is read as 1996-03-04"},
  };
  check("due", cells, ListKind::Order);
}

// 1 m = 39.37 in: two measures of one amount agree within a twentieth, whichever is the larger.
TEST_CASE("cells: two measures of one amount") {
  const Cell cells[] = {
      {"1 m / 39 in", "1 m of `K`"},
      {"1 m / 38 in", "1 m of `K`"},
      {"1 m / 37 in", "an unknown number of `K` ? the two measures in `1 m / 37 in` do not agree: which holds?"},
      {"1 m / 41 in", "1 m of `K`"},
      {"1 m / 42 in", "an unknown number of `K` ? the two measures in `1 m / 42 in` do not agree: which holds?"},
      {"40 in / 1 m", "40 in of `K`"},
      {"1 m / 1 kg", "an unknown number of `K` ? the two measures in `1 m / 1 kg` do not agree: which holds?"},
  };
  check("quantity", cells);
}

TEST_CASE("cells: places") {
  const Cell cells[] = {
      {"front", "2 of `K`, at `front`"},
      {"rear", "2 of `K`, at `rear`"},
      {"left", "2 of `K`, left"},
      {"L/H", "2 of `K`, left"},
      {"LH", "2 of `K`, left"},
      {"right", "2 of `K`, right"},
      {"R/H", "2 of `K`, right"},
      {"driver's side", "2 of `K`, driver's side"},
      {"drivers side", "2 of `K`, driver's side"},
      {"passenger side", "2 of `K`, passenger's side"},
      {"O/S/R", "2 of `K`, rear, offside"},
      {"N/S/F", "2 of `K`, front, nearside"},
      {"OSF", "2 of `K`, front, offside"},
      {"nearside", "2 of `K`, nearside"},
      {"offside rear", "2 of `K`, at `rear`, offside"},
      {"front left", "2 of `K`, at `front`, left"},
      {"left front", "2 of `K`, at `front`, left"},
      {"front, left", "2 of `K`, at `front`, left"},
      {"front L/H", "2 of `K`, at `front`, left"},
      {"rear pair", "2 of `K`, at `rear pair`"},
      {"both", "2 of `K`, left and right"},
      {"both sides", "2 of `K`, left and right"},
      {"each side", "2 of `K`, left and right"},
      {"all", "2 of `K`, at `all`"},
      {"L/H & R/H", "2 of `K`, left and right"},
      {"left and right", "2 of `K`, left and right"},
      {"front and rear", "2 of `K`, at `front and rear`"},
      {"centre", "2 of `K`, at `centre`"},
      {"boot", "2 of `K`, at `boot`"},
      {"f", "2 of `K`, at `f`, front"},
      {"r", "2 of `K`, right"},
      {"nsr", "2 of `K`, rear, nearside"},
  };
  check("position", cells);
}
