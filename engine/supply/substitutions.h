#pragma once

#include <string>
#include <vector>

#include "need/knowledge.h"
#include "pack/rules.h"

namespace kitgap {

// How one part may stand in for another: `covers` may be used where `wanted` is called for.
struct Substitution {
  PartId wanted;
  PartId covers;
  bool is_stand_in = false;  // allowed, not replacing
  const ReplacesRow* row = nullptr;
};
// Parts only: number rows are brought to the parts that the numbers' offers sell. `rules` must outlive it.
std::vector<Substitution> substitutions_of(const Rules& rules);

// What the packs ask to be changed where `covers` stands in for `wanted` on a car of these facts; empty: they do not say.
std::string change_of_stand_in(const Rules& rules, const FactSets& facts, PartId wanted, PartId covers);

}  // namespace kitgap
