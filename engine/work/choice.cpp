#include "work/choice.h"

#include <algorithm>
#include <map>

#include "value/internal_error.h"

namespace kitgap {
namespace {

struct Score {
  Fraction first, second;
  friend bool operator==(const Score&, const Score&) = default;
  friend auto operator<=>(const Score& a, const Score& b) {
    return a.first != b.first ? a.first <=> b.first : a.second <=> b.second;
  }
};

class Search {
 public:
  Search(std::span<const Task> tasks, std::span<const PartAmount> store, Best best, std::uint64_t most_nodes)
      : tasks_(tasks), best_(best), nodes_left_(most_nodes) {
    for (const Task& task : tasks) {
      for (const Task::Use& use : task.uses) parts_.emplace(use.part, parts_.size());
    }
    left_.resize(parts_.size());
    for (const PartAmount& amount : store) {
      if (const auto found = parts_.find(amount.part); found != parts_.end()) left_[found->second] += amount.quantity;
    }
    uses_.resize(tasks.size(), std::vector<Fraction>(parts_.size()));
    for (std::size_t task = 0; task < tasks.size(); ++task) {
      for (const Task::Use& use : tasks[task].uses) uses_[task][parts_.at(use.part)] += use.quantity;
      for (const std::size_t before : tasks[task].after) require(before < task, "a task comes after those before it");
    }
    chosen_.resize(tasks.size());
    by_gain_ = ordered_by_gain();
  }

  Choice run() {
    if (best_ == Best::AsGiven) choose_as_given();
    else descend(0, {});
    Choice choice;
    choice.is_exact = is_exact_;
    const std::vector<bool>& chosen = best_ == Best::AsGiven ? chosen_ : best_chosen_;
    for (std::size_t task = 0; task < tasks_.size(); ++task) {
      if (task < chosen.size() && chosen[task]) choice.tasks.push_back(task);
    }
    std::vector<Fraction> left = left_;
    if (best_ != Best::AsGiven) {
      for (const std::size_t task : choice.tasks) {
        for (std::size_t part = 0; part < left.size(); ++part) left[part] -= uses_[task][part];
      }
    }
    for (const auto& [name, part] : parts_) choice.left.emplace_back(name, left[part]);
    return choice;
  }

 private:
  Score score_of(std::size_t task) const {
    return best_ == Best::Minutes ? Score{tasks_[task].minutes, 1} : Score{1, tasks_[task].minutes};
  }

  bool fits(std::size_t task) const {
    for (std::size_t part = 0; part < left_.size(); ++part) {
      if (uses_[task][part] > left_[part]) return false;
    }
    return std::ranges::all_of(tasks_[task].after, [&](std::size_t before) { return chosen_[before]; });
  }

  void take(std::size_t task, bool back) {
    for (std::size_t part = 0; part < left_.size(); ++part) {
      if (back) left_[part] += uses_[task][part];
      else left_[part] -= uses_[task][part];
    }
    chosen_[task] = !back;
  }

  // Per part the tasks by gain to a piece, best first: what a relaxed choice would take. Gain is the first score.
  std::vector<std::vector<std::size_t>> ordered_by_gain() const {
    std::vector<std::vector<std::size_t>> orders(left_.size());
    for (std::size_t part = 0; part < left_.size(); ++part) {
      for (std::size_t task = 0; task < tasks_.size(); ++task) orders[part].push_back(task);
      std::ranges::stable_sort(orders[part], [&](std::size_t one, std::size_t other) {
        // gain / use, compared without dividing; what uses nothing comes first
        return score_of(one).first * uses_[other][part] > score_of(other).first * uses_[one][part];
      });
    }
    return orders;
  }

  // No choice among tasks `from`.. can score more: the least over all parts of what that part alone would allow, with
  // a last task taken in part. Only the first score is bounded; the second is bounded by all of it.
  Score bound(std::size_t from) const {
    Score most;
    for (std::size_t task = from; task < tasks_.size(); ++task) {
      const bool can_be = std::ranges::none_of(tasks_[task].after, [&](std::size_t before) { return before < from && !chosen_[before]; });
      if (!can_be) continue;
      most.first += score_of(task).first;
      most.second += score_of(task).second;
    }
    for (std::size_t part = 0; part < left_.size(); ++part) most.first = std::min(most.first, bound_by(part, from));
    return most;
  }

  Fraction bound_by(std::size_t part, std::size_t from) const {
    Fraction gain;
    Fraction left = left_[part];
    for (const std::size_t task : by_gain_[part]) {
      if (task < from) continue;
      const Fraction& use = uses_[task][part];
      if (use <= left) {
        gain += score_of(task).first;
        left -= use;
      } else {
        const Fraction some = score_of(task).first * left / use;
        // A count of tasks is whole.
        return best_ == Best::Steps ? (gain + some).floor() : gain + some;
      }
    }
    return gain;
  }

  void descend(std::size_t task, const Score& score) {
    if (nodes_left_ == 0) {
      is_exact_ = false;
      return;
    }
    --nodes_left_;
    if (task == tasks_.size()) {
      if (best_chosen_.empty() || score > best_score_) {
        best_score_ = score;
        best_chosen_ = chosen_;
      }
      return;
    }
    if (!best_chosen_.empty()) {
      const Score most = bound(task);
      if (Score{score.first + most.first, score.second + most.second} <= best_score_) return;
    }
    if (fits(task)) {
      take(task, false);
      const Score own = score_of(task);
      descend(task + 1, {score.first + own.first, score.second + own.second});
      take(task, true);
    }
    descend(task + 1, score);
  }

  // Whether the task and all before it can be had beside what is chosen; if so they are taken.
  void choose_as_given() {
    for (std::size_t task = 0; task < tasks_.size(); ++task) {
      if (chosen_[task]) continue;
      std::vector<std::size_t> wanted;
      add_with_before(task, wanted);
      std::ranges::sort(wanted);
      std::size_t taken = 0;
      while (taken < wanted.size() && fits(wanted[taken])) take(wanted[taken++], false);
      if (taken == wanted.size()) continue;
      while (taken > 0) take(wanted[--taken], true);
    }
  }
  void add_with_before(std::size_t task, std::vector<std::size_t>& wanted) const {
    if (chosen_[task] || std::ranges::find(wanted, task) != wanted.end()) return;
    wanted.push_back(task);
    for (const std::size_t before : tasks_[task].after) add_with_before(before, wanted);
  }

  std::span<const Task> tasks_;
  Best best_;
  std::uint64_t nodes_left_;
  std::map<std::string, std::size_t> parts_;
  std::vector<Fraction> left_;
  std::vector<std::vector<Fraction>> uses_;
  std::vector<std::vector<std::size_t>> by_gain_;
  std::vector<bool> chosen_;
  std::vector<bool> best_chosen_;
  Score best_score_;
  bool is_exact_ = true;
};

}  // namespace

Choice best_choice(std::span<const Task> tasks, std::span<const PartAmount> store, Best best, std::uint64_t most_nodes) {
  return Search(tasks, store, best, most_nodes).run();
}

}  // namespace kitgap
