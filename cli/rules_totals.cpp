#include "commands.h"
#include "match/totals.h"
#include "text/diagnostics.h"

namespace kitgap {
namespace {

int run(const Arguments& arguments, Terminal& terminal) {
  Sources sources;
  Diagnostics diagnostics;
  const auto csv =
      totals_csv(*arguments.value("--edges"), *arguments.value("--demand"), sources, diagnostics);
  if (!csv) {
    terminal.say(layout(diagnostics, sources));
    return kBadInput;
  }
  terminal.print(*csv);
  return kDone;
}

}  // namespace

Command rules_totals_command() {
  return {.name = "rules totals",
          .group = Group::ForPrograms,
          .answers = "kits opened to totals: how many of each last piece a demand takes",
          .positionals = {},
          .options = {{.name = "--edges",
                       .value = "FILE.csv",
                       .says = "`parent,child,quantity`: what each kit takes",
                       .required = true},
                      {.name = "--demand", .value = "FILE.csv", .says = "`item,quantity`: what is wanted", .required = true}},
          .examples = {},
          .run = run};
}

}  // namespace kitgap
