#pragma once

#include <optional>
#include <string>

#include "purchase/order_notes.h"
#include "purchase/plan.h"
#include "text/json.h"

namespace kitgap {

// Reads the needs, suppliers and offers of `order --from` (FORMATS). Beyond that form a file may state: needs
// `needed_by_days`, `one_batch`, `lot`; suppliers `currency`, `lead_time_days`; offers `minimum_packs`, `batch`, `returnable`;
// the whole `rates` (what one unit of a currency is worth), `budget`, `max_suppliers`, `excluded_suppliers`,
// `preferred_suppliers`, `assume_unstated_lead_time`. What is wrong is reported, all of it in one go.
[[nodiscard]] std::optional<PurchaseProblem> read_purchase(SourceId source, const Sources& sources,
                                                           Diagnostics& diagnostics);

// `order/1` of FORMATS, on one line per value, ending in a line end.
// `notes` adds members for a car's order.
std::string order_json(const PurchaseProblem& problem, const Plan& plan, const OrderNotes& notes = {});

}  // namespace kitgap
