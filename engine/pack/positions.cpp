#include "pack/positions.h"

#include <algorithm>

namespace kitgap {
namespace {

Hand hand_of_path(std::string_view path) {
  const std::size_t dot = path.rfind('.');
  const std::string_view last = dot == std::string_view::npos ? path : path.substr(dot + 1);
  if (last == "left") return Hand::Left;
  if (last == "right") return Hand::Right;
  return dot == std::string_view::npos ? Hand::None : hand_of_path(path.substr(0, dot));
}

bool lies_below(std::string_view path, std::string_view above) {
  return path.size() > above.size() && path.starts_with(above) && path[above.size()] == '.';
}

}  // namespace

Positions::Positions() {
  nodes_.push_back({.path = "car"});
  by_path_.emplace("car", kCar);
  settle();
}

PositionId Positions::add(std::string_view path) {
  if (const auto known = find(path)) return *known;
  if (const std::size_t dot = path.rfind('.'); dot != std::string_view::npos) add(path.substr(0, dot));
  const PositionId id{static_cast<std::uint32_t>(nodes_.size())};
  nodes_.push_back({.path = std::string(path), .hand = hand_of_path(path)});
  by_path_.emplace(std::string(path), id);
  return id;
}

void Positions::settle() {
  for (Node& node : nodes_) {
    node.leaves.clear();
    node.is_inner = false;
  }
  // The map walks paths in byte order, so that leaves come sorted.
  for (const auto& entry : by_path_) {
    const std::string& path = entry.first;
    const PositionId id = entry.second;
    const bool is_leaf = std::ranges::none_of(by_path_, [&](const auto& other) { return lies_below(other.first, path); });
    if (!is_leaf) {
      nodes_[id.index].is_inner = true;
      continue;
    }
    for (Node& node : nodes_) {
      if (node.path == path || lies_below(path, node.path)) node.leaves.push_back(id);
    }
  }
}

std::optional<PositionId> Positions::find(std::string_view path) const {
  const auto found = by_path_.find(path);
  if (found == by_path_.end()) return std::nullopt;
  return found->second;
}

std::vector<std::string> Positions::paths() const {
  std::vector<std::string> paths;
  for (const auto& [path, id] : by_path_) paths.push_back(path);
  return paths;
}

bool Positions::is_within(PositionId inner, PositionId outer) const {
  return inner == outer || lies_below(path(inner), path(outer));
}

}  // namespace kitgap
