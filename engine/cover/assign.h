#pragma once

#include <cstdint>
#include <memory_resource>
#include <span>
#include <utility>
#include <vector>

#include "value/fraction.h"

namespace kitgap {

// A cost with many levels: the first that differs decides, whatever the later ones. Sparse: (level, amount), by level.
using LexicalCost = std::pmr::vector<std::pair<std::uint32_t, Fraction>>;

struct AssignArc {
  std::uint32_t supply = 0;
  std::uint32_t need = 0;
  LexicalCost cost;  // per unit; below zero where a unit is worth placing
};

// Sends what is best from supplies to needs: the flow of least cost, level by level, exactly.
//
// A unit is placed only where that lowers the cost. Capacities are at or above zero. The answer has one flow per arc
// and is the same for the same input; between equal flows the order of the arcs decides.
[[nodiscard]] std::vector<Fraction> assign(std::span<const Fraction> supplies, std::span<const Fraction> needs,
                                           std::span<const AssignArc> arcs);

}  // namespace kitgap
