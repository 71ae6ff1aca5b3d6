#include "supply/reading_words.h"

#include <doctest/doctest.h>

#include <array>

#include "pack/rules.h"
#include "supply/shown.h"

using namespace kitgap;

namespace {

// `12 pieces`, with ` ?` per question and ` !` per doubt.
std::string quantity(std::string_view text, bool decimal_comma = false) {
  std::vector<std::string> questions, doubts;
  const ReadQuantity read = read_quantity(text, decimal_comma, questions, doubts);
  std::string out = in_words(read, "x");
  out.erase(out.find(" of `x`"), 7);
  out.append(questions.size() * 2, '?').append(doubts.size(), '!');
  return out;
}

}  // namespace

// The words are common practice, no source.
TEST_CASE("quantity: what people write, and what it counts") {
  struct Case {
    std::string_view typed;
    std::string_view read;
  };
  const auto cases = std::to_array<Case>({
      {"3", "3"},
      {"x12", "12"},
      {"12x", "12"},
      {"x 12", "12"},
      {"8 off", "8"},
      {"8 No.", "8"},
      {"qty 4", "4"},
      {"two", "2"},
      {"0", "0"},
      {"007", "7"},
      {"12 pcs", "12 pieces"},
      {"1 pc.", "1 piece"},
      {"4 ea", "4 pieces"},
      {"4 each", "4 pieces"},
      {"half doz", "6 pieces"},
      {"1/2 doz", "6 pieces"},
      {"2 doz", "24 pieces"},
      {"doz", "12 pieces"},
      {"a dozen", "12 pieces"},
      {"2 1/2 doz", "30 pieces"},
      {"1 gross", "144 pieces"},
      {"1 pr", "1 pair"},
      {"2 pairs", "2 pairs"},
      {"pr", "1 pair"},
      {"a pair", "1 pair"},
      {"1pr", "1 pair"},
      {"2 sets of 5", "10 pieces"},
      {"2 sets", "2 packs"},
      {"2 x 5", "10 pieces"},
      {"bag/25 x2", "2 packs, 25 to a pack"},
      {"2 bags of 25", "2 packs, 25 to a pack"},
      {"2 x bag/25", "2 packs, 25 to a pack"},
      {"1 box", "1 pack"},
      {"bag/25", "an unknown number, 25 to a pack??"},
      {"bag of 25", "an unknown number, 25 to a pack??"},
      {"4 + 2 spare", "6, 2 of them spare"},
      {"4+2 spares", "6, 2 of them spare"},
      {"6 (2 spare)", "6, 2 of them spare"},
      {"(2 spare)", "an unknown number??"},
      {"6 incl. 2 spare", "6, 2 of them spare"},
      {"6 (2 B/O)", "6, 2 of them on back order"},
      {"6, 2 back ordered", "6, 2 of them on back order"},
      {"4 b/o", "4, 4 of them on back order"},
      {"2 (6 B/O)", "an unknown number??"},
      {"-2", "2, to be returned"},
      {"return 2", "2, to be returned"},
      {"2 returned", "2, to be returned"},
      {"\xe2\x88\x92"
       "2",
       "2, to be returned"},
      {"2 1/2 yd", "2.5 yd"},
      {"2\xc2\xbd yd", "2.5 yd"},
      {"1,5 m", "1.5 m"},
      {"1.5 m", "1.5 m"},
      {"750 ml / 26 fl oz", "750 ml"},
      {"2 x 750 ml", "1500 ml"},
      {"750 ml / 40 fl oz", "an unknown number??"},
      {"3/8\" x 54 in", "54 in!"},
      {"5' 3\"", "63 in"},
      {"26 fl oz", "an unknown number??"},
      {"A/R", "an unknown number"},
      {"1 lot", "an unknown number"},
      {"?", "an unknown number"},
      {"", "an unknown number"},
      {"as req'd", "an unknown number"},
      {"-", "an unknown number"},
      {"1O", "an unknown number??"},
      {"l2", "an unknown number??"},
      {"2l", "an unknown number??"},
      {"2 l", "2 l"},
      {"1,500", "an unknown number??"},
      {"3-4", "an unknown number??"},
      {"3 or 4", "an unknown number??"},
      {"3/4", "an unknown number??"},
      {"about 10", "10!"},
      {"1.37", "1.37!"},
      {"plenty", "an unknown number??"},
      {"99999999999999999999", "an unknown number??"},
      {"5000000000", "an unknown number??"},
      {"1/0", "an unknown number??"},
      {"(3)", "an unknown number??"},
      {"-1 pr", "1 pair, to be returned"},
      {"-2 (refund)", "2, to be returned"},
      {"2 bags returned", "2 packs, to be returned"},
      {"1 x bag 25", "1 pack, 25 to a pack"},
      {"100 pcs/bag x 2", "2 packs, 100 to a pack"},
      {"6, 2 to follow", "6, 2 of them on back order"},
      {"6 (2 b.o.)", "6, 2 of them on back order"},
      {"6 (2 on back order)", "6, 2 of them on back order"},
      {"8-off", "8"},
      {"2 (two)", "2"},
      {"2 (three)", "an unknown number??"},
      {"2.5 pcs", "an unknown number??"},
      {"1,000.50", "1000.5!"},
      {"1.000,50", "1000.5!"},
      {"1,234,567", "1234567"},
      {"1,23,456", "an unknown number??"},
      {"26 fl oz / 750 ml", "750 ml"},
      {"40 fl oz / 750 ml", "an unknown number??"},
      {"2 rolls of 10 m", "20 m!"},
      {"10 m roll", "10 m!"},
      {"1 roll (10 m)", "10 m!"},
      {"2 off 1.2 m", "2.4 m!"},
      {"1 litre tin", "1 l!"},
      {"2 boxes (100)", "an unknown number??"},
  });
  for (const Case& row : cases) {
    CAPTURE(row.typed);
    CHECK(quantity(row.typed) == row.read);
  }
  CHECK(quantity("1,500", true) == "1.5!");
  CHECK(quantity("1.500", true) == "an unknown number??");
  CHECK(quantity("1,5 m", true) == "1.5 m");
  CHECK(quantity("1.37 m", true) == "1.37 m");
}

