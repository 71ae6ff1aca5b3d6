#pragma once

#include <span>
#include <string_view>

#include "need/needs.h"

namespace kitgap {

// The columns that rows of a kind are told apart by; none for `needs`, whose key is per leaf, and for kinds that only add.
std::span<const std::string_view> key_columns(TableKind kind);

// Two rows of one layer and kind with one key that both can apply to this car and say different things. (Rows of
// `needs` are compared when they are worked out: there a practice may tell them apart.) A row that a higher layer
// replaces on this car is left alone.
void report_clashes(const Knowledge& knowledge, Problems& problems);

}  // namespace kitgap
