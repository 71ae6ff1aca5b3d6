#include <algorithm>

#include "commands.h"

namespace kitgap {
namespace {

// Text as man(7) takes it: a backslash and a minus sign mean something, and so do a dot and a quote at the start.
std::string roff(std::string_view text) {
  std::string out;
  if (text.starts_with('.') || text.starts_with('\'')) out += "\\&";
  for (const char letter : text) {
    if (letter == '\\') out += "\\e";
    else if (letter == '-') out += "\\-";
    else out += letter;
  }
  return out;
}

std::string item(std::string_view term, std::string_view says) { return ".TP\n.B " + roff(term) + "\n" + roff(says) + "\n"; }

void add_command(std::string& out, const Command& command) {
  std::string usage = "kitgap " + std::string(command.name);
  for (const Positional& positional : command.positionals) {
    const std::string name = std::string(positional.name) + (positional.repeats ? "..." : "");
    usage += positional.required ? " " + name : " [" + name + "]";
  }
  out += ".SS " + roff(usage) + "\n" + roff(command.answers) + "\n";
  for (const Positional& positional : command.positionals) out += item(positional.name, positional.says);
  for (const Option& option : command.options) {
    out += item(std::string(option.name) + (option.value.empty() ? "" : " " + std::string(option.value)), std::string(option.says) + (option.repeats ? " (may be repeated)" : ""));
  }
  for (const Example& example : command.examples) out += ".PP\n.EX\n" + roff(example.command) + "\n.EE\n" + roff(example.says) + "\n";
}

bool is_choice(std::string_view value) {
  return value.find('|') != value.npos && std::ranges::all_of(value, [](char letter) { return letter == '|' || (letter >= 'a' && letter <= 'z'); });
}

std::string quoted(std::string_view text) { return "'" + std::string(text) + "'"; }

}  // namespace

std::string man_page(std::span<const Command> commands) {
  std::string out = ".TH KITGAP 1 \"\" \"kitgap " KITGAP_VERSION "\" \"User Commands\"\n.SH NAME\nkitgap \\- says what the parts for an old car's interior will not give you\n"
                    ".SH SYNOPSIS\n.B kitgap\n.I COMMAND\n[arguments]\n"
                    ".SH DESCRIPTION\nFrom the facts of a car, tables of rules and a list of planned parts: what is missing or short, what to move over from the old parts, "
                    "what does not fit, what to ask, what to buy, and why.\n.SH COMMANDS\n";
  for (const Command& command : commands) add_command(out, command);
  out += ".SH EXIT STATUS\n";
  out += item("0", "Done.") + item("1", "Done, and something stops the work or is found wrong.") + item("2", "The command or its input is wrong; nothing was written.");
  out += item("3", "The machine failed: disk, memory, a locked file.") + item("128+n", "Ended by signal n.");
  out += ".SH ENVIRONMENT\n";
  out += item("PAGER", "What shows a text that the terminal does not hold; less where it is not set. Empty or cat: none.");
  out += item("NO_COLOR", "Set and not empty: no colour. Colour is never the only sign of anything.");
  out += ".SH CAUTION\nBelts, anchorages and wires are counted, never declared safe: local codes and a licensed workshop decide.\n";
  return out;
}

// One function that looks its answers up in the words so far. It needs no package beside bash.
std::string bash_completion(std::span<const Command> commands) {
  std::string first = "help --help --version --man --completion";
  std::string second, options, choices;
  for (const Command& command : commands) {
    const std::size_t blank = command.name.find(' ');
    const std::string word(command.name.substr(0, blank));
    if ((" " + first + " ").find(" " + word + " ") == first.npos) first += " " + word;
    if (blank != command.name.npos) second += "    " + quoted(word) + ") COMPREPLY+=($(compgen -W " + quoted(command.name.substr(blank + 1)) + " -- \"$current\")) ;;&\n";
    std::string names = "--help";
    for (const Option& option : command.options) {
      names += " " + std::string(option.name);
      const std::string key = quoted(std::string(command.name) + " " + std::string(option.name));
      std::string words(option.value);
      std::ranges::replace(words, '|', ' ');
      if (is_choice(option.value)) choices += "    " + key + ") COMPREPLY=($(compgen -W " + quoted(words) + " -- \"$current\")); return ;;\n";
      else if (option.value == "DIR") choices += "    " + key + ") COMPREPLY=($(compgen -d -- \"$current\")); return ;;\n";
    }
    options += "    " + quoted(command.name) + ") options=" + quoted(names) + " ;;\n";
  }
  return "# Completion of kitgap's commands and options for bash; made by `kitgap --completion bash`.\n"
         "_kitgap() {\n"
         "  local current=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD-1]} command=${COMP_WORDS[1]} options=\n"
         "  COMPREPLY=()\n"
         "  if [ \"$COMP_CWORD\" -eq 1 ]; then\n"
         "    COMPREPLY=($(compgen -W '" + first + "' -- \"$current\"))\n    return\n  fi\n"
         "  if [ \"$COMP_CWORD\" -eq 2 ]; then\n    case \"$command\" in\n" + second + "    esac\n  fi\n"
         "  case \"$command ${COMP_WORDS[2]}\" in\n" + [&] {
           std::string patterns;
           for (const Command& command : commands) {
             if (command.name.find(' ') != command.name.npos) patterns += (patterns.empty() ? "    " : "|") + quoted(command.name);
           }
           return patterns;
         }() + ") command=\"$command ${COMP_WORDS[2]}\" ;;\n  esac\n"
         "  case \"$command $before\" in\n" + choices + "  esac\n"
         "  case \"$command\" in\n" + options + "  esac\n"
         "  case \"$current\" in\n    -*) COMPREPLY+=($(compgen -W \"$options\" -- \"$current\")) ;;\n    *) COMPREPLY+=($(compgen -f -- \"$current\")) ;;\n  esac\n"
         "}\ncomplete -o filenames -F _kitgap kitgap\n";
}

}  // namespace kitgap
