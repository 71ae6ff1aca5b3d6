#include <doctest/doctest.h>

#include <algorithm>
#include <random>

#include "scene.h"
#include "support/bench.h"

using namespace kitgap;
using namespace kitgap::test;

namespace {

constexpr std::uint64_t kSeeds = 150;

bool is_settled(const Bench& bench) {
  return bench.answer.questions.empty() && std::ranges::all_of(bench.answer.lines, [](const LineAnswer& line) {
           return line.need.is_exact_value() && line.have.is_exact_value() && line.gap.is_exact_value();
         });
}

Fraction total_short(const Bench& bench) {
  Fraction sum;
  for (const LineAnswer& line : bench.answer.lines) {
    if (!bench.needs->line(line.line).is_small) sum += line.gap.lo;
  }
  return sum;
}

}  // namespace

TEST_CASE("laws: the order of rows never matters, and a second run is equal") {
  std::size_t compared = 0;
  for (std::uint64_t seed = 1; seed <= kSeeds; ++seed) {
    Scene scene = random_scene(seed);
    const auto first = given(text_of(scene));
    const auto again = given(text_of(scene));
    std::mt19937_64 random(seed);
    std::ranges::shuffle(scene.needs, random);
    std::ranges::shuffle(scene.contents, random);
    std::ranges::shuffle(scene.without, random);
    const auto shuffled = given(text_of(scene));
    CAPTURE(seed);
    CHECK(gaps(first) == gaps(again));
    CHECK(first->diagnostics.has_errors() == shuffled->diagnostics.has_errors());
    if (first->diagnostics.has_errors()) continue;
    CHECK(gaps(first) == gaps(shuffled));
    ++compared;
  }
  CHECK(compared > kSeeds / 2);
}

TEST_CASE("laws: one more loose piece in a fitting offer never raises the total short") {
  std::size_t compared = 0;
  for (std::uint64_t seed = 1; seed <= kSeeds; ++seed) {
    Scene scene = random_scene(seed);
    scene.known = {1, 2};  // one car, all known of it
    const auto before = given(text_of(scene));
    if (before->diagnostics.has_errors() || !is_settled(*before)) continue;
    for (std::size_t index = 0; index < scene.lines.size(); ++index) {
      Scene more = scene;
      Scene::Line& line = more.lines[index];
      const int part = more.offers[static_cast<std::size_t>(line.offer)].part;
      const bool is_parent = part >= 0 && std::ranges::any_of(more.needs, [&](const Scene::Need& need) { return need.parent == part; });
      if (line.quantity < 0 || part < 0 || more.parts[static_cast<std::size_t>(part)].kind != Piece::Plain || is_parent) continue;
      line.quantity += 1;
      const auto after = given(text_of(more));
      if (after->diagnostics.has_errors() || !is_settled(*after)) continue;
      CAPTURE(seed);
      CAPTURE(index);
      CHECK(total_short(*after) <= total_short(*before));
      ++compared;
    }
  }
  CHECK(compared > 20);
}

TEST_CASE("laws: what is had and what lacks make the need, where nothing is unknown") {
  std::size_t compared = 0;
  for (std::uint64_t seed = 1; seed <= kSeeds; ++seed) {
    Scene scene = random_scene(seed);
    scene.known = {2, 1};
    const auto bench = given(text_of(scene));
    if (bench->diagnostics.has_errors() || !bench->answer.questions.empty()) continue;
    for (const LineAnswer& line : bench->answer.lines) {
      if (!is_settled(*bench)) break;
      CAPTURE(seed);
      CHECK(line.have.lo + line.gap.lo == line.need.lo);
      ++compared;
    }
  }
  CHECK(compared > 50);
}

TEST_CASE("laws: a gap's rivals hold the line itself, and no fewer pieces than the gap lacks") {
  std::size_t compared = 0;
  for (std::uint64_t seed = 1; seed <= kSeeds; ++seed) {
    const auto bench = given(text_of(random_scene(seed)));
    if (bench->diagnostics.has_errors()) continue;
    for (const LineAnswer& line : bench->answer.lines) {
      if (line.gap.lo.sign() <= 0 || !line.is_exact) continue;
      CAPTURE(seed);
      REQUIRE(line.rivals.has_value());
      CHECK(std::ranges::find(line.rivals->needs, line.line) != line.rivals->needs.end());
      CHECK(line.rivals->wanted >= line.gap.lo);
      ++compared;
    }
  }
  CHECK(compared > 50);
}
