#include "session.h"

#include <algorithm>

#include "job/state.h"
#include "recording.h"

namespace kitgap {

std::vector<Option> car_options(std::vector<Option> further) {
  std::vector<Option> options = {
      {"--rules", "DIR", "a pack of rules; general first, the marque's after it", false, true},
      {"--stock", "FILE", "what lies here, CSV or XLSX", false, true},
      {"--order", "FILE", "what is on its way", false, true},
      {"--found", "FILE", "what was counted on the old car", false, false},
      {"--columns", "THEIRS=OURS", "a column of your files under another name, `,` between", false, true},
  };
  const std::vector<Option> of_job = job_options();
  options.insert(options.end(), of_job.begin(), of_job.end());
  options.insert(options.end(), further.begin(), further.end());
  return options;
}

namespace {

// A pack that is not what it was when the job took it.
void say_changed_packs(const Session& session, Terminal& terminal) {
  std::vector<PackInUse> now;
  for (const PackInfo& pack : session.rules->packs) now.push_back({.name = pack.name, .path = pack.directory, .version = pack.version, .hash = pack.hash});
  for (const PackChange& change : changed_packs(session.inputs.standing, now)) {
    terminal.say("the pack `" + printable(change.name) + "` has changed since this job took it (" + printable(change.was_version) + " then, " +
                 printable(change.is_version) + " now); compare with `check --against`, then `kitgap job take JOB --rules ...`\n");
  }
}

bool read_session(Session& session, Terminal& terminal) {
  const Inputs& inputs = session.inputs;
  std::vector<std::filesystem::path> directories(inputs.rules.begin(), inputs.rules.end());
  session.rules = read_rules(directories, session.sources, session.diagnostics);
  if (session.rules) say_changed_packs(session, terminal);
  if (session.rules) session.car = read_car(inputs.car, *session.rules, session.sources, session.diagnostics);
  const auto read_lists = [&](const std::vector<std::string>& paths, ListKind kind) {
    for (const std::string& path : paths) {
      if (auto list = read_list(path, kind, inputs.renamed, session.sources, session.diagnostics)) session.lists.push_back(std::move(*list));
    }
  };
  read_lists(inputs.lists, ListKind::List);
  read_lists(inputs.stocks, ListKind::Stock);
  read_lists(inputs.orders, ListKind::Order);
  if (inputs.found && session.rules) {
    if (auto read = read_found(*inputs.found, *session.rules, session.sources, session.diagnostics)) session.found = std::move(*read);
  }
  if (session.car && session.rules && !session.diagnostics.has_errors()) session.knowledge = Knowledge::of(*session.car, *session.rules, session.diagnostics);
  if (session.diagnostics.has_errors() || !session.knowledge) {
    terminal.say(layout(session.diagnostics, session.sources));
    return false;
  }
  session.needs = NeedModel::of(*session.knowledge, *session.car, session.found);
  session.supplies = Supplies::of(*session.needs, std::move(session.lists));
  session.cover.emplace(*session.needs, *session.supplies);
  return true;
}

}  // namespace

bool open_session(Session& session, const Arguments& arguments, Terminal& terminal) {
  auto inputs = inputs_of(arguments, session.sources, terminal);
  if (!inputs) return false;
  session.inputs = std::move(*inputs);
  return read_session(session, terminal);
}

bool open_session(Session& session, const std::string& car_path, const std::vector<std::string>& list_paths,
                  const Arguments& arguments, Terminal& terminal) {
  Arguments plain = arguments;
  plain.positionals = {car_path};
  plain.positionals.insert(plain.positionals.end(), list_paths.begin(), list_paths.end());
  return open_session(session, plain, terminal);
}

std::optional<Report> report_of(Session& session, bool has_list, Terminal& terminal) {
  Problems problems(session.diagnostics);
  const Answer answer = answer_of(*session.cover, problems);
  if (session.diagnostics.has_errors()) {
    terminal.say(layout(session.diagnostics, session.sources));
    return std::nullopt;
  }
  return report_of(*session.car, *session.cover, session.found, answer, has_list);
}

std::optional<std::string> format_of(const Arguments& arguments, const std::vector<std::string>& allowed, Terminal& terminal) {
  const std::string format = arguments.value("--format").value_or(allowed.front());
  if (std::ranges::find(allowed, format) != allowed.end()) return format;
  std::string words;
  for (const std::string& word : allowed) words += (words.empty() ? "`" : ", `") + word + "`";
  const std::string near = nearest(format, allowed);
  terminal.say("kitgap: `" + printable(format) + "` is no format of this command; it writes " + words + (near.empty() ? "\n" : "\ndid you mean `" + near + "`?\n"));
  return std::nullopt;
}

namespace {

int show_report(const Arguments& arguments, Terminal& terminal, std::string (*text)(const Report&, int), std::string (*json)(const Report&)) {
  const auto format = format_of(arguments, {"text", "json"}, terminal);
  if (!format) return kBadInput;
  Session session;
  if (!open_session(session, arguments, terminal)) return kBadInput;
  std::optional<Report> report = report_of(session, !session.inputs.lists.empty(), terminal);
  if (!report) return kBadInput;
  if (const auto only = arguments.value("--only"); only && !keep_only(*report, *only)) {
    terminal.say("kitgap: `" + printable(*only) + "` is neither a position nor a part of this report\n");
    return kBadInput;
  }
  terminal.print(*format == "json" ? json(*report) : text(*report, terminal.width()));
  return kDone;
}

}  // namespace

int run_report(const Arguments& arguments, Terminal& terminal, std::string (*text)(const Report&, int), std::string (*json)(const Report&)) {
  return with_job(terminal, [&] { return show_report(arguments, terminal, text, json); });
}

}  // namespace kitgap
