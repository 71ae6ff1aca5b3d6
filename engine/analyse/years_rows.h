#pragma once

#include "analyse/years.h"

namespace kitgap {

// A row in words: what it calls for, of whom, for which cars. Rows of other kinds: their cells.
YearsRow years_row(const Rules& rules, RowPlace place);
// Whether the row asks for the fact and speaks on one side only.
bool tells_apart(const Rules& rules, RowPlace place, FactId fact, const ValueSet& before, const ValueSet& after);
// The rows that tie facts to one another so that the change of `rows` shows at `fact` between `before` and `after`:
// `build period` is late from serial 36580 on.
std::vector<RowPlace> tying_rows(const Rules& rules, const std::vector<RowPlace>& rows, FactId fact, const ValueSet& before,
                                 const ValueSet& after);

}  // namespace kitgap
