#include <algorithm>
#include <filesystem>
#include <utility>

#include "analyse/difference.h"
#include "analyse/fixed_cells.h"
#include "analyse/pack_check.h"
#include "analyse/plain_rows.h"
#include "analyse/proposals.h"
#include "analyse/table_check.h"
#include "commands.h"
#include "output.h"
#include "packs.h"
#include "report/plain_rows.h"
#include "text/diagnostics.h"
#include "text/file.h"
#include "text/json.h"

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
  writer.plain().begin_array();
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

// The names between commas.
std::vector<std::string> names_of(std::string_view list) {
  std::vector<std::string> names;
  while (!list.empty()) {
    const auto comma = std::min(list.find(','), list.size());
    if (comma > 0) names.emplace_back(list.substr(0, comma));
    list.remove_prefix(std::min(comma + 1, list.size()));
  }
  return names;
}

int check_rows(const Arguments& arguments, bool as_json, Terminal& terminal) {
  PlainRowsQuestion question{.facts = names_of(arguments.value("--facts").value_or(""))};
  const std::string only = arguments.value("--only").value_or("");
  if (!only.empty() && only != "overlaps" && only != "holes") {
    terminal.say("kitgap rules check: `--only` is `overlaps` or `holes`\n");
    return kBadInput;
  }
  question.wants_overlaps = only != "holes";
  question.wants_holes = only != "overlaps";
  Sources sources;
  Diagnostics diagnostics;
  const auto findings = check_plain_rows(*arguments.value("--rows"), question, sources, diagnostics);
  if (!findings) {
    terminal.say(layout(diagnostics, sources));
    return kBadInput;
  }
  terminal.print(as_json ? plain_rows_json(*findings) : plain_rows_text(*findings, terminal.width()));
  if (!arguments.has("--timings")) return kDone;
  JsonWriter writer(JsonWriter::Layout::OneLine);
  writer.begin_object();
  for (const auto& [step, seconds] : {std::pair{"load", findings->load_seconds}, {"overlaps", findings->overlap_seconds}, {"holes", findings->hole_seconds}}) {
    writer.key(step).number(seconds_text(seconds));
  }
  writer.end_object();
  terminal.say(writer.take());
  return kDone;
}

// What could be changed in the packs' files, as a diff; written only when told. Cells as people type them come first: as
// long as there are such, the rows cannot be read.
int fix_pack_tables(const std::vector<std::string>& directories, bool writes, Terminal& terminal) {
  Sources sources;
  Diagnostics diagnostics;
  const auto rules = read_packs(directories, sources, diagnostics);
  std::vector<ProposedFile> files;
  for (FixedFile& file : fixed_cells(diagnostics, sources)) {
    files.push_back({.name = file.name, .before = std::move(file.before), .after = std::move(file.bytes), .says = std::move(file.changes)});
  }
  if (files.empty() && !rules) {
    terminal.say(layout(diagnostics, sources));
    return kBadInput;
  }
  if (rules) files = proposed_files(*rules, sources, proposed_edits(*rules));
  for (const ProposedFile& file : files) {
    for (const std::string& change : file.says) terminal.say(printable(change) + "\n");
    if (writes) write_file(file.name, file.after);
    else terminal.print(unified_diff(file.name, file.before, file.after));
  }
  if (files.empty()) terminal.say("nothing to propose: no rows could be one, and no two of them clash\n");
  else if (!writes) terminal.say("nothing is written; `--fix --write` writes this\n");
  return files.empty() || writes ? kDone : kFoundWrong;
}

int check_pack_tables(const std::vector<std::string>& directories, bool as_json, Terminal& terminal) {
  Sources sources;
  Diagnostics diagnostics;
  const auto rules = read_packs(directories, sources, diagnostics);
  if (!rules) {
    terminal.say(layout(diagnostics, sources));
    return kBadInput;
  }
  const PackFindings findings = check_packs(*rules);
  terminal.print(as_json ? pack_findings_json(*rules, findings, table_reports(*rules)) : pack_findings_text(*rules, findings));
  return findings.finds_wrong ? kFoundWrong : kDone;
}

