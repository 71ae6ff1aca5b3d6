#pragma once

#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "need/needs.h"

namespace kitgap {

// The other names of parts, one RE2 pattern a part, matched whole and without case, all of them at once. The set is
// compiled when a text is first looked for: a list of known numbers never pays for it. For one thread.
class Aliases {
 public:
  explicit Aliases(const NeedModel& model);
  ~Aliases();
  // The first part, in the order of the packs, whose pattern is `text` or `other`, as a whole.
  std::optional<PartId> part_of(std::string_view text, std::string_view other) const;

 private:
  struct Compiled;
  std::optional<std::size_t> first_match(std::string_view text) const;
  std::vector<const std::string*> patterns_;  // of `parts_`, in the same order; held by the packs' rows
  std::vector<PartId> parts_;
  mutable std::unique_ptr<Compiled> compiled_;
};

}  // namespace kitgap
