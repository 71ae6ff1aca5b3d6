#include "recording.h"
#include "report/salvage.h"
#include "session.h"
#include "text/file.h"

namespace kitgap {
namespace {

int answer(const Arguments& arguments, SharedSupplies& shared, Terminal& terminal) {
  const auto format = format_of(arguments, {"text", "json"}, terminal);
  if (!format) return kBadInput;
  Session session;
  session.shared = &shared;
  if (!open_session(session, arguments, terminal)) return kBadInput;
  std::optional<Report> report = report_of(session, !session.inputs.lists.empty(), terminal);
  if (!report) return kBadInput;
  if (const auto only = arguments.value("--only"); only && !keep_only(*report, *only)) {
    terminal.say("kitgap: `" + printable(*only) + "` is neither a position nor a part of this report\n");
    return kBadInput;
  }
  const OldPartRecords records = session.inputs.car_name ? old_part_records(session.inputs.standing, *session.inputs.car_name) : OldPartRecords{};
  terminal.print(*format == "json" ? salvage_json(*report, records, session.found, *session.rules)
                                   : salvage_text(*report, records, session.found, *session.rules, terminal.width()));
  return kDone;
}

int run_salvage(const Arguments& arguments, Terminal& terminal) {
  return with_job(terminal, [&] {
    return for_each_car(arguments, terminal, [&](const Arguments& of_car, SharedSupplies& shared) { return answer(of_car, shared, terminal); });
  });
}

}  // namespace

Command salvage_command() {
  return {.name = "salvage",
          .group = Group::YourCar,
          .answers = "What to take off the old parts before they go, how each piece comes off, what is off and where it lies, and whether an old part may go.",
          .positionals = {{"CAR", "the car file; with --job the job's car", false, false}, {"LIST", "the planned parts", false, false}},
          .options = car_options({{"--only", "POSITION|PART", "one place or part", false, false}, {"--format", "text|json", "how to write it", false, false}}),
          .examples = {{"kitgap salvage data/demo/home/car.json data/demo/home/list.csv --rules rules/demo --found data/demo/home/found.csv", "the demonstration car's old panels"},
                       {"kitgap salvage --job shed.job --only rear.left", "what is off; `kitgap job gate` records what else was done"}},
          .run = run_salvage};
}

}  // namespace kitgap
