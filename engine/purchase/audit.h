#pragma once

#include <string>
#include <vector>

#include "purchase/plan.h"

namespace kitgap {

// Checks a plan against its problem from the beginning, in exact fractions, sharing nothing with the search: whole
// packs, what is there, minimum packs, minimum orders, dates, batches, number of suppliers, excluded ones, coverage
// up to what the plan itself calls uncovered, spares, cost of each line, shipping, goods, total, bound, budget.
// Gives what is wrong, in words; empty when all is right.
std::vector<std::string> audit_purchase(const PurchaseProblem& problem, const Plan& plan);

}  // namespace kitgap
