#pragma once

#include <string>

#include "analyse/years.h"

namespace kitgap {

// The faces of `kitgap years`.
std::string years_text(const Years& years, int width);
std::string years_html(const Years& years);  // a table per part with a column per stretch of years
std::string years_csv(const Years& years);   // a row per line and cell; lines first, then what is to be bought
std::string years_json(const Years& years);  // `years/1`

// Values of a fact across as a person reads them: `1966..1968`, `saloon, estate`, `any body style`.
std::string values_text(const Years& years, std::size_t at, const ValueSet& values);

}  // namespace kitgap
