#pragma once

#include <cstdint>
#include <limits>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "value/fraction.h"

namespace kitgap {

// The cells of `sweep`: S-FEEL unary tests over one fact (OMG DMN, chapter 9), bare words standing for strings.
enum class SweepType : std::uint8_t { Number, Date, Text };

struct SweepTests {
  struct Interval {
    std::optional<Fraction> lo;  // a date is its day number
    std::optional<Fraction> hi;
    bool lo_closed = true;
    bool hi_closed = true;
  };
  bool is_any = false;
  bool is_negated = false;
  std::vector<Interval> intervals;  // numbers and dates
  std::vector<std::string> words;   // text
};

// Nothing when the cell is no list of tests of that type.
std::optional<SweepTests> parse_sweep_cell(std::string_view cell, SweepType type);
// A car's value as a number or a date's day number.
std::optional<Fraction> parse_sweep_value(std::string_view text, SweepType type);

}  // namespace kitgap
