#pragma once

#include "pack/rules.h"
#include "text/diagnostics.h"

namespace kitgap {

// What rows say together can be wrong though each is right alone: a kit inside itself, a part number replaced in
// a ring, a limit on a property that no part has.
void check_links(const Rules& rules, Diagnostics& diagnostics);

}  // namespace kitgap
