#pragma once

#include <string>
#include <vector>

#include "measure/strip.h"
#include "purchase/order_notes.h"
#include "report/overview.h"
#include "report/ready.h"
#include "report/report.h"

namespace kitgap {

// The faces that are one HTML file each. They print the models given and work out nothing but where ink goes.

std::string check_html(const Report& report, const Overview& overview, const std::vector<Change>* changes);
// Clips, seals, holes per panel, each with its picture.
std::string counts_html(const Report& report, const Overview& overview);
// One sheet per supplier, each on a paper of its own, after what they come to together.
std::string order_html(const PurchaseProblem& problem, const Plan& plan, const OrderNotes& notes);
// What can be done today, what the rest waits for, and the steps as a network with the longest way through it.
// `graph` holds the steps of this car.
std::string ready_html(const ReadyAnswer& answer, const StepGraph& graph);
// The cutting picture, and the same as a list.
std::string cut_html(const StripJob& job, const CutPlan& plan);

}  // namespace kitgap
