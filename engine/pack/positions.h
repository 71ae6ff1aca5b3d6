#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "text/archive.h"
#include "value/id.h"

namespace kitgap {

// Left is left when seated facing forward.
enum class Hand : std::uint8_t { None, Left, Right };

// The tree of places on the car. A path (`front.left`) stands for all leaves at and below it.
// Position 0 is `car`, the car as a whole: a leaf outside the tree.
class Positions {
 public:
  static constexpr PositionId kCar{0};

  Positions();
  // The path with every path above it; declaring one twice is no mistake (packs are joined).
  PositionId add(std::string_view path);
  // To be called once all paths are in: leaves and their order are settled then.
  void settle();

  std::optional<PositionId> find(std::string_view path) const;
  std::size_t size() const { return nodes_.size(); }
  const std::string& path(PositionId position) const { return nodes_[position.index].path; }
  bool is_leaf(PositionId position) const { return nodes_[position.index].leaves.size() == 1 && !nodes_[position.index].is_inner; }
  // Sorted by path in byte order; a leaf is its own.
  std::span<const PositionId> leaves(PositionId position) const { return nodes_[position.index].leaves; }
  Hand hand(PositionId position) const { return nodes_[position.index].hand; }
  std::vector<std::string> paths() const;
  // True when `inner` is `outer` or below it.
  bool is_within(PositionId inner, PositionId outer) const;

 private:
  struct Node {
    std::string path;
    Hand hand = Hand::None;
    bool is_inner = false;
    std::vector<PositionId> leaves = {};
  };
  friend void visit_fields(auto& archive, Is<Node> auto& node) { archive(node.path, node.hand, node.is_inner, node.leaves); }
  friend void visit_fields(auto& archive, Is<Positions> auto& positions) { archive(positions.nodes_, positions.by_path_); }
  std::vector<Node> nodes_;
  std::map<std::string, PositionId, std::less<>> by_path_;
};

}  // namespace kitgap
