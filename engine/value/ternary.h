#pragma once

#include <cstdint>

namespace kitgap {

// Holds, fails, or open: some of the values a fact may still have pass and some do not.
enum class Ternary : std::uint8_t { No, Open, Yes };

constexpr Ternary operator&&(Ternary a, Ternary b) { return a < b ? a : b; }
constexpr Ternary operator||(Ternary a, Ternary b) { return a < b ? b : a; }
constexpr Ternary operator!(Ternary a) {
  return a == Ternary::Open ? a : a == Ternary::Yes ? Ternary::No : Ternary::Yes;
}
constexpr Ternary ternary_of(bool holds) { return holds ? Ternary::Yes : Ternary::No; }

}  // namespace kitgap
