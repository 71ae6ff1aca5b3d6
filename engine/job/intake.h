#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "job/record.h"
#include "job/state.h"
#include "need/car.h"
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

// A car as read, as entries under `name`: the car, its facts, its dates. `look` says where the facts are from.
void add_car(const Car& car, const Rules& rules, const std::string& name, const std::string& look, std::vector<Entry>& entries);

}  // namespace kitgap
