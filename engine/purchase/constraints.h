#pragma once

#include <string>
#include <vector>

#include "purchase/search.h"

namespace kitgap {

// A wish of the person or a term of a supplier that narrows what may be bought.
struct PurchaseConstraint {
  enum class Kind : std::uint8_t { Budget, MaxSuppliers, Excluded, Date, OneBatch, MinimumOrder };
  Kind kind = Kind::Budget;
  std::string name;  // item or supplier, where it is about one
};

std::vector<PurchaseConstraint> constraints_of(const PurchaseProblem& problem);
// `budget 50`, `at most 2 suppliers`, `without S1`, `clip by its date`, `fabric from one batch`, `minimum order of S1`.
std::string words_of(const PurchaseProblem& problem, const PurchaseConstraint& constraint);
PurchaseProblem without_constraint(PurchaseProblem problem, const PurchaseConstraint& constraint);

// A smallest set of constraints that cannot hold together with all needs that could be met without any; empty when
// all hold, or when that is not decided within a fixed effort.
std::vector<PurchaseConstraint> smallest_conflict(const PurchaseProblem& problem, const PlanOptions& options);

}  // namespace kitgap
