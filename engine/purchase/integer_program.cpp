#include "purchase/integer_program.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace kitgap {
namespace {

// Adds `a * b` to `sum`; false on overflow.
bool add_product(Wide& sum, Wide a, Wide b) {
  Wide product = 0;
  return !__builtin_mul_overflow(a, b, &product) && !__builtin_add_overflow(sum, product, &sum);
}

Wide divide_up(Wide a, Wide b) { return a / b + (a % b > 0 ? 1 : 0); }      // b > 0
Wide divide_down(Wide a, Wide b) { return a / b - (a % b < 0 ? 1 : 0); }    // b > 0

constexpr double kLargestPrice = 1e30;  // times 127 - 100 bits of a factor still fits

Wide rounded_price(double price, std::int64_t scale) {
  const double scaled = std::round(price * static_cast<double>(scale));
  if (!(scaled > 0)) return 0;  // also for what is no number
  return scaled < kLargestPrice ? static_cast<Wide>(scaled) : 0;
}

// `reduced -= price * row`, and `sum += price * least`.
bool subtract_row(const ProgramRow& row, Wide price, PriceProof& proof) {
  if (price == 0) return true;
  for (const ProgramTerm& term : row.terms) {
    if (!add_product(proof.reduced[static_cast<std::size_t>(term.column)], -price, term.factor)) return false;
  }
  return add_product(proof.sum, price, row.least);
}

bool add_best_ends(const ProgramBounds& bounds, PriceProof& proof) {
  for (std::size_t column = 0; column < proof.reduced.size(); ++column) {
    const Wide reduced = proof.reduced[column];
    if (!add_product(proof.sum, reduced, reduced > 0 ? bounds.lower[column] : bounds.upper[column])) return false;
  }
  return true;
}

}  // namespace

std::int32_t IntegerProgram::add_column(std::int64_t column_cost, std::int64_t low, std::int64_t high,
                                        std::uint8_t column_rank) {
  cost.push_back(column_cost);
  lower.push_back(low);
  upper.push_back(high);
  rank.push_back(column_rank);
  return static_cast<std::int32_t>(cost.size() - 1);
}

std::int64_t cost_step(const IntegerProgram& program) {
  std::int64_t step = 0;
  for (const std::int64_t cost : program.cost) step = std::gcd(step, cost);
  return step;
}

std::optional<Wide> cost_of(const IntegerProgram& program, std::span<const std::int64_t> solution) {
  Wide cost = 0;
  for (std::size_t column = 0; column < program.columns(); ++column) {
    const std::int64_t value = solution[column];
    if (value < program.lower[column] || value > program.upper[column]) return std::nullopt;
    if (!add_product(cost, program.cost[column], value)) throw FigureOverflow();
  }
  for (const ProgramRow& row : program.rows) {
    Wide sum = 0;
    for (const ProgramTerm& term : row.terms) {
      if (!add_product(sum, term.factor, solution[static_cast<std::size_t>(term.column)])) throw FigureOverflow();
    }
    if (sum < row.least) return std::nullopt;
  }
  return cost;
}

Wide PriceProof::bound(std::int64_t step) const {
  const Wide whole = divide_up(sum, scale);
  return step > 1 ? divide_up(whole, step) * step : whole;
}

std::optional<PriceProof> price_proof(const IntegerProgram& program, const ProgramBounds& bounds,
                                      std::span<const double> prices, std::int64_t scale) {
  PriceProof proof;
  proof.scale = scale;
  proof.reduced.resize(program.columns());
  for (std::size_t column = 0; column < program.columns(); ++column) {
    proof.reduced[column] = Wide{program.cost[column]} * scale;
  }
  for (std::size_t row = 0; row < program.rows.size(); ++row) {
    if (!subtract_row(program.rows[row], rounded_price(prices[row], scale), proof)) return std::nullopt;
  }
  if (!add_best_ends(bounds, proof)) return std::nullopt;
  return proof;
}

bool ray_proves_empty(const IntegerProgram& program, const ProgramBounds& bounds, std::span<const double> ray) {
  double largest = 0;
  for (const double price : ray) largest = std::max(largest, std::abs(price));
  if (!(largest > 0)) return false;
  for (const double sign : {1.0, -1.0}) {
    for (const double scale : {1.0, 12.0, 1048576.0, 1099511627776.0}) {
      PriceProof proof;
      proof.reduced.resize(program.columns());
      bool held = true;
      for (std::size_t row = 0; held && row < program.rows.size(); ++row) {
        held = subtract_row(program.rows[row], rounded_price(sign * ray[row] / largest * scale, 1), proof);
      }
      if (held && add_best_ends(bounds, proof) && proof.sum > 0) return true;
    }
  }
  return false;
}

bool tighten(const PriceProof& proof, Wide limit, ProgramBounds& bounds, std::vector<std::int32_t>* changed) {
  Wide room = 0;
  if (__builtin_mul_overflow(limit, Wide{proof.scale}, &room) || __builtin_sub_overflow(room, proof.sum, &room)) {
    return true;
  }
  if (room < 0) return false;
  for (std::size_t column = 0; column < proof.reduced.size(); ++column) {
    const Wide reduced = proof.reduced[column];
    if (reduced == 0 || bounds.lower[column] >= bounds.upper[column]) continue;
    const Wide steps = divide_down(room, reduced > 0 ? reduced : -reduced);
    if (steps >= Wide{bounds.upper[column]} - bounds.lower[column]) continue;
    if (reduced > 0) {
      bounds.upper[column] = static_cast<std::int64_t>(bounds.lower[column] + steps);
    } else {
      bounds.lower[column] = static_cast<std::int64_t>(bounds.upper[column] - steps);
    }
    if (changed) changed->push_back(static_cast<std::int32_t>(column));
  }
  return true;
}

}  // namespace kitgap
