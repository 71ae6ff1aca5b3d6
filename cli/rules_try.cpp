#include "analyse/bare_tables.h"
#include "commands.h"
#include "condition/decision_table.h"
#include "need/car.h"
#include "packs.h"
#include "report/try_table.h"
#include "session.h"
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
  check_table_words(*tables, *source, diagnostics);
  if (diagnostics.has_errors()) {
    terminal.say(layout(diagnostics, sources));
    return kBadInput;
  }
  terminal.print(try_tables(*tables));
  return kDone;
}

// One table of a pack against one car: which rows apply, are open, and why the others do not.
int try_pack_table(const Arguments& arguments, Terminal& terminal) {
  const auto format = format_of(arguments, {"text", "json"}, terminal);
  if (!format) return kBadInput;
  Session session;
  session.rules = read_packs(arguments.values("--rules"), session.sources, session.diagnostics);
  if (session.rules) session.car = read_car(*arguments.value("--car"), *session.rules, session.sources, session.diagnostics);
  if (session.car) session.knowledge = Knowledge::of(*session.car, *session.rules, session.diagnostics);
  if (!session.knowledge) {
    terminal.say(layout(session.diagnostics, session.sources));
    return kBadInput;
  }
  const std::string path = *arguments.positional(0);
  const std::vector<TriedRow> rows = try_table(*session.knowledge, path);
  if (rows.empty()) {
    std::vector<std::string> files;
    for (const TableInfo& table : session.rules->tables) files.push_back(table.file);
    const std::string near = nearest(path, files);
    terminal.say("kitgap: `" + printable(path) + "` is no table of these packs, or has no rows\n" + (near.empty() ? "" : "did you mean `" + near + "`?\n"));
    return kBadInput;
  }
  terminal.print(*format == "json" ? try_table_json(rows) : try_table_text(rows, terminal.width()));
  return kDone;
}

int run(const Arguments& arguments, Terminal& terminal) {
  if (const auto tables = arguments.value("--tables")) return try_file(*tables, terminal);
  if (arguments.positional(0) && arguments.has("--rules") && arguments.has("--car")) return try_pack_table(arguments, terminal);
  terminal.say("kitgap rules try: give `--tables FILE.json`, or TABLE.csv with `--rules DIR` and `--car CAR`\n");
  return kBadInput;
}

}  // namespace

Command rules_try_command() {
  return {.name = "rules try",
          .group = Group::YourRules,
          .answers = "Which rows of a pack's table apply to a car, are open, and why the others do not; or what decision tables say of given cases.",
          .positionals = {{.name = "TABLE.csv", .says = "a table of a pack", .required = false}},
          .options = {{.name = "--tables",
                       .value = "FILE.json",
                       .says = "decision tables with `inputs`, `outputs`, `hit_policy`, `rules` and `cases`: one line of JSON for each case",
                       .required = false},
                      {"--rules", "DIR", "a pack of rules; general first", false, true},
                      {"--car", "CAR", "the car file", false, false},
                      {"--format", "text|json", "how to write it", false, false}},
          .examples = {{"kitgap rules try needs-doors.csv --rules rules/demo --car data/demo/home/car.json", "the rows of one table for the demonstration car"}},
          .run = run};
}

}  // namespace kitgap
