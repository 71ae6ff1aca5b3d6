#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "commands.h"
#include "report/workbook.h"

namespace kitgap {

// How a result is written and where it goes: `--format`, `--out FILE`.
struct Output {
  std::string format;
  std::optional<std::string> path;  // none: standard output

  bool is(std::string_view wanted) const { return format == wanted; }
  // Of the page that a text is laid out for.
  int width(const Terminal& terminal) const { return path ? 80 : terminal.width(); }
  bool has_colour(const Terminal& terminal) const { return !path && terminal.has_colour(); }
};

Option out_option();
// The format is that of `--format`, else that of the ending of `--out`, else the first of `allowed`. Nothing, said, when
// it is none of them, or when a workbook would go to a terminal.
std::optional<Output> output_of(const Arguments& arguments, const std::vector<std::string>& allowed, Terminal& terminal);
// Seconds to the microsecond, for `--timings`.
std::string seconds_text(double value);
// Prints it, or writes the file beside, synced and renamed.
void deliver(const Output& output, std::string_view bytes, Terminal& terminal);
// The two formats that are tables: the first sheet as CSV, or the whole workbook.
void deliver_workbook(const Output& output, const Workbook& workbook, Terminal& terminal);

}  // namespace kitgap
