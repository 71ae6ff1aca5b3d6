#include "tables.h"

#include <algorithm>
#include <filesystem>

#include "text/file.h"
#include "text/person_table.h"

namespace kitgap {

std::vector<Option> table_options() {
  return {{"--columns", "THEIRS=OURS", "a column of your files under another name, `,` between", false, true},
          {"--sheet", "NAME|FILE=NAME", "the sheet of a workbook; else the first visible one that names your columns", false, true}};
}

std::string sheet_of(const std::string& path, const std::vector<std::string>& sheets) {
  std::string sheet;
  const std::string file = std::filesystem::path(path).filename().string();
  for (const std::string& entry : sheets) {
    const std::size_t equals = entry.find('=');
    const std::string before = entry.substr(0, equals);
    if (equals != std::string::npos && (before == path || before == file)) return entry.substr(equals + 1);
    if (equals == std::string::npos || !is_there(before)) sheet = entry;
  }
  return sheet;
}

std::optional<RenamedColumns> columns_of(const Arguments& arguments, Terminal& terminal) {
  RenamedColumns pairs;
  for (const std::string& value : arguments.values("--columns")) {
    std::string_view rest = value;
    while (!rest.empty()) {
      const std::size_t end = rest.find(',');
      const std::string_view pair = rest.substr(0, end);
      rest = end == std::string_view::npos ? std::string_view{} : rest.substr(end + 1);
      const std::size_t equals = pair.find('=');
      if (equals == std::string_view::npos) {
        terminal.say("kitgap: `--columns` takes `theirs=ours`, not `" + printable(pair) + "`\n");
        return std::nullopt;
      }
      pairs.emplace_back(pair.substr(0, equals), pair.substr(equals + 1));
    }
  }
  return pairs;
}

void say_rows(const FileRows& rows, const std::vector<RowAside>& aside, Terminal& terminal) {
  constexpr std::size_t kMostReasons = 50;
  std::string says = printable(rows.file) + ": " + in_words(rows) + "\n";
  for (std::size_t index = 0; index < std::min(aside.size(), kMostReasons); ++index) {
    says += "  line " + std::to_string(aside[index].line) + ": " + printable(aside[index].reason) + "\n";
  }
  if (aside.size() > kMostReasons) says += "  and " + std::to_string(aside.size() - kMostReasons) + " more rows\n";
  terminal.say(says);
}

void say_rows(const ReadList& list, Terminal& terminal) {
  std::vector<RowAside> aside;
  for (const ReadLine& line : list.lines) {
    const bool is_silent = line.set_aside.empty() || line.is_blank || line.set_aside == reason_of(RowKind::Header);
    if (!is_silent) aside.push_back({.line = line.line, .reason = line.set_aside});
  }
  say_rows({.file = list.file, .read = list.lines.size(), .used = list.used}, aside, terminal);
}

void say_rows(const Found& found, Terminal& terminal) {
  std::vector<RowAside> aside;
  for (const Found::SetAside& row : found.set_aside) {
    if (!row.is_silent) aside.push_back({.line = row.line, .reason = row.reason});
  }
  say_rows({.file = found.file, .read = found.records.size() + found.set_aside.size(), .used = found.records.size()}, aside, terminal);
}

void say_intake(const std::string& path, const Intake& intake, Terminal& terminal) {
  for (const std::string& remark : intake.remarks) {
    if (remark.starts_with("not used") || remark.starts_with("line ") || remark.starts_with("`")) terminal.say(printable(path) + ": " + printable(remark) + "\n");
  }
  std::vector<RowAside> aside;
  for (const Intake::SetAside& row : intake.set_aside) aside.push_back({.line = row.line, .reason = row.reason});
  say_rows({.file = path, .read = intake.rows, .used = intake.used}, aside, terminal);
}

}  // namespace kitgap
