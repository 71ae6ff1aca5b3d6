#pragma once

#include <string_view>
#include <vector>

#include "purchase/plan.h"
#include "text/json.h"

namespace kitgap {

// What every answer that holds a plan writes alike.

std::string_view word_of(PlanStatus status);  // `optimal`, `feasible`, `nothing covers`
// Amounts and quantities are decimals wherever the input is; a rate such as 1/3 cannot be written in a file: then text.
void write_figure(JsonWriter& json, const Fraction& figure);
// A proven bound, rounded down where it has no short decimal.
void write_bound(JsonWriter& json, const Fraction& bound);
void write_quantities(JsonWriter& json, std::string_view key, const std::vector<ItemQuantity>& quantities);

}  // namespace kitgap
