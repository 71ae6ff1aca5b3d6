#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "text/person_table.h"

namespace kitgap {

// Reads one sheet of an XLSX workbook whose bytes are in `sources`. A damaged, encrypted or hostile workbook
// is refused whole. Loads the zip module on first use.
[[nodiscard]] std::optional<PersonTable> read_sheet(SourceId workbook, const PersonTableOptions& options,
                                                    Sources& sources, Diagnostics& diagnostics);

// The first part of a workbook just written whose XML stops before its end; nothing when the workbook is whole. What
// puts it together keeps parts in files of its own meanwhile and does not tell when their disk is full.
std::optional<std::string> unfinished_part(std::string_view workbook);

}  // namespace kitgap
