#include <algorithm>

#include "job/state.h"
#include "recording.h"
#include "report/ready.h"
#include "session.h"
#include "text/file.h"

namespace kitgap {
namespace {

Progress progress_of(const Arguments& arguments, const Session& session) {
  Progress progress;
  for (const std::string& step : arguments.values("--done")) progress.done.insert(step);
  if (!session.inputs.car_name) return progress;
  const std::string& car = *session.inputs.car_name;
  for (const Record& record : present_records(session.inputs.standing, "step", car)) {
    const std::string step(record.cell("step"));
    if (record.cell("state") == "done") progress.done.insert(step);
    if (record.cell("state") == "started") progress.started.insert(step);
  }
  for (const Record& record : present_records(session.inputs.standing, "hold", car)) {
    progress.acknowledged[std::string(record.cell("step"))].insert(std::string(record.cell("caution")));
  }
  for (const Record& record : present_records(session.inputs.standing, "hours", car)) {
    if (const auto minutes = Fraction::parse(record.cell("minutes"))) progress.minutes_logged[std::string(record.cell("step"))] += *minutes;
  }
  return progress;
}

int answer(const Arguments& arguments, Terminal& terminal) {
  const auto format = format_of(arguments, {"text", "json"}, terminal);
  if (!format) return kBadInput;
  const auto best = find_best(arguments.value("--best").value_or(arguments.has("--first") ? "order" : "steps"));
  if (!best) {
    terminal.say("kitgap: `--best` takes `steps`, `minutes` or `order`\n");
    return kBadInput;
  }
  Session session;
  if (!open_session(session, arguments, terminal)) return kBadInput;
  ReadyQuestion question{.progress = progress_of(arguments, session), .best = *best, .first = arguments.values("--first"), .due_of = {}};
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
  for (const std::string& step : question.progress.done) {
    if (std::ranges::find(steps, step) != steps.end()) continue;
    const std::string near = nearest(step, steps);
    terminal.say("kitgap: `" + printable(step) + "` is no step of these packs\n" + (near.empty() ? "" : "did you mean `" + near + "`?\n"));
    if (arguments.has("--done")) return kBadInput;
  }
  const auto ready = ready_of(*session.knowledge, *report, question, session.diagnostics);
  if (!ready) {
    terminal.say(layout(session.diagnostics, session.sources));
    return kBadInput;
  }
  terminal.print(*format == "json" ? ready_json(*ready) : ready_text(*ready, terminal.width()));
  return kDone;
}

int run_ready(const Arguments& arguments, Terminal& terminal) {
  return with_job(terminal, [&] { return answer(arguments, terminal); });
}

}  // namespace

Command ready_command() {
  return {.name = "ready", .group = Group::YourCar,
          .answers = "Which steps and panels can be done today with what is here, what the others wait for, and how long it is to the end.",
          .positionals = {{"CAR", "the car file; with --job the job's car", false, false}, {"LIST", "the planned parts", false, false}},
          .options = car_options({{"--done", "STEP", "a step that is done", false, true},
                                  {"--best", "steps|minutes|order", "what to choose by where the store does not reach", false, false},
                                  {"--first", "STEP", "your order: a step, or `STEP at POSITION`; may be repeated", false, true},
                                  {"--format", "text|json", "how to write it", false, false}}),
          .examples = {{"kitgap ready data/demo/home/car.json --rules rules/demo", "the demonstration car before anything is here"}},
          .run = run_ready};
}

}  // namespace kitgap
