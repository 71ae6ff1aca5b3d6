#include "stated_facts.h"

#include "text/csv.h"
#include "text/file.h"

namespace kitgap {

std::optional<std::string> stated_facts(const std::vector<std::string>& stated, const std::string& command, Terminal& terminal) {
  std::string csv = "fact,value\n";
  for (const std::string& text : stated) {
    const std::size_t equals = text.find('=');
    if (equals == std::string::npos || equals == 0) {
      terminal.say("kitgap " + command + ": `--with` takes `FACT=VALUE`" + (command == "years" ? " or `FACT=TEST`" : "") + ", not `" + printable(text) + "`\n");
      return std::nullopt;
    }
    append_csv_cell(csv, text.substr(0, equals));
    csv += ',';
    append_csv_cell(csv, text.substr(equals + 1));
    csv += '\n';
  }
  return csv;
}

}  // namespace kitgap
