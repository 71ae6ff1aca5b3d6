#pragma once

#include <map>
#include <span>
#include <utility>
#include <vector>

#include "cover/answer.h"

namespace kitgap {

// What is left over, by part and, of handed parts, by hand.
using SpareKey = std::pair<PartId, Hand>;

// What pieces that can serve the same lines leave, over the completions.
class GroupSpare {
 public:
  explicit GroupSpare(const CoverModel& model) : model_(model) {}
  // What these items leave on one more completion.
  void gather(std::span<const std::uint32_t> items, Solver& solver);

  struct Left {
    Range quantity;
    bool is_met = false;
    Fraction meant;
    Fraction pack = 1;
    bool is_by_bag = false;  // bags of equal pieces, not pairs
  };
  const std::map<SpareKey, Left>& left() const { return left_; }

 private:
  void add(std::uint32_t item, Solver& solver, std::map<SpareKey, Left>& here) const;

  const CoverModel& model_;
  std::map<SpareKey, Left> left_;
};

// The sum over the groups.
class SpareSum {
 public:
  // A whole bag more than these lines take is over; less than a bag is the loss to whole bags.
  void add(const GroupSpare& group);
  // Sorted by the parts' keys and by hand; nothing that no completion leaves.
  std::vector<SpareAnswer> answers(const Rules& rules) const;

 private:
  std::map<SpareKey, SpareAnswer> sums_;
};

}  // namespace kitgap
