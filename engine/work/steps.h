#pragma once

#include <cstddef>
#include <cstdint>
#include <map>
#include <optional>
#include <set>
#include <span>
#include <string>
#include <vector>

#include "value/fraction.h"

namespace kitgap {

// The steps of the work on one car: which can be done now, what the others wait for, how long it is to the end.
// Pure; quantities and minutes are exact. Steps are named, and indexed by their place in the graph.

struct WorkStep {
  std::string name;
  std::vector<std::string> fits;   // parts that it needs in hand
  std::vector<std::string> after;  // steps that must be done before
  std::optional<Range> minutes;    // nothing: not stated, and neither zero nor counted
  std::string tools;
  std::string hold;                // what must be acknowledged by name before it counts as done
  bool applies = true;             // false: not on this car; what comes before it still comes before what follows it
};

struct StepGraph {
  std::vector<WorkStep> steps;                  // in the order given
  std::vector<std::vector<std::size_t>> after;  // per step, indexes, each once
  std::vector<std::size_t> order;               // every step after those before it; ties in the order given
  std::vector<std::string> cycle;               // names of one cycle, first name again at its end; empty: none
  std::vector<std::pair<std::string, std::string>> unknown;  // step, and a predecessor that is none of the steps
};
// With a cycle the graph has no order, and the other functions must not be called.
[[nodiscard]] StepGraph step_graph(std::vector<WorkStep> steps);

// How far the work is. Absent from all sets: not begun.
struct Progress {
  std::set<std::string> started;
  std::set<std::string> done;
  std::map<std::string, std::set<std::string>> acknowledged;  // step: holds and cautions that a person signed for
  std::map<std::string, Fraction> minutes_logged;
};

// What a step needs in hand, and how much of it is here or coming.
struct StepPart {
  std::string step;
  std::string part;       // what is taken from a common store: `panel-clip`, or a line's id where places bind
  Fraction quantity;
  std::string position;
};
struct PartStore {
  std::string part;
  Fraction in_hand;
  std::vector<std::pair<Fraction, std::string>> coming;  // quantity and day (`2026-04-01`; empty: no day is known)
  std::vector<std::string> bags;
};

enum class StepState : std::uint8_t { Done, Started, Ready, Blocked, NotOnThisCar };
struct Lack {
  std::string part;
  Fraction quantity;       // short by so much, were this the only step
  std::string due;         // the day on which enough will be here; empty: not known, or nothing is coming
  bool is_coming = false;  // enough is on order
};
struct StepReadiness {
  std::size_t step = 0;
  StepState state = StepState::Blocked;
  std::vector<std::size_t> waits_for_steps;  // not done, and nothing between: steps not on this car are looked through
  std::vector<Lack> waits_for_parts;
  std::vector<std::string> bags;             // where its parts lie
  std::vector<std::string> open_holds;       // to acknowledge before it counts as done
};
// One per step, in the graph's order. Each step is judged as if the whole store were there for it alone; what can be
// done together is for `best_choice`. `cautions`: further holds per step.
std::vector<StepReadiness> readiness(const StepGraph& graph, const Progress& progress, std::span<const StepPart> parts,
                                     std::span<const PartStore> store,
                                     const std::map<std::string, std::vector<std::string>>& cautions = {});

// What is left to do. A started step counts wholly, less the minutes logged on it, but never below nothing.
struct WorkLeft {
  Range minutes;                           // of all steps, one after the other
  Range longest;                           // along the longest way, with hands enough
  std::vector<std::size_t> critical_path;  // the longest way by the greater minutes, in order
  std::vector<std::size_t> without_minutes;  // steps not counted, because no time is stated
  std::size_t hangs_on = 0;                // the step with the widest lo..hi, if `minutes` is a range
};
WorkLeft work_left(const StepGraph& graph, const Progress& progress);

}  // namespace kitgap
