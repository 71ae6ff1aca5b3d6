#pragma once

#include <optional>
#include <string>

#include "purchase/problem.h"

namespace kitgap {

// The answer of trying every number of packs of every offer, with rules written anew.
struct BruteAnswer {
  Fraction uncovered;  // pieces of all items together, as few as the constraints allow
  Fraction total;      // least cost with so few uncovered
  std::int64_t parcels = 0;  // fewest among the cheapest
  Fraction spare;            // fewest pieces among those
};

// Every offer must state `available`, a small number.
BruteAnswer brute_force(const PurchaseProblem& problem);

// A tiny problem with a bit of everything: thresholds, minimum orders, batches, dates, several needs of one item,
// decimals, a budget, at most K suppliers, an excluded supplier.
PurchaseProblem random_problem(std::uint64_t seed);
// The problem as text, so that a failing seed can be read.
std::string text_of(const PurchaseProblem& problem);

}  // namespace kitgap
