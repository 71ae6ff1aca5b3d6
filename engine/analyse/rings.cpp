#include "analyse/rings.h"

#include <algorithm>

#include "analyse/holes.h"
#include "match/totals.h"

namespace kitgap {
namespace {

constexpr std::size_t kMostSteps = 20'000;  // of one group

// Looks for the shortest way round within one group, from each of its nodes, a length at a time.
class RingSearch {
 public:
  RingSearch(const Rules& rules, const std::vector<RingEdge>& edges, const std::vector<std::uint32_t>& group) : group_(group) {
    const auto is_in = [&](std::uint32_t node) { return std::binary_search(group.begin(), group.end(), node); };
    std::vector<ConditionId> conditions;
    for (const RingEdge& edge : edges) {
      if (!is_in(edge.from) || !is_in(edge.to)) continue;
      edges_.push_back(edge);
      conditions.push_back(edge.condition);
    }
    grid_.emplace(rules, conditions);
  }

  std::optional<Ring> find() {
    for (std::size_t length = 1; length <= group_.size() && steps_ < kMostSteps; ++length) {
      for (const std::uint32_t start : group_) {
        way_.clear();
        if (go(start, start, length, everything(grid_->grid()))) return ring();
      }
    }
    return std::nullopt;
  }

 private:
  bool go(std::uint32_t start, std::uint32_t node, std::size_t left, const Box& box) {
    if (++steps_ > kMostSteps) return false;
    if (left == 0) {
      if (node != start) return false;
      const Holes cars = uncovered(grid_->grid(), grid_->impossible(), box, 1);
      if (cars.boxes.empty()) return false;
      box_ = cars.boxes.front();
      return true;
    }
    for (std::uint32_t at = 0; at < edges_.size(); ++at) {
      if (edges_[at].from != node) continue;
      Box narrowed;
      for (std::size_t column = 0; column < box.size(); ++column) narrowed.push_back(common(box[column], grid_->grid().cells(at, column)));
      if (std::any_of(narrowed.begin(), narrowed.end(), [](const Cells& cells) { return cells.empty(); })) continue;
      way_.push_back(at);
      if (go(start, edges_[at].to, left - 1, narrowed)) return true;
      way_.pop_back();
    }
    return false;
  }

  Ring ring() const {
    Ring ring;
    for (const std::uint32_t at : way_) {
      ring.nodes.push_back(edges_[at].from);
      ring.rows.push_back(edges_[at].place);
    }
    ring.witness = grid_->witness(box_);
    return ring;
  }

  const std::vector<std::uint32_t>& group_;
  std::vector<RingEdge> edges_;
  std::optional<FactGrid> grid_;
  std::vector<std::uint32_t> way_;
  Box box_;
  std::size_t steps_ = 0;
};

}  // namespace

std::vector<Ring> rings_among(const Rules& rules, const std::vector<RingEdge>& edges, std::size_t node_count) {
  std::vector<std::uint32_t> begin(node_count, 0), end(node_count, 0), targets(edges.size());
  for (const RingEdge& edge : edges) ++end[edge.from];
  std::uint32_t at = 0;
  for (std::size_t node = 0; node < node_count; ++node) {
    begin[node] = at;
    at += end[node];
    end[node] = begin[node];
  }
  for (const RingEdge& edge : edges) targets[end[edge.from]++] = edge.to;
  std::vector<Ring> rings;
  for (const auto& group : cycles_of(begin, end, targets)) {
    if (auto ring = RingSearch(rules, edges, group).find()) rings.push_back(std::move(*ring));
  }
  return rings;
}

}  // namespace kitgap