TEST_CASE("place: hands, near and off side, driver's side, front and rear") {
  struct Case {
    std::string_view typed;
    std::string_view read;
  };
  const auto cases = std::to_array<Case>({
      {"L/H", ",,left"},
      {"lh", ",,left"},
      {"R.H.", ",,right"},
      {"L", ",,left"},
      {"left", ",,left"},
      {"Right-hand side", ",,right"},
      {"O/S/R", ",rear,offside"},
      {"N/S/F", ",front,nearside"},
      {"nsr", ",rear,nearside"},
      {"offside", ",,offside"},
      {"near side front", "front,front,nearside"},
      {"front driver's side", "front,front,driver's side"},
      {"driver\xe2\x80\x99s side", ",,driver's side"},
      {"passenger side rear", "rear,rear,passenger's side"},
      {"front.left", "front.left,,"},
      {"rear door", "rear door,rear,"},
      {"rear door L/H", "rear door,rear,left"},
      {"LH, rear", "rear,rear,left"},
      {"RR", ",rear,right"},
      {"L/R", ",,left and right"},
      {"LH & RH", ",,left and right"},
      {"both sides", ",,left and right"},
      {"pair", ",,left and right"},
      {"front", "front,front,"},
      {"", ",,"},
  });
  for (const Case& row : cases) {
    CAPTURE(row.typed);
    CHECK(test::shown(read_place(row.typed)) == row.read);
  }
  CHECK(test::shown(hand_in("door panel L/H, black")) == ",,left");
  CHECK(test::shown(hand_in("panel, nearside front")) == ",front,nearside");
  CHECK(test::shown(hand_in("rear LH panel")) == ",rear,left");
  CHECK(test::shown(hand_in("left rear view mirror")) == ",,left");
  CHECK(test::shown(hand_in("left upfront panel")) == ",,left");
  CHECK(test::shown(hand_in("bracket, right angle")) == ",,");
  CHECK(test::shown(hand_in("left over from last job")) == ",,");
  CHECK(test::shown(hand_in("trim clip")) == ",,");
}

TEST_CASE("quantity: so many of each hand") {
  CHECK(test::of_each_hand("12 each side") == "12");
  CHECK(test::of_each_hand("1 LH + 1 RH") == "1");
  CHECK(test::of_each_hand("1 L/H, 1 R/H") == "1");
  CHECK(test::of_each_hand("2 left and 2 right") == "2");
  CHECK(test::of_each_hand("1 LH + 2 RH") == "none");
  CHECK(test::of_each_hand("1 LH + 1 LH") == "none");
  CHECK(test::of_each_hand("2 pr L/H & R/H") == "none");
  CHECK(test::of_each_hand("each side") == "none");
  CHECK(test::of_each_hand("12") == "none");
}

TEST_CASE("part number: another number in its cell is taken out and kept") {
  CHECK(test::split("K-17 (alt K-18)") == "K-17 or K-18");
  CHECK(test::split("K-17 superseded by K-18") == "K-17 now K-18");
  CHECK(test::split("K-17 -> K-18") == "K-17 now K-18");
  CHECK(test::split("K-17 / K-18") == "K-17 or K-18");
  CHECK(test::split("K-17, use K-18 if NLA") == "K-17 else K-18");
  CHECK(test::split("OR/7-01/25") == "OR/7-01/25");
  CHECK(test::split("PW 44200") == "PW 44200");
  CHECK(test::split("fh 1041 lt") == "fh 1041 lt");
  CHECK(test::split("panel / trim") == "panel / trim");
}

