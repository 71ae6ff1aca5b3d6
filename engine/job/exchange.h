#pragma once

#include <filesystem>
#include <optional>
#include <span>
#include <string>

#include "job/store.h"
#include "text/diagnostics.h"

namespace kitgap {

// A job in forms that need no program of ours: one JSON file (`job/1`, data/schema), or a folder of CSV files, one per
// kind of record and `job.csv` with what holds them together. Either gives back a job of equal content: the same
// records, times and hashes, and so the same seal.

std::string job_json(const JobContents& contents);
// Writes `job.json` and the CSV files into the folder, which is made if it is not there; each file as a whole or not
// at all. Throws MachineFailure.
void export_job(const JobContents& contents, const std::filesystem::path& folder);
// Reads a `job.json`, or a folder of an export (its JSON, or its CSV files where that is taken out). Whether the
// records fit their seal is found by `rebuild_job`.
[[nodiscard]] std::optional<JobContents> read_export(const std::filesystem::path& path, Sources& sources, Diagnostics& diagnostics);

// Every record of these, in order, with what it corrects and what corrected it.
std::string history_text(std::span<const Record> records);
std::string history_json(std::span<const Record> records);
std::string history_csv(std::span<const Record> records);  // the cells in one column: `fact=body style; value=estate`

}  // namespace kitgap
