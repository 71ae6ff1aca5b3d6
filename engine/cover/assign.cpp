#include "cover/assign.h"

#include <algorithm>
#include <array>
#include <cstddef>
#include <optional>

namespace kitgap {
namespace {

// `sum` becomes a + b, or a - b where `sign` is below zero; levels that come to zero are dropped.
void add(LexicalCost& sum, const LexicalCost& a, const LexicalCost& b, int sign) {
  sum.clear();
  sum.reserve(a.size() + b.size());
  auto left = a.begin();
  auto right = b.begin();
  while (left != a.end() || right != b.end()) {
    if (right == b.end() || (left != a.end() && left->first < right->first)) {
      sum.push_back(*left++);
    } else if (left == a.end() || right->first < left->first) {
      sum.emplace_back(right->first, sign < 0 ? -right->second : right->second);
      ++right;
    } else {
      const Fraction amount = sign < 0 ? left->second - right->second : left->second + right->second;
      if (!amount.is_zero()) sum.emplace_back(left->first, amount);
      ++left;
      ++right;
    }
  }
}

bool is_less(const LexicalCost& a, const LexicalCost& b) {
  auto left = a.begin();
  auto right = b.begin();
  while (left != a.end() || right != b.end()) {
    if (right == b.end() || (left != a.end() && left->first < right->first)) return left->second.sign() < 0;
    if (left == a.end() || right->first < left->first) return right->second.sign() > 0;
    if (left->second != right->second) return left->second < right->second;
    ++left;
    ++right;
  }
  return false;
}

// Which arcs there are at each end, in their order.
class ArcsByEnd {
 public:
  ArcsByEnd(std::span<const AssignArc> arcs, std::size_t ends, std::uint32_t AssignArc::* end) : first_(ends + 1, 0), arcs_(arcs.size()) {
    for (const AssignArc& arc : arcs) ++first_[arc.*end + 1];
    for (std::size_t at = 1; at <= ends; ++at) first_[at] += first_[at - 1];
    std::vector<std::uint32_t> next(first_.begin(), first_.end() - 1);
    for (std::uint32_t arc = 0; arc < arcs.size(); ++arc) arcs_[next[arcs[arc].*end]++] = arc;
  }
  std::span<const std::uint32_t> operator[](std::uint32_t end) const { return std::span(arcs_).subspan(first_[end], first_[end + 1] - first_[end]); }

 private:
  std::vector<std::uint32_t> first_;  // by end, and one past the last
  std::vector<std::uint32_t> arcs_;
};

// Successive cheapest paths from any supply with pieces left to any need not yet met. Costs form an ordered group,
// so the usual proof holds level by level.
class Assignment {
 public:
  Assignment(std::span<const Fraction> supplies, std::span<const Fraction> needs, std::span<const AssignArc> arcs)
      : left_(supplies.begin(), supplies.end()), wanted_(needs.begin(), needs.end()), arcs_(arcs), flow_(arcs.size()),
        arcs_of_supply_(arcs, supplies.size(), &AssignArc::supply), arcs_of_need_(arcs, needs.size(), &AssignArc::need),
        supplies_(none_reached(supplies.size())), needs_(none_reached(needs.size())), tried_(&room_) {}

  std::vector<Fraction> solve() {
    while (augment()) {
    }
    return std::move(flow_);
  }

 private:
  struct Reached {
    bool is_reached = false;
    bool is_waiting = false;
    std::optional<std::uint32_t> by;  // the arc that led here
    LexicalCost cost;                 // of the way, where it is reached
  };

  std::vector<Reached> none_reached(std::size_t count) {
    std::vector<Reached> all;
    all.reserve(count);
    while (all.size() < count) all.push_back({.by = {}, .cost = LexicalCost(&room_)});
    return all;
  }

  bool augment() {
    waiting_.clear();
    for (Reached& need : needs_) need.is_reached = false;
    for (std::uint32_t supply = 0; supply < left_.size(); ++supply) {
      Reached& from = supplies_[supply];
      from.is_reached = from.is_waiting = left_[supply].sign() > 0;
      from.by.reset();
      from.cost.clear();
      if (from.is_reached) waiting_.emplace_back(false, supply);
    }
    for (std::size_t next = 0; next < waiting_.size(); ++next) {
      const auto [is_need, index] = waiting_[next];
      Reached& from = is_need ? needs_[index] : supplies_[index];
      from.is_waiting = false;
      for (const std::uint32_t arc : is_need ? arcs_of_need_[index] : arcs_of_supply_[index]) {
        if (!is_need) reach(needs_[arcs_[arc].need], true, arcs_[arc].need, arc, from.cost, 1);
        else if (flow_[arc].sign() > 0) reach(supplies_[arcs_[arc].supply], false, arcs_[arc].supply, arc, from.cost, -1);
      }
    }
    std::optional<std::uint32_t> best;
    const LexicalCost nothing;
    for (std::uint32_t need = 0; need < wanted_.size(); ++need) {
      if (wanted_[need].sign() <= 0 || !needs_[need].is_reached) continue;
      if (is_less(needs_[need].cost, best ? needs_[*best].cost : nothing)) best = need;
    }
    if (best) send(*best);
    return best.has_value();
  }

  void reach(Reached& to, bool is_need, std::uint32_t index, std::uint32_t arc, const LexicalCost& so_far, int sign) {
    add(tried_, so_far, arcs_[arc].cost, sign);
    if (to.is_reached && !is_less(tried_, to.cost)) return;
    std::swap(to.cost, tried_);
    to.is_reached = true;
    to.by = arc;
    if (!to.is_waiting) waiting_.emplace_back(is_need, index);
    to.is_waiting = true;
  }

  // Along the way back from `need`: as much as the narrowest piece of the way allows.
  void send(std::uint32_t need) {
    std::vector<std::pair<std::uint32_t, bool>> way;  // arc, forward?
    Fraction amount = wanted_[need];
    std::uint32_t at = need;
    while (true) {
      const std::uint32_t forward = *needs_[at].by;
      way.emplace_back(forward, true);
      const std::uint32_t supply = arcs_[forward].supply;
      if (!supplies_[supply].by) {
        amount = std::min(amount, left_[supply]);
        left_[supply] -= amount;
        break;
      }
      const std::uint32_t backward = *supplies_[supply].by;
      way.emplace_back(backward, false);
      amount = std::min(amount, flow_[backward]);
      at = arcs_[backward].need;
    }
    wanted_[need] -= amount;
    for (const auto& [arc, is_forward] : way) {
      if (is_forward) flow_[arc] += amount;
      else flow_[arc] -= amount;
    }
  }

  std::array<std::byte, 8192> first_room_;
  std::pmr::monotonic_buffer_resource room_{first_room_.data(), first_room_.size()};  // of the costs, all let go at the end
  std::vector<Fraction> left_;
  std::vector<Fraction> wanted_;
  std::span<const AssignArc> arcs_;
  std::vector<Fraction> flow_;
  ArcsByEnd arcs_of_supply_;
  ArcsByEnd arcs_of_need_;
  std::vector<Reached> supplies_;
  std::vector<Reached> needs_;
  std::vector<std::pair<bool, std::uint32_t>> waiting_;  // is a need?, index; in turn
  LexicalCost tried_;
};

}  // namespace

std::vector<Fraction> assign(std::span<const Fraction> supplies, std::span<const Fraction> needs,
                             std::span<const AssignArc> arcs) {
  return Assignment(supplies, needs, arcs).solve();
}

}  // namespace kitgap
