#pragma once

#include "commands.h"
#include "purchase/plan.h"

namespace kitgap {

// Puts a plan into the job as order lines under `id`, a line per purchase. Refused when the job has such an order
// already. `today`: days from 1970-01-01, for the day on which each is due.
void record_order(const PurchaseProblem& problem, const Plan& plan, const std::string& id, std::int64_t today, const Arguments& arguments, Terminal& terminal);

}  // namespace kitgap
