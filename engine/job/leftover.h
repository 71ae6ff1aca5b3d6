#pragma once

#include <filesystem>
#include <optional>
#include <string>

#include "job/store.h"

namespace kitgap {

// What can be known of a job file before SQLite opens it, which may change it.

// Refuses what is no job file, and a newer kitgap's (JobRefused); throws MachineFailure for a file that is not there,
// may not be read, or has a damaged header. Reads the first 100 bytes only. Returns the version.
int check_header(const std::filesystem::path& path);

// `4242 (kitgap)`: the process that holds a lock on the file; nothing when none does, or it is this one.
std::optional<std::string> holder_of(const std::filesystem::path& path);

// The rollback journal of a command that was killed is left beside the file, and no program is writing now.
bool has_leftover_journal(const std::filesystem::path& path);

// The file and its leftover journal, copied to a folder of their own that goes away with this. SQLite may finish
// the killed command there; a journal that belongs to another file, or is damaged, then does no harm.
class TrialCopy {
 public:
  explicit TrialCopy(const std::filesystem::path& path);
  ~TrialCopy();
  TrialCopy(const TrialCopy&) = delete;
  TrialCopy& operator=(const TrialCopy&) = delete;
  const std::filesystem::path& path() const { return path_; }
  const std::filesystem::path& without_journal() const { return bare_; }

 private:
  std::filesystem::path folder_;
  std::filesystem::path path_;
  std::filesystem::path bare_;  // the file alone, as it lies
};

std::filesystem::path journal_of(const std::filesystem::path& path);  // FILE-journal

}  // namespace kitgap
