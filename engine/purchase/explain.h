#pragma once

#include "purchase/plan.h"
#include "purchase/search.h"

namespace kitgap {

// Fills in what a shopper would pay, the next best choices and what each constraint costs. Each is a search of its own
// with a fixed effort; where it is not decided, the proven least extra is given and marked.
void explain_plan(const PurchaseProblem& problem, const ScaledPurchase& purchase, const PlanOptions& options,
                  Plan& plan);

}  // namespace kitgap
