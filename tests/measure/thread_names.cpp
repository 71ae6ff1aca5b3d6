#include <doctest/doctest.h>

#include "measure/fastener.h"

using namespace kitgap;

namespace {

// System, size, diameter and pitch in mm, series; `none` for what is no designation.
std::string read(std::string_view text) {
  const auto typed = parse_thread(text);
  if (!typed) return "none";
  const char* const system = typed->system == ThreadSystem::Metric ? "metric " : typed->system == ThreadSystem::Unified ? "unified " : "ba ";
  return system + typed->size + ", " + typed->diameter_mm.to_text() + (typed->pitch_mm ? " x " + typed->pitch_mm->to_text() : "") + (typed->series.empty() ? "" : " " + typed->series);
}

}  // namespace

// Designations as ISO 965-1 (metric), ASME B1.1 (unified; No. n is 0.060 + n 0.013 in) and BS 93 (BA) write them, and as
// people shorten them; from memory of the standards.
TEST_CASE("thread names: what is one, and what it says") {
  const std::pair<const char*, const char*> cases[] = {
      {"M5", "metric M5, 5"},
      {"m 5", "metric M5, 5"},
      {"M5 X .8", "metric M5, 5 x 0.8"},
      {"M5*0.8", "metric M5, 5 x 0.8"},
      {"M2.5", "metric M2.5, 2.5"},
      {"M2,5 x 0,45", "metric M2.5, 2.5 x 0.45"},
      {"M10x1-5g6g", "metric M10, 10 x 1"},
      {"M10 - 6H", "metric M10, 10"},
      {"M10-6e", "metric M10, 10"},
      {"M10-4f", "metric M10, 10"},
      {"M999", "metric M999, 999"},
      {"M1000", "none"},
      {"M0", "none"},
      {"M5x0", "none"},
      {"M5x1000", "none"},
      {"M5x999", "metric M5, 5 x 999"},
      {"M1/2", "none"},
      {"M5 0.8", "none"},
      {"M5-", "none"},
      {"M5-g", "none"},
      {"M5-66g", "none"},
      {"M5-6k", "none"},
      {"M5-6g ", "metric M5, 5"},
      {"M5-6g5", "none"},
      {"M5-6g 5", "none"},
      {"M5-6g5g4g", "none"},
      {"0 BA", "ba 0 BA, 0"},
      {"10BA", "ba 10 BA, 0"},
      {"16 ba", "ba 16 BA, 0"},
      {"100 BA", "none"},
      {"BA", "none"},
      {"2/3 BA", "none"},
      {"2 BA x 10", "none"},
      {"No. 0-80", "unified No.0, 1.524 x 0.3175"},
      {"NO 8 - 32 UNC", "unified No.8, 4.1656 x 0.79375 UNC"},
      {"#14-20", "unified No.14, 6.1468 x 1.27"},
      {"#15-20", "none"},
      {"14-20", "unified No.14, 6.1468 x 1.27"},
      {"15-20", "none"},
      {"#1/4-20", "none"},
      {"2-56", "unified No.2, 2.1844 x 127/280"},
      {"1-8", "unified 1, 25.4 x 3.175"},
      {"1-8 UNC", "unified 1, 25.4 x 3.175 UNC"},
      {"#1-64", "unified No.1, 1.8542 x 0.396875"},
      {"0-80", "none"},
      {"1/4 - 20", "unified 1/4, 6.35 x 1.27"},
      {"1/4\"-20 TPI", "unified 1/4, 6.35 x 1.27"},
      {"1/4 x 20 UNC", "unified 1/4, 6.35 x 1.27 UNC"},
      {"1/4 UNF", "unified 1/4, 6.35 UNF"},
      {"1/4 NF", "unified 1/4, 6.35 UNF"},
      {"1/4", "none"},
      {"1/4-0", "none"},
      {"1/4-20.5", "none"},
      {"1/4-20 UNC-2A", "unified 1/4, 6.35 x 1.27 UNC"},
      {"1/4-20 UNC-2B", "unified 1/4, 6.35 x 1.27 UNC"},
      {"1/4-20 UNC 2A", "none"},
      {"1/4-20 UNEF", "none"},
      {"5/2-4", "unified 5/2, 63.5 x 6.35"},
      {"9/2-4", "none"},
      {"0.25-20", "unified 0.25, 6.35 x 1.27"},
      {"10-32 UNF                               ", "unified No.10, 4.826 x 0.79375 UNF"},
      {"10-32 UNF                                ", "none"},
  };
  for (const auto& [typed, says] : cases) {
    CAPTURE(std::string(typed));
    CHECK(read(typed) == says);
  }
}
