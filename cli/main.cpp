#include <unistd.h>

#include <algorithm>
#include <filesystem>
#include <new>
#include <string>
#include <string_view>
#include <vector>

#include "commands.h"
#include "progress.h"
#include "text/diagnostics.h"
#include "text/file.h"
#include "value/fraction.h"
#include "value/internal_error.h"

namespace kitgap {
namespace {

// The command that the first word, or the first two, name; how many words it took.
const Command* command_of(std::span<const std::string> words, std::span<const Command> commands, std::size_t& taken) {
  for (taken = std::min<std::size_t>(2, words.size()); taken > 0; --taken) {
    std::string name = words[0];
    if (taken == 2) name += " " + words[1];
    const auto found = std::ranges::find(commands, std::string_view(name), &Command::name);
    if (found != commands.end()) return &*found;
  }
  return nullptr;
}

int refuse_unknown(std::span<const std::string> words, std::span<const Command> commands, Terminal& terminal) {
  std::vector<std::string> names;
  std::string below;
  if (words[0] == "--completion") {
    terminal.say("kitgap: `--completion` is followed by `bash`: there is a script for no other shell\n");
    return kBadInput;
  }
  if (words[0].starts_with("-")) names = {"--help", "--version", "--man", "--completion"};
  for (const Command& command : commands) {
    if (!words[0].starts_with("-")) names.emplace_back(command.name);
    if (command.name.starts_with(words[0] + " ")) below += "  kitgap " + std::string(command.name) + "\n";
  }
  std::string message = std::string("kitgap: there is no ") + (words[0].starts_with("-") ? "option" : "command") + " `" + printable(words[0]) + "`";
  if (!below.empty()) {
    message = "kitgap: `" + words[0] + "` takes one more word:\n" + below;
  } else if (const std::string near = nearest(words[0], names); !near.empty()) {
    message += "\ndid you mean `" + near + "`?\n";
  } else {
    message += "\n`kitgap --help` lists them\n";
  }
  terminal.say(message);
  return kBadInput;
}

int run(std::span<const std::string> words, Terminal& terminal) {
  const std::vector<Command> commands = all_commands();
  const auto is_help = [](const std::string& word) { return word == "--help" || word == "-h"; };
  if (words.empty() || is_help(words[0]) || (words[0] == "help" && words.size() == 1)) {
    terminal.print(help_of_all(commands));
    return words.empty() ? kBadInput : kDone;
  }
  if (words[0] == "--version" || words[0] == "-V" || words[0] == "version") {
    terminal.print("kitgap " KITGAP_VERSION ", pack format 1\n");
    return kDone;
  }
  if (words[0] == "--man" && words.size() == 1) {
    terminal.print(man_page(commands));
    return kDone;
  }
  if (words[0] == "--completion" && words.size() == 2 && words[1] == "bash") {
    terminal.print(bash_completion(commands));
    return kDone;
  }
  const bool asks_help = words[0] == "help";
  if (asks_help) words = words.subspan(1);
  std::size_t taken = 0;
  const Command* command = command_of(words, commands, taken);
  if (command == nullptr) return refuse_unknown(words, commands, terminal);
  words = words.subspan(taken);
  const auto end_of_options = std::ranges::find(words, "--");
  if (asks_help || std::any_of(words.begin(), end_of_options, is_help)) {
    terminal.print(help_of(*command));
    return kDone;
  }
  std::string error;
  const std::optional<Arguments> arguments = parse_arguments(*command, words, error);
  if (!arguments) {
    terminal.say("kitgap " + std::string(command->name) + ": " + printable(error) + "\n`kitgap " +
                 std::string(command->name) + " --help` shows what it takes\n");
    return kBadInput;
  }
  begin_progress();
  const int status = command->run(*arguments, terminal);
  end_progress();
  return status;
}

}  // namespace
}  // namespace kitgap

// Runs, and says what went wrong; only lack of memory is left to the caller.
int run_and_tell(int count, char** texts) {
  using namespace kitgap;
  Terminal terminal;
  try {
    return run(std::vector<std::string>(texts + 1, texts + std::max(count, 1)), terminal);
  } catch (const MachineFailure& failure) {
    try {
      terminal.say("kitgap: " + printable(failure.says) + "\n");
    } catch (const MachineFailure&) {  // standard error is gone too: the status alone tells
    }
    return kMachineFailed;
  } catch (const std::filesystem::filesystem_error& failure) {
    terminal.say("kitgap: " + printable(failure.what()) + "; nothing else was changed\n");
    return kMachineFailed;
  } catch (const FigureOverflow& overflow) {
    terminal.say("kitgap: " + std::string(overflow.what()) + "; nothing was written\n");
    return kBadInput;
  } catch (const InternalError& error) {
    terminal.say(std::string("kitgap: this is a fault of kitgap, not of your input: ") + error.what() +
                 "\nnothing was written; please keep the car file, the packs and the list that led here,\n"
                 "and the command line: together they make a test\n");
    return kMachineFailed;
  }
}

int main(int count, char** texts) {
  try {
    return run_and_tell(count, texts);
  } catch (const std::bad_alloc&) {
    // Without a string: there may be no memory for one.
    constexpr std::string_view kSays = "kitgap: the machine has too little memory for this; no file is half written, and of a job "
                                       "`kitgap job history` shows what is saved\n";
    [[maybe_unused]] const ssize_t written = ::write(STDERR_FILENO, kSays.data(), kSays.size());
    return kitgap::kMachineFailed;
  }
}
