#pragma once

#include <optional>
#include <string>
#include <vector>

#include "need/knowledge.h"
#include "pack/rules.h"
#include "supply/reading.h"

namespace kitgap {

// Where on this car the places and hands are that a person typed.
class TypedPlaces {
 public:
  TypedPlaces(const Rules& rules, const FactSets& facts) : rules_(rules), facts_(facts) {}

  // `floor front` and `front floor` are `floor.front` where the packs have it.
  std::optional<PositionId> find(const std::string& typed) const;
  // None where it hangs on a fact that is open: which side the car steers on, and for whose roads it was built.
  Hand hand_of(HandWord word) const;
  // The places of what was typed, on its hand where one was typed too.
  std::vector<PositionId> leaves_of(const ReadPlace& typed) const;
  // The hand of all these places; none where they differ.
  Hand one_hand_of(const std::vector<PositionId>& leaves) const;
  // Takes out the places of the other hand.
  void keep_hand(std::vector<PositionId>& leaves, Hand hand) const;

 private:
  bool is_market_open() const;
  Hand steering_hand(bool other) const;

  const Rules& rules_;
  const FactSets& facts_;
};

}  // namespace kitgap
