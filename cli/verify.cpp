#include "commands.h"
#include "report/verify.h"
#include "session.h"
#include "text/file.h"

namespace kitgap {
namespace {

int run(const Arguments& arguments, Terminal& terminal) {
  const auto format = format_of(arguments, {"text", "json"}, terminal);
  if (!format) return kBadInput;
  Sources sources;
  Diagnostics diagnostics;
  std::vector<std::filesystem::path> directories;
  for (const std::string& directory : arguments.values("--rules")) directories.emplace_back(directory);
  const auto rules = read_rules(directories, sources, diagnostics);
  const auto report = rules ? read_file(*arguments.positional(0), sources, diagnostics) : std::nullopt;
  const auto verification = report ? verify_report(*report, *rules, sources, diagnostics) : std::nullopt;
  if (!verification) {
    terminal.say(layout(diagnostics, sources));
    return kBadInput;
  }
  terminal.print(*format == "json" ? verify_json(*verification) : verify_text(*verification, terminal.width()));
  return verification->faults.empty() ? kDone : kFoundWrong;
}

}  // namespace

Command verify_command() {
  return {.name = "verify",
          .group = Group::YourCar,
          .answers = "Proves a report again: every need from the rows it names, every gap from its rivals, every sum; says which line does not follow.",
          .positionals = {{"REPORT.json", "what `check --format json` wrote", true, false}},
          .options = {{"--rules", "DIR", "the packs that the report was made with, in their order", true, true},
                      {"--format", "text|json", "how to write it", false, false}},
          .examples = {},
          .run = run};
}

}  // namespace kitgap
