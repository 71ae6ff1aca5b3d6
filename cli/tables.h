#pragma once

#include <optional>
#include <string>
#include <vector>

#include "commands.h"
#include "job/intake.h"
#include "report/rows.h"

namespace kitgap {

// The options of commands that read a person's tables, and what is said of the rows of each file.

// The sheet of `path` among what `--sheet` says: `NAME`, or `FILE=NAME`.
std::string sheet_of(const std::string& path, const std::vector<std::string>& sheets);
// What `--columns` says: `theirs=ours`, commas between. Nothing, said, when an entry has no `=`.
std::optional<RenamedColumns> columns_of(const Arguments& arguments, Terminal& terminal);
std::vector<Option> table_options();  // --columns, --sheet
// How the rows of a file of a person add up, on standard error, and why each was set aside that is more than a header or blank.
struct RowAside {
  std::uint32_t line;
  std::string reason;
};
void say_rows(const FileRows& rows, const std::vector<RowAside>& aside, Terminal& terminal);
void say_rows(const ReadList& list, Terminal& terminal);
void say_rows(const Found& found, Terminal& terminal);
void say_intake(const std::string& path, const Intake& intake, Terminal& terminal);

}  // namespace kitgap
