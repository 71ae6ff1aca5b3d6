#include "check_job.h"

#include "job/orders.h"
#include "job/progress.h"
#include "job/state.h"
#include "purchase/car_purchase.h"
#include "purchase/plan.h"
#include "report/job_screen.h"
#include "text/file.h"

namespace kitgap {
namespace {

constexpr std::size_t kMostChanges = 12;
constexpr double kSecondsForMoney = 2;

// What the car's gaps cost at the cheapest, within a few seconds; what no offer covers comes to it.
void add_money(const Session& session, CarScreen& screen, Problems& problems) {
  try {
    const Answer answer = answer_of(*session.cover, problems);
    const CarPurchase purchase = car_purchase(*session.needs, session.supplies->lists, answer);
    PlanOptions options;
    options.time_limit_seconds = kSecondsForMoney;
    const Plan plan = plan_purchase(purchase.problem, options);
    screen.money = plan.total;
    screen.money_is_least = plan.status == PlanStatus::Feasible || !plan.uncovered.empty() || !purchase.without_price.empty() || !purchase.without_rate.empty();
    if (plan.status == PlanStatus::Feasible) screen.money = plan.bound;
  } catch (const MachineFailure&) {  // without the solver's module the rest of the screen stands
  } catch (const FigureOverflow&) {
  }
}

std::optional<CarScreen> screen_of(const Arguments& arguments, SharedSupplies& shared, Terminal& terminal) {
  Session session;
  session.shared = &shared;
  if (!open_session(session, arguments, terminal)) return std::nullopt;
  const auto report = report_of(session, !session.inputs.lists.empty(), terminal);
  if (!report) return std::nullopt;
  const ReadyQuestion question{.progress = progress_of(session.inputs.standing, *session.inputs.car_name), .best = Best::Steps, .first = {}, .due_of = {},
                               .rework_minutes = rework_minutes(session.inputs.standing, *session.inputs.car_name, session.inputs.cars == 1), .rate = {}, .windows = {}};
  CarScreen screen = car_screen(*report, ready_of(*session.knowledge, *report, question, session.diagnostics));
  Problems problems(session.diagnostics);
  add_money(session, screen, problems);
  return screen;
}

}  // namespace

bool asks_for_all_cars(const Arguments& arguments) {
  return arguments.has("--job") && !arguments.has("--car") && !arguments.has("--only") && !arguments.has("--against") && !arguments.has("--reading") &&
         cars_of_job(arguments).size() > 1;
}

int check_all_cars(const Arguments& arguments, Terminal& terminal) {
  const auto format = format_of(arguments, {"text", "json"}, terminal);
  if (!format) return kBadInput;
  if (!arguments.positionals.empty()) {
    terminal.say("kitgap: name the car whose list this is with --car\n");
    return kBadInput;
  }
  SharedSupplies shared;
  std::vector<CarScreen> cars;
  int status = kDone;
  for (const std::string& car : cars_of_job(arguments)) {
    auto screen = screen_of(of_car_in_turn(arguments, car), shared, terminal);
    if (!screen) {
      terminal.say("kitgap: the car `" + printable(car) + "` cannot be checked\n");
      return kBadInput;
    }
    if (screen->summary.stops_work) status = kFoundWrong;
    cars.push_back(std::move(*screen));
  }
  terminal.print(*format == "json" ? job_screen_json(cars) : job_screen_text(cars, terminal.width()));
  return status;
}

void say_what_packs_change(const Session& session, const Arguments& arguments, const Report& report, Terminal& terminal) {
  if (!arguments.has("--job")) return;
  const auto changes = changes_by_packs(session, arguments, report, terminal);
  if (!changes) return;
  terminal.say(changes->empty() ? std::string("that changes nothing for this car\n")
                                : "that changes for this car:\n" + changes_text(*changes, kMostChanges, terminal.width()));
  terminal.say("`kitgap job take " + *arguments.value("--job") + " --rules DIR...` takes the packs as they are now into the job\n");
}

}  // namespace kitgap
