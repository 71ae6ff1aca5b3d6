#include "commands.h"
#include "condition/decision_table.h"
#include "text/file.h"

namespace kitgap {
namespace {

int try_file(const std::string& path, Terminal& terminal) {
  Sources sources;
  Diagnostics diagnostics;
  const auto source = read_file(path, sources, diagnostics);
  const auto tables = source ? parse_json(*source, sources, diagnostics) : std::nullopt;
  if (!tables) {
    terminal.say(layout(diagnostics, sources));
    return kBadInput;
  }
  if (!tables->is_array()) {
    terminal.say(printable(path) + ": error: the file holds no list of tables\n");
    return kBadInput;
  }
  terminal.print(try_tables(*tables));
  return kDone;
}

int run(const Arguments& arguments, Terminal& terminal) { return try_file(*arguments.value("--tables"), terminal); }

}  // namespace

Command rules_try_command() {
  return {.name = "rules try",
          .group = Group::YourRules,
          .answers = "what decision tables say of given cases: which rules match, and the value",
          .positionals = {},
          .options = {{.name = "--tables",
                       .value = "FILE.json",
                       .says = "decision tables with `inputs`, `outputs`, `hit_policy`, `rules` and `cases`: one line of JSON for each case",
                       .required = true}},
          .examples = {},
          .run = run};
}

}  // namespace kitgap
