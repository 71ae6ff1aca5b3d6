#include "job/intake.h"
#include "job/store.h"
#include "recording.h"
#include "session.h"
#include "text/file.h"
#include "text/json.h"

namespace kitgap {
namespace {

void add(std::vector<Entry>& entries, std::vector<Entry> more) {
  for (Entry& entry : more) entries.push_back(std::move(entry));
}

// The facts as the car file has them, word by word; the readers judge them again when they are used.
bool add_car(const std::string& path, std::string& car, std::vector<Entry>& entries, Sources& sources, Diagnostics& diagnostics) {
  const auto source = read_file(path, sources, diagnostics);
  const auto json = source ? parse_json(*source, sources, diagnostics) : std::nullopt;
  if (!json) return false;
  if (const Json* name = json->find("name"); car.empty() && name != nullptr) car = name->text;
  if (car.empty()) car = std::filesystem::path(path).stem().string();
  std::string work;
  if (const Json* places = json->find("work"); places != nullptr) {
    for (const Json& place : places->items) work += (work.empty() ? "" : "; ") + place.text;
  }
  entries.push_back(entry_of(car, "car", {{"name", car}, {"work", work}}));
  const auto text_of_json = [](const Json& value) {
    return value.kind == Json::Kind::Boolean ? std::string(value.boolean ? "true" : "false") : value.text;
  };
  if (const Json* facts = json->find("facts"); facts != nullptr) {
    for (const auto& [fact, value] : facts->members) {
      entries.push_back(entry_of(car, "fact", {{"fact", fact}, {"value", text_of_json(value)}, {"look", "car file"}}));
    }
  }
  if (const Json* dates = json->find("dates"); dates != nullptr) {
    for (const auto& [step, day] : dates->members) entries.push_back(entry_of(car, "date", {{"step", step}, {"date", day.text}}));
  }
  return true;
}

int take(const Arguments& arguments, Terminal& terminal) {
  const std::filesystem::path job = *arguments.positional(0);
  Sources sources;
  Diagnostics diagnostics;
  std::vector<Entry> entries;
  std::string car = arguments.value("--car").value_or("");
  std::vector<std::filesystem::path> directories;
  for (const std::string& directory : arguments.values("--rules")) directories.emplace_back(directory);
  const auto rules = read_rules(directories, sources, diagnostics);
  if (rules) {
    for (const PackInfo& pack : rules->packs) {
      entries.push_back(entry_of("", "pack", {{"name", pack.name}, {"path", pack.directory}, {"version", pack.version}, {"hash", pack.hash}}));
    }
    if (const auto path = arguments.positional(1)) {
      if (read_car(*path, *rules, sources, diagnostics)) (void)add_car(*path, car, entries, sources, diagnostics);
    }
  }
  const auto add_tables = [&](std::string_view option, JobTable table) {
    for (const std::string& path : arguments.values(option)) {
      auto intake = entries_of_table(path, table, car, {}, sources, diagnostics);
      if (intake) add(entries, std::move(intake->entries));
    }
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
  std::error_code ignored;
  if (!std::filesystem::exists(job, ignored)) create_job(job);
  const Saved saved = add_records(job, entries, stamp_of(arguments, "job take"));
  say_saved(std::to_string(saved.ids.size()) + " records in `" + job.string() + "`", saved.backup_failed, terminal);
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
          .options = {{"--rules", "DIR", "a pack of rules; general first", true, true}, {"--car", "NAME", "the car's short name; else that of the car file", false, false},
                      {"--list", "FILE", "the planned parts; replaces the list before", false, false}, {"--stock", "FILE", "what lies here", false, true},
                      {"--order", "FILE", "what is on its way", false, true}, {"--found", "FILE", "what was counted on the old car", false, true}, by_option()},
          .examples = {}, .run = run};
}

}  // namespace kitgap
