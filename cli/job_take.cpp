#include "job/intake.h"
#include "job/packs.h"
#include "job/store.h"
#include "packs.h"
#include "recording.h"
#include "session.h"
#include "text/file.h"

namespace kitgap {
namespace {

void add(std::vector<Entry>& entries, std::vector<Entry> more) {
  for (Entry& entry : more) entries.push_back(std::move(entry));
}

int take(const Arguments& arguments, Terminal& terminal) {
  const std::filesystem::path job = *arguments.positional(0);
  Sources sources;
  Diagnostics diagnostics;
  std::vector<Entry> entries;
  std::string car = arguments.value("--car").value_or("");
  const bool is_new = !is_there(job);
  const std::vector<Record> standing = is_new ? std::vector<Record>{} : standing_records(read_job(job).records);
  std::vector<std::string> folders = arguments.values("--rules");
  if (folders.empty()) folders = pack_folders(standing, job.string(), sources, terminal);
  if (folders.empty()) throw JobRefused{"this job names no packs yet: give them with --rules"};
  const auto rules = read_packs(folders, sources, diagnostics);
  if (rules) {
    if (arguments.has("--rules")) add(entries, entries_of_packs(*rules, standing, sources, diagnostics));
    if (const auto path = arguments.positional(1)) {
      if (const auto read = read_car(*path, *rules, sources, diagnostics)) {
        if (car.empty()) car = read->name;
        add_car(*read, *rules, car, std::filesystem::path(*path).filename().string(), entries);
      }
    }
  }
  const auto given = columns_of(arguments, terminal);
  if (!given) return kBadInput;
  const auto add_tables = [&](std::string_view option, JobTable table) {
    RenamedColumns names = *given;
    for (auto& pair : remembered_columns(standing, word_of(table))) names.push_back(std::move(pair));
    for (const std::string& path : arguments.values(option)) {
      const std::string sheet = sheet_of(path, arguments.values("--sheet"));
      auto intake = table == JobTable::Found ? (rules ? entries_of_found(path, car, *rules, names, sheet, sources, diagnostics) : std::nullopt)
                                             : entries_of_list(path, table, car, names, sheet, sources, diagnostics);
      if (!intake) continue;
      say_intake(path, *intake, terminal);
      add(entries, std::move(intake->entries));
    }
    if (arguments.has(option)) add(entries, entries_of_columns(table, *given, standing));
  };
  if (car.empty() && (arguments.has("--list") || arguments.has("--found"))) throw JobRefused{"name the car whose list or counts these are with --car"};
  add_tables("--list", JobTable::List);
  add_tables("--stock", JobTable::Stock);
  add_tables("--order", JobTable::Order);
  add_tables("--found", JobTable::Found);
  if (diagnostics.has_errors()) {
    terminal.say(layout(diagnostics, sources));
    return kBadInput;
  }
  if (entries.empty()) throw JobRefused{"there is nothing new to take: name a car file, --list, --stock, --order, --found or changed packs"};
  if (is_new) create_job(job);
  const Saved saved = add_records(job, entries, stamp_of(arguments, "job take"));
  say_saved(std::to_string(saved.ids.size()) + (saved.ids.size() == 1 ? " record in `" : " records in `") + job.string() + "`", saved.backup_failed, terminal);
  return kDone;
}

int run(const Arguments& arguments, Terminal& terminal) {
  return with_job(terminal, [&] { return take(arguments, terminal); });
}

}  // namespace

Command job_take_command() {
  return {.name = "job take", .group = Group::YourCar,
          .answers = "Takes plain files into a job, which is made if it is not there: a car file, its list, stock, orders, counts, and the packs in use.",
          .positionals = {{"JOB", "the job file", true, false}, {"CAR", "a car file (JSON)", false, false}},
          .options = {{"--rules", "DIR", "a pack of rules, general first; else those of the job", false, true}, {"--car", "NAME", "the car's short name; else that of the car file", false, false},
                      {"--list", "FILE", "the planned parts; replaces the list before", false, false}, {"--stock", "FILE", "what lies here", false, true},
                      {"--order", "FILE", "what is on its way", false, true}, {"--found", "FILE", "what was counted on the old car", false, true},
                      {"--columns", "THEIRS=OURS", "a column of these files under another name, `,` between; the job remembers it", false, true},
                      {"--sheet", "NAME|FILE=NAME", "the sheet of a workbook; else the first visible one that names your columns", false, true}, by_option()},
          .examples = {}, .run = run};
}

}  // namespace kitgap
