#include <cmath>
#include <limits>
#include <vector>

#include "purchase/solver_interface.h"

#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wshadow"
#pragma GCC diagnostic ignored "-Wconversion"
#include <CbcModel.hpp>
#include <ClpSimplex.hpp>
#include <OsiClpSolverInterface.hpp>
#pragma GCC diagnostic pop

namespace {

struct Handle {
  ClpSimplex simplex;
  bool solved_once = false;
};

Handle& handle_of(void* handle) { return *static_cast<Handle*>(handle); }

void append_rows(ClpSimplex& simplex, const SolverLinear& linear) {
  const std::vector<double> upper(static_cast<std::size_t>(linear.rows), COIN_DBL_MAX);
  simplex.addRows(linear.rows, linear.row_lower, upper.data(), linear.row_starts, linear.row_columns,
                  linear.row_values);
}

void load_columns(ClpSimplex& simplex, const SolverLinear& linear) {
  simplex.setLogLevel(0);
  simplex.resize(0, linear.columns);
  for (int column = 0; column < linear.columns; ++column) {
    simplex.setColumnBounds(column, linear.lower[column], linear.upper[column]);
    simplex.setObjectiveCoefficient(column, linear.cost[column]);
  }
  append_rows(simplex, linear);
}

void* create(const SolverLinear* linear) {
  auto* handle = new Handle;
  load_columns(handle->simplex, *linear);
  handle->simplex.setPerturbation(100);
  handle->simplex.scaling(3);
  return handle;
}

void destroy(void* handle) { delete static_cast<Handle*>(handle); }

void set_bounds(void* handle, std::int32_t column, double lower, double upper) {
  handle_of(handle).simplex.setColumnBounds(column, lower, upper);
}

void add_rows(void* handle, const SolverLinear* rows) { append_rows(handle_of(handle).simplex, *rows); }

SolverOutcome solve(void* raw, double objective_limit, std::int32_t iterations, double seconds) {
  Handle& handle = handle_of(raw);
  ClpSimplex& simplex = handle.simplex;
  simplex.setDualObjectiveLimit(objective_limit);
  simplex.setMaximumIterations(iterations);
  simplex.setMaximumSeconds(seconds);
  simplex.setPerturbation(handle.solved_once ? 100 : 50);
  simplex.dual();
  handle.solved_once = true;
  if (simplex.status() == 0) return kSolverOptimal;
  if (simplex.status() == 1) return kSolverInfeasible;
  return simplex.status() == 3 ? kSolverLimit : kSolverFailed;
}

double objective(void* handle) { return handle_of(handle).simplex.objectiveValue(); }

void values(void* raw, double* columns) {
  const ClpSimplex& simplex = handle_of(raw).simplex;
  const double* solution = simplex.primalColumnSolution();
  for (int column = 0; column < simplex.numberColumns(); ++column) columns[column] = solution[column];
}

void prices(void* raw, double* rows) {
  const ClpSimplex& simplex = handle_of(raw).simplex;
  const double* price = simplex.dualRowSolution();
  for (int row = 0; row < simplex.numberRows(); ++row) rows[row] = price[row];
}

bool ray(void* raw, double* rows) {
  const ClpSimplex& simplex = handle_of(raw).simplex;
  double* found = simplex.status() == 1 ? simplex.infeasibilityRay() : nullptr;
  if (!found) return false;
  for (int row = 0; row < simplex.numberRows(); ++row) rows[row] = found[row];
  delete[] found;
  return true;
}

double probe(void* raw, std::int32_t column, double lower, double upper, std::int32_t iterations) {
  ClpSimplex& simplex = handle_of(raw).simplex;
  const double old_lower = simplex.columnLower()[column];
  const double old_upper = simplex.columnUpper()[column];
  const auto sequences = static_cast<std::size_t>(simplex.numberRows() + simplex.numberColumns());
  const std::vector<unsigned char> basis(simplex.statusArray(), simplex.statusArray() + sequences);
  simplex.setColumnBounds(column, lower, upper);
  simplex.setMaximumIterations(iterations);
  simplex.dual();
  const double objective = simplex.status() == 1 ? COIN_DBL_MAX : simplex.objectiveValue();
  simplex.setColumnBounds(column, old_lower, old_upper);
  simplex.copyinStatus(basis.data());
  return objective;
}

bool search(const SolverLinear* linear, const unsigned char* is_integer, std::int32_t nodes, double seconds,
            double* best) {
  ClpSimplex simplex;
  load_columns(simplex, *linear);
  OsiClpSolverInterface osi(&simplex);
  osi.messageHandler()->setLogLevel(0);
  for (int column = 0; column < linear->columns; ++column) {
    if (is_integer[column]) osi.setInteger(column);
  }
  CbcModel model(osi);
  model.setLogLevel(0);
  model.setMaximumNodes(nodes);
  model.setMaximumSeconds(seconds);
  CbcMain0(model);
  const char* arguments[] = {"kitgap", "-log", "0", "-solve", "-quit"};
  CbcMain1(5, arguments, model);
  if (!model.bestSolution()) return false;
  for (int column = 0; column < linear->columns; ++column) best[column] = model.bestSolution()[column];
  return true;
}

constexpr SolverFunctions kFunctions = {kSolverInterfaceVersion, create, destroy, set_bounds, add_rows, solve,
                                        objective, values, prices, ray, probe, search};

}  // namespace

extern "C" const SolverFunctions* kitgap_solver() { return &kFunctions; }
