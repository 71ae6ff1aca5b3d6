#pragma once

#include <span>
#include <string>
#include <vector>

#include "job/database.h"
#include "job/record.h"
#include "job/store.h"

namespace kitgap {

// The records of an open job file, and the hashes that hold them together. All of these run inside the caller's
// transaction and throw DatabaseFault (Damaged) when what they read does not fit its hashes.

// The shared records and those of `cars`, all cars when empty. A car that is not there throws JobRefused.
JobContents read_contents(Database& database, std::span<const std::string> cars);

// Identity and number of commands, unchecked: also of a file whose last command was killed half-way.
JobContents read_identity(Database& database);

// Every page, every record, every chain; what is there.
JobContents check_everything(Database& database);

// Adds the entries as one command and seals. `contents` is the whole file as `read_contents` gave it, and is brought
// up to date; returns the ids.
std::vector<std::int64_t> append_entries(Database& database, JobContents& contents, std::span<const Entry> entries,
                                         const Stamp& stamp);

// Writes records as they are, with their ids; for an import into an empty file.
void append_records(Database& database, const JobContents& contents);

// An empty file's seal; or the seal anew after a migration.
void write_seal(Database& database, const JobContents& contents);

}  // namespace kitgap
