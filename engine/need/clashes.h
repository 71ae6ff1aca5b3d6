#pragma once

#include "need/needs.h"

namespace kitgap {

// Two rows of one layer and kind with one key that both can apply to this car and say different things. (Rows of
// `needs` are compared when they are worked out: there a practice may tell them apart.) A row that a higher layer
// replaces on this car is left alone.
void report_clashes(const Knowledge& knowledge, Problems& problems);

}  // namespace kitgap
