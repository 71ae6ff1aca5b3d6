#include <algorithm>

#include "commands.h"

namespace kitgap {
namespace {

constexpr std::size_t kColumns = 80;

// `text` broken at blanks so that it fits from `indent` to the right edge; the first line starts at the cursor.
std::string wrapped(std::string_view text, std::size_t indent) {
  std::string out;
  std::size_t column = indent;
  std::size_t at = 0;
  while (at < text.size()) {
    const std::size_t end = std::min(text.find(' ', at), text.size());
    const std::string_view word = text.substr(at, end - at);
    if (column != indent && column + 1 + word.size() > kColumns) {
      out += "\n" + std::string(indent, ' ');
      column = indent;
    } else if (column != indent) {
      out += ' ';
      ++column;
    }
    out += word;
    column += word.size();
    at = end + 1;
  }
  return out;
}

std::string entry(std::string left, std::string_view says, std::size_t indent) {
  left = "  " + left;
  left += left.size() + 2 <= indent ? std::string(indent - left.size(), ' ') : "\n" + std::string(indent, ' ');
  return left + wrapped(says, indent) + "\n";
}

std::string_view title_of(Group group) {
  switch (group) {
    case Group::YourCar: return "Your car";
    case Group::YourRules: return "Your rules";
    case Group::ForPrograms: return "For programs";
  }
  return "";
}

}  // namespace

std::string help_of(const Command& command) {
  std::string usage = "kitgap " + std::string(command.name);
  for (const Positional& positional : command.positionals) {
    const std::string name = std::string(positional.name) + (positional.repeats ? "..." : "");
    usage += positional.required ? " " + name : " [" + name + "]";
  }
  std::string out = usage + (command.options.empty() ? "" : " [options]") + "\n\n" + wrapped(command.answers, 0) + "\n";
  if (!command.examples.empty()) out += "\nExamples\n";
  for (const Example& example : command.examples) {
    out += "  " + std::string(example.command) + "\n      " + wrapped(example.says, 6) + "\n";
  }
  if (!command.positionals.empty()) out += "\nArguments\n";
  for (const Positional& positional : command.positionals) {
    out += entry(std::string(positional.name), positional.says, 26);
  }
  if (!command.options.empty()) out += "\nOptions\n";
  for (const Option& option : command.options) {
    const std::string left =
        std::string(option.name) + (option.value.empty() ? "" : " " + std::string(option.value));
    out += entry(left, std::string(option.says) + (option.repeats ? " (may be repeated)" : ""), 26);
  }
  return out;
}

std::string help_of_all(std::span<const Command> commands) {
  std::string out = wrapped("kitgap says, before the work on an old car's interior starts, what the parts will not "
                            "give you: what is missing or short, what to save from the old parts, what does not fit, "
                            "what to ask and what to buy.", 0) +
                    "\n\nkitgap COMMAND [arguments]\n";
  for (const Group group : {Group::YourCar, Group::YourRules, Group::ForPrograms}) {
    out += "\n" + std::string(title_of(group)) + "\n";
    for (const Command& command : commands) {
      if (command.group == group) out += entry(std::string(command.name), command.answers, 18);
    }
  }
  return out + "\n`kitgap COMMAND --help` shows examples and options.\n"
               "`kitgap --version` shows the version, `kitgap --man` a manual page for man(1),\n"
               "`kitgap --completion bash` what makes bash complete commands and options.\n"
               "Exit status: 0 done; 1 done, and something stops the work or is found wrong;\n"
               "2 the command or its input is wrong; 3 the machine failed; 128+n on a signal.\n";
}

}  // namespace kitgap
