#include "measure/stated.h"

#include <doctest/doctest.h>

using namespace kitgap;

namespace {

// Everything a description states, in one line.
std::string stated(std::string_view description) {
  const StatedHardware all = read_stated(description);
  std::string text;
  const auto add = [&](const std::string& piece) { text += (text.empty() ? "" : "; ") + piece; };
  if (all.typed_thread) add("thread " + all.thread + (all.is_surely_thread ? "" : "?") + (all.typed_thread->pitch_mm ? " pitch " + all.typed_thread->pitch_mm->to_text() : ""));
  if (!all.property_class.empty()) add("class " + all.property_class);
  if (all.across_flats_mm) add("flats " + all.across_flats_mm->to_text());
  for (const StatedFigure& figure : all.figures) {
    std::string values;
    for (const Fraction& value : figure.values) values += (values.empty() ? "" : " or ") + value.to_text();
    add(std::string(figure.property) + " " + values);
  }
  return text;
}

}  // namespace

TEST_CASE("stated: threads, lengths and classes are taken from a description") {
  CHECK(stated("arm rest screw M5 x 0.9 x 20, zinc") == "thread M5 x 0.9 pitch 0.9; length 20");
  CHECK(stated("screw M5x20") == "thread M5x20; length 20");
  CHECK(stated("M6\u00d71 clip stud") == "thread M6x1 pitch 1");
  CHECK(stated("belt bolt 7/16-20 UNF, class 8.8") == "thread 7/16-20 UNF pitch 1.27; class 8.8");
  CHECK(stated("screw (10-32) x 3/4") == "thread 10-32? pitch 0.79375; length 19.05");
  CHECK(stated("1/4-22x3/4 screw") == "thread 1/4-22 pitch 127/110; length 19.05");
  CHECK(stated("cheese head 2 BA") == "thread 2 BA");
}

// 1 1/4 in = 31.75 mm; 1 1/2 in = 38.1 mm (1 in = 25.4 mm, by definition of the inch of 1959).
TEST_CASE("stated: a whole number and a fraction are one figure") {
  CHECK(stated("belt bolts 7/16-20 UNF x 1 1/4") == "thread 7/16-20 UNF pitch 1.27; length 31.75");
  CHECK(stated("belt bolts 7/16-20 UNF x 1 1/4 in") == "thread 7/16-20 UNF pitch 1.27; length 31.75");
  CHECK(stated("belt bolts 7/16-20 UNF x 1 1/4\"") == "thread 7/16-20 UNF pitch 1.27; length 31.75");
  CHECK(stated("belt bolts 7/16-20 UNF x 1\u00bc") == "thread 7/16-20 UNF pitch 1.27; length 31.75");
  CHECK(stated("screw 1/4-20x1 1/2") == "thread 1/4-20 pitch 1.27; length 38.1");
  CHECK(stated("pin 1 1/2 in long") == "length 38.1");
  CHECK(stated("pin 1/2 in long") == "length 12.7");
  CHECK(stated("nut 1 1/8 AF") == "flats 28.575");
  CHECK(stated("screw No 8 1/2 in long") == "length 12.7");
  CHECK(stated("screw size 8 1/2 in long") == "length 12.7");
  CHECK(stated("pin 12 AB 1/2 in long") == "length 12.7");
}

TEST_CASE("stated: a spanner, a film, a wire and a rate of burning") {
  CHECK(stated("bolt, 10 mm spanner") == "flats 10");
  CHECK(stated("bolt 1/2 AF") == "flats 12.7");
  CHECK(stated("nut 13mm across flats") == "flats 13");
  CHECK(stated("clear film 6 mil, 2 m wide") == "thickness 152.4");
  CHECK(stated("film 500 gauge") == "thickness 125 or 127");
  CHECK(stated("film 0.1 mm thick") == "thickness 100");
  CHECK(stated("cable 16 AWG") == "conductor area 1.3087");
  CHECK(stated("cable 1.5mm2 red") == "conductor area 1.5");
  CHECK(stated("cloth, burns 4 in/min") == "burn rate 101.6");
  CHECK(stated("cloth, burns 100 mm/min") == "burn rate 100");
  CHECK(stated("pin 20 mm long") == "length 20");
  CHECK(stated("pin 3/4 in long") == "length 19.05");
  CHECK(stated("pin 20 mm wide") == "");
  CHECK(stated("pin 2 kg long") == "");
  CHECK(stated("nut 13 spanner") == "flats 13");
  CHECK(stated("nut 100 mm AF") == "flats 100");
  CHECK(stated("nut 101 mm AF") == "");
}

