#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "purchase/integer_program.h"
#include "purchase/solver_interface.h"

namespace kitgap {

// The solver's module, loaded at first use: from the folder of the program, ../lib/kitgap beside it, or `bin` of the
// build folder (tests). Throws MachineFailure that names the folders tried.
const SolverFunctions& solver_functions();

// The relaxation of an integer program in floating point: hints only. Rows and costs are scaled to about 1.
class LinearRelaxation {
 public:
  explicit LinearRelaxation(const IntegerProgram& program);
  ~LinearRelaxation();
  LinearRelaxation(const LinearRelaxation&) = delete;
  LinearRelaxation& operator=(const LinearRelaxation&) = delete;

  void set_bounds(std::int32_t column, std::int64_t lower, std::int64_t upper);
  // `limit`: stop when the objective (in cost units of the program) is surely above it.
  SolverOutcome solve(double limit, double seconds);
  double objective() const;
  std::vector<double> values() const;
  // Prices in cost units of the program per unit of each row's right side.
  std::vector<double> prices() const;
  std::vector<double> ray() const;  // empty when there is none
  double probe(std::int32_t column, std::int64_t lower, std::int64_t upper, std::int32_t iterations) const;
  // Branch and cut of the solver itself, for a first plan.
  static std::vector<double> search(const IntegerProgram& program, std::int32_t nodes, double seconds);

 private:
  void* handle_ = nullptr;
  std::size_t columns_ = 0;
  std::size_t rows_ = 0;
  double cost_scale_ = 1;
  std::vector<double> row_scale_;
};

}  // namespace kitgap
