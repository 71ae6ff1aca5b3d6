#pragma once

#include <map>
#include <string>
#include <tuple>
#include <vector>

#include "cover/answer.h"

namespace kitgap {

// Stock and orders that several cars share, in the order in which the cars are asked: what an earlier car may use is not
// there for a later one. Where an answer leaves a range, the most that it may use is taken.
class SharedSupplies {
 public:
  // Notes what this car uses of its lists of stock and orders.
  void take(const CoverModel& model, const Answer& answer);
  // Lists as read for the next car (`opened` from them) with what is left; planned lists stay as they are.
  [[nodiscard]] std::vector<ReadList> left_of(const NeedModel& needs, const Supplies& opened) const;
  bool is_empty() const { return used_.empty(); }

 private:
  using Key = std::tuple<std::string, std::uint32_t, std::string, std::string>;  // file, line, part, place
  std::map<Key, Fraction> used_;
};

}  // namespace kitgap