TEST_CASE("part number: letters that look like digits are flagged, never mended") {
  const auto is_flagged = [](std::string_view number) {
    std::vector<std::string> doubts;
    check_number(number, doubts);
    return !doubts.empty();
  };
  for (const std::string_view odd : {"1O-45", "l2-44", "O12", "C-9O", "4l7", "12E+05", "AB10O2"}) {
    CAPTURE(odd);
    CHECK(is_flagged(odd));
  }
  for (const std::string_view plain : {"OR/7-01/25", "K-17", "FO12", "LOOM-2", "1968", "OIL-5", "A1O"}) {
    CAPTURE(plain);
    CHECK(is_flagged(plain) == (plain == "A1O"));
  }
}

TEST_CASE("notes: substitutes are of three kinds") {
  CHECK(test::substitutes("SUPERSEDED BY K-18") == "now K-18");
  CHECK(test::substitutes("use K-19 if NLA") == "else K-19");
  CHECK(test::substitutes("if no longer available use K-20.") == "else K-20");
  CHECK(test::substitutes("alt: K-21") == "or K-21");
  CHECK(test::substitutes("alt. K-21, alt. K-22") == "or K-21; or K-22");
  CHECK(test::substitutes("alt K-21, K-22 or K-23 in black") == "or K-21; or K-22; or K-23");
  CHECK(test::substitutes("alt K-21, 2 off") == "or K-21");
  CHECK(test::substitutes("if NLA, K-24") == "else K-24");
  CHECK(test::substitutes("use with care") == "");
  CHECK(test::substitutes("alternative colour") == "");
}

TEST_CASE("notes: ranges of numbers and years are soft unless called inclusive") {
  CHECK(test::shown(serial_range_in("48211 on")) == "48211~..*");
  CHECK(test::shown(serial_range_in("from 48211 onwards")) == "48211~..*");
  CHECK(test::shown(serial_range_in("up to (incl?) 51000")) == "*..51000~");
  CHECK(test::shown(serial_range_in("up to 51000 inclusive")) == "*..51000");
  CHECK(test::shown(read_serial_range("48211-51000")) == "48211~..51000~");
  CHECK(test::shown(serial_range_in("late '71")) == "year 1971~..1971~");
  CHECK(test::shown(serial_range_in("early 1972 on")) == "year 1972~..*");
  CHECK(test::shown(read_serial_range("1968-1971")) == "year 1968~..1971~");
  CHECK(test::shown(read_serial_range("1968-71")) == "year 1968~..1971~");
  CHECK(test::shown(read_serial_range("1968/9")) == "year 1968~..1969~");
  CHECK(test::shown(read_serial_range("mid-70")) == "year 1970~..1970~");
  CHECK(test::shown(read_serial_range("A1/48211 on")) == "48211~..*");
  CHECK(test::shown(read_serial_range("48211+")) == "48211~..*");
  CHECK(test::shown(read_serial_range("pre-1970")) == "year *..1970~");
  CHECK(test::shown(read_serial_range("post 1970")) == "year 1970~..*");
  CHECK(test::shown(serial_range_in("invoice 48211")) == "none");
  CHECK(test::shown(serial_range_in("arrived late")) == "none");
}

TEST_CASE("dates: two ways of reading are a question, ISO and named months are not") {
  CHECK(test::day("1996-03-04") == "1996-03-04");
  CHECK(test::day("4 Mar 1996") == "1996-03-04");
  CHECK(test::day("March 4th, 1996") == "1996-03-04");
  CHECK(test::day("04/03/1996") == "1996-03-04|1996-04-03|?");
  CHECK(test::day("4.3.1996") == "1996-03-04|1996-04-03|?");
  CHECK(test::day("25/03/1996") == "1996-03-25");
  CHECK(test::day("03/25/1996") == "1996-03-25");
  CHECK(test::day("05/05/1996") == "1996-05-05");
  CHECK(test::day("25/3/96") == "1996-03-25!");
  CHECK(test::day("31/02/1996") == "?");
  CHECK(test::day("next week") == "?");
  CHECK(test::day("") == "");
}

TEST_CASE("part numbers: compared without case, blanks, dashes, dots and slashes; nothing else is guessed") {
  CHECK(normalised_part_number("K-17.4/a b") == "K174AB");
  CHECK(normalised_part_number("K\xe2\x80\x93"
                          "17") == "K17");
  CHECK(normalised_part_number("1O7") != normalised_part_number("107"));
  std::vector<std::string> doubts;
  check_number("K-1O7", doubts);
  check_number("1.2E+05", doubts);
  check_number("OL-17", doubts);
  CHECK(doubts ==
        std::vector<std::string>{"`K-1O7` has a letter where a digit may be meant; it is taken as typed",
                                 "`1.2E+05` looks like a number that a spreadsheet has shortened"});
}
