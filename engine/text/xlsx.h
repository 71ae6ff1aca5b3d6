#pragma once

#include <optional>

#include "text/person_table.h"

namespace kitgap {

// Reads one sheet of an XLSX workbook whose bytes are in `sources`. A damaged, encrypted or hostile workbook
// is refused whole. Loads the zip module on first use.
[[nodiscard]] std::optional<PersonTable> read_sheet(SourceId workbook, const PersonTableOptions& options,
                                                    Sources& sources, Diagnostics& diagnostics);

}  // namespace kitgap
