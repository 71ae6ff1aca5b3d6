#include <CLI/CLI.hpp>
#include <algorithm>

#include "commands.h"
#include "text/diagnostics.h"

namespace kitgap {

std::optional<std::string> Arguments::value(std::string_view option) const {
  const auto found = options.find(option);
  if (found == options.end() || found->second.empty()) return std::nullopt;
  return found->second.back();
}

std::vector<std::string> Arguments::values(std::string_view option) const {
  const auto found = options.find(option);
  return found == options.end() ? std::vector<std::string>{} : found->second;
}

std::optional<std::string> Arguments::positional(std::size_t index) const {
  if (index >= positionals.size()) return std::nullopt;
  return positionals[index];
}

namespace {

// `[1, 2]` is one word to us and several to CLI11; `-5` and `-(a + b)` are no options.
bool is_expression(const std::string& word) {
  const bool is_minus = word.size() > 1 && word[0] == '-' && word.find_first_not_of("0123456789. (\"[", 1) != 1;
  return word.starts_with('[') || is_minus;
}

// Put before such a word and taken away after.
const std::string kPlain = "\x01";
void make_plain(std::string& word) {
  if (word.starts_with(kPlain)) word.erase(0, kPlain.size());
}

// The first word that is meant as an option and is none, with the nearest that is; empty when all are known.
std::string unknown_option(const Command& command, std::span<const std::string> words) {
  std::vector<std::string> names{"--help"};
  for (const Option& option : command.options) names.emplace_back(option.name);
  for (const std::string& word : words) {
    if (word == "--") break;
    const std::string name = word.substr(0, word.find('='));
    if (name.size() < 2 || name[0] != '-' || is_expression(word) || std::ranges::find(names, name) != names.end()) continue;
    const std::string near = nearest(name, names);
    return "there is no option `" + name + "`" + (near.empty() ? "" : "; did you mean `" + near + "`?");
  }
  return "";
}

}  // namespace

std::optional<Arguments> parse_arguments(const Command& command, std::span<const std::string> words,
                                         std::string& error) {
  CLI::App app;
  app.set_help_flag();
  std::map<std::string, std::vector<std::string>> valued;
  std::map<std::string, bool> switches;
  std::vector<std::string> positionals;
  for (const Option& option : command.options) {
    const std::string name(option.name);
    if (option.value.empty()) {
      app.add_flag(name, switches[name]);
    } else {
      auto* added = app.add_option(name, valued[name]);
      // One value an option: `--rules A --rules B`, never `--rules A B`.
      added->expected(1)->take_all()->allow_extra_args(false);
      if (option.required) added->required();
      if (!option.repeats) added->multi_option_policy(CLI::MultiOptionPolicy::Throw);
    }
  }
  app.add_option("positionals", positionals)->expected(0, 1'000'000);
  try {
    std::vector<std::string> reversed;
    for (auto word = words.rbegin(); word != words.rend(); ++word) reversed.push_back((is_expression(*word) ? kPlain : "") + *word);
    app.parse(reversed);
  } catch (const CLI::Error& failure) {
    error = unknown_option(command, words);
    if (error.empty()) error = failure.what();
    return std::nullopt;
  }
  for (std::string& word : positionals) make_plain(word);
  for (auto& [name, values] : valued) {
    for (std::string& word : values) make_plain(word);
  }
  std::size_t least = 0;
  bool repeats = false;
  for (const Positional& positional : command.positionals) {
    least += positional.required ? 1 : 0;
    repeats = repeats || positional.repeats;
  }
  if (positionals.size() < least) {
    error = "`" + std::string(command.positionals[positionals.size()].name) + "` is missing: " +
            std::string(command.positionals[positionals.size()].says);
    return std::nullopt;
  }
  if (!repeats && positionals.size() > command.positionals.size()) {
    error = "nothing more is expected at `" + positionals[command.positionals.size()] + "`";
    return std::nullopt;
  }
  Arguments arguments{.positionals = std::move(positionals), .options = {}};
  for (auto& [name, values] : valued) {
    if (!values.empty()) arguments.options[name] = std::move(values);
  }
  for (const auto& [name, is_set] : switches) {
    if (is_set) arguments.options[name] = {};
  }
  return arguments;
}

}  // namespace kitgap
