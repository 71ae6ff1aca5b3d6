#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "job/progress.h"
#include "need/knowledge.h"
#include "report/report.h"
#include "work/choice.h"
#include "work/steps.h"

namespace kitgap {

// What can be done today with what is here, what the rest waits for, and how long it is to the end.

// One step at one place, or a step that takes nothing from the store (no position).
struct ReadyTask {
  std::string step, position;
  std::optional<Range> minutes;  // of the whole step
  std::string tools;
  std::vector<std::string> bags;
  bool takes_parts = false;        // with none of these bags: nobody noted one
  std::vector<std::string> holds;  // to be acknowledged by name before the step counts as done
  bool is_started = false;
};
struct WaitingFor {
  std::string part, position;
  Fraction quantity;
  // How it is to come: nothing may lack once what is open is settled; it is on the list but not ordered; it comes with an
  // assembly that is to be bought; or nothing is done about it yet.
  enum class How : std::uint8_t { OnOrder, ToSettle, Planned, WithAssembly, ToBuy } how = How::ToBuy;
  std::string due;  // of what is on order; empty: no day is known
};
// `due 2027-03-01`, `to settle first`.
std::string how_text(const WaitingFor& part);
struct BlockedStep {
  std::string step;
  std::vector<std::string> steps;
  std::vector<WaitingFor> parts;
  std::vector<std::string> bags;  // of what is here already
};
// Said to be done, but a hold point is not signed for: it does not count as done.
struct UnsignedStep {
  std::string step;
  std::vector<std::string> holds;
};
struct ReadyAnswer {
  std::string car;
  std::vector<std::string> done;
  std::vector<UnsignedStep> not_signed;
  std::vector<ReadyTask> today;    // to be done together with what is here
  std::vector<ReadyTask> instead;  // each could be done too, but not beside those above: the store does not reach
  Best best = Best::Steps;
  bool is_exact = true;
  std::vector<BlockedStep> blocked;
  std::vector<std::string> critical_path, without_minutes;
  Range minutes, longest;
  std::string hangs_on;            // the step with the widest range of minutes, if any
  Fraction minutes_logged;
  Fraction rework_minutes;         // accepted with what came, to be done before it is fitted
  std::optional<Fraction> rate;    // money for an hour
  std::size_t to_buy = 0, to_buy_stopping = 0;  // lines of the report with a gap that buying closes
  std::vector<ReturnWindow> windows;
};
struct ReadyQuestion {
  Progress progress;
  Best best = Best::Steps;
  std::vector<std::string> first;              // for Best::AsGiven: steps, or `step at position`, in the person's order
  std::map<std::uint32_t, std::string> due_of;  // day per line of the order, where one is known
  Fraction rework_minutes;
  std::optional<Fraction> rate;
  std::vector<ReturnWindow> windows;
};

// Nothing, reported, when the packs' steps go round in a circle.
[[nodiscard]] std::optional<ReadyAnswer> ready_of(const Knowledge& car, const Report& report, const ReadyQuestion& question,
                                                  Diagnostics& diagnostics);
// The hold points and cautions of each step on this car: what is to be signed for before it counts as done.
std::map<std::string, std::vector<std::string>> holds_of(const Knowledge& car);
// The steps on this car, by name and what comes before each.
std::vector<WorkStep> steps_of(const Knowledge& car);
// Minutes as hours and minutes: `1 h 35`, `45 min`, `1 h to 2 h 10`; what is no whole minute is rounded up, as one plans.
std::string hours_text(const Fraction& minutes);
std::string hours_text(const Range& minutes);
std::string ready_text(const ReadyAnswer& answer, int width);
std::string ready_json(const ReadyAnswer& answer);

std::optional<Best> find_best(std::string_view word);  // `steps`, `minutes`, `order`

}  // namespace kitgap
