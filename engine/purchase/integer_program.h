#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <utility>
#include <vector>

#include "value/fraction.h"

namespace kitgap {

using Wide = Fraction::Wide;

struct ProgramTerm {
  std::int32_t column = 0;
  std::int64_t factor = 0;
};

// Sum of the terms at or above `least`.
struct ProgramRow {
  std::vector<ProgramTerm> terms;
  std::int64_t least = 0;
};

// Least cost over whole numbers within bounds, all rows met. Everything is whole: prices and quantities were scaled
// before, so that no figure is rounded.
struct IntegerProgram {
  std::vector<std::int64_t> cost;
  std::vector<std::int64_t> lower;
  std::vector<std::int64_t> upper;  // finite
  std::vector<std::uint8_t> rank;   // columns of higher rank are branched on first
  std::vector<ProgramRow> rows;

  std::size_t columns() const { return cost.size(); }
  std::int32_t add_column(std::int64_t column_cost, std::int64_t low, std::int64_t high, std::uint8_t column_rank = 0);
};

// Every whole solution's cost is a multiple of this (0: all costs are zero).
std::int64_t cost_step(const IntegerProgram& program);
// Cost of a solution, or nothing when a bound or a row is broken.
std::optional<Wide> cost_of(const IntegerProgram& program, std::span<const std::int64_t> solution);

struct ProgramBounds {
  std::vector<std::int64_t> lower;
  std::vector<std::int64_t> upper;
};

// What prices of rows prove: no solution within the bounds costs less than `sum / scale`.
// `reduced[c]` is what one unit of column c adds, times `scale`.
struct PriceProof {
  Wide sum = 0;
  std::int64_t scale = 1;
  std::vector<Wide> reduced;
  // The least multiple of `step` that is not below the proven bound.
  Wide bound(std::int64_t step) const;
};

// Weak duality in whole numbers: any prices at or above zero prove a bound, however they were found. `prices` are in
// cost units; they are rounded to multiples of 1/scale (below zero to 0) and everything after that is exact.
// Nothing when a figure would overflow.
std::optional<PriceProof> price_proof(const IntegerProgram& program, const ProgramBounds& bounds,
                                      std::span<const double> prices, std::int64_t scale);

// True when the ray proves, in whole numbers, that no solution lies within the bounds.
bool ray_proves_empty(const IntegerProgram& program, const ProgramBounds& bounds, std::span<const double> ray);

// Draws bounds in: what would cost more than `limit` by the proof. False when a column has no value left.
bool tighten(const PriceProof& proof, Wide limit, ProgramBounds& bounds,
             std::vector<std::int32_t>* changed = nullptr);

}  // namespace kitgap
