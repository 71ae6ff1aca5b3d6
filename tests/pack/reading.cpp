#include <doctest/doctest.h>

#include "support/bench.h"

using namespace kitgap;
using test::gaps;
using test::given;

namespace {

// The first line of each diagnostic.
std::string firsts(const test::Bench& bench) {
  std::string text;
  for (const Diagnostic& diagnostic : bench.diagnostics.sorted()) text += diagnostic.says + " [" + std::string(diagnostic.code) + "]\n";
  return text;
}

}  // namespace

TEST_CASE("pack: everything wrong in any table is said in one run, and nothing is read") {
  const auto bench = given(R"(
    fact year number 1968..1972
    part door-panel assembly
    part clip pieces
    need car door-panel front.lift 1
    need car door-pannel front.left 1
    need door-panel clip - some
    need door-panel clip - 3 year=1968-1971
  )");
  CHECK_FALSE(bench->rules);
  CHECK(firsts(*bench) ==
        "`front.lift` is no position of these packs [unknown-position]\n`door-pannel` is no part of these packs [unknown-part]\n"
        "found the end in a loop [invalid-expression]\n`1968-1971` is no range of the condition language [write-as-range]\n"
        "`pieces` is no word of the column `kind` [invalid-cell]\n");
}

TEST_CASE("pack: the layer above wins per key and leaf position, whatever its basis") {
  const auto bench = given(R"(
    part clip piece
    need car clip front 4
    need car clip boot 2
    layer
    need car clip front.left 6 basis=estimate
    need car clip boot - effect=drops
  )");
  CHECK(gaps(bench) == "front.left/car/clip need 6 have 0 gap 6 missing\nfront.right/car/clip need 4 have 0 gap 4 missing\n");
}

TEST_CASE("pack: per layer first sets, then adds and takes away, then drops") {
  CHECK(gaps(given("part clip piece\nneed car clip boot 2 effect=adds\nneed car clip boot 5\nneed car clip boot 1 effect=takes_away\n")) ==
        "boot/car/clip need 6 have 0 gap 6 missing\n");
  CHECK(gaps(given("part clip piece\nneed car clip boot 5\nlayer\nneed car clip boot 3 effect=adds\n")) == "boot/car/clip need 8 have 0 gap 8 missing\n");
  CHECK(gaps(given("part clip piece\nneed car clip boot 5\nneed car clip boot 3 effect=adds\nlayer\nneed car clip boot 4\n")) ==
        "boot/car/clip need 4 have 0 gap 4 missing\n");
}

TEST_CASE("pack: a contradiction is refused only where it can touch the car") {
  const std::string pack = R"(
    fact year number 1968..1972
    part clip piece
    need car clip boot 9 year=[1968..1971]
    need car clip boot 11 year=[1971..1972]
  )";
  CHECK(gaps(given(pack + "car year=1970")) == "boot/car/clip need 9 have 0 gap 9 missing\n");
  CHECK(gaps(given(pack + "car year=1972")) == "boot/car/clip need 11 have 0 gap 11 missing\n");
  CHECK(firsts(*given(pack + "car year=1971")) == "two rows give `clip` different quantities, 11 and 9 [contradiction]\n");
  CHECK(firsts(*given(pack)) == "two rows give `clip` different quantities, 11 and 9 [contradiction]\n");
}

TEST_CASE("pack: rows replaced by a higher layer or a count are no contradiction") {
  const std::string pack = "part clip piece\nneed car clip boot 9\nneed car clip boot 11\n";
  CHECK(firsts(*given(pack)) == "two rows give `clip` different quantities, 11 and 9 [contradiction]\n");
  CHECK(gaps(given(pack + "layer\nneed car clip boot 10\n")) == "boot/car/clip need 10 have 0 gap 10 missing\n");
  CHECK(gaps(given(pack + "layer\nneed car clip boot - effect=drops\nneed car clip front.left 1")) == "front.left/car/clip need 1 have 0 gap 1 missing\n");
  CHECK(gaps(given(pack + "found car boot clip 12 shell\n")) == "boot/car/clip need 12 have 0 gap 12 missing\n");
}

TEST_CASE("pack: rival practices are held both, with their range") {
  CHECK(gaps(given("part clip piece\nneed car clip boot 9 practice=plain\nneed car clip boot 11 practice=wide\n")) ==
        "boot/car/clip need 9..11 have 0 gap 9..11 missing\n");
  CHECK(firsts(*given("part clip piece\nneed car clip boot 9 practice=plain\nneed car clip boot 11\n")) ==
        "two rows give `clip` different quantities, 11 and 9 [contradiction]\n");
}