int compare_packs(const std::vector<std::string>& before, const std::vector<std::string>& after, bool as_json, Terminal& terminal) {
  Sources sources;
  Diagnostics diagnostics;
  const auto was = read_packs(before, sources, diagnostics);
  const auto now = read_packs(after, sources, diagnostics);
  if (!was || !now) {
    terminal.say(layout(diagnostics, sources));
    return kBadInput;
  }
  const PackDifference difference = difference_between(*was, *now);
  terminal.print(as_json ? difference_json(difference) : difference_text(difference));
  return kDone;
}

int run(const Arguments& arguments, Terminal& terminal) {
  const std::string format = arguments.value("--format").value_or("text");
  if (format != "text" && format != "json") {
    terminal.say("kitgap rules check: `--format` is `text` or `json`\n");
    return kBadInput;
  }
  if (const auto tables = arguments.value("--tables")) return check_bare_tables(*tables, format == "json", terminal);
  if (arguments.has("--rows")) return check_rows(arguments, format == "json", terminal);
  for (const char* of_rows : {"--facts", "--only", "--timings"}) {
    if (!arguments.has(of_rows)) continue;
    terminal.say("kitgap rules check: `" + std::string(of_rows) + "` goes with `--rows`\n");
    return kBadInput;
  }
  std::vector<std::string> directories = arguments.positionals;
  for (const std::string& directory : arguments.values("--rules")) directories.push_back(directory);
  if (arguments.has("--write") && !arguments.has("--fix")) {
    terminal.say("kitgap rules check: `--write` goes with `--fix`\n");
    return kBadInput;
  }
  if (!directories.empty() && arguments.has("--new")) return compare_packs(directories, arguments.values("--new"), format == "json", terminal);
  if (!directories.empty() && arguments.has("--fix")) return fix_pack_tables(directories, arguments.has("--write"), terminal);
  if (!directories.empty()) return check_pack_tables(directories, format == "json", terminal);
  terminal.say("kitgap rules check: name the packs to check, `--tables FILE.json` or `--rows ROWS.csv`\n");
  return kBadInput;
}

}  // namespace

Command rules_check_command() {
  return {.name = "rules check",
          .group = Group::YourRules,
          .answers = "what the tables leave out or say twice, each with a car that shows it",
          .positionals = {{.name = "DIR", .says = "packs of rules, general first", .required = false, .repeats = true}},
          .options = {{.name = "--rules", .value = "DIR", .says = "the same, as other commands name them", .repeats = true},
                      {.name = "--new", .value = "DIR", .says = "for which cars these packs differ from those, and how", .repeats = true},
                      {.name = "--tables", .value = "FILE.json", .says = "decision tables apart from any pack"},
                      {.name = "--rows", .value = "ROWS.csv", .says = "a plain table as `sweep` takes it: pairs that overlap, counted, and holes"},
                      {.name = "--facts", .value = "NAME,NAME", .says = "with --rows: the columns that are conditions; else all but `item` and `count`"},
                      {.name = "--only", .value = "overlaps|holes", .says = "with --rows: only these"},
                      {.name = "--timings", .value = "", .says = "with --rows: seconds of each step, on standard error"},
                      {.name = "--fix",
                       .value = "",
                       .says = "propose as a diff: cells such as `1968-71` rewritten, rows that clash narrowed, rows that could be one put together"},
                      {.name = "--write", .value = "", .says = "with --fix: write it into the packs' files"},
                      {.name = "--format", .value = "text|json", .says = "text for people, json for programs"}},
          .examples = {{"kitgap rules check rules/demo", "what is wrong in the demonstration's tables"}},
          .run = run};
}

}  // namespace kitgap
