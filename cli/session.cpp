#include "session.h"

#include <algorithm>

namespace kitgap {

std::vector<Option> car_options(std::vector<Option> further) {
  std::vector<Option> options = {
      {"--rules", "DIR", "a pack of rules; general first, the marque's after it", true, true},
      {"--stock", "FILE", "what lies here, CSV or XLSX", false, true},
      {"--order", "FILE", "what is on its way", false, true},
      {"--found", "FILE", "what was counted on the old car", false, false},
      {"--columns", "THEIRS=OURS", "a column of your files under another name, `,` between", false, true},
  };
  options.insert(options.end(), further.begin(), further.end());
  return options;
}

namespace {

// `--columns a=b,c=d`; false when an entry has no `=`.
bool read_columns(const Arguments& arguments, RenamedColumns& renamed, Terminal& terminal) {
  for (const std::string& value : arguments.values("--columns")) {
    std::string_view rest = value;
    while (!rest.empty()) {
      const std::size_t end = rest.find(',');
      const std::string_view pair = rest.substr(0, end);
      rest = end == std::string_view::npos ? std::string_view{} : rest.substr(end + 1);
      const std::size_t equals = pair.find('=');
      if (equals == std::string_view::npos) {
        terminal.say("kitgap: `--columns` takes `theirs=ours`, not `" + printable(pair) + "`\n");
        return false;
      }
      renamed.emplace_back(pair.substr(0, equals), pair.substr(equals + 1));
    }
  }
  return true;
}

}  // namespace

bool open_session(Session& session, const std::string& car_path, const std::vector<std::string>& list_paths,
                  const Arguments& arguments, Terminal& terminal) {
  std::vector<std::filesystem::path> directories;
  for (const std::string& directory : arguments.values("--rules")) directories.emplace_back(directory);
  RenamedColumns renamed;
  if (!read_columns(arguments, renamed, terminal)) return false;
  session.rules = read_rules(directories, session.sources, session.diagnostics);
  if (session.rules) session.car = read_car(car_path, *session.rules, session.sources, session.diagnostics);
  const auto read_lists = [&](const std::vector<std::string>& paths, ListKind kind) {
    for (const std::string& path : paths) {
      if (auto list = read_list(path, kind, renamed, session.sources, session.diagnostics)) session.lists.push_back(std::move(*list));
    }
  };
  read_lists(list_paths, ListKind::List);
  read_lists(arguments.values("--stock"), ListKind::Stock);
  read_lists(arguments.values("--order"), ListKind::Order);
  if (const auto found = arguments.value("--found"); found && session.rules) {
    if (auto read = read_found(*found, *session.rules, session.sources, session.diagnostics)) session.found = std::move(*read);
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

int run_report(const Arguments& arguments, Terminal& terminal, std::string (*text)(const Report&, int), std::string (*json)(const Report&)) {
  const auto format = format_of(arguments, {"text", "json"}, terminal);
  if (!format) return kBadInput;
  Session session;
  std::vector<std::string> lists;
  if (const auto list = arguments.positional(1)) lists.push_back(*list);
  if (!open_session(session, *arguments.positional(0), lists, arguments, terminal)) return kBadInput;
  std::optional<Report> report = report_of(session, !lists.empty(), terminal);
  if (!report) return kBadInput;
  if (const auto only = arguments.value("--only"); only && !keep_only(*report, *only)) {
    terminal.say("kitgap: `" + printable(*only) + "` is neither a position nor a part of this report\n");
    return kBadInput;
  }
  terminal.print(*format == "json" ? json(*report) : text(*report, terminal.width()));
  return kDone;
}

}  // namespace kitgap
