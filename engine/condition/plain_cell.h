#pragma once

#include <optional>
#include <string_view>

#include "value/value_set.h"

namespace kitgap {

// The plain forms of a cell read straight, without a tree: numbers, quoted strings, allowed words, `[a..b]`, `>= n`,
// several with commas between, `-`. Gives just what the parser would; nothing when the cell is anything else or wrong.
std::optional<ValueSet> plain_cell(std::string_view cell, const FactDomain& domain);

}  // namespace kitgap
