#include <filesystem>

#include "analyse/fixed_cells.h"
#include "analyse/pack_check.h"
#include "analyse/table_check.h"
#include "commands.h"
#include "text/diagnostics.h"
#include "text/file.h"

namespace kitgap {
namespace {

int check_bare_tables(const std::string& path, bool as_json, Terminal& terminal) {
  Sources sources;
  Diagnostics diagnostics;
  std::optional<std::vector<BareTable>> tables;
  if (const auto source = read_file(path, sources, diagnostics)) tables = read_bare_tables(*source, sources, diagnostics);
  if (!tables) {
    terminal.say(layout(diagnostics, sources));
    return kBadInput;
  }
  bool wrong = false;
  JsonWriter writer;
  std::string words;
  writer.begin_array();
  for (const BareTable& table : *tables) {
    const TableFindings findings = check_table(table);
    wrong |= findings.finds_wrong(table);
    if (as_json) {
      write_json(writer, table, findings);
    } else {
      words += in_words(table, findings);
    }
  }
  writer.end_array();
  terminal.print(as_json ? writer.take() : words);
  return wrong ? kFoundWrong : kDone;
}

// Writes what people typed the way the language has it, and says each change.
void fix_pack_tables(const std::vector<std::string>& directories, Terminal& terminal) {
  Sources sources;
  Diagnostics diagnostics;
  const std::vector<std::filesystem::path> paths(directories.begin(), directories.end());
  static_cast<void>(read_rules(paths, sources, diagnostics));
  for (const FixedFile& file : fixed_cells(diagnostics, sources)) {
    write_file(file.name, file.bytes);
    for (const std::string& change : file.changes) terminal.say(printable(change) + "\n");
  }
}

int check_pack_tables(const std::vector<std::string>& directories, bool as_json, Terminal& terminal) {
  Sources sources;
  Diagnostics diagnostics;
  const std::vector<std::filesystem::path> paths(directories.begin(), directories.end());
  const auto rules = read_rules(paths, sources, diagnostics);
  if (!rules) {
    terminal.say(layout(diagnostics, sources));
    return kBadInput;
  }
  const PackFindings findings = check_packs(*rules);
  terminal.print(as_json ? pack_findings_json(*rules, findings) : pack_findings_text(*rules, findings));
  return findings.finds_wrong ? kFoundWrong : kDone;
}

int run(const Arguments& arguments, Terminal& terminal) {
  const std::string format = arguments.value("--format").value_or("text");
  if (format != "text" && format != "json") {
    terminal.say("kitgap rules check: `--format` is `text` or `json`\n");
    return kBadInput;
  }
  if (const auto tables = arguments.value("--tables")) return check_bare_tables(*tables, format == "json", terminal);
  std::vector<std::string> directories = arguments.positionals;
  for (const std::string& directory : arguments.values("--rules")) directories.push_back(directory);
  if (arguments.has("--fix")) fix_pack_tables(directories, terminal);
  if (!directories.empty()) return check_pack_tables(directories, format == "json", terminal);
  terminal.say("kitgap rules check: name the packs to check, or `--tables FILE.json`\n");
  return kBadInput;
}

}  // namespace

Command rules_check_command() {
  return {.name = "rules check",
          .group = Group::YourRules,
          .answers = "what the tables leave out or say twice, each with a car that shows it",
          .positionals = {{.name = "DIR", .says = "packs of rules, general first", .required = false, .repeats = true}},
          .options = {{.name = "--rules", .value = "DIR", .says = "the same, as other commands name them", .repeats = true},
                      {.name = "--tables", .value = "FILE.json", .says = "decision tables apart from any pack"},
                      {.name = "--fix",
                       .value = "",
                       .says = "first rewrites cells such as `1968-71` and `1968 on` in the packs' files, and says each change"},
                      {.name = "--format", .value = "text|json", .says = "text for people, json for programs"}},
          .examples = {},
          .run = run};
}

}  // namespace kitgap
