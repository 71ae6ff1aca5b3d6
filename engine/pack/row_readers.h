#pragma once

#include <vector>

#include "pack/cells.h"

namespace kitgap {

// Parts of `read_rows`: one kind of table each.
void read_suppliers(Cells& cells);
void read_offers(Cells& cells);
void read_contents(Cells& cells);
void read_supplied_without(Cells& cells);

// The unit in which each part is counted; a part without a row of its own is counted by pieces.
std::vector<Unit> units_of_parts(const Rules& rules);
Unit unit_of(PartId part, const std::vector<Unit>& units);

}  // namespace kitgap
