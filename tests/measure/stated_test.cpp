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
