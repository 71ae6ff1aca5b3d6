#include "commands.h"
#include "condition/eval_json.h"
#include "text/file.h"

namespace kitgap {
namespace {

std::optional<Json> read_json(const std::string& path, Sources& sources, Diagnostics& diagnostics) {
  const auto source = read_file(path, sources, diagnostics);
  return source ? parse_json(*source, sources, diagnostics) : std::nullopt;
}

int refused(Terminal& terminal, const Diagnostics& diagnostics, const Sources& sources) {
  terminal.say(layout(diagnostics, sources));
  return kBadInput;
}

int run_cases(const std::string& path, bool are_tests, Terminal& terminal) {
  Sources sources;
  Diagnostics diagnostics;
  const auto cases = read_json(path, sources, diagnostics);
  if (!cases) return refused(terminal, diagnostics, sources);
  if (!cases->is_array()) {
    terminal.say(path + ": error: the file holds no list of cases\n");
    return kBadInput;
  }
  terminal.print(are_tests ? eval_tests(*cases) : eval_batch(*cases));
  return kDone;
}

int run(const Arguments& arguments, Terminal& terminal) {
  const auto expression = arguments.positional(0);
  const int asked = (expression ? 1 : 0) + (arguments.has("--batch") ? 1 : 0) + (arguments.has("--tests") ? 1 : 0);
  if (asked != 1) {
    terminal.say("eval: error: give one of an expression, `--batch FILE` and `--tests FILE`\n");
    return kBadInput;
  }
  if (const auto path = arguments.value("--batch")) return run_cases(*path, false, terminal);
  if (const auto path = arguments.value("--tests")) return run_cases(*path, true, terminal);
  Sources sources;
  Diagnostics diagnostics;
  std::optional<Json> context;
  if (const auto path = arguments.value("--context")) {
    context = read_json(*path, sources, diagnostics);
    if (!context) return refused(terminal, diagnostics, sources);
    if (!context->is_object()) {
      terminal.say(*path + ": error: the file holds no object of names and values\n");
      return kBadInput;
    }
  }
  std::string error;
  bool can_be_read = true;
  const std::string value = eval_json(*expression, context ? &*context : nullptr, error, can_be_read);
  if (can_be_read) terminal.print(value);
  if (!error.empty()) terminal.say("eval: " + printable(error) + "\n");
  return can_be_read ? kDone : kBadInput;
}

}  // namespace

Command eval_command() {
  return {.name = "eval",
          .group = Group::ForPrograms,
          .answers = "what an expression of the condition language comes to",
          .positionals = {{.name = "EXPR", .says = "the expression, such as '[1..3]' or '2 ** 10'", .required = false}},
          .options = {{.name = "--context", .value = "FILE.json", .says = "an object: the names that the expression may use"},
                      {.name = "--batch",
                       .value = "FILE.json",
                       .says = "a list of `{\"id\", \"expr\", \"context\"}`: one line of JSON each"},
                      {.name = "--tests",
                       .value = "FILE.json",
                       .says = "a list of `{\"id\", \"test\", \"input\", \"context\"}`: does the input pass the unary test"}},
          .examples = {{.command = "kitgap eval '0.1 + 0.2'", .says = "decimals: 0.3"}},
          .run = run};
}

}  // namespace kitgap
