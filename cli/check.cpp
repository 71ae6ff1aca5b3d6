#include "ask.h"
#include "check_job.h"
#include "output.h"
#include "recording.h"
#include "report/pages.h"
#include "session.h"
#include "text/file.h"

namespace kitgap {
namespace {

int answer_check(const Arguments& arguments, Terminal& terminal) {
  const auto output = output_of(arguments, {"text", "json", "csv", "html", "xlsx"}, terminal);
  if (!output) return kBadInput;
  for (const char* only : {"--reading", "--letters"}) {
    if (!arguments.has(only) || output->is("text")) continue;
    terminal.say("kitgap check: `" + std::string(only) + "` is for reading, as text; `--format json` without it has the same in `" +
                 (only == std::string_view("--reading") ? "list" : "ask_supplier") + "`\n");
    return kBadInput;
  }
  SharedSupplies shared;
  Session session;
  session.shared = &shared;
  session.says_rows = arguments.has("--letters") || (!output->is("text") && !output->is("html"));
  if (!take_turns(arguments, shared, terminal) || !open_session(session, arguments, terminal)) return kBadInput;
  if (arguments.has("--ask") && !ask_facts(session, !session.inputs.lists.empty(), terminal)) return kBadInput;
  std::optional<Report> report = report_of(session, !session.inputs.lists.empty(), terminal);
  if (!report) return kBadInput;
  say_what_packs_change(session, arguments, *report, terminal);
  const int status = report->summary.stops_work ? kFoundWrong : kDone;
  if (arguments.has("--reading")) {
    deliver(*output, reading_text(*report, output->width(terminal)), terminal);
    return kDone;
  }
  if (arguments.has("--letters")) {
    deliver(*output, letters_text(*report, output->width(terminal)), terminal);
    return kDone;
  }
  std::optional<std::vector<Change>> changes;
  if (const auto against = arguments.value("--against")) {
    const auto source = read_file(*against, session.sources, session.diagnostics);
    if (source) changes = changes_since(*source, session.sources, *report, session.diagnostics);
    if (!changes) {
      terminal.say(layout(session.diagnostics, session.sources));
      return kBadInput;
    }
  }
  if (const auto only = arguments.value("--only"); only && !keep_only(*report, *only)) {
    terminal.say("kitgap: `" + printable(*only) + "` is neither a position nor a part of this report\n");
    return kBadInput;
  }
  if (const auto only = arguments.value("--only"); only && changes) keep_only(*changes, *only);
  const std::vector<Change>* shown = changes ? &*changes : nullptr;
  if (output->is("json")) deliver(*output, check_json(*report, shown), terminal);
  else if (output->is("text")) deliver(*output, check_text(*report, shown, output->width(terminal), output->has_colour(terminal)), terminal);
  else if (output->is("html")) deliver(*output, check_html(*report, overview_of(*report, *session.cover), shown), terminal);
  else deliver_workbook(*output, check_workbook(*report), terminal);
  return status;
}

int run_check(const Arguments& arguments, Terminal& terminal) {
  return with_job(terminal, [&] { return asks_for_all_cars(arguments) ? check_all_cars(arguments, terminal) : answer_check(arguments, terminal); });
}

}  // namespace

Command check_command() {
  return {.name = "check",
          .group = Group::YourCar,
          .answers = "The report before the work starts: what is missing or short, what to save, what to ask and buy. Without a LIST it says what all is needed.",
          .positionals = {{"CAR", "the car file, JSON or CSV; with --job the job's car", false, false}, {"LIST", "the planned parts, CSV or XLSX", false, false}},
          .options = car_options({{"--only", "POSITION|PART", "the half page for one place or part", false, false},
                                  {"--against", "OLD.json", "what changed since an earlier `--format json`", false, false},
                                  {"--ask", "", "first ask the open facts, one at a time, those that settle most first", false, false},
                                  {"--letters", "", "only the questions to suppliers, a letter for each", false, false},
                                  {"--reading", "", "only how each row of the files was read", false, false},
                                  {"--format", "text|json|csv|html|xlsx", "how to write it", false, false},
                                  out_option()}),
          .examples = {{"kitgap check data/demo/home/car.json data/demo/home/list.csv --rules rules/demo", "the demonstration car against its planned parts"},
                       {"kitgap check data/demo/home/car.json --rules rules/demo --only front.left", "everything the front left door needs"},
                       {"kitgap check data/demo/home/car.json data/demo/home/list.csv --rules rules/demo --format xlsx | cat >/dev/null", "a workbook for a spreadsheet program; `--out report.xlsx` writes it to a file"}},
          .run = run_check};
}

}  // namespace kitgap
