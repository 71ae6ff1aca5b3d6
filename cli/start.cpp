#include <algorithm>
#include <filesystem>
#include <iostream>
#include <set>

#include "job/intake.h"
#include "job/packs.h"
#include "job/store.h"
#include "need/own_pack.h"
#include "need/start.h"
#include "packs.h"
#include "recording.h"
#include "session.h"
#include "text/file.h"

namespace kitgap {
namespace {

// Asks one fact until the answer can be taken; the end of the input leaves it unknown.
std::string ask(const Rules& rules, FactId id, Terminal& terminal) {
  const Fact& fact = rules.facts[id.index];
  while (true) {
    std::string question = (fact.ask.empty() ? "What is the " + fact.name + "?" : fact.ask) + "\n";
    if (!fact.look_at.empty()) question += "  look at: " + fact.look_at + "\n";
    if (const std::string choices = choices_of(rules, id); !choices.empty()) question += "  " + choices + "\n";
    terminal.say(question + "  (empty: not known yet) > ");
    std::string typed;
    if (!std::getline(std::cin, typed)) {
      terminal.say("\n");
      return {};
    }
    const AnswerReading reading = read_answer(rules, id, typed);
    if (reading.wrong.empty()) return reading.value;
    terminal.say("  " + printable(reading.wrong) + "\n");
  }
}

// `--answer "fact=value"`; false when one cannot be taken.
bool take_answers(const Rules& rules, const Arguments& arguments, std::map<FactId, std::string>& taken, Terminal& terminal) {
  for (const std::string& given : arguments.values("--answer")) {
    const std::size_t equals = given.find('=');
    const auto fact = rules.find_fact(given.substr(0, equals));
    if (equals == std::string::npos || !fact) {
      std::vector<std::string> names;
      for (const Fact& known : rules.facts) names.push_back(known.name);
      const std::string near = nearest(given.substr(0, equals), names);
      terminal.say(equals == std::string::npos ? "kitgap: `--answer` takes `fact=value`, not `" + printable(given) + "`\n"
                                               : "kitgap: `" + printable(given.substr(0, equals)) + "` is no fact of these packs\n" + (near.empty() ? "" : "did you mean `" + near + "`?\n"));
      return false;
    }
    const AnswerReading reading = read_answer(rules, *fact, given.substr(equals + 1));
    if (!reading.wrong.empty()) {
      terminal.say("kitgap: " + printable(reading.wrong) + "\n");
      return false;
    }
    taken[*fact] = reading.value;
  }
  return true;
}

// Files that are there already stay as they are.
int write_new_files(const std::vector<std::pair<std::string, std::string>>& files, const std::string& folder, Terminal& terminal) {
  std::error_code failure;
  std::filesystem::create_directories(folder, failure);
  if (!std::filesystem::is_directory(folder, failure)) {
    terminal.say("kitgap: `" + printable(folder) + "` is no folder and cannot be made one\n");
    return kBadInput;
  }
  for (const auto& [name, content] : files) {
    const std::filesystem::path path = std::filesystem::path(folder) / name;
    if (is_there(path)) {
      terminal.say("kitgap: " + path.string() + " is there already and stays as it is\n");
      continue;
    }
    write_file(path, content);
    terminal.say("wrote " + path.string() + "\n");
  }
  return kDone;
}

using Answers = std::vector<std::pair<FactId, std::string>>;

// Asks for what `taken` does not answer, but for what the answers so far work out and what is `known` already.
Answers ask_all(const Rules& rules, std::map<FactId, std::string> taken, const std::set<FactId>& known, bool asks, Terminal& terminal) {
  Answers answers;
  for (const FactId fact : facts_to_ask(rules)) {
    const auto given = taken.find(fact);
    if (given == taken.end() && (known.contains(fact) || is_worked_out(rules, fact, answers))) continue;
    answers.emplace_back(fact, given != taken.end() ? given->second : asks ? ask(rules, fact, terminal) : "");
    if (given != taken.end()) taken.erase(given);
  }
  answers.insert(answers.end(), taken.begin(), taken.end());
  return answers;
}

std::vector<std::string> words_of(std::string_view cell) {
  std::vector<std::string> words;
  while (!cell.empty()) {
    const std::size_t end = std::min(cell.find(';'), cell.size());
    std::string word(cell.substr(0, end));
    word.erase(0, word.find_first_not_of(' '));
    word.erase(word.find_last_not_of(' ') + 1);
    if (!word.empty()) words.push_back(std::move(word));
    cell.remove_prefix(std::min(end + 1, cell.size()));
  }
  return words;
}

std::string next_words(const std::string& what, std::size_t unknown, const std::string& next) {
  return what + (unknown == 0 ? "" : ", " + std::to_string(unknown) + (unknown == 1 ? " fact not known yet" : " facts not known yet")) + "\nnext: " + next + "\n";
}

std::string packs_of(const Arguments& arguments) {
  std::string packs;
  for (const std::string& directory : arguments.values("--rules")) packs += " --rules " + directory;
  return packs;
}

std::size_t unknown_of(const Answers& answers) {
  return static_cast<std::size_t>(std::ranges::count_if(answers, [](const auto& answer) { return answer.second.empty(); }));
}

int write_car(const Rules& rules, const std::string& out, const Arguments& arguments, Terminal& terminal) {
  if (is_there(out)) {
    terminal.say("kitgap: `" + printable(out) + "` is there already and is not written over\n");
    return kBadInput;
  }
  std::map<FactId, std::string> taken;
  if (!take_answers(rules, arguments, taken, terminal)) return kBadInput;
  const Answers answers = ask_all(rules, taken, {}, !arguments.has("--no-input"), terminal);
  const std::string name = arguments.value("--name").value_or(std::filesystem::path(out).stem().string());
  write_file(out, car_json(rules, name, answers));
  terminal.say(next_words("wrote " + out, unknown_of(answers), "kitgap check " + out + packs_of(arguments)));
  return kDone;
}

// A car file for each row, into a folder; none when one of them is there already.
int write_cars(const Rules& rules, const std::vector<CarRow>& cars, const std::filesystem::path& folder, Terminal& terminal) {
  std::error_code failure;
  std::filesystem::create_directories(folder, failure);
  for (const CarRow& car : cars) {
    if (car.name.find('/') != std::string::npos || car.name.starts_with('.')) {
      terminal.say("kitgap: `" + printable(car.name) + "` is no name of a file\n");
      return kBadInput;
    }
    if (is_there(folder / (car.name + ".json"))) {
      terminal.say("kitgap: `" + printable((folder / (car.name + ".json")).string()) + "` is there already and is not written over\n");
      return kBadInput;
    }
  }
  for (const CarRow& car : cars) write_file(folder / (car.name + ".json"), car_json(rules, car.name, car.answers, words_of(car.work)));
  terminal.say("wrote " + std::to_string(cars.size()) + " car files to " + folder.string() + "\n");
  return kDone;
}

void add_facts(std::vector<Entry>& entries, const Rules& rules, const std::string& car, const Answers& answers, const std::string& look) {
  for (const auto& [fact, value] : answers) {
    if (value.empty()) continue;
    const Fact& about = rules.facts[fact.index];
    entries.push_back(entry_of(car, "fact", {{"fact", about.name}, {"value", value}, {"look", look.empty() ? about.look_at : look}}));
  }
}

// A job that is made, or goes on with one more car or with more facts of a car that it has.
int start_job(const Rules& rules, const std::optional<std::vector<CarRow>>& cars, const Arguments& arguments, Sources& sources,
              Diagnostics& diagnostics, Terminal& terminal) {
  const std::filesystem::path job = *arguments.value("--job");
  std::error_code ignored;
  const bool is_new = !std::filesystem::exists(std::filesystem::symlink_status(job, ignored));
  JobContents contents;
  if (!is_new) contents = read_job(job);
  const std::vector<Record> standing = standing_records(contents.records);
  std::vector<Entry> entries = entries_of_packs(rules, standing, sources, diagnostics);
  std::size_t unknown = 0;
  std::string name;
  if (cars) {
    const std::string look = std::filesystem::path(*arguments.value("--from")).filename().string();
    for (const CarRow& car : *cars) {
      if (std::ranges::find(contents.cars, car.name) == contents.cars.end()) {
        entries.push_back(entry_of(car.name, "car", {{"name", car.name}, {"work", car.work}}));
      }
      add_facts(entries, rules, car.name, car.answers, look + ":" + std::to_string(car.line));
    }
  } else {
    name = arguments.value("--name").value_or("");
    if (name.empty() && contents.cars.size() == 1) name = contents.cars.front();
    if (name.empty()) name = job.stem().string();
    std::set<FactId> known;
    for (const Record& record : present_records(standing, "fact", name)) {
      const auto fact = rules.find_fact(record.cell("fact"));
      if (fact && !record.cell("value").empty()) known.insert(*fact);
    }
    std::map<FactId, std::string> taken;
    if (!take_answers(rules, arguments, taken, terminal)) return kBadInput;
    const Answers answers = ask_all(rules, taken, known, !arguments.has("--no-input"), terminal);
    unknown = unknown_of(answers);
    const auto work = arguments.value("--work");
    const bool is_there = std::ranges::find(contents.cars, name) != contents.cars.end();
    if (!is_there || work) entries.push_back(entry_of(name, "car", {{"name", name}, {"work", work.value_or("")}}));
    add_facts(entries, rules, name, answers, arguments.value("--look").value_or(""));
  }
  if (diagnostics.has_errors()) {
    terminal.say(layout(diagnostics, sources));
    return kBadInput;
  }
  if (entries.empty()) {
    terminal.say("nothing new was said; the job stays as it is\n");
    return kDone;
  }
  if (is_new) create_job(job);
  const Saved saved = add_records(job, entries, stamp_of(arguments, "start"), {}, is_new ? std::nullopt : std::optional(contents.seal));
  say_saved((is_new ? "the new job `" : "in `") + job.string() + "`, " + (cars ? std::to_string(cars->size()) + " cars" : "car `" + name + "`"), saved.backup_failed, terminal);
  if (unknown != 0) terminal.say(std::to_string(unknown) + (unknown == 1 ? " fact is" : " facts are") + " not known yet\n");
  terminal.say("next: kitgap check --job " + job.string() + "\n");
  return kDone;
}

int start(const Arguments& arguments, Terminal& terminal) {
  Sources sources;
  Diagnostics diagnostics;
  std::vector<std::string> folders = arguments.values("--rules");
  const auto job = arguments.value("--job");
  if (folders.empty() && job && is_there(*job)) {
    folders = pack_folders(standing_records(read_job(*job).records), *job, sources, terminal);
  }
  if (folders.empty()) {
    terminal.say("kitgap start: `--rules` is missing: a pack of rules\n");
    return kBadInput;
  }
  const auto rules = read_packs(folders, sources, diagnostics);
  std::optional<std::vector<CarRow>> cars;
  if (const auto from = arguments.value("--from"); rules && from) cars = read_cars(*from, *rules, sources, diagnostics);
  if (!rules || diagnostics.has_errors()) {
    terminal.say(layout(diagnostics, sources));
    return kBadInput;
  }
  if (const auto folder = arguments.value("--templates")) return write_new_files(templates_of(*rules), *folder, terminal);
  const auto out = arguments.positional(0);
  if (const auto pack = arguments.value("--pack")) {
    const std::string name = (std::filesystem::path(*pack) / "").parent_path().filename().string();
    if (const int written = write_new_files(own_pack_of(name), *pack, terminal); written != kDone || (!out && !job)) return written;
  }
  if (out.has_value() == job.has_value()) {
    terminal.say(out ? "kitgap start: a car file or a job, not both; `kitgap job take JOB CAR` takes a car file into a job\n"
                     : "kitgap start: `CAR` is missing: the car file to write, or `--job FILE`, or `--templates DIR`, or `--pack DIR`\n");
    return kBadInput;
  }
  if (job) return start_job(*rules, cars, arguments, sources, diagnostics, terminal);
  if (cars) return write_cars(*rules, *cars, *out, terminal);
  return write_car(*rules, *out, arguments, terminal);
}

int run_start(const Arguments& arguments, Terminal& terminal) {
  return with_job(terminal, [&] { return start(arguments, terminal); });
}

}  // namespace

Command start_command() {
  return {.name = "start",
          .group = Group::YourCar,
          .answers = "Asks the facts that the packs need and writes a car file, or begins a job; or writes templates of the files you keep, or a pack of your own to fill.",
          .positionals = {{"CAR", "the car file to write; with --from the folder for car files", false, false}},
          .options = {{"--rules", "DIR", "a pack of rules, general first; of a job that is there: else its own", false, true},
                      {"--job", "FILE", "the job file to begin, or to go on with: a further car, or facts not known before", false, false},
                      {"--name", "NAME", "a short name of the car; else that of the file", false, false},
                      {"--from", "CARS.csv", "a shop's cars at once: a column `name` and one for each fact", false, false},
                      {"--answer", "FACT=VALUE", "an answer given beforehand", false, true},
                      {"--look", "TEXT", "from which look at the car the answers are; else what the packs say to look at", false, false},
                      {"--work", "PLACES", "limits the job's car to places or parts, `;` between", false, false},
                      {"--no-input", "", "ask nothing: what is not given stays unknown", false, false},
                      {"--templates", "DIR", "write commented CSV templates there instead", false, false},
                      {"--pack", "DIR", "begin a pack of your own there too, for what you count and what suppliers quote", false, false}, by_option()},
          .examples = {{"kitgap start my-car.json --rules rules/trade --pack my-pack", "a car that no marque's pack knows"},
                       {"kitgap start --job shed.job --name amber --rules rules/trade --rules rules/demo", "a job file, for months of work"}},
          .run = run_start};
}

}  // namespace kitgap
