#include <doctest/doctest.h>

#include "supply/shown.h"

using namespace kitgap;

namespace {

struct Text {
  std::string_view typed;
  std::string_view read;  // path, along, hand
};

}  // namespace

// Hands and places as people write them: common practice, no source.
TEST_CASE("hands: a whole cell, in whatever case") {
  const Text cells[] = {
      {"L", ",,left"},
      {"r", ",,right"},
      {"N/S", ",,nearside"},
      {"n.s.", ",,nearside"},
      {"NS", ",,nearside"},
      {"NSF", ",front,nearside"},
      {"o/s/r", ",rear,offside"},
      {"O.S.", ",,offside"},
      {"OFF-SIDE", ",,offside"},
      {"KERBSIDE", ",,nearside"},
      {"D/S", ",,driver's side"},
      {"p/s", ",,passenger's side"},
      {"DRIVER\u2019S SIDE", ",,driver's side"},
      {"PASSENGER'S SIDE", ",,passenger's side"},
      {"drivers' side", ",,driver's side"},
      {"RIGHT HAND", ",,right"},
      {"left-hand", ",,left"},
      {"FL", ",front,left"},
      {"FR", ",front,right"},
      {"RL", ",rear,left"},
      {"Both", ",,left and right"},
      {"PR", ",,left and right"},
      {"right and left", ",,left and right"},
      {"front N/S", "front,front,nearside"},
      {"N/S front", "front,front,nearside"},
      {"front doors, L/H", "front doors,front,left"},
      {"back door R/H", "back door,rear,right"},
      {"frt LH", "frt,front,left"},
      {"boot lid", "boot lid,,"},
      {"  boot   lid - ", "boot lid,,"},
      {"(rear), LH", "rear,rear,left"},
      {"rear.", "rear.,,"},
      {".rear", ".rear,,"},
      {"door.front left", "door.front,,left"},
      {"door/front.left", "door/front.left,,"},
      {"--", ",,"},
  };
  for (const Text& cell : cells) {
    CAPTURE(cell.typed);
    CHECK(test::shown(read_place(cell.typed)) == cell.read);
  }
}

TEST_CASE("hands: in running text only whole words of the trade") {
  const Text texts[] = {
      {"LEFT DOOR PANEL", ",,left"},
      {"door panel (LH)", ",,left"},
      {"door panel,LH", ",,left"},
      {"door panel LH.", ",,left"},
      {"door panel L.H. black", ",,left"},
      {"door panel l.h", ",,left"},
      {"DASH PAD R/H", ",,right"},
      {"panel 1LH", ",,"},
      {"panel LH1", ",,"},
      {"PANEL LHZ", ",,"},
      {"PANEL ZLH", ",,"},
      {"PANEL LHA", ",,"},
      {"panel LH/2", ",,"},
      {"panel 2/LH", ",,"},
      {"panel no.LH", ",,"},
      {"panel LH.2", ",,"},
      {"cleft stick", ",,"},
      {"lefty", ",,"},
      {"brighter", ",,"},
      {"rear left door", ",rear,left"},
      {"left rear door", ",rear,left"},
      {"rear, left door", ",,left"},
      {"rear view mirror left", ",,left"},
      {"left door, rear", ",,left"},
      {"front panel left", ",,left"},
      {"front O/S panel", ",front,offside"},
      {"for left hand drive", ",,"},
      {"LHD: left hand drive, left hand drive only", ",,"},
      {"left hand drive, right panel", ",,right"},
      {"left hand drive, left panel", ",,left"},
      {"left panel, left hand drive", ",,left"},
      {"right way up, right", ",,right"},
      {"this side up", ",,"},
      {"right side up", ",,"},
      {"what is left", ",,"},
      {"all right", ",,"},
      {"driver door card", ",,driver's side"},
      {"screwdriver", ",,"},
      {"driver's door, passenger's belt", ",,driver's side"},
  };
  for (const Text& text : texts) {
    CAPTURE(text.typed);
    const ReadPlace read = hand_in(text.typed);
    CHECK(test::shown(read) == text.read);
    CHECK(read.from_description == (read.hand != HandWord::None));
  }
}

TEST_CASE("hands: two that differ, and headings") {
  CHECK(names_two_hands("front left; front right"));
  CHECK(names_two_hands("LH panel and RH panel"));
  CHECK(names_two_hands("left panel, nearside panel"));
  CHECK_FALSE(names_two_hands("left and right"));
  CHECK_FALSE(names_two_hands("left; left"));
  CHECK_FALSE(names_two_hands("left panel"));
  CHECK_FALSE(names_two_hands("panel"));
  CHECK_FALSE(names_two_hands("left panel for right hand drive"));
  const Text headings[] = {
      {"Left front door", ",front,left"},
      {"REAR DOORS", ",rear,"},
      {"Front doors", ",front,"},
      {"Front and rear", ",,"},
      {"Rear seat, front edge", ",,"},
      {"Upfront costs", ",,"},
      {"Rears", ",,"},
      {"Boot", ",,"},
      {"Left and right doors, rear", ",rear,left and right"},
      {"front left; rear right", ",,"},
      {"Right, front", ",front,right"},
  };
  for (const Text& heading : headings) {
    CAPTURE(heading.typed);
    CHECK(test::shown(place_in_heading(heading.typed)) == heading.read);
  }
}

TEST_CASE("hands: so many of each") {
  const Text texts[] = {
      {"12 EACH SIDE", "12"},
      {"12 per side", "12"},
      {"12/side", "12"},
      {"2 pcs a side", "2 pcs"},
      {"6 of each hand", "6"},
      {"6 of each side", "6"},
      {"6 per hand", "6"},
      {"6 each", "none"},
      {" each side", "none"},
      {"1 L + 1 R", "1"},
      {"1L/1R", "1"},
      {"12 l and 12 r", "12"},
      {"1 L + 2 R", "none"},
      {"1 L + 1 L", "none"},
      {"1 LH & 1 RH", "1"},
      {"1 LH / 1 RH", "1"},
      {"1 LH and 1 RH", "1"},
      {"1 LH, and 1 RH", "1"},
      {"1 LH + 1 RH spare", "none"},
      {"LH + RH", "none"},
      {"3 bar", "none"},
      {"", "none"},
  };
  for (const Text& text : texts) {
    CAPTURE(text.typed);
    CHECK(test::of_each_hand(text.typed) == text.read);
  }
}