// How people write hardware: common practice, no source. 1 in = 25.4 mm; 16 AWG is 1.3087 mm2 (ASTM B258).
TEST_CASE("stated: hardware as people write it") {
  const std::pair<const char*, const char*> cases[] = {
      {"", ""},
      {"trim clip", ""},
      {"trim clip 9", ""},
      {"M5", "thread M5"},
      {"screw, M5.", "thread M5"},
      {"screw (M5)", "thread M5"},
      {"screw m5x16", "thread M5x16; length 16"},
      {"screw M5 x 16", "thread M5 x 16; length 16"},
      {"screw M5x0.8x16", "thread M5x0.8 pitch 0.8; length 16"},
      {"screw M5 x 0.8 x 16", "thread M5 x 0.8 pitch 0.8; length 16"},
      {"screw M5x0,8x16", "thread M5x0.8 pitch 0.8; length 16"},
      {"screw M5 x 16 mm", "thread M5 x 16; length 16"},
      {"screw M5x2.5", "thread M5x2.5 pitch 2.5"},
      {"screw M5x2.6", "thread M5x2.6; length 2.6"},
      {"screw M5 and M6", "thread M5"},
      {"M5 screw M6 nut", "thread M5"},
      {"screw 10-32 x 3/4 in", "thread 10-32? pitch 0.79375; length 19.05"},
      {"screw 10-32 x 20 mm", "thread 10-32? pitch 0.79375; length 20"},
      {"screw 10-32 x many", "thread 10-32? pitch 0.79375"},
      {"screw 10-32 x 3 kg", "thread 10-32? pitch 0.79375"},
      {"screw 10-32x3/4", "thread 10-32? pitch 0.79375; length 19.05"},
      {"screw #10-32", "thread #10-32 pitch 0.79375"},
      {"screw No 10-32", "thread NO 10-32 pitch 0.79375"},
      {"screw No 8 x 20", ""},
      {"screw no 8", ""},
      {"clips 8-10 off", ""},
      {"clips 2-4", ""},
      {"1/4-28 nut", "thread 1/4-28 pitch 127/140"},
      {"1/4 UNF nut", "thread 1/4 UNF"},
      {"1/4 nut", ""},
      {"bolt 8.8", ""},
      {"bolt class 8.8", "class 8.8"},
      {"bolt grade 10.9 M8", "thread M8; class 10.9"},
      {"bolt class 8", ""},
      {"bolt class .8", ""},
      {"bolt class 8.", ""},
      {"bolt class 8.88", ""},
      {"bolt class a.8", ""},
      {"bolt class", ""},
      {"nut 13 mm spanner", "flats 13"},
      {"nut 13mm AF", "flats 13"},
      {"nut AF 13", "flats 13"},
      {"nut, spanner 1/2", "flats 12.7"},
      {"nut 1/2 in across flats", "flats 12.7"},
      {"nut 13 across", ""},
      {"nut 13 across corners", ""},
      {"nut 13 AF 14 AF", "flats 13"},
      {"nut 0 AF", ""},
      {"nut 13 kg AF", ""},
      {"nut 0.5 AF", "flats 0.5"},
      {"hex 5 key", "flats 5"},
      {"wire 16 awg", "conductor area 1.3087"},
      {"wire awg 16", "conductor area 1.3087"},
      {"wire awg", ""},
      {"wire 99 awg", ""},
      {"awg", ""},
      {"awg x 16", ""},
      {"wire x awg 16", "conductor area 1.3087"},
      {"wire 1.5 mm2", "conductor area 1.5"},
      {"wire 1.5 mm2 thick", "conductor area 1.5"},
      {"film 6mil", "thickness 152.4"},
      {"film 150 micron", "thickness 150"},
      {"film 0.15 mm", ""},
      {"film 0.15 mm thick", "thickness 150"},
      {"board 3 mm thick 4 mm thick", "thickness 3000; thickness 4000"},
      {"film 500 gauge thick", "thickness 125 or 127"},
      {"cloth 4 in/min", "burn rate 101.6"},
      {"cloth 0 mm/min", ""},
      {"cloth -4 in/min", ""},
      {"pin 20 mm long M5", "thread M5; length 20"},
      {"pin 20 long", ""},
      {"pin 20 mm", ""},
      {"pin 999999999999999999999999999999999999999999999999 mm long", ""},
  };
  for (const auto& [typed, says] : cases) {
    CAPTURE(std::string(typed));
    CHECK(stated(typed) == says);
  }
  CHECK(stated("M5" + std::string(998, ' ')) == "thread M5");
  CHECK(stated("M5" + std::string(999, ' ')) == "");
}

TEST_CASE("stated: the other words are what the thing is called") {
  CHECK(read_stated("Belt bolts 7/16-20 UNF x 1 1/4").rest == "belt bolts");
  CHECK(read_stated("barrier film, 6 mil").rest == "barrier film");
  CHECK(read_stated("film 0.1 mm thick (clear)").rest == "film clear");
  CHECK(read_stated("visor screws, 8 mm across flats").rest == "visor screws");
  CHECK(read_stated("spanner 10 nut, class 8.8").rest == "nut");
  CHECK(read_stated("cable AWG 16 red").rest == "cable red");
}

TEST_CASE("stated: what only looks like a figure of hardware is left alone") {
  for (const char* text : {"clips, bag of 25", "screws No 8 x 3/4", "No 10 x 16 mm", "for 1966-71 cars", "K-17/2", "door trim clips", "M", "1/2 price",
                           "pair, left", "5 m of edging", "99999999999999999999999999999999999999999 mil"}) {
    CAPTURE(text);
    CHECK(stated(text) == "");
  }
  // Taken as a thread only where the tables have it: who reads it is told.
  CHECK(stated("2-3 off") == "");
  CHECK(stated("8-10 off") == "");
  CHECK(stated("8-14 off") == "thread 8-14? pitch 127/70");
}
