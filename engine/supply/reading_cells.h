#pragma once

#include <string>

#include "supply/reading.h"

namespace kitgap {

// A row of a list in the columns of FORMATS alone. What stood in a column of its own beside them (side, unit, pack,
// back order, substitute, chassis), in the cell of the part number or in a heading is written into these, in words from
// which `read_list` reads the same. Cells that need nothing more are as typed.
struct ListCells {
  std::string part_number, description, quantity, position, supplier, bag, due, note, id;
};
[[nodiscard]] ListCells cells_of(const ReadLine& line);

}  // namespace kitgap
