#include <algorithm>

#include "match/totals.h"

namespace kitgap {
namespace {

// Tarjan's strongly connected components (SIAM Journal on Computing 1, 1972, from memory), with a stack of its own.
class Components {
 public:
  Components(const std::vector<std::uint32_t>& begin, const std::vector<std::uint32_t>& end,
             const std::vector<std::uint32_t>& targets)
      : begin_(begin), end_(end), targets_(targets), number_(begin.size()), low_(begin.size()), is_open_(begin.size()) {}

  std::vector<std::vector<std::uint32_t>> find() {
    for (std::uint32_t node = 0; node < number_.size(); ++node) {
      if (number_[node] == 0) visit(node);
    }
    std::sort(found_.begin(), found_.end());
    return std::move(found_);
  }

 private:
  struct Step {
    std::uint32_t node;
    std::uint32_t edge;
  };

  void visit(std::uint32_t root) {
    enter(root);
    while (!path_.empty()) {
      const std::uint32_t node = path_.back().node;
      if (path_.back().edge == end_[node]) {
        leave(node);
        continue;
      }
      const std::uint32_t target = targets_[path_.back().edge++];
      if (number_[target] == 0) {
        enter(target);
      } else if (is_open_[target]) {
        low_[node] = std::min(low_[node], number_[target]);
      }
    }
  }

  void enter(std::uint32_t node) {
    number_[node] = low_[node] = ++count_;
    is_open_[node] = true;
    open_.push_back(node);
    path_.push_back({node, begin_[node]});
  }

  void leave(std::uint32_t node) {
    path_.pop_back();
    if (!path_.empty()) low_[path_.back().node] = std::min(low_[path_.back().node], low_[node]);
    if (low_[node] != number_[node]) return;
    std::vector<std::uint32_t> members;
    do {
      members.push_back(open_.back());
      is_open_[open_.back()] = false;
      open_.pop_back();
    } while (members.back() != node);
    if (members.size() == 1 && !has_edge(node, node)) return;
    std::sort(members.begin(), members.end());
    found_.push_back(std::move(members));
  }

  bool has_edge(std::uint32_t from, std::uint32_t to) const {
    const auto begin = targets_.begin() + begin_[from];
    const auto end = targets_.begin() + end_[from];
    return std::find(begin, end, to) != end;
  }

  const std::vector<std::uint32_t>& begin_;
  const std::vector<std::uint32_t>& end_;
  const std::vector<std::uint32_t>& targets_;
  std::vector<std::uint32_t> number_;  // order of first visit, from 1
  std::vector<std::uint32_t> low_;
  std::vector<bool> is_open_;
  std::vector<std::uint32_t> open_;
  std::vector<Step> path_;
  std::vector<std::vector<std::uint32_t>> found_;
  std::uint32_t count_ = 0;
};

}  // namespace

std::vector<std::vector<std::uint32_t>> cycles_of(const std::vector<std::uint32_t>& begin,
                                                  const std::vector<std::uint32_t>& end,
                                                  const std::vector<std::uint32_t>& targets) {
  return Components(begin, end, targets).find();
}

}  // namespace kitgap
