#pragma once

#include <optional>
#include <string_view>

#include "text/json.h"
#include "value/value_set.h"

namespace kitgap {

// A value as a person writes it: `1971`, `estate`, `"estate"`, `true`, `1970-03-01` (ISO). Nothing when it is none of the type's.
std::optional<FactValue> parse_fact_value(std::string_view text, FactType type);
std::optional<FactValue> fact_value_of(const Json& json, FactType type);
// Days since 1970-01-01; nothing when no such day.
std::optional<std::int64_t> parse_iso_date(std::string_view text);
bool is_allowed(const FactDomain& domain, const FactValue& value);

}  // namespace kitgap
