#include "purchase/solver.h"

#include <dlfcn.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <string>

#include "text/file.h"

namespace kitgap {
namespace {

constexpr const char* kModule = "kitgap-solver.so";

std::vector<std::filesystem::path> module_places() {
  std::error_code ignored;
  const auto folder = std::filesystem::read_symlink("/proc/self/exe", ignored).parent_path();
  return {folder / kModule, folder.parent_path() / "lib" / "kitgap" / kModule, folder / "bin" / kModule};
}

const SolverFunctions& load_solver() {
  std::string tried;
  for (const auto& place : module_places()) {
    if (void* module = ::dlopen(place.c_str(), RTLD_NOW | RTLD_LOCAL)) {
      const auto entry = reinterpret_cast<const SolverFunctions* (*)()>(::dlsym(module, "kitgap_solver"));
      if (entry && entry()->version == kSolverInterfaceVersion) return *entry();
      throw MachineFailure{"the solver's module `" + place.string() + "` is of another version than the program"};
    }
    tried += (tried.empty() ? "" : "; ") + std::string(::dlerror());
  }
  throw MachineFailure{"the solver's module cannot be loaded: " + tried};
}

// Rows as the solver wants them, one after the other.
struct FlatRows {
  std::vector<std::int32_t> starts = {0};
  std::vector<std::int32_t> columns;
  std::vector<double> values;
  std::vector<double> least;
};

FlatRows flat_rows(const IntegerProgram& program, std::vector<double>& scales) {
  FlatRows flat;
  for (const ProgramRow& row : program.rows) {
    double largest = 1;
    for (const ProgramTerm& term : row.terms) {
      largest = std::max(largest, std::abs(static_cast<double>(term.factor)));
    }
    for (const ProgramTerm& term : row.terms) {
      flat.columns.push_back(term.column);
      flat.values.push_back(static_cast<double>(term.factor) / largest);
    }
    flat.starts.push_back(static_cast<std::int32_t>(flat.columns.size()));
    flat.least.push_back(static_cast<double>(row.least) / largest);
    scales.push_back(largest);
  }
  return flat;
}

// About a hundredth of the typical cost, so that tolerances of 1e-7 are far below what matters.
double cost_scale_of(const IntegerProgram& program) {
  double sum = 0;
  double count = 0;
  for (const std::int64_t cost : program.cost) {
    if (cost == 0) continue;
    sum += std::abs(static_cast<double>(cost));
    ++count;
  }
  return count > 0 ? std::max(1e-9, sum / count / 100) : 1.0;
}

struct FlatProgram {
  FlatRows rows;
  std::vector<double> cost;
  std::vector<double> lower;
  std::vector<double> upper;
  SolverLinear linear() const {
    return {static_cast<std::int32_t>(cost.size()), static_cast<std::int32_t>(rows.least.size()), cost.data(),
            lower.data(), upper.data(), rows.least.data(), rows.starts.data(), rows.columns.data(), rows.values.data()};
  }
};

FlatProgram flatten(const IntegerProgram& program, double cost_scale, std::vector<double>& row_scale) {
  FlatProgram flat;
  flat.rows = flat_rows(program, row_scale);
  for (std::size_t column = 0; column < program.columns(); ++column) {
    flat.cost.push_back(static_cast<double>(program.cost[column]) / cost_scale);
    flat.lower.push_back(static_cast<double>(program.lower[column]));
    flat.upper.push_back(static_cast<double>(program.upper[column]));
  }
  return flat;
}

constexpr double kSeconds = 1e6;
constexpr std::int32_t kIterations = 1'000'000;

}  // namespace

const SolverFunctions& solver_functions() {
  static const SolverFunctions& functions = load_solver();
  return functions;
}

LinearRelaxation::LinearRelaxation(const IntegerProgram& program)
    : columns_(program.columns()), rows_(program.rows.size()), cost_scale_(cost_scale_of(program)) {
  const FlatProgram flat = flatten(program, cost_scale_, row_scale_);
  const SolverLinear linear = flat.linear();
  handle_ = solver_functions().create(&linear);
}

LinearRelaxation::~LinearRelaxation() { solver_functions().destroy(handle_); }

void LinearRelaxation::set_bounds(std::int32_t column, std::int64_t lower, std::int64_t upper) {
  solver_functions().set_bounds(handle_, column, static_cast<double>(lower), static_cast<double>(upper));
}

SolverOutcome LinearRelaxation::solve(double limit, double seconds) {
  const double scaled = limit >= 1e300 ? 1e300 : limit / cost_scale_ + 1e-6 * std::abs(limit / cost_scale_) + 1e-6;
  return solver_functions().solve(handle_, scaled, kIterations, std::min(seconds, kSeconds));
}

double LinearRelaxation::objective() const { return solver_functions().objective(handle_) * cost_scale_; }

std::vector<double> LinearRelaxation::values() const {
  std::vector<double> values(columns_);
  solver_functions().values(handle_, values.data());
  return values;
}

std::vector<double> LinearRelaxation::prices() const {
  std::vector<double> prices(rows_);
  solver_functions().prices(handle_, prices.data());
  for (std::size_t row = 0; row < rows_; ++row) prices[row] *= cost_scale_ / row_scale_[row];
  return prices;
}

std::vector<double> LinearRelaxation::ray() const {
  std::vector<double> ray(rows_);
  if (!solver_functions().ray(handle_, ray.data())) return {};
  for (std::size_t row = 0; row < rows_; ++row) ray[row] /= row_scale_[row];
  return ray;
}

double LinearRelaxation::probe(std::int32_t column, std::int64_t lower, std::int64_t upper,
                               std::int32_t iterations) const {
  return solver_functions().probe(handle_, column, static_cast<double>(lower), static_cast<double>(upper), iterations) *
         cost_scale_;
}

std::vector<double> LinearRelaxation::search(const IntegerProgram& program, std::int32_t nodes, double seconds) {
  std::vector<double> row_scale;
  const FlatProgram flat = flatten(program, cost_scale_of(program), row_scale);
  const SolverLinear linear = flat.linear();
  const std::vector<unsigned char> is_integer(program.columns(), 1);
  std::vector<double> best(program.columns());
  if (!solver_functions().search(&linear, is_integer.data(), nodes, seconds, best.data())) return {};
  return best;
}

}  // namespace kitgap
