#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "value/fraction.h"

namespace kitgap {

// What to do with a store that does not reach for everything: sixty seals, five panels - which get finished?

// One piece of work that is done wholly or not at all, such as a step at one position.
struct Task {
  struct Use {
    std::string part;
    Fraction quantity;  // zero or more
  };
  std::string name;
  Fraction minutes;                // zero or more
  std::vector<Use> uses;
  std::vector<std::size_t> after;  // earlier tasks of the list (smaller indexes) that must be chosen too
};

enum class Best : std::uint8_t {
  Steps,     // most tasks; of these most minutes
  Minutes,   // most minutes of work; of these most tasks
  AsGiven,   // the first task if it can be at all, then the second beside it, and so on
};

struct Choice {
  std::vector<std::size_t> tasks;  // chosen, in the order of the list
  std::vector<std::pair<std::string, Fraction>> left;  // of each part used by any task
  // False only when the search was cut off: the choice is good, but a better one was not ruled out.
  bool is_exact = true;
};
struct PartAmount {
  std::string part;
  Fraction quantity;
};
// Proven best by branch and bound; equal choices give the one with the earlier tasks. Parts that are not in `store` are
// not there. `most_nodes` bounds the search: some millions a second.
[[nodiscard]] Choice best_choice(std::span<const Task> tasks, std::span<const PartAmount> store, Best best,
                                 std::uint64_t most_nodes = 5'000'000);

}  // namespace kitgap
