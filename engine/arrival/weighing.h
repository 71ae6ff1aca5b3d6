#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "value/fraction.h"

namespace kitgap {

// Counting a bag of like pieces by weight. All weights in one unit, any.
struct Weighing {
  std::int64_t sample_pieces = 0;       // counted by hand, 1 or more
  Fraction sample_weight;               // of the pieces alone, above zero
  Fraction gross_weight;                // of all pieces to count, with their bag or box
  std::optional<Fraction> tare_weight;  // of the bag or box, read on the same scale; nothing: the scale was set to zero with it
  Fraction resolution;                  // one step of the display; a reading is at most half of it off
  Fraction uncertainty = 0;             // what the scale may be off beyond that, per reading, off its data sheet
  Fraction spread = 0;                  // share by which any single piece may be heavier or lighter than the mean, below 1
};

struct WeightCount {
  std::int64_t lo = 0;  // both reachable: no count outside lo..hi agrees with the readings
  std::int64_t hi = 0;
  friend bool operator==(const WeightCount&, const WeightCount&) = default;
};

enum class WeightVerdict : std::uint8_t {
  AllThere,     // lo is at least what was expected
  Short,        // hi is below it
  CountByHand,  // the range could hide a gap
};

// What is wrong with the readings, lower case; empty when they can be used.
[[nodiscard]] std::string what_is_wrong_with(const Weighing& weighing);
// The counts that agree with the readings, exactly. Nothing when no whole count does (a wrong sample, a foreign piece, a
// reading mistyped): count by hand. The readings have been checked; a count past 1,000,000,000 is none.
[[nodiscard]] std::optional<WeightCount> count_by_weight(const Weighing& weighing);
[[nodiscard]] WeightVerdict verdict_on(const std::optional<WeightCount>& count, std::int64_t expected);
// `46..47 by weight; 47 expected: count by hand, the weight could hide a gap`.
std::string says_of(const std::optional<WeightCount>& count, std::int64_t expected);

}  // namespace kitgap
