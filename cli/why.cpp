#include <algorithm>

#include "report/why.h"
#include "session.h"
#include "text/file.h"

namespace kitgap {
namespace {

// Opens CAR and the list of `--list`, and names what was asked for.
bool open_for_why(Session& session, const Arguments& arguments, Terminal& terminal) {
  return open_session(session, *arguments.positional(0), arguments.values("--list"), arguments, terminal);
}

int refuse_part(const Session& session, const std::string& word, Terminal& terminal) {
  const std::string near = nearest(word, session.rules->part_keys);
  terminal.say("kitgap: `" + printable(word) + "` is no part and no line of this report\n" + (near.empty() ? "" : "did you mean `" + near + "`?\n"));
  return kBadInput;
}

int run_why_not(const Arguments& arguments, Terminal& terminal) {
  const auto format = format_of(arguments, {"text", "json"}, terminal);
  if (!format) return kBadInput;
  Session session;
  if (!open_for_why(session, arguments, terminal)) return kBadInput;
  const std::string word = *arguments.positional(1);
  const auto part = session.rules->find_part(word);
  if (!part) return refuse_part(session, word, terminal);
  std::optional<PositionId> position;
  if (const auto path = arguments.positional(2)) {
    position = session.rules->positions.find(*path);
    if (!position) {
      const std::string near = nearest(*path, session.rules->positions.paths());
      terminal.say("kitgap: `" + printable(*path) + "` is no position of these packs\n" + (near.empty() ? "" : "did you mean `" + near + "`?\n"));
      return kBadInput;
    }
  }
  const std::vector<NearMiss> misses = near_misses(*session.needs, *part, position);
  terminal.print(*format == "json" ? why_not_json(word, misses) : why_not_text(word, misses, terminal.width()));
  return kDone;
}

int run_why(const Arguments& arguments, Terminal& terminal) {
  const auto format = format_of(arguments, {"text", "json"}, terminal);
  if (!format) return kBadInput;
  Session session;
  if (!open_for_why(session, arguments, terminal)) return kBadInput;
  const auto report = report_of(session, !arguments.values("--list").empty(), terminal);
  if (!report) return kBadInput;
  const std::string word = *arguments.positional(1);
  const std::vector<const ReportLine*> lines = lines_meant(*report, word, arguments.positional(2).value_or(""));
  if (lines.empty()) {
    if (session.rules->find_part(word)) return run_why_not(arguments, terminal);
    return refuse_part(session, word, terminal);
  }
  terminal.print(*format == "json" ? why_json(*report, lines) : why_text(*report, lines, terminal.width()));
  return kDone;
}

std::vector<Option> why_options() {
  return car_options({{"--list", "LIST", "the planned parts", false, true}, {"--format", "text|json", "how to write it", false, false}});
}

const std::vector<Positional> kPositionals = {{"CAR", "the car file", true, false},
                                              {"PART|LINE", "a part's key, or a line as `check` names it", true, false},
                                              {"POSITION", "a place on the car", false, false}};

}  // namespace

Command why_command() {
  return {.name = "why",
          .group = Group::YourCar,
          .answers = "How one line of the report comes about: facts, rows, figures, cover, and the rivals of a gap.",
          .positionals = kPositionals,
          .options = why_options(),
          .examples = {{"kitgap why data/demo/home/car.json panel-clip front.left --rules rules/demo", "why so many clips"}},
          .run = run_why};
}

Command why_not_command() {
  return {.name = "why not",
          .group = Group::YourCar,
          .answers = "Why a part is not called for: the rows that came nearest and the conditions that fail, fewest first.",
          .positionals = kPositionals,
          .options = why_options(),
          .examples = {},
          .run = run_why_not};
}

}  // namespace kitgap
