#include <algorithm>

#include "job/progress.h"
#include "job/store.h"
#include "recording.h"
#include "report/ready.h"
#include "session.h"
#include "text/file.h"
#include "value/calendar.h"

namespace kitgap {
namespace {

// The job's car with its packs; nothing, said, when it cannot be opened. `seal`: the state that was read.
bool open_car(Session& session, const Arguments& arguments, std::string& seal, Terminal& terminal) {
  Arguments of_job;
  of_job.options["--job"] = {*arguments.positional(0)};
  const auto car_name = arguments.value("--car");
  if (car_name) of_job = of_car_in_turn(of_job, *car_name);
  seal = read_job(*arguments.positional(0), car_name ? std::vector<std::string>{*car_name} : std::vector<std::string>{}).seal;
  return open_session(session, of_job, terminal);
}

std::string day_of(const Arguments& arguments, const Stamp& stamp) {
  const std::string day = arguments.value("--date").value_or(stamp.at.substr(0, 10));
  if (!parse_date(day)) throw JobRefused{"`" + day + "` is no date; write it as 2027-03-01"};
  return day;
}

// Signs for what is open, by the name given; refused without one.
void sign(std::vector<Entry>& entries, const Arguments& arguments, const std::string& car, const std::string& step, const std::string& day,
          const std::vector<std::string>& open, Terminal& terminal) {
  if (open.empty()) return;
  const auto name = arguments.value("--sign");
  if (!name || name->empty()) {
    std::string says = "`" + step + "` does not count as done before these are signed for:";
    for (const std::string& hold : open) says += "\n  - " + hold;
    throw JobRefused{says + "\nlook at each, then add --sign NAME; nothing was saved"};
  }
  for (const std::string& hold : open) {
    entries.push_back(entry_of(car, "hold", {{"step", step}, {"caution", hold}, {"name", *name}, {"date", day}}));
    terminal.say("signed for by " + printable(*name) + ": " + printable(hold) + "\n");
  }
}

// `45`, `1 h 30`, `90 min`: minutes.
Fraction minutes_of(const std::string& text) {
  const auto refuse = [&] { throw JobRefused{"`" + text + "` are no minutes; write `45`, or `1 h 30`"}; };
  std::string plain = text;
  if (plain.ends_with("min")) plain.resize(plain.size() - 3);
  const std::size_t hours = plain.find('h');
  const auto number = [&](std::string part) {
    part.erase(0, part.find_first_not_of(' '));
    part.erase(part.find_last_not_of(' ') + 1);
    if (part.empty()) return Fraction(0);
    const auto read = Fraction::parse(part);
    if (!read || read->sign() < 0) refuse();
    return *read;
  };
  if (hours == std::string::npos) {
    const auto read = number(plain);
    if (read.is_zero()) refuse();
    return read;
  }
  return number(plain.substr(0, hours)) * Fraction(60) + number(plain.substr(hours + 1));
}

int step(const Arguments& arguments, Terminal& terminal) {
  Session session;
  std::string seal;
  if (!open_car(session, arguments, seal, terminal)) return kBadInput;
  const std::string& car = *session.inputs.car_name;
  const std::string name = *arguments.positional(1);
  const std::string state = arguments.positional(2).value_or("");
  const Stamp stamp = stamp_of(arguments, "job step");
  const std::string day = day_of(arguments, stamp);
  const auto steps = steps_of(*session.knowledge);
  const auto known = std::ranges::find(steps, name, &WorkStep::name);
  if (known == steps.end() && name != "rework") {
    std::vector<std::string> names = {"rework"};
    for (const WorkStep& one : steps) names.push_back(one.name);
    const std::string near = nearest(name, names);
    throw JobRefused{"`" + name + "` is no step of these packs" + (near.empty() ? "" : "\ndid you mean `" + near + "`?")};
  }
  if (!state.empty() && state != "started" && state != "done" && state != "open") {
    throw JobRefused{"a step is `started`, `done` or `open` again, not `" + state + "`"};
  }
  if (state.empty() && !arguments.has("--minutes")) throw JobRefused{"say `started` or `done`, or log time with --minutes"};
  if (known != steps.end() && !known->applies) terminal.say("note: the packs do not have `" + printable(name) + "` on this car\n");
  const Progress progress = progress_of(session.inputs.standing, car);
  std::vector<Entry> entries;
  if (state == "done") {
    std::vector<std::string> open;
    const auto holds = holds_of(*session.knowledge);
    const auto wanted = holds.find(name);
    const auto acknowledged = progress.acknowledged.find(name);
    for (const std::string& hold : wanted == holds.end() ? std::vector<std::string>{} : wanted->second) {
      if (acknowledged == progress.acknowledged.end() || !acknowledged->second.contains(hold)) open.push_back(hold);
    }
    sign(entries, arguments, car, name, day, open, terminal);
    if (known != steps.end()) {
      for (const std::string& before : known->after) {
        const auto earlier = std::ranges::find(steps, before, &WorkStep::name);
        if (earlier != steps.end() && earlier->applies && !progress.done.contains(before)) terminal.say("note: `" + printable(before) + "` comes before it and is not done\n");
      }
    }
  }
  if (!state.empty()) entries.push_back(entry_of(car, "step", {{"step", name}, {"state", state}, {"date", day}, {"note", arguments.value("--note").value_or("")}}));
  if (const auto minutes = arguments.value("--minutes")) {
    entries.push_back(entry_of(car, "hours", {{"step", name}, {"minutes", minutes_of(*minutes).to_text()}, {"date", day}, {"note", arguments.value("--note").value_or("")}}));
  }
  const Saved saved = add_records(*arguments.positional(0), entries, stamp, {}, seal);
  say_saved("`" + name + "` of `" + car + "`" + (state.empty() ? "" : ": " + state), saved.backup_failed, terminal);
  return kDone;
}

int gate(const Arguments& arguments, Terminal& terminal) {
  Session session;
  std::string seal;
  if (!open_car(session, arguments, seal, terminal)) return kBadInput;
  const std::string& car = *session.inputs.car_name;
  const std::string part = *arguments.positional(1);
  const std::string position = *arguments.positional(2);
  const std::string word = *arguments.positional(3);
  const auto refuse = [](const std::string& says, const std::string& near) {
    throw JobRefused{says + (near.empty() ? "" : "\ndid you mean `" + near + "`?")};
  };
  if (!session.rules->find_part(part)) refuse("`" + part + "` is no part of these packs", nearest(part, session.rules->part_keys));
  if (!session.rules->positions.find(position)) refuse("`" + position + "` is no position of these packs", nearest(position, session.rules->positions.paths()));
  if (!find_gate(word)) {
    std::vector<std::string> words;
    std::string all;
    for (const GateWord& one : kGateWords) {
      words.emplace_back(one.word);
      all += (all.empty() ? "`" : ", `") + std::string(one.word) + "`";
    }
    refuse("`" + word + "` is none of " + all, nearest(word, words));
  }
  const Stamp stamp = stamp_of(arguments, "job gate");
  const std::vector<Entry> entries = {entry_of(car, "gate", {{"part", part}, {"position", position}, {"gate", word}, {"passed", arguments.has("--no") ? "no" : "yes"},
                                                             {"date", day_of(arguments, stamp)}, {"note", arguments.value("--note").value_or("")}})};
  const Saved saved = add_records(*arguments.positional(0), entries, stamp, {}, seal);
  say_saved("`" + word + "` of " + part + " at " + position + (arguments.has("--no") ? ": no" : ": yes"), saved.backup_failed, terminal);
  return kDone;
}

int run_step(const Arguments& arguments, Terminal& terminal) {
  return with_job(terminal, [&] { return step(arguments, terminal); });
}
int run_gate(const Arguments& arguments, Terminal& terminal) {
  return with_job(terminal, [&] { return gate(arguments, terminal); });
}

const Option kCar = {"--car", "NAME", "which car of the job", false, false};
const Option kDate = {"--date", "DATE", "the day; else today", false, false};
const Option kNote = {"--note", "TEXT", "what else is to be said", false, false};

}  // namespace

Command job_step_command() {
  return {.name = "job step", .group = Group::YourCar,
          .answers = "Records that a step is begun or done, and the time it took; what a step holds for is signed by name before it counts as done.",
          .positionals = {{"JOB", "the job file", true, false}, {"STEP", "a step as `ready` names it, or `rework`", true, false},
                          {"STATE", "`started`, `done`, or `open` again", false, false}},
          .options = {kCar, {"--minutes", "TIME", "time to log: `45`, `1 h 30`", false, false},
                      {"--sign", "NAME", "who has looked at the step's hold points and cautions", false, false}, kDate, kNote, by_option()},
          .examples = {{"kitgap job step shed.job \"fit headlining\" done --minutes 540 --sign Ann", "a step that must rest before it counts"}},
          .run = run_step};
}

Command job_gate_command() {
  return {.name = "job gate", .group = Group::YourCar,
          .answers = "Records what was done before an old part may go: laid over, photos, pattern, trial fit; or that a piece is off. `salvage --job` shows what still hangs on each.",
          .positionals = {{"JOB", "the job file", true, false}, {"PART", "the old part, or a piece of it", true, false},
                          {"POSITION", "where on the car", true, false},
                          {"GATE", "`in hand`, `laid over`, `off`, `counted`, `photos`, `pattern`, `trial fit`, `return window`", true, false}},
          .options = {kCar, {"--no", "", "it is not so after all", false, false}, kDate, kNote, by_option()},
          .examples = {{"kitgap job gate shed.job top-rail rear.left off", "the top rail is off the old panel and safe"},
                       {"kitgap job gate shed.job door-panel rear.left \"trial fit\"", "the new panel was tried"}},
          .run = run_gate};
}

}  // namespace kitgap
