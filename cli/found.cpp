#include <algorithm>
#include <set>

#include "job/intake.h"
#include "job/store.h"
#include "need/found_read.h"
#include "recording.h"
#include "job_session.h"
#include "text/csv.h"
#include "text/file.h"

namespace kitgap {
namespace {

// `part=panel-clip count=9` as a file of one row, so that one reader judges both.
bool lay_in_row(std::span<const std::string> words, Sources& sources, Terminal& terminal) {
  const auto entry = entry_of_words("", record_kind_of("found"), words, terminal);
  if (!entry) return false;
  std::string header;
  std::string row;
  for (std::size_t column = 0; column < entry->cells.size(); ++column) {
    header += (column == 0 ? "" : ",") + std::string(record_kinds()[entry->kind].columns[column]);
    if (column != 0) row += ",";
    append_csv_cell(row, entry->cells[column]);
  }
  sources.lay_in("the row typed", header + "\n" + row + "\n");
  return true;
}

int record_found(const Arguments& arguments, Terminal& terminal) {
  const std::string job = *arguments.value("--job");
  const JobContents contents = read_job(job);
  const std::vector<Record> standing = standing_records(contents.records);
  std::string car = arguments.value("--car").value_or(contents.cars.size() == 1 ? contents.cars.front() : "");
  if (car.empty()) throw JobRefused{"name the car with --car"};
  if (arguments.has("--to-pack")) {
    terminal.print(counts_as_needs(standing, car));
    return kDone;
  }
  if (arguments.positionals.empty()) throw JobRefused{"name a file of counts, or one row as `part=... count=...`"};
  Sources sources;
  Diagnostics diagnostics;
  const bool is_row = arguments.positionals.front().find('=') != std::string::npos;
  if (is_row && !lay_in_row(arguments.positionals, sources, terminal)) return kBadInput;
  std::vector<std::filesystem::path> directories;
  for (const std::string& directory : arguments.values("--rules")) directories.emplace_back(directory);
  if (directories.empty()) {
    for (const PackInUse& pack : packs_in_use(standing)) directories.emplace_back(pack.path);
  }
  if (directories.empty()) throw JobRefused{"this job names no packs yet: give them with --rules"};
  const std::filesystem::path file = is_row ? "the row typed" : arguments.positionals.front();
  const auto rules = read_rules(directories, sources, diagnostics);
  std::optional<Found> found;
  std::optional<Intake> intake;
  if (rules) found = read_found(file, *rules, sources, diagnostics);
  if (found) intake = entries_of_table(file, JobTable::Found, car, {}, sources, diagnostics);
  if (!intake || diagnostics.has_errors()) {
    terminal.say(layout(diagnostics, sources));
    return kBadInput;
  }
  std::set<std::uint32_t> aside;
  for (const Found::SetAside& row : found->set_aside) {
    aside.insert(row.line);
    terminal.say("set aside: line " + std::to_string(row.line) + ", " + printable(row.reason) + "\n");
  }
  std::vector<Entry> entries;
  for (std::size_t index = 0; index < intake->entries.size(); ++index) {
    if (!aside.contains(intake->lines[index])) entries.push_back(intake->entries[index]);
  }
  if (entries.empty()) throw JobRefused{"no row can be recorded; nothing was saved"};
  const Saved saved = add_records(job, entries, stamp_of(arguments, "found"));
  say_saved(std::to_string(entries.size()) + (entries.size() == 1 ? " count" : " counts") + " for `" + car + "`, records " +
                std::to_string(saved.ids.front()) + " to " + std::to_string(saved.ids.back()),
            saved.backup_failed, terminal);
  return kDone;
}

int run_found(const Arguments& arguments, Terminal& terminal) {
  return with_job(terminal, [&] { return record_found(arguments, terminal); });
}

}  // namespace

Command found_command() {
  return {.name = "found", .group = Group::YourCar,
          .answers = "Records what was counted on the old car and in what condition it is: a CSV, or one row as `part=panel-clip count=9`.",
          .positionals = {{"FILE|COLUMN=VALUE", "the counts", false, true}},
          .options = {{"--job", "FILE", "the job file to record in", true, false},
                      {"--car", "NAME", "which car of the job", false, false},
                      {"--rules", "DIR", "packs to read it by; else those of the job", false, true},
                      {"--to-pack", "", "print the counts as rows of a `needs` table, with their source", false, false}, by_option()},
          .examples = {}, .run = run_found};
}

}  // namespace kitgap
