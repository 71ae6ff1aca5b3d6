#include <filesystem>
#include <iostream>

#include "need/start.h"
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

int write_templates(const Rules& rules, const std::string& folder, Terminal& terminal) {
  std::error_code failure;
  std::filesystem::create_directories(folder, failure);
  if (!std::filesystem::is_directory(folder)) {
    terminal.say("kitgap: `" + printable(folder) + "` is no folder and cannot be made one\n");
    return kBadInput;
  }
  for (const auto& [name, content] : templates_of(rules)) {
    const std::filesystem::path path = std::filesystem::path(folder) / name;
    if (std::filesystem::exists(path)) {
      terminal.say("kitgap: " + path.string() + " is there already and stays as it is\n");
      continue;
    }
    write_file(path, content);
    terminal.say("wrote " + path.string() + "\n");
  }
  return kDone;
}

int run_start(const Arguments& arguments, Terminal& terminal) {
  Sources sources;
  Diagnostics diagnostics;
  std::vector<std::filesystem::path> directories;
  for (const std::string& directory : arguments.values("--rules")) directories.emplace_back(directory);
  const auto rules = read_rules(directories, sources, diagnostics);
  if (!rules) {
    terminal.say(layout(diagnostics, sources));
    return kBadInput;
  }
  if (const auto folder = arguments.value("--templates")) return write_templates(*rules, *folder, terminal);
  const auto out = arguments.positional(0);
  if (!out) {
    terminal.say("kitgap start: `CAR` is missing: the car file to write, or `--templates DIR`\n");
    return kBadInput;
  }
  if (std::filesystem::exists(*out)) {
    terminal.say("kitgap: `" + printable(*out) + "` is there already and is not written over\n");
    return kBadInput;
  }
  std::map<FactId, std::string> taken;
  if (!take_answers(*rules, arguments, taken, terminal)) return kBadInput;
  std::vector<std::pair<FactId, std::string>> answers;
  std::size_t unknown = 0;
  for (const FactId fact : facts_to_ask(*rules)) {
    if (!taken.contains(fact) && is_worked_out(*rules, fact, answers)) continue;
    const auto given = taken.find(fact);
    answers.emplace_back(fact, given != taken.end() ? given->second : arguments.has("--no-input") ? "" : ask(*rules, fact, terminal));
    unknown += answers.back().second.empty() ? 1 : 0;
    if (given != taken.end()) taken.erase(given);
  }
  answers.insert(answers.end(), taken.begin(), taken.end());
  const std::string name = arguments.value("--name").value_or(std::filesystem::path(*out).stem().string());
  write_file(*out, car_json(*rules, name, answers));
  std::string packs;
  for (const std::string& directory : arguments.values("--rules")) packs += " --rules " + directory;
  terminal.say("wrote " + *out + (unknown == 0 ? "" : ", " + std::to_string(unknown) + " facts not known yet") + "\nnext: kitgap check " + *out + packs + "\n");
  return kDone;
}

}  // namespace

Command start_command() {
  return {.name = "start",
          .group = Group::YourCar,
          .answers = "Asks the facts that the packs need and writes a car file; or writes templates of the files you keep.",
          .positionals = {{"CAR", "the car file to write", false, false}},
          .options = {{"--rules", "DIR", "a pack of rules; general first", true, true},
                      {"--name", "NAME", "a short name of the car; else that of the file", false, false},
                      {"--answer", "FACT=VALUE", "an answer given beforehand", false, true},
                      {"--no-input", "", "ask nothing: what is not given stays unknown", false, false},
                      {"--templates", "DIR", "write commented CSV templates there instead", false, false}},
          .examples = {{"kitgap start my-car.json --rules rules/trade", "a car that no marque's pack knows"}},
          .run = run_start};
}

}  // namespace kitgap
