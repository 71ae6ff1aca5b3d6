#pragma once

#include <string>

#include "purchase/plan.h"

namespace kitgap {

// The plan for people: what it costs and how sure that is, what to order first, one block per supplier that can be sent
// as it is, what is left over, what is not covered, what the next best choices and the constraints cost.
std::string order_text(const PurchaseProblem& problem, const Plan& plan, int width);

// One row per purchase: supplier, part number, packs, what a pack holds, price, cost, lead time, returnable.
std::string order_csv(const PurchaseProblem& problem, const Plan& plan);

}  // namespace kitgap
