#pragma once

#include <iosfwd>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

// The one table of commands: parsing, help, completion and the man page are made from it.
namespace kitgap {

enum class Group { YourCar, YourRules, ForPrograms };

struct Positional {
  std::string_view name;  // `CAR`
  std::string_view says;
  bool required = true;
  bool repeats = false;
};

struct Option {
  std::string_view name;   // `--rules`
  std::string_view value;  // `DIR`; empty: a switch
  std::string_view says;
  bool required = false;
  bool repeats = false;
};

struct Example {
  std::string_view command;  // run by a test, from the top of the tree
  std::string_view says;
};

// What was typed after the command's name; already checked against its table.
struct Arguments {
  std::vector<std::string> positionals;
  std::map<std::string, std::vector<std::string>, std::less<>> options;

  bool has(std::string_view option) const { return options.find(option) != options.end(); }
  std::optional<std::string> value(std::string_view option) const;
  std::vector<std::string> values(std::string_view option) const;
  std::optional<std::string> positional(std::size_t index) const;
};

// Standard output and error, and what is known of the terminal. A result that cannot be written is a failure.
class Terminal {
 public:
  // Writes a result to standard output, on a terminal through a pager where the screen does not hold it. Throws MachineFailure when the disk is full; a closed pipe ends quietly.
  void print(std::string_view result);
  // Messages, progress and diagnostics.
  void say(std::string_view message);
  bool is_terminal() const;  // standard output
  int width() const;        // columns of the terminal, 80 where it is none
  bool has_colour() const;  // a terminal, and neither NO_COLOR nor TERM=dumb speaks against it
};

enum ExitStatus : int { kDone = 0, kFoundWrong = 1, kBadInput = 2, kMachineFailed = 3 };

struct Command {
  std::string_view name;  // one word or two (`rules check`)
  Group group;
  std::string_view answers;
  std::vector<Positional> positionals;
  std::vector<Option> options;
  std::vector<Example> examples;
  int (*run)(const Arguments& arguments, Terminal& terminal);
};

// Every command, in the order of the help. To add one: a file `cli/NAME.cpp` that defines `Command name_command()`,
// its declaration and its entry in cli/commands.cpp.
std::vector<Command> all_commands();

// Parses `words` (after the command's name) by the command's table. Nothing when `error` was filled.
// Defined in options.cpp, the one place that knows CLI11.
std::optional<Arguments> parse_arguments(const Command& command, std::span<const std::string> words, std::string& error);
// The page that `kitgap COMMAND --help` prints, laid out for 80 columns.
std::string help_of(const Command& command);
std::string help_of_all(std::span<const Command> commands);
// For `man` (the macros of man(7)) and for bash's `complete`.
std::string man_page(std::span<const Command> commands);
std::string bash_completion(std::span<const Command> commands);

}  // namespace kitgap
