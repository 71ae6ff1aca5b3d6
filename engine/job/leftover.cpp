#include "job/leftover.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>
#include <fstream>
#include <new>

#include "job/schema.h"
#include "text/file.h"
#include "text/open_file.h"

namespace kitgap {
namespace {

namespace fs = std::filesystem;

// SQLite's lock bytes, at 1 GiB in the file (SQLite, "Database File Format" 1.2.14 and os.h).
constexpr off_t kPendingByte = 0x40000000;
constexpr off_t kReservedByte = kPendingByte + 1;
constexpr off_t kLockBytes = 512;

std::string named(const fs::path& path) { return "`" + path.string() + "`"; }

std::optional<pid_t> locked_by(const fs::path& path, off_t begin, off_t length) {
  const OpenFile file(path.c_str(), O_RDONLY | O_NONBLOCK);
  if (file.number() < 0) return std::nullopt;
  struct flock lock {};
  lock.l_type = F_WRLCK;
  lock.l_whence = SEEK_SET;
  lock.l_start = begin;
  lock.l_len = length;
  if (::fcntl(file.number(), F_GETLK, &lock) != 0 || lock.l_type == F_UNLCK) return std::nullopt;
  return lock.l_pid;
}

void check_is_regular(const fs::path& path) {
  struct stat about {};
  if (::stat(path.c_str(), &about) != 0) {
    if (errno == ENOENT || errno == ENOTDIR) {
      throw JobRefused{"there is no job file " + named(path) + "\n`kitgap start --job FILE` makes one"};
    }
    throw MachineFailure{named(path) + " cannot be looked at: " + std::strerror(errno)};
  }
  if (!S_ISREG(about.st_mode)) {
    throw JobRefused{named(path) + " is " + (S_ISDIR(about.st_mode) ? "a folder" : "no regular file") + ", not a job file"};
  }
}

}  // namespace

fs::path journal_of(const fs::path& path) { return path.string() + "-journal"; }

int check_header(const fs::path& path) {
  check_is_regular(path);
  const OpenFile file(path.c_str(), O_RDONLY | O_NONBLOCK);
  if (file.number() < 0) throw MachineFailure{named(path) + " may not be read: " + std::strerror(errno)};
  std::array<unsigned char, 100> header{};
  const ssize_t got = ::pread(file.number(), header.data(), header.size(), 0);
  if (got < 0) throw MachineFailure{named(path) + " cannot be read: " + std::strerror(errno)};
  const auto word = [&](std::size_t at) {
    return static_cast<std::uint32_t>(header[at]) << 24 | static_cast<std::uint32_t>(header[at + 1]) << 16 |
           static_cast<std::uint32_t>(header[at + 2]) << 8 | static_cast<std::uint32_t>(header[at + 3]);
  };
  const bool has_magic = std::memcmp(header.data(), "SQLite format 3", 16) == 0;
  const bool is_ours = word(68) == kJobApplicationId;
  if (got < static_cast<ssize_t>(header.size()) || (!has_magic && !is_ours)) {
    throw JobRefused{named(path) + " is no job file, or nothing is left of it\n" +
                     "if it was one: kitgap job restore " + path.string()};
  }
  if (has_magic && !is_ours) {
    throw JobRefused{named(path) + " is a database, but no job file of kitgap, or its first page is damaged\n" +
                     "if it was one: kitgap job restore " + path.string()};
  }
  // Bytes 18 and 19: 1 for a rollback journal. A flipped bit there would make SQLite look for a write-ahead log.
  if (!has_magic || header[18] != 1 || header[19] != 1) {
    throw MachineFailure{named(path) + " is damaged: its first page was changed; nothing was written\n" +
                         "put the last good state back: kitgap job restore " + path.string()};
  }
  const std::uint32_t version = word(60);
  if (version > static_cast<std::uint32_t>(kJobVersion)) {
    throw JobRefused{named(path) + " was made by a newer kitgap (form " + std::to_string(version) +
                     "; this one knows forms up to " + std::to_string(kJobVersion) +
                     ")\nthe file was not touched; use the newer kitgap"};
  }
  return static_cast<int>(version);
}

std::optional<std::string> holder_of(const fs::path& path) {
  const std::optional<pid_t> process = locked_by(path, kPendingByte, kLockBytes);
  if (!process) return std::nullopt;
  std::ifstream name("/proc/" + std::to_string(*process) + "/comm");
  std::string word;
  std::getline(name, word);
  return std::to_string(*process) + (word.empty() ? "" : " (" + printable(word) + ")");
}

bool has_leftover_journal(const fs::path& path) {
  std::error_code ignored;
  const auto size = fs::file_size(journal_of(path), ignored);
  if (ignored || size == 0) return false;
  return !locked_by(path, kReservedByte, 1).has_value();
}

TrialCopy::TrialCopy(const fs::path& path) {
  std::error_code error;
  std::string folder = (fs::temp_directory_path(error) / "kitgap-XXXXXX").string();
  if (error || ::mkdtemp(folder.data()) == nullptr) {
    throw MachineFailure{"no folder for a temporary copy of " + named(path) + " can be made; nothing was changed"};
  }
  folder_ = folder;
  path_ = folder_ / "copy";
  bare_ = folder_ / "bare";
  fs::copy_file(path, path_, error);
  if (!error) fs::copy_file(path_, bare_, error);
  if (!error) fs::copy_file(journal_of(path), journal_of(path_), error);
  // Gone since: another program has just finished the killed command. The copy is judged by its hashes all the same.
  if (error && error != std::errc::no_such_file_or_directory) {
    std::error_code ignored;
    fs::remove_all(folder_, ignored);
    throw MachineFailure{named(path) + " cannot be copied to look at it: " + error.message() + "; nothing was changed"};
  }
}

TrialCopy::~TrialCopy() {
  try {
    std::error_code ignored;
    std::filesystem::remove_all(folder_, ignored);
  } catch (const std::bad_alloc&) {  // the copy stays behind
  }
}

}  // namespace kitgap
