#include "work/choice.h"

#include <doctest/doctest.h>

#include <map>
#include <random>

namespace kitgap {
namespace {

std::string dump(std::span<const Task> tasks, const Choice& choice) {
  std::string out;
  for (const std::size_t task : choice.tasks) out += (out.empty() ? "" : ", ") + tasks[task].name;
  for (const auto& [part, left] : choice.left) out += "; " + left.to_text() + " " + part + " left";
  return out;
}

Task panel(const std::string& name, int seals, int minutes, std::vector<std::size_t> after = {}) {
  return {.name = name, .minutes = minutes, .uses = {{"seal", seals}}, .after = std::move(after)};
}

TEST_CASE("choice: sixty seals and five panels, by steps, by minutes and in the order given") {
  // By hand: four need 70 at least; of the threes 26 + 14 + 16 has most minutes; 34 + 26 = 60 has most minutes of all.
  const std::vector<Task> tasks = {panel("boot", 34, 200), panel("roof", 26, 150), panel("front left", 14, 60),
                                   panel("front right", 14, 60), panel("rear left", 16, 70)};
  const std::vector<PartAmount> store = {{"seal", 60}};
  CHECK(dump(tasks, best_choice(tasks, store, Best::Steps)) == "roof, front left, rear left; 4 seal left");
  CHECK(dump(tasks, best_choice(tasks, store, Best::Minutes)) == "boot, roof; 0 seal left");
  CHECK(dump(tasks, best_choice(tasks, store, Best::AsGiven)) == "boot, roof; 0 seal left");
}

TEST_CASE("choice: what must come before is chosen too, or the task is not") {
  const std::vector<Task> tasks = {panel("film", 5, 10), panel("panel", 1, 100, {0}), panel("arm rest", 3, 20)};
  CHECK(dump(tasks, best_choice(tasks, std::vector<PartAmount>{{"seal", 5}}, Best::AsGiven)) == "film; 0 seal left");
  CHECK(dump(tasks, best_choice(tasks, std::vector<PartAmount>{{"seal", 6}}, Best::Minutes)) == "film, panel; 0 seal left");
  CHECK(dump(tasks, best_choice(tasks, {}, Best::Steps)) == "; 0 seal left");
}

// All subsets tried, by the definition.
Choice tried(const std::vector<Task>& tasks, const std::vector<PartAmount>& store, Best best) {
  Choice found;
  std::pair<Fraction, Fraction> most;
  bool has_any = false;
  // Earlier tasks are the higher bits, and the greatest of equals is kept: the one with the earlier tasks.
  for (unsigned set = (1U << tasks.size()); set-- > 0;) {
    const auto has = [&](std::size_t task) { return (set >> (tasks.size() - 1 - task) & 1U) != 0; };
    std::map<std::string, Fraction> left;
    for (const PartAmount& amount : store) left[amount.part] += amount.quantity;
    bool holds = true;
    Fraction count;
    Fraction minutes;
    std::vector<std::size_t> chosen;
    for (std::size_t task = 0; task < tasks.size(); ++task) {
      if (!has(task)) continue;
      chosen.push_back(task);
      count += 1;
      minutes += tasks[task].minutes;
      for (const Task::Use& use : tasks[task].uses) holds = holds && (left[use.part] -= use.quantity).sign() >= 0;
      for (const std::size_t before : tasks[task].after) holds = holds && has(before);
    }
    if (!holds) continue;
    const auto score = best == Best::Steps ? std::pair(count, minutes) : std::pair(minutes, count);
    if (has_any && score <= most) continue;
    has_any = true;
    most = score;
    found.tasks = chosen;
  }
  return found;
}

TEST_CASE("choice: equal to trying all subsets on 300 random benches") {
  const unsigned seed = 20260304;
  std::mt19937 random(seed);
  const auto below = [&](int bound) { return static_cast<int>(random() % static_cast<unsigned>(bound)); };
  for (int bench = 0; bench < 300; ++bench) {
    CAPTURE(seed);
    CAPTURE(bench);
    std::vector<Task> tasks;
    const int count = 1 + below(9);
    for (int task = 0; task < count; ++task) {
      Task one{.name = std::to_string(task), .minutes = Fraction::of(below(20), 2), .uses = {}, .after = {}};
      for (const std::string part : {"a", "b", "c"}) {
        if (below(2) == 0) one.uses.push_back({part, Fraction::of(below(12), 2)});
      }
      if (task > 0 && below(4) == 0) one.after.push_back(static_cast<std::size_t>(below(task)));
      tasks.push_back(one);
    }
    const std::vector<PartAmount> store = {{"a", below(20)}, {"b", below(20)}};
    for (const Best best : {Best::Steps, Best::Minutes}) {
      const Choice choice = best_choice(tasks, store, best);
      CHECK(choice.is_exact);
      CHECK(choice.tasks == tried(tasks, store, best).tasks);
    }
  }
}

TEST_CASE("choice: thirty panels that all differ are still proven, and a search that is cut off says so") {
  std::vector<Task> tasks;
  for (int task = 0; task < 30; ++task) tasks.push_back(panel(std::to_string(task), 9 + task * 7 % 13, 30 + task * 11 % 17));
  const std::vector<PartAmount> store = {{"seal", 158}};
  CHECK(best_choice(tasks, store, Best::Steps).is_exact);
  CHECK_FALSE(best_choice(tasks, store, Best::Steps, 10).is_exact);
}

}  // namespace
}  // namespace kitgap
