#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "job/record.h"
#include "job/state.h"
#include "text/diagnostics.h"

namespace kitgap {

// Plain files of a person as entries of a job. Cells are recorded as typed: the readers of LIST, STOCK, ORDER and
// FOUND read them from the job just as from the file. Rows that are no lines (blank, totals, headings) are left out.

struct Intake {
  std::vector<Entry> entries;
  std::vector<std::uint32_t> lines;    // of the file, per entry
  std::vector<std::string> remarks;    // columns not used, synonyms taken
};
// A list replaces the one before it; stock and order lines are known by file and line, so that taking a file anew
// replaces its lines and leaves those of other files. Nothing, reported, when the file is no table.
[[nodiscard]] std::optional<Intake> entries_of_table(const std::filesystem::path& path, JobTable table, const std::string& car,
                                                     const std::vector<std::pair<std::string, std::string>>& renamed,
                                                     Sources& sources, Diagnostics& diagnostics);

// The counts of a job as rows of a `needs` table, for the next person with this car: what was counted in the shell or
// on the old part, per parent and position, with who counted it and when as the source.
std::string counts_as_needs(std::span<const Record> standing, std::string_view car);

}  // namespace kitgap
