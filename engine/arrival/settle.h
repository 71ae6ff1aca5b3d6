#pragma once

#include <optional>
#include <string>
#include <vector>

#include "supply/supplies.h"

namespace kitgap {

// What came of an order: it is no longer on its way, and what can be used of it lies here.

// Pieces of one part that came for one line of the order.
struct Delivery {
  std::size_t row = 0;     // index into the lines of the order
  std::string part, place;  // its key; as `place_word` gives it
  Fraction counted;        // no longer on its way
  Fraction usable;         // here: less what is damaged or went back, with what was accepted with rework
  std::string bag;
  std::uint32_t number = 0;  // the line that it is shown as
};
// What the supplier says is still to come of a line, in place of what the count leaves: pieces of a line of one part,
// else kits. None: nothing more comes.
struct StillToCome {
  std::size_t row = 0;
  Fraction quantity;
};

struct Settled {
  ReadList order;  // the lines with what is still to come
  ReadList stock;  // a line for each delivery with something usable
};
// `opened` are supplies with the order as its list number `file`, opened from the order as it was placed.
[[nodiscard]] Settled settle(const NeedModel& needs, const Supplies& opened, std::size_t file, const std::vector<Delivery>& deliveries,
                             const std::vector<StillToCome>& still_to_come);

}  // namespace kitgap
