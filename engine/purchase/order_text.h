#pragma once

#include <string>

#include "purchase/order_notes.h"
#include "purchase/plan.h"

namespace kitgap {

// The plan for people: what it costs and how sure that is, what to order first, one block per supplier that can be sent
// as it is, what is left over, what is not covered, what the next best choices and the constraints cost, what each purchase is for, what answers could save.
std::string order_text(const PurchaseProblem& problem, const Plan& plan, int width, const OrderNotes& notes = {});

}  // namespace kitgap
