#pragma once

#include <map>
#include <string>
#include <utility>
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

// What the packs ask to be changed where one part stands in for another on a car of these facts.
class StandInChanges {
 public:
  StandInChanges(const Rules& rules, const FactSets& facts);
  // Empty: they do not say.
  std::string of(PartId wanted, PartId covers) const;

 private:
  std::map<std::pair<PartId, PartId>, std::string> changes_;
};

}  // namespace kitgap
