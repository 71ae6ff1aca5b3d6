#include "work/steps.h"

#include <algorithm>
#include <queue>

namespace kitgap {
namespace {

std::vector<std::string> cycle_of(const StepGraph& graph, const std::vector<std::size_t>& left_over) {
  // Every step that is left over has a predecessor that is left over too: walking back must come round.
  std::vector<std::size_t> way = {left_over.front()};
  const std::set<std::size_t> open(left_over.begin(), left_over.end());
  for (;;) {
    const auto& before = graph.after[way.back()];
    const std::size_t next = *std::ranges::find_if(before, [&](std::size_t step) { return open.contains(step); });
    const auto seen = std::ranges::find(way, next);
    if (seen != way.end()) {
      std::vector<std::string> names;
      for (auto step = seen; step != way.end(); ++step) names.push_back(graph.steps[*step].name);
      names.push_back(names.front());
      std::ranges::reverse(names);  // in the order of the work
      return names;
    }
    way.push_back(next);
  }
}

void put_in_order(StepGraph& graph) {
  const std::size_t count = graph.steps.size();
  std::vector<std::size_t> waiting(count);
  std::vector<std::vector<std::size_t>> followers(count);
  for (std::size_t step = 0; step < count; ++step) {
    waiting[step] = graph.after[step].size();
    for (const std::size_t before : graph.after[step]) followers[before].push_back(step);
  }
  std::priority_queue<std::size_t, std::vector<std::size_t>, std::greater<>> free;
  for (std::size_t step = 0; step < count; ++step) {
    if (waiting[step] == 0) free.push(step);
  }
  while (!free.empty()) {
    const std::size_t step = free.top();
    free.pop();
    graph.order.push_back(step);
    for (const std::size_t follower : followers[step]) {
      if (--waiting[follower] == 0) free.push(follower);
    }
  }
  if (graph.order.size() == count) return;
  std::vector<std::size_t> left_over;
  for (std::size_t step = 0; step < count; ++step) {
    if (waiting[step] != 0) left_over.push_back(step);
  }
  graph.cycle = cycle_of(graph, left_over);
  graph.order.clear();
}

// Steps before this one that are on this car, looking through those that are not.
void add_real_before(const StepGraph& graph, std::size_t step, std::set<std::size_t>& seen, std::set<std::size_t>& real) {
  for (const std::size_t before : graph.after[step]) {
    if (!seen.insert(before).second) continue;
    if (graph.steps[before].applies) real.insert(before);
    else add_real_before(graph, before, seen, real);
  }
}

std::optional<Lack> lack_of(const StepPart& need, const std::map<std::string, const PartStore*>& store) {
  const auto found = store.find(need.part);
  const Fraction here = found == store.end() ? Fraction(0) : found->second->in_hand;
  if (here >= need.quantity) return std::nullopt;
  Lack lack{.part = need.part, .quantity = need.quantity - here, .due = {}, .is_coming = false};
  if (found == store.end()) return lack;
  auto coming = found->second->coming;
  // What has no day comes last.
  std::ranges::stable_sort(coming, [](const auto& one, const auto& other) {
    return std::pair(one.second.empty(), one.second) < std::pair(other.second.empty(), other.second);
  });
  Fraction total = here;
  for (const auto& [quantity, day] : coming) {
    total += quantity;
    if (total < need.quantity) continue;
    lack.is_coming = true;
    lack.due = day;
    break;
  }
  return lack;
}

}  // namespace

StepGraph step_graph(std::vector<WorkStep> steps) {
  StepGraph graph;
  graph.steps = std::move(steps);
  std::map<std::string, std::size_t> by_name;
  for (std::size_t step = 0; step < graph.steps.size(); ++step) by_name.emplace(graph.steps[step].name, step);
  for (const WorkStep& step : graph.steps) {
    std::vector<std::size_t> after;
    for (const std::string& name : step.after) {
      const auto found = by_name.find(name);
      if (found == by_name.end()) graph.unknown.emplace_back(step.name, name);
      else if (std::ranges::find(after, found->second) == after.end()) after.push_back(found->second);
    }
    graph.after.push_back(std::move(after));
  }
  put_in_order(graph);
  return graph;
}

std::vector<StepReadiness> readiness(const StepGraph& graph, const Progress& progress, std::span<const StepPart> parts,
                                     std::span<const PartStore> store,
                                     const std::map<std::string, std::vector<std::string>>& cautions) {
  std::map<std::string, const PartStore*> by_part;
  for (const PartStore& one : store) by_part[one.part] = &one;
  // A part that a step needs at several places is taken from the store once for all of them.
  std::map<std::string, std::map<std::string, Fraction>> needed;
  for (const StepPart& part : parts) needed[part.step][part.part] += part.quantity;
  std::vector<StepReadiness> out;
  for (const std::size_t index : graph.order) {
    const WorkStep& step = graph.steps[index];
    StepReadiness one{.step = index, .state = StepState::Ready, .waits_for_steps = {}, .waits_for_parts = {}, .bags = {}, .open_holds = {}};
    std::set<std::size_t> seen;
    std::set<std::size_t> before;
    add_real_before(graph, index, seen, before);
    for (const std::size_t other : before) {
      if (!progress.done.contains(graph.steps[other].name)) one.waits_for_steps.push_back(other);
    }
    for (const auto& [part, quantity] : needed[step.name]) {
      if (const auto lack = lack_of({.step = step.name, .part = part, .quantity = quantity, .position = {}}, by_part)) {
        one.waits_for_parts.push_back(*lack);
      }
      const auto found = by_part.find(part);
      if (found != by_part.end()) one.bags.insert(one.bags.end(), found->second->bags.begin(), found->second->bags.end());
    }
    std::ranges::sort(one.bags);
    one.bags.erase(std::unique(one.bags.begin(), one.bags.end()), one.bags.end());
    const auto signed_for = progress.acknowledged.find(step.name);
    const auto add_hold = [&](const std::string& hold) {
      if (hold.empty() || std::ranges::find(one.open_holds, hold) != one.open_holds.end()) return;
      if (signed_for == progress.acknowledged.end() || !signed_for->second.contains(hold)) one.open_holds.push_back(hold);
    };
    add_hold(step.hold);
    if (const auto found = cautions.find(step.name); found != cautions.end()) std::ranges::for_each(found->second, add_hold);
    if (!step.applies) one.state = StepState::NotOnThisCar;
    else if (progress.done.contains(step.name)) one.state = StepState::Done;
    else if (!one.waits_for_steps.empty() || !one.waits_for_parts.empty()) one.state = StepState::Blocked;
    else if (progress.started.contains(step.name)) one.state = StepState::Started;
    out.push_back(std::move(one));
  }
  return out;
}

WorkLeft work_left(const StepGraph& graph, const Progress& progress) {
  WorkLeft left;
  std::vector<Range> longest(graph.steps.size());
  std::vector<std::optional<std::size_t>> came_from(graph.steps.size());
  std::optional<std::size_t> last;
  Fraction widest;
  for (const std::size_t index : graph.order) {
    const WorkStep& step = graph.steps[index];
    Range own;
    if (step.applies && !progress.done.contains(step.name)) {
      if (!step.minutes) left.without_minutes.push_back(index);
      own = step.minutes.value_or(Range{});
      const auto logged = progress.minutes_logged.find(step.name);
      if (logged != progress.minutes_logged.end()) {
        own = {std::max(Fraction(0), own.lo - logged->second), std::max(Fraction(0), own.hi - logged->second)};
      }
      left.minutes = {left.minutes.lo + own.lo, left.minutes.hi + own.hi};
      if (own.hi - own.lo > widest) {
        widest = own.hi - own.lo;
        left.hangs_on = index;
      }
    }
    Range before;
    for (const std::size_t other : graph.after[index]) {
      before.lo = std::max(before.lo, longest[other].lo);
      if (longest[other].hi > before.hi) {
        before.hi = longest[other].hi;
        came_from[index] = other;
      }
    }
    longest[index] = {before.lo + own.lo, before.hi + own.hi};
    left.longest.lo = std::max(left.longest.lo, longest[index].lo);
    if (longest[index].hi > left.longest.hi) {
      left.longest.hi = longest[index].hi;
      last = index;
    }
  }
  for (auto step = last; step; step = came_from[*step]) {
    const WorkStep& on_way = graph.steps[*step];
    if (on_way.applies && !progress.done.contains(on_way.name)) left.critical_path.push_back(*step);
  }
  std::ranges::reverse(left.critical_path);
  return left;
}

}  // namespace kitgap
