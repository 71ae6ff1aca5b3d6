#include <doctest/doctest.h>

#include "arrival/sampling.h"
#include "peer.h"

using namespace kitgap;

namespace {

std::optional<SamplingTables> tables() {
  Sources sources;
  Diagnostics diagnostics;
  return read_sampling_tables(std::filesystem::path(KITGAP_SOURCE_DIR) / "data/standards", sources, diagnostics);
}

}  // namespace

TEST_CASE("outside: worked lots of MIL-STD-105E, arrows followed, small lots in full") {
  OutsideTable published("lots.csv");
  REQUIRE(published.table);
  const auto standard = tables();
  REQUIRE(standard);
  for (std::size_t row = 0; row < published.table->rows(); ++row) {
    auto& lots = *published.table;
    CAPTURE(lots.whole(row, "lot_size"));
    CAPTURE(lots.text(row, "aql_percent"));
    const SamplingPlan expected{lots.text(row, "letter"), lots.text(row, "plan_letter"), lots.whole(row, "inspect"),
                                lots.whole(row, "accept"), lots.whole(row, "reject"), lots.text(row, "all") == "yes"};
    const auto plan = plan_for(*standard, lots.whole(row, "lot_size"), lots.figure(row, "aql_percent"));
    REQUIRE(plan);
    CHECK(plan->lot_letter == expected.lot_letter);
    CHECK(plan->plan_letter == expected.plan_letter);
    CHECK(plan->sample_size == expected.sample_size);
    CHECK(plan->accept == expected.accept);
    CHECK(plan->reject == expected.reject);
    CHECK(plan->inspect_all == expected.inspect_all);
  }
}

TEST_CASE("outside: chances of acceptance as R, scipy and exact fractions give them") {
  OutsideTable published("chances.csv");
  REQUIRE(published.table);
  for (std::size_t row = 0; row < published.table->rows(); ++row) {
    auto& chances = *published.table;
    CAPTURE(row);
    const std::int64_t sample = chances.whole(row, "sample"), accept = chances.whole(row, "accept");
    const std::string ours = chances.text(row, "model") == "lot"
                                 ? acceptance_of_lot(chances.whole(row, "lot"), chances.whole(row, "bad"), sample, accept)
                                 : acceptance_of_share(sample, accept, chances.figure(row, "bad"));
    CHECK(ours == chances.text(row, "chance"));
  }
}

TEST_CASE("outside: python's fractions give the chance of every plan") {
  const auto standard = tables();
  REQUIRE(standard);
  std::string program =
      "from fractions import Fraction as F\nfrom math import comb\n"
      "def p(n, c, a, b):\n"
      "    v = sum(comb(n, k) * F(a, b)**k * (1 - F(a, b))**(n - k) for k in range(c + 1))\n"
      "    r = (v.numerator * 2 * 10**10 + v.denominator) // (2 * v.denominator)\n"
      "    print('%d.%010d' % divmod(r, 10**10))\n";
  std::vector<std::string> ours;
  for (const PlanCell& cell : standard->cells) {
    if (cell.arrow != Arrow::None) continue;
    for (const CodeLetter& letter : standard->letters) {
      if (letter.letter != cell.letter) continue;
      const Fraction bad = cell.aql_percent / Fraction(100);
      ours.push_back(acceptance_of_share(letter.sample_size, cell.accept, bad));
      program += "p(" + std::to_string(letter.sample_size) + "," + std::to_string(cell.accept) + "," +
                 Fraction(static_cast<std::int64_t>(bad.numerator())).to_text() + "," +
                 Fraction(static_cast<std::int64_t>(bad.denominator())).to_text() + ")\n";
    }
  }
  const auto theirs = peer_says("python3", "-", program);
  if (!theirs) {
    MESSAGE("skipped: python3 is not installed");
    return;
  }
  CHECK(ours.size() >= 40);
  CHECK(*theirs == ours);
}
