#pragma once

#include <string>
#include <vector>

#include "cover/answer.h"

namespace kitgap {

// What one car cuts from a roll: one piece for each assembly that takes the part by its area.

struct RollPiece {
  std::string assembly, position;
  Fraction width, height;  // millimetres, with the margin round all edges
  Range count;             // pieces over completions
};
struct RollPieces {
  std::vector<RollPiece> pieces;
  std::vector<std::string> aside;  // what takes the part too and cannot be laid, and why: lower case, no full stop
};

// The part is cut by area: only rows of `consumes` say from what. A share of waste is left out, for the layout shows what is
// lost; a margin that is a share lengthens both sides by it, so that no piece comes out too small.
RollPieces roll_pieces_of(const NeedModel& needs, const Answer& answer, PartId part);

}  // namespace kitgap
