#pragma once

#include <cstdint>

// The narrow interface to the linear solver, which stands in a module of its own so that only commands that plan a
// purchase load it. Plain C shapes; figures in floating point: nothing that comes back is believed, see `branch.h`.
extern "C" {

inline constexpr int kSolverInterfaceVersion = 1;

// Least cost over columns within bounds, rows at or above `row_lower`. Rows are held one after the other:
// `row_starts` has rows + 1 entries.
struct SolverLinear {
  std::int32_t columns;
  std::int32_t rows;
  const double* cost;
  const double* lower;
  const double* upper;
  const double* row_lower;
  const std::int32_t* row_starts;
  const std::int32_t* row_columns;
  const double* row_values;
};

enum SolverOutcome : std::int32_t { kSolverOptimal = 0, kSolverInfeasible = 1, kSolverLimit = 2, kSolverFailed = 3 };

struct SolverFunctions {
  std::int32_t version;
  void* (*create)(const SolverLinear* linear);
  void (*destroy)(void* handle);
  void (*set_bounds)(void* handle, std::int32_t column, double lower, double upper);
  void (*add_rows)(void* handle, const SolverLinear* rows);  // only the row part is read
  // Dual simplex from the last basis. Stops at `objective_limit` (kSolverLimit) or after `iterations` steps.
  SolverOutcome (*solve)(void* handle, double objective_limit, std::int32_t iterations, double seconds);
  double (*objective)(void* handle);
  void (*values)(void* handle, double* columns);  // value of each column
  void (*prices)(void* handle, double* rows);     // dual price of each row
  bool (*ray)(void* handle, double* rows);        // a proof of infeasibility, if the last solve left one
  // Solves with other bounds of one column, then takes bounds and basis back. Objective, or infinity.
  double (*probe)(void* handle, std::int32_t column, double lower, double upper, std::int32_t iterations);
  // Integer search by the solver's own branch and cut; `values` gets its best, false when it found none.
  bool (*search)(const SolverLinear* linear, const unsigned char* is_integer, std::int32_t nodes, double seconds,
                 double* values);
};

// The one symbol of the module.
const SolverFunctions* kitgap_solver();
}
