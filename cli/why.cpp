#include <algorithm>

#include "recording.h"
#include "report/why.h"
#include "session.h"
#include "text/file.h"

namespace kitgap {
namespace {

// The words after CAR; with a job there is no CAR.
std::optional<std::string> word_of(const Arguments& arguments, std::size_t index) {
  return arguments.positional(index + (arguments.has("--job") ? 0 : 1));
}

// Opens CAR, or the job's car, and the list of `--list`.
bool open_for_why(Session& session, const Arguments& arguments, Terminal& terminal) {
  Arguments plain = arguments;
  plain.positionals = arguments.values("--list");
  if (!arguments.has("--job")) plain.positionals.insert(plain.positionals.begin(), *arguments.positional(0));
  return open_session(session, plain, terminal);
}

bool has_part(const Arguments& arguments, Terminal& terminal) {
  if (word_of(arguments, 0)) return true;
  terminal.say("kitgap: `PART|LINE` is missing: a part's key, or a line as `check` names it\n");
  return false;
}

int refuse_part(const Session& session, const std::string& word, Terminal& terminal) {
  const std::string near = nearest(word, session.rules->part_keys);
  terminal.say("kitgap: `" + printable(word) + "` is no part and no line of this report\n" + (near.empty() ? "" : "did you mean `" + near + "`?\n"));
  return kBadInput;
}

int answer_why_not(const Arguments& arguments, Terminal& terminal) {
  const auto format = format_of(arguments, {"text", "json"}, terminal);
  if (!format) return kBadInput;
  Session session;
  if (!has_part(arguments, terminal) || !open_for_why(session, arguments, terminal)) return kBadInput;
  const std::string word = *word_of(arguments, 0);
  const auto part = session.rules->find_part(word);
  if (!part) return refuse_part(session, word, terminal);
  std::optional<PositionId> position;
  if (const auto path = word_of(arguments, 1)) {
    position = session.rules->positions.find(*path);
    if (!position) {
      const std::string near = nearest(*path, session.rules->positions.paths());
      terminal.say("kitgap: `" + printable(*path) + "` is no position of these packs\n" + (near.empty() ? "" : "did you mean `" + near + "`?\n"));
      return kBadInput;
    }
  }
  const std::vector<MissedRow> misses = near_misses(*session.needs, *part, position);
  terminal.print(*format == "json" ? why_not_json(word, misses) : why_not_text(word, misses, terminal.width()));
  return kDone;
}

int answer_why(const Arguments& arguments, SharedSupplies& shared, Terminal& terminal) {
  const auto format = format_of(arguments, {"text", "json"}, terminal);
  if (!format) return kBadInput;
  Session session;
  session.shared = &shared;
  if (!has_part(arguments, terminal) || !open_for_why(session, arguments, terminal)) return kBadInput;
  const auto report = report_of(session, !session.inputs.lists.empty(), terminal);
  if (!report) return kBadInput;
  const std::string word = *word_of(arguments, 0);
  const std::vector<const ReportLine*> lines = lines_meant(*report, word, word_of(arguments, 1).value_or(""));
  if (lines.empty()) {
    if (session.rules->find_part(word)) return answer_why_not(arguments, terminal);
    return refuse_part(session, word, terminal);
  }
  terminal.print(*format == "json" ? why_json(*report, lines) : why_text(*report, lines, terminal.width()));
  return kDone;
}

int run_why(const Arguments& arguments, Terminal& terminal) {
  return with_job(terminal, [&] {
    return for_each_car(arguments, terminal, [&](const Arguments& of_car, SharedSupplies& shared) { return answer_why(of_car, shared, terminal); });
  });
}

int run_why_not(const Arguments& arguments, Terminal& terminal) {
  return with_job(terminal, [&] {
    return for_each_car(arguments, terminal, [&](const Arguments& of_car, SharedSupplies&) { return answer_why_not(of_car, terminal); });
  });
}

std::vector<Option> why_options() {
  return car_options({{"--list", "LIST", "the planned parts", false, true}, {"--format", "text|json", "how to write it", false, false}});
}

const std::vector<Positional> kPositionals = {{"CAR", "the car file; not with --job", false, false},
                                              {"PART|LINE", "a part's key, or a line as `check` names it", false, false},
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
