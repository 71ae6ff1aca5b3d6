#include "supply/places.h"

#include <algorithm>

#include "text/file.h"

namespace kitgap {

std::optional<PositionId> TypedPlaces::find(const std::string& typed) const {
  if (typed.empty()) return std::nullopt;
  if (const auto position = rules_.positions.find(typed)) return position;
  std::string path = folded(typed);
  std::ranges::replace(path, ' ', '.');
  if (const auto position = rules_.positions.find(path)) return position;
  const std::size_t dot = path.find('.');
  if (dot == std::string::npos || path.find('.', dot + 1) != std::string::npos) return std::nullopt;
  return rules_.positions.find(path.substr(dot + 1) + "." + path.substr(0, dot));
}

Hand TypedPlaces::hand_of(HandWord word) const {
  switch (word) {
    case HandWord::Left: return Hand::Left;
    case HandWord::Right: return Hand::Right;
    case HandWord::DriversSide: return steering_hand(false);
    case HandWord::PassengersSide: return steering_hand(true);
    case HandWord::Offside: return is_market_open() ? Hand::None : steering_hand(false);
    case HandWord::Nearside: return is_market_open() ? Hand::None : steering_hand(true);
    case HandWord::None:
    case HandWord::Both: break;
  }
  return Hand::None;
}

// The offside is the driver's on a car built for the road it uses: not said of a car whose market is not known.
bool TypedPlaces::is_market_open() const {
  const auto market = rules_.find_fact("market");
  return market && !facts_[market->index].is_single();
}

// The driver's side is where the car steers.
Hand TypedPlaces::steering_hand(bool other) const {
  const auto fact = rules_.find_fact("steering side");
  if (!fact || !facts_[fact->index].is_single()) return Hand::None;
  const FactValue value = *facts_[fact->index].witness();
  const auto* side = std::get_if<std::string>(&value);
  if (side == nullptr) return Hand::None;
  const bool is_left = side->starts_with("l") || side->starts_with("L");
  const bool is_right = side->starts_with("r") || side->starts_with("R");
  if (is_left == is_right) return Hand::None;
  return is_left != other ? Hand::Left : Hand::Right;
}

std::vector<PositionId> TypedPlaces::leaves_of(const ReadPlace& typed) const {
  auto position = find(typed.path);
  if (!position && !typed.along.empty()) position = rules_.positions.find(typed.along);
  if (!position) return {};
  const auto all = rules_.positions.leaves(*position);
  std::vector<PositionId> leaves(all.begin(), all.end());
  keep_hand(leaves, hand_of(typed.hand));
  return leaves;
}

Hand TypedPlaces::one_hand_of(const std::vector<PositionId>& leaves) const {
  if (leaves.empty()) return Hand::None;
  const Hand first = rules_.positions.hand(leaves.front());
  const bool all_alike = std::ranges::all_of(leaves, [&](PositionId leaf) { return rules_.positions.hand(leaf) == first; });
  return all_alike ? first : Hand::None;
}

void TypedPlaces::keep_hand(std::vector<PositionId>& leaves, Hand hand) const {
  if (hand == Hand::None) return;
  std::erase_if(leaves, [&](PositionId leaf) { return rules_.positions.hand(leaf) != hand && rules_.positions.hand(leaf) != Hand::None; });
}

}  // namespace kitgap
