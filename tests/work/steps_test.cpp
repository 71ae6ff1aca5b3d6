#include "work/steps.h"

#include <doctest/doctest.h>

#include "work/gates.h"

namespace kitgap {
namespace {

WorkStep step(const std::string& name, std::vector<std::string> after = {}, std::optional<Range> minutes = {}) {
  return {.name = name, .fits = {}, .after = std::move(after), .minutes = minutes, .tools = {}, .hold = {}, .applies = true};
}

std::string names(const StepGraph& graph, const std::vector<std::size_t>& steps) {
  std::string out;
  for (const std::size_t index : steps) out += (out.empty() ? "" : ", ") + graph.steps[index].name;
  return out;
}

// `film ready; panel blocked: step film, part panel-clip 2 due 2026-04-02`
std::string dump(const StepGraph& graph, const std::vector<StepReadiness>& all) {
  static constexpr std::string_view kWords[] = {"done", "started", "ready", "blocked", "not on this car"};
  std::string out;
  for (const StepReadiness& one : all) {
    out += graph.steps[one.step].name + " " + std::string(kWords[static_cast<std::size_t>(one.state)]);
    for (const std::size_t before : one.waits_for_steps) out += ", step " + graph.steps[before].name;
    for (const Lack& lack : one.waits_for_parts) {
      out += ", part " + lack.part + " " + lack.quantity.to_text() + (lack.is_coming ? " due " + (lack.due.empty() ? "?" : lack.due) : "");
    }
    for (const std::string& hold : one.open_holds) out += ", hold " + hold;
    out += "\n";
  }
  return out;
}

TEST_CASE("steps: a cycle is named in the order of the work, and an unknown predecessor with its step") {
  const auto graph = step_graph({step("panel", {"seals"}), step("film"), step("seals", {"film", "screws"}), step("screws", {"panel"})});
  CHECK(graph.cycle == std::vector<std::string>{"panel", "screws", "seals", "panel"});
  CHECK(step_graph({step("panel", {"flim"})}).unknown == std::vector<std::pair<std::string, std::string>>{{"panel", "flim"}});
  CHECK(step_graph({step("a", {"a"})}).cycle == std::vector<std::string>{"a", "a"});
}

TEST_CASE("steps: what is ready, and what each blocked step waits for and until when") {
  const auto graph = step_graph({step("film"), step("panel", {"film"}), step("arm rest", {"panel"})});
  const std::vector<StepPart> parts = {{"film", "film", Fraction(1), ""}, {"panel", "panel-clip", Fraction(9), "front.left"},
                                       {"panel", "panel-clip", Fraction(9), "front.right"}};
  const std::vector<PartStore> store = {{"film", 1, {}, {"shelf 2"}}, {"panel-clip", 16, {{1, "2026-04-01"}, {5, "2026-04-02"}}, {"bag 7"}}};
  CHECK(dump(graph, readiness(graph, {}, parts, store)) ==
        "film ready\npanel blocked, step film, part panel-clip 2 due 2026-04-02\narm rest blocked, step panel\n");
  Progress progress;
  progress.done = {"film"};
  CHECK(dump(graph, readiness(graph, progress, std::span(parts).first(2), store)) == "film done\npanel ready\narm rest blocked, step panel\n");
  progress.started = {"panel"};
  const auto all = readiness(graph, progress, std::span(parts).first(2), store);
  CHECK(all[1].state == StepState::Started);
  CHECK(all[1].bags == std::vector<std::string>{"bag 7"});
}

TEST_CASE("steps: nothing that has no day is promised for one, and what is not ordered is not coming") {
  const auto graph = step_graph({step("panel")});
  const std::vector<StepPart> parts = {{"panel", "clip", Fraction(9), ""}};
  CHECK(dump(graph, readiness(graph, {}, parts, {})) == "panel blocked, part clip 9\n");
  const std::vector<PartStore> store = {{"clip", 4, {{5, ""}, {2, "2026-04-01"}}, {}}};
  CHECK(dump(graph, readiness(graph, {}, parts, store)) == "panel blocked, part clip 5 due ?\n");
}

TEST_CASE("steps: a step that this car has not still keeps what is before it before what is after it") {
  auto lining = step("lining", {"pads"}, Range{60, 90});
  lining.applies = false;
  const auto graph = step_graph({step("pads", {}, Range{10, 20}), lining, step("pillar covers", {"lining"}, Range{5, 5})});
  CHECK(dump(graph, readiness(graph, {}, {}, {})) == "pads ready\nlining not on this car, step pads\npillar covers blocked, step pads\n");
  const WorkLeft left = work_left(graph, {});
  CHECK(left.longest == Range{15, 25});
  CHECK(left.minutes == Range{15, 25});
}

TEST_CASE("steps: a hold is signed for by its own words, one by one") {
  auto lining = step("lining");
  lining.hold = "24 h before trimming";
  const auto graph = step_graph({lining});
  Progress progress;
  progress.acknowledged["lining"] = {"24 h before trimming"};
  CHECK(dump(graph, readiness(graph, progress, {}, {}, {{"lining", {"glue: no flame"}}})) == "lining ready, hold glue: no flame\n");
}

TEST_CASE("steps: hours to the end along the longest way, less what is logged, and what has no time is named") {
  // By hand: film 30..60 and seals 10..20 side by side, then panel 40..100; door 5..200 apart.
  const auto graph = step_graph({step("film", {}, Range{30, 60}), step("seals", {}, Range{10, 20}),
                                 step("panel", {"film", "seals"}, Range{40, 100}), step("door", {}, Range{5, 50}), step("test", {"panel"})});
  WorkLeft left = work_left(graph, {});
  CHECK(left.minutes == Range{85, 230});
  CHECK(left.longest == Range{70, 160});
  CHECK(names(graph, left.critical_path) == "film, panel");
  CHECK(names(graph, left.without_minutes) == "test");
  CHECK(graph.steps[left.hangs_on].name == "panel");
  Progress progress;
  progress.done = {"film"};
  progress.started = {"panel"};
  progress.minutes_logged["panel"] = 50;
  left = work_left(graph, progress);
  CHECK(left.minutes == Range{15, 120});
  CHECK(left.longest == Range{10, 70});
}

TEST_CASE("gates: an old panel may go only when all eight are passed, and a part still on it keeps it") {
  OldPartGates old{.part = "door-panel", .position = "rear.left", .passed = {}, .sub_parts_on = {}};
  CHECK(may_go(old).hangs_on.size() == 8);
  old.passed.fill(true);
  CHECK(may_go(old).may_go);
  old.sub_parts_on = {"top-rail", "arm-rest"};
  CHECK_FALSE(may_go(old).may_go);
  CHECK(may_go(old).says == std::vector<std::string>{"still on it: top-rail, arm-rest"});
  old.sub_parts_on = {};
  old.passed[static_cast<std::size_t>(Gate::TrialFitDone)] = false;
  CHECK(may_go(old).says == std::vector<std::string>{"the new one has not been fitted on trial"});
  CHECK(find_gate("trial fit") == Gate::TrialFitDone);
  CHECK_FALSE(find_gate("trail fit").has_value());
}

}  // namespace
}  // namespace kitgap
