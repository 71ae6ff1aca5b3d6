#pragma once

#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "job/record.h"
#include "job/state.h"
#include "need/car.h"
#include "supply/reading.h"
#include "text/diagnostics.h"

namespace kitgap {

// Plain files of a person as entries of a job: every row is taken, or set aside with the reason.

struct Intake {
  std::vector<Entry> entries;
  std::vector<std::string> remarks;  // what was found out about the file: delimiter, columns not used, totals
  std::size_t rows = 0;              // of the file
  std::size_t used = 0;
  struct SetAside {
    std::uint32_t line;
    std::string reason;
  };
  std::vector<SetAside> set_aside;  // but for headers and blank rows
};
// A list replaces the one before it; stock and order lines are known by file and line, so that taking a file anew
// replaces its lines and leaves those of other files. Rows are kept as `cells_of` gives them. Nothing, reported, when the
// file is no table.
[[nodiscard]] std::optional<Intake> entries_of_list(const std::filesystem::path& path, JobTable table, const std::string& car,
                                                    const RenamedColumns& renamed, const std::string& sheet, Sources& sources,
                                                    Diagnostics& diagnostics);
// Rows that `read_found` reads, cells as typed.
[[nodiscard]] std::optional<Intake> entries_of_found(const std::filesystem::path& path, const std::string& car, const Rules& rules,
                                                     const RenamedColumns& renamed, const std::string& sheet, Sources& sources,
                                                     Diagnostics& diagnostics);
// The names of columns that `standing` does not remember yet for that table.
[[nodiscard]] std::vector<Entry> entries_of_columns(JobTable table, const RenamedColumns& given, std::span<const Record> standing);

// A car as read, as entries under `name`: the car, its facts, its dates. `look` says where the facts are from.
void add_car(const Car& car, const Rules& rules, const std::string& name, const std::string& look, std::vector<Entry>& entries);

}  // namespace kitgap
