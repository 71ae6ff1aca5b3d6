#include <algorithm>
#include <set>

#include "job/orders.h"
#include "job/progress.h"
#include "output.h"
#include "recording.h"
#include "report/pages.h"
#include "report/ready.h"
#include "session.h"
#include "text/file.h"

namespace kitgap {
namespace {

Progress progress_of_car(const Arguments& arguments, const Session& session) {
  Progress progress = session.inputs.car_name ? progress_of(session.inputs.standing, *session.inputs.car_name) : Progress{};
  for (const std::string& step : arguments.values("--done")) progress.done.insert(step);
  const auto holds = holds_of(*session.knowledge);
  for (const std::string& step : arguments.values("--signed")) {
    if (const auto found = holds.find(step); found != holds.end()) progress.acknowledged[step].insert(found->second.begin(), found->second.end());
  }
  return progress;
}

Fraction rework_of(const Session& session, Terminal& terminal) {
  const Inputs& inputs = session.inputs;
  if (!inputs.car_name) return 0;
  for (const std::int64_t record : rework_for_no_car(inputs.standing)) {
    if (inputs.cars > 1) terminal.say("the rework of record " + std::to_string(record) + " is for no car by name, and not counted: `kitgap job correct JOB " + std::to_string(record) + " \"for car=NAME\"`\n");
  }
  return rework_minutes(inputs.standing, *inputs.car_name, inputs.cars == 1);
}

int answer(const Arguments& arguments, SharedSupplies& shared, Terminal& terminal) {
  const auto output = output_of(arguments, {"text", "json", "html"}, terminal);
  if (!output) return kBadInput;
  const auto best = find_best(arguments.value("--best").value_or(arguments.has("--first") ? "order" : "steps"));
  if (!best) {
    terminal.say("kitgap: `--best` takes `steps`, `minutes` or `order`\n");
    return kBadInput;
  }
  std::optional<Fraction> rate;
  if (const auto text = arguments.value("--rate")) {
    rate = Fraction::parse(*text);
    if (!rate || rate->sign() < 0) {
      terminal.say("kitgap: `--rate` takes the money for an hour, not `" + printable(*text) + "`\n");
      return kBadInput;
    }
  }
  Session session;
  session.shared = &shared;
  if (!open_session(session, arguments, terminal)) return kBadInput;
  ReadyQuestion question{.progress = progress_of_car(arguments, session), .best = *best, .first = arguments.values("--first"), .due_of = {},
                         .rework_minutes = rework_of(session, terminal), .rate = rate,
                         .windows = return_windows(session.inputs.standing, *session.rules)};
  for (const ReadList& list : session.supplies->lists) {
    if (list.kind != ListKind::Order) continue;
    for (const ReadLine& line : list.lines) {
      if (!line.due.date.empty()) question.due_of[line.line] = line.due.date;
    }
  }
  const auto report = report_of(session, !session.inputs.lists.empty(), terminal);
  if (!report) return kBadInput;
  std::vector<std::string> steps;
  for (const StepRow& row : session.rules->steps) steps.push_back(row.step);
  std::set<std::string> named = question.progress.done;
  for (const std::string& step : arguments.values("--signed")) named.insert(step);
  for (const std::string& step : named) {
    if (std::ranges::find(steps, step) != steps.end()) continue;
    const std::string near = nearest(step, steps);
    terminal.say("kitgap: `" + printable(step) + "` is no step of these packs\n" + (near.empty() ? "" : "did you mean `" + near + "`?\n"));
    if (arguments.has("--done") || arguments.has("--signed")) return kBadInput;
  }
  const auto ready = ready_of(*session.knowledge, *report, question, session.diagnostics);
  if (!ready) {
    terminal.say(layout(session.diagnostics, session.sources));
    return kBadInput;
  }
  const bool is_one_of_many = arguments.has("--job") && session.inputs.cars > 1;
  if ((output->is("html") || output->path) && is_one_of_many && !arguments.has("--car")) {
    terminal.say("kitgap: a page or a file is of one car: name it with --car\n");
    return kBadInput;
  }
  const std::string of_car = output->is("text") && is_one_of_many ? "Ready: " + printable(report->car) + "\n\n" : "";
  deliver(*output, output->is("html")   ? ready_html(*ready, step_graph(steps_of(*session.knowledge)))
                   : output->is("json") ? ready_json(*ready)
                                        : of_car + ready_text(*ready, output->width(terminal)),
          terminal);
  return kDone;
}

int run_ready(const Arguments& arguments, Terminal& terminal) {
  return with_job(terminal, [&] {
    return for_each_car(arguments, terminal, [&](const Arguments& of_car, SharedSupplies& shared) { return answer(of_car, shared, terminal); });
  });
}

}  // namespace

Command ready_command() {
  return {.name = "ready", .group = Group::YourCar,
          .answers = "Which steps and panels can be done today with what is here, what the others wait for, and how long it is to the end.",
          .positionals = {{"CAR", "the car file; with --job the job's car", false, false}, {"LIST", "the planned parts", false, false}},
          .options = car_options({{"--done", "STEP", "a step that is done, beside those of the job (`kitgap job step` records it)", false, true},
                                  {"--signed", "STEP", "a step whose hold points were signed for: only then it counts as done", false, true},
                                  {"--rate", "AMOUNT", "money for an hour: what the work to the end comes to", false, false},
                                  {"--best", "steps|minutes|order", "what to choose by where the store does not reach", false, false},
                                  {"--first", "STEP", "your order: a step, or `STEP at POSITION`; may be repeated", false, true},
                                  {"--format", "text|json|html", "how to write it", false, false}, out_option()}),
          .examples = {{"kitgap ready data/demo/home/car.json --rules rules/demo", "the demonstration car before anything is here"}},
          .run = run_ready};
}

}  // namespace kitgap
