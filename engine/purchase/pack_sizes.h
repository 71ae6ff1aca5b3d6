#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "purchase/integer_program.h"

namespace kitgap {

struct PackSize {
  std::int64_t price = 0;
  std::int64_t pieces = 0;  // above zero
};

// The cheapest packs of any number that hold at least `least` pieces; of equally cheap ones those with the fewest pieces.
// Packs per size. Exact: a shortest path over what remains after whole packs of the best price per piece. Nothing
// when that is too wide to search (the caller then branches).
std::optional<std::vector<std::int64_t>> cheapest_pack_sizes(std::span<const PackSize> sizes, std::int64_t least);

}  // namespace kitgap
