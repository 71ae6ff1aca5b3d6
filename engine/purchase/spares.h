#pragma once

#include <cstdint>

#include "value/fraction.h"

namespace kitgap {

// What "enough with 0.95" means where nobody states another confidence.
inline Fraction default_confidence() { return Fraction::of(19, 20); }

// The smallest number m of pieces to buy so that `needed` of them go in with a probability of at least `confidence`.
// Each try to fit uses one piece up and breaks it with probability `break_rate`, independently; what replaces it can
// break too: P(Binomial(m, 1 - break_rate) >= needed). Worked out in whole numbers of any length, never in floating
// point. `needed` 0 or more; 0 <= break_rate < 1; 0 < confidence < 1, else FigureOverflow.
[[nodiscard]] std::int64_t pieces_to_buy(std::int64_t needed, const Fraction& break_rate, const Fraction& confidence);

// Whether `bought` pieces are enough in that sense.
[[nodiscard]] bool are_enough(std::int64_t bought, std::int64_t needed, const Fraction& break_rate,
                              const Fraction& confidence);

}  // namespace kitgap
