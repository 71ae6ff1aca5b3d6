#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <string>
#include <tuple>
#include <vector>

// A small car with packs and lists, as plain figures: once written out for kitgap, once worked out the slow way.
namespace kitgap::test {

inline constexpr int kFactCount = 2;
inline constexpr int kValues = 3;  // each fact is 0, 1 or 2
inline constexpr unsigned kAny = 7;
using When = std::array<unsigned, kFactCount>;  // per fact the values that pass, a bit each

enum class Piece { Assembly, Plain, Opening, Hole };
enum class Side { None, Left, Right };
enum class Where { Anywhere, Hand, Position };
enum class Act { Sets, Adds, Takes, Drops };
enum class Old { May, Must, MustNot };
enum class Supplied { NotStated, Complete, Bare, Contents };
enum class Mend { None, MoveOver, Cut, Mark };

// Places in byte order of their paths.
inline constexpr int kPlaces = 3;
inline const std::array<std::string, kPlaces> kPlaceNames{"boot", "front.left", "front.right"};
inline constexpr std::array<Side, kPlaces> kSides{Side::None, Side::Left, Side::Right};

struct Scene {
  struct Part {
    std::string name;
    Piece kind = Piece::Plain;
    bool handed = false;
    Where fits = Where::Anywhere;
  };
  struct Need {
    int layer = 0, parent = 0, part = 0, quantity = 1, practice = 0;
    std::vector<int> at;  // empty: wherever the parent is
    Act act = Act::Sets;
    Old old = Old::May;
    bool stops = true;
    When when{kAny, kAny};
  };
  struct Offer {
    int part = -1;  // a kit
    Supplied as = Supplied::NotStated;
    std::array<int, 3> promises{-1, -1, -1};  // openings, holes, hardware
    int pack = 1;
    std::string place{};
    When when{kAny, kAny};
  };
  struct Content {
    int offer = 0, part = 0, quantity = 1;
    std::string place{};
    When when{kAny, kAny};
  };
  struct Without {
    int offer = -1, assembly = 0, sub = 0;
    Mend mend = Mend::None;
    When when{kAny, kAny};
  };
  struct Replace {
    int from = 0, to = 0;
    bool allowed = false;
    When when{kAny, kAny};
  };
  struct Line {
    int source = 2, offer = 0, quantity = 1;  // stock, order, list; quantity below zero: not written
    std::string place{};
  };
  struct Record {
    int parent = 0, place = 0, part = 0, count = 0;
    int in = 0;     // not said, shell, old part
    int state = 0;  // not looked at, good, restorable, broken, absent
  };
  std::vector<Part> parts;  // 0 is the car; a parent lies before its parts
  std::vector<Need> needs;
  std::vector<Offer> offers;
  std::vector<Content> contents;
  std::vector<Without> without;
  std::vector<Replace> replaces;
  std::vector<Line> lines;
  std::vector<Record> records;
  When known{kAny, kAny};  // what the car may be
  int layers = 1;
};

using LineKey = std::tuple<int, std::string, std::string>;  // place, parent, part: in the order of a report
struct Span3 {
  std::int64_t lo[3]{}, hi[3]{};  // need, have, gap
  bool met = false;
};
struct SlowAnswer {
  std::map<LineKey, Span3> lines;
  bool is_refused = false;  // a contradiction, or a need below zero
  bool is_too_long = false;
  std::size_t completions = 0;
};

Scene random_scene(std::uint64_t seed);
std::string text_of(const Scene& scene);
// Every completion, every placing.
SlowAnswer slow_answer(const Scene& scene);

}  // namespace kitgap::test
