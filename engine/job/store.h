#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "job/record.h"

namespace kitgap {

// The job file: one SQLite file that holds months of work, and outlives kill -9, a full disk and two writers.
//
// * Records are only added. Each car's records, and those that its cars share, form a chain of hashes; a seal covers
//   the chains. Whatever is read is checked against them first, so a changed record is never taken for a good one.
//   (SQLite's own integrity check finds about half of single flipped bits. The hashes have no key: they find
//   accidents, not a person who means to deceive.)
// * A command is one transaction: all of it or nothing. When `add_records` returns, it is on the disk.
// * Rollback journal with synchronous EXTRA, not a write-ahead log: after each command the job is one file, which can
//   be read in a read-only folder and over a network; and a write-ahead log that gets lost takes acknowledged
//   records with it unnoticed, while a lost rollback journal leaves pages that do not fit together, which the
//   chains find.
// * Before a writing command changes anything, the whole file is checked; a damaged file is never written to.
// * After each writing command `FILE.backup` is brought up to date and read back (see `Saved::backup`).

// The request is wrong, not the machine: no job file, made by a newer kitgap, a car that is not in it. Exit status 2.
struct JobRefused {
  std::string says;  // as a diagnostic: lower case, no full stop; further lines say what to do
};
// Other failures throw MachineFailure (text/file.h): locked, full, damaged. It says what is intact and what to do.

struct JobOptions {
  const char* vfs = nullptr;     // SQLite's file layer; tests put a faulty one in between
  int wait_milliseconds = 5000;  // for another program that holds the file
  // Above this many bytes the backup is renewed by the day, not by the command.
  std::uint64_t most_bytes_for_backup_each_time = 16'000'000;
  bool keep_backup = true;
};

// What a job file holds. `cars` are all cars in the file, in byte order, whichever were asked for.
struct JobContents {
  std::string identity;  // of this job, the same in its backups
  int version = 0;
  std::int64_t commands = 0;
  std::string seal;      // changes with every command; equal seals mean equal content
  std::vector<std::string> cars;
  std::vector<Record> records;  // by id
};

// Makes a job file with no records. JobRefused when something is there already.
void create_job(const std::filesystem::path& path, const JobOptions& options = {});

// Reads the records that all cars share, and those of `cars` (of all when empty; a car that is not there is refused
// with the nearest name). Costs what it reads, not what the file holds. The file is not changed, not even to finish
// what a killed command left behind.
[[nodiscard]] JobContents read_job(const std::filesystem::path& path, std::span<const std::string> cars = {},
                                   const JobOptions& options = {});

struct Saved {
  std::vector<std::int64_t> ids;   // of the entries, in order
  std::optional<std::string> backup_failed;  // the command is saved, but `FILE.backup` could not be renewed, and why
};
// One command: all entries, or none. A car is made by its first record. Refused (JobRefused) when an entry corrects
// a record that is not there, of another car or kind, or already corrected, or lacks a needed cell; or when `seal` is
// given and the file has changed since it was read.
Saved add_records(const std::filesystem::path& path, std::span<const Entry> entries, const Stamp& stamp,
                  const JobOptions& options = {}, const std::optional<std::string>& seal = {});

// Checks every page, every record, every chain and the backup. Nothing is changed.
struct Verification {
  std::int64_t records = 0;
  std::int64_t cars = 0;
  std::vector<std::string> damages;  // empty: the file is whole
};
[[nodiscard]] Verification verify_job(const std::filesystem::path& path, const JobOptions& options = {});

// A compact copy of the file as it stands, also while others use it; read back and compared before it takes its
// name. An earlier file of that name is replaced only by a good one.
void back_up_job(const std::filesystem::path& path, const std::filesystem::path& backup, const JobOptions& options = {});
// Puts a backup in the file's place after checking it wholly; the file that was there is kept beside it. Returns where.
std::optional<std::filesystem::path> restore_job(const std::filesystem::path& path,
                                                 const std::filesystem::path& backup, const JobOptions& options = {});
std::filesystem::path backup_of(const std::filesystem::path& path);  // FILE.backup

// The whole job as it was at the end of that day (UTC): the commands up to the last of that day, sealed anew. Contents of a
// read without cars only.
[[nodiscard]] JobContents job_at(const JobContents& contents, std::string_view day);

// Makes a job file with exactly these records (an import): ids, times and all. They must form the chains that the
// seal names, else JobRefused.
void rebuild_job(const std::filesystem::path& path, const JobContents& contents, const JobOptions& options = {});

}  // namespace kitgap
