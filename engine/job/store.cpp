#include "job/store.h"

#include <dirent.h>
#include <fcntl.h>
#include <signal.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <fstream>
#include <iterator>
#include <memory>
#include <new>
#include <random>
#include <set>
#include <system_error>

#include "job/chains.h"
#include "job/database.h"
#include "job/leftover.h"
#include "job/schema.h"
#include "text/ascii.h"
#include "text/file.h"
#include "text/utf8.h"

namespace kitgap {
namespace {

namespace fs = std::filesystem;
using Access = DatabaseOptions::Access;

constexpr std::size_t kMostCellBytes = 100'000;

std::string named(const fs::path& path) { return "`" + path.string() + "`"; }

std::string restore_hint(const fs::path& path) {
  std::error_code ignored;
  const std::string command = "kitgap job restore " + path.string();
  if (fs::exists(backup_of(path), ignored)) {
    return "put the last good state back: " + command + "\nthe damaged file is kept beside it";
  }
  return "put a backup of yours back: " + command + " --from BACKUP\nthe damaged file is kept beside it";
}

[[noreturn]] void rethrow(const fs::path& path, const DatabaseFault& fault, const JobOptions& options) {
  using Kind = DatabaseFault::Kind;
  switch (fault.kind) {
    case Kind::Busy: {
      const auto holder = holder_of(path);
      throw MachineFailure{named(path) + " is in use" + (holder ? " by process " + *holder : "") + "; waited " +
                           std::to_string(options.wait_milliseconds / 1000) + " s, nothing was changed\n" +
                           "try again when that program is done"};
    }
    case Kind::Full:
      throw MachineFailure{"the disk has no room left for " + named(path) +
                           "; nothing of this command was saved, all that was saved before is intact\n" +
                           "make room and try again"};
    case Kind::Damaged:
      throw MachineFailure{named(path) + " is damaged: " + fault.says + "; nothing was written\n" + restore_hint(path)};
    case Kind::ReadOnly:
      throw MachineFailure{named(path) + " or its folder may not be written to; nothing was saved\n" +
                           "allow writing to both, or copy the file to a folder of your own"};
    case Kind::CannotOpen:
      throw MachineFailure{named(path) + " or the journal beside it cannot be opened (" + fault.says +
                           "); nothing was changed\n" + "a job needs a folder that may be written to"};
    case Kind::InputOutput:
    case Kind::Refused: break;
  }
  throw MachineFailure{"the disk failed at " + named(path) + " (" + fault.says +
                       "); all that was saved before is intact\n`kitgap job history " + path.string() + "` shows whether this command was saved too"};
}

// Runs `work`, and says of a database fault what is intact and what to do.
template <class Work>
auto guarded(const fs::path& path, const JobOptions& options, const Work& work) {
  try {
    return work();
  } catch (const DatabaseFault& fault) {
    rethrow(path, fault, options);
  }
}

DatabaseOptions database_options(Access access, const JobOptions& options) {
  return {.access = access, .vfs = options.vfs, .wait_milliseconds = options.wait_milliseconds};
}

JobContents read_at(const fs::path& path, std::span<const std::string> cars, Access access, const JobOptions& options) {
  Database database(path, database_options(access, options));
  Transaction transaction(database, Transaction::Kind::Read);
  JobContents contents = read_contents(database, cars);
  transaction.commit();
  return contents;
}

void check_at(const fs::path& path, Access access, const JobOptions& options) {
  Database database(path, database_options(access, options));
  Transaction transaction(database, Transaction::Kind::Read);
  (void)check_everything(database);
  transaction.commit();
}

// Another program may finish or begin a command while we look; then a second look is right.
constexpr int kLooks = 3;

bool holds_text(const fs::path& path, const std::string& text) {
  std::ifstream file(path, std::ios::binary);
  const std::string bytes{std::istreambuf_iterator<char>(file), {}};
  return bytes.find(text) != std::string::npos;
}

// The copy with what its journal restores must be whole, and the same job at most one command back. (A journal of
// another job of the same shape can hold all pages that matter, and would turn this file into that one. Where the file
// alone cannot be read, its bytes must still hold the job's identity.)
void check_trial(const TrialCopy& copy, const JobOptions& options) {
  std::optional<JobContents> as_it_lies;
  try {
    Database database(copy.without_journal(), database_options(Access::Read, options));
    as_it_lies = read_identity(database);
  } catch (const DatabaseFault& fault) {
    if (fault.kind != DatabaseFault::Kind::Damaged) throw;  // a power cut may tear pages that the journal makes good
  }
  check_at(copy.path(), Access::Write, options);
  Database database(copy.path(), database_options(Access::Read, options));
  const JobContents recovered = read_identity(database);
  const bool is_same = as_it_lies ? recovered.identity == as_it_lies->identity && recovered.commands <= as_it_lies->commands &&
                                        recovered.commands + 1 >= as_it_lies->commands
                                  : holds_text(copy.without_journal(), recovered.identity);
  if (!is_same) throw DatabaseFault{DatabaseFault::Kind::Damaged, "what its journal would restore is another state"};
}

// What a killed command left beside the file must make it whole; if it does not, nothing is touched. `work` gets the
// copy in which SQLite has finished the killed command.
template <class Work>
auto with_trial(const fs::path& path, const JobOptions& options, const Work& work) {
  for (int look = 1;; ++look) {
    try {
      const TrialCopy copy(path);
      check_trial(copy, options);
      return work(copy.path());
    } catch (const DatabaseFault& fault) {
      const bool is_still_there = has_leftover_journal(path);
      if (fault.kind != DatabaseFault::Kind::Damaged || (is_still_there && look == kLooks)) {
        throw DatabaseFault{fault.kind, fault.says + ", with the journal `" + journal_of(path).string() +
                                            "` that lies beside it, which may be another file's"};
      }
      if (!is_still_there) return work(path);  // another program has finished it
      ::usleep(20'000);
    }
  }
}

void check_leftover_journal(const fs::path& path, const JobOptions& options) {
  if (has_leftover_journal(path)) with_trial(path, options, [](const fs::path&) {});
}

void sync_path(const fs::path& path) {
  const int file = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  if (file < 0) throw MachineFailure{named(path) + " cannot be opened: " + std::strerror(errno)};
  const int failed = ::fsync(file);
  const int reason = errno;
  ::close(file);
  if (failed != 0) throw MachineFailure{named(path) + " cannot be brought to the disk: " + std::strerror(reason)};
}

fs::path folder_of(const fs::path& path) { return path.has_parent_path() ? path.parent_path() : fs::path("."); }

void rename_file(const fs::path& from, const fs::path& to) {
  std::error_code error;
  fs::rename(from, to, error);
  if (error) throw MachineFailure{named(from) + " cannot be renamed to " + named(to) + ": " + error.message()};
  sync_path(folder_of(to));
}

// A file beside `path` that is being made, and goes away unless it takes its name.
class Unfinished {
 public:
  explicit Unfinished(const fs::path& path) : path_(path.string() + ".new-" + std::to_string(::getpid())), journal_(journal_of(path_)) { remove(); }
  ~Unfinished() { remove(); }
  Unfinished(const Unfinished&) = delete;
  Unfinished& operator=(const Unfinished&) = delete;
  const fs::path& path() const { return path_; }

 private:
  // Asks for no memory, which may be out.
  void remove() const {
    ::unlink(path_.c_str());
    ::unlink(journal_.c_str());
  }
  fs::path path_, journal_;
};

// What a killed command was making goes away with the next one.
void remove_abandoned(const fs::path& path) {
  const std::string begin = path.filename().string() + ".new-";
  // Not the library's iterator, which ends the program where memory is out.
  const std::unique_ptr<DIR, int (*)(DIR*)> folder(::opendir(folder_of(path).c_str()), ::closedir);
  for (const dirent* entry = folder ? ::readdir(folder.get()) : nullptr; entry != nullptr; entry = ::readdir(folder.get())) {
    const std::string name = entry->d_name;
    if (!name.starts_with(begin)) continue;
    const std::string process = name.substr(begin.size(), name.find('-', begin.size()) - begin.size());
    const bool is_number = !process.empty() && std::ranges::all_of(process, is_digit);
    if (is_number && process.size() < 10 && ::kill(static_cast<pid_t>(std::stol(process)), 0) != 0 && errno == ESRCH) {
      ::unlink((folder_of(path) / name).c_str());
    }
  }
}

std::string new_identity() {
  std::random_device random;
  std::string identity;
  for (int digit = 0; digit < 32; ++digit) identity.push_back("0123456789abcdef"[random() % 16]);
  return identity;
}

void make_empty(Database& database, JobContents& contents) {
  make_schema(database, contents.version);
  write_seal(database, contents);
}

// Makes the file under another name, so that a killed command leaves no half job behind.
void create_with(const fs::path& path, const JobContents& contents, const JobOptions& options) {
  std::error_code ignored;
  if (fs::exists(fs::symlink_status(path, ignored))) {
    throw JobRefused{named(path) + " is there already\nname another file, or work on with this one"};
  }
  if (fs::exists(journal_of(path), ignored)) {
    throw JobRefused{named(journal_of(path)) + " is the journal of a job file that is gone; move it away first"};
  }
  if (!fs::is_directory(folder_of(path), ignored)) {
    throw JobRefused{"there is no folder " + named(folder_of(path)) + " to put the job file in"};
  }
  const Unfinished made(path);
  guarded(path, options, [&] {
    Database database(made.path(), database_options(Access::Create, options));
    Transaction transaction(database, Transaction::Kind::Write);
    JobContents empty = contents;
    make_empty(database, empty);
    if (!contents.records.empty()) append_records(database, contents);
    transaction.commit();
  });
  // Only a name that is still free is taken.
  if (::link(made.path().c_str(), path.c_str()) != 0) {
    if (errno == EEXIST) throw JobRefused{named(path) + " is there already"};
    rename_file(made.path(), path);
  }
  sync_path(folder_of(path));
}

void check_entries(std::span<const Entry> entries, const JobContents& contents) {
  std::set<std::int64_t> corrected;
  for (const Record& record : contents.records) {
    if (record.corrects) corrected.insert(*record.corrects);
  }
  const KindIndex withdrawal = record_kind_of("withdrawal");
  for (const Entry& entry : entries) {
    const RecordKind& kind = record_kinds()[entry.kind];
    const bool is_withdrawal = entry.kind == withdrawal;
    if (!is_withdrawal && kind.is_of_car == entry.car.empty()) {
      throw JobRefused{"a record of `" + std::string(kind.word) + "` " + (kind.is_of_car ? "needs a car" : "belongs to no car")};
    }
    if (is_withdrawal && !entry.corrects) throw JobRefused{"name the record that is taken back"};
    for (std::size_t column = 0; column < kind.columns.size(); ++column) {
      const std::string& cell = entry.cells[column];
      const bool is_needed = std::ranges::find(kind.needed, kind.columns[column]) != kind.needed.end();
      if (is_needed && cell.empty()) {
        throw JobRefused{"a record of `" + std::string(kind.word) + "` needs `" + std::string(kind.columns[column]) + "`"};
      }
      if (cell.size() > kMostCellBytes || cell.find('\0') != std::string::npos || !is_utf8(cell)) {
        throw JobRefused{"`" + std::string(kind.columns[column]) + "` is no text of at most 100,000 bytes of UTF-8"};
      }
    }
    if (!entry.corrects) continue;
    const std::int64_t id = *entry.corrects;
    if (id < 1 || id > static_cast<std::int64_t>(contents.records.size())) {
      throw JobRefused{"there is no record " + std::to_string(id) + " to correct\n`kitgap job history FILE` lists them"};
    }
    const Record& old = contents.records[static_cast<std::size_t>(id - 1)];
    if (old.car != entry.car || (!is_withdrawal && old.kind != entry.kind)) {
      throw JobRefused{"record " + std::to_string(id) + " is a `" + std::string(record_kinds()[old.kind].word) + "`" +
                       (old.car.empty() ? "" : " of `" + old.car + "`") + "; a correction is of the same kind and car"};
    }
    if (!corrected.insert(id).second) throw JobRefused{"record " + std::to_string(id) + " is already corrected; correct the later one"};
  }
}

// Keeps the older form beside the file before it is brought up to date.
void migrate(const fs::path& path, int version, const JobOptions& options) {
  back_up_job(path, path.string() + ".form-" + std::to_string(version), options);
  guarded(path, options, [&] {
    Database database(path, database_options(Access::Write, options));
    Transaction transaction(database, Transaction::Kind::Write);
    const auto now = static_cast<int>(database.integer("PRAGMA user_version"));
    if (now < kJobVersion) {  // else another program was faster
      JobContents contents = check_everything(database);
      migrate_schema(database, now, kJobVersion);
      contents.version = kJobVersion;
      write_seal(database, contents);
    }
    transaction.commit();
  });
}

// The day of the newest record of the backup, or nothing when it cannot be read.
std::string last_day_of(const fs::path& backup, const JobOptions& options) {
  try {
    const JobContents contents = read_at(backup, {}, Access::Read, options);
    std::string day;
    for (const Record& record : contents.records) day = std::max(day, record.at.substr(0, 10));
    return day;
  } catch (const DatabaseFault&) {
    return {};
  }
}

void renew_backup(const fs::path& path, const Stamp& stamp, const JobOptions& options, Saved& saved) {
  try {
    std::error_code ignored;
    const auto size = fs::file_size(path, ignored);
    if (size > options.most_bytes_for_backup_each_time && fs::exists(backup_of(path), ignored) &&
        last_day_of(backup_of(path), options) >= stamp.at.substr(0, 10)) {
      return;
    }
    back_up_job(path, backup_of(path), options);
  } catch (const MachineFailure& failure) {
    saved.backup_failed = failure.says;
  } catch (const std::bad_alloc&) {
    saved.backup_failed = "out of memory";
  }
}

}  // namespace

fs::path backup_of(const fs::path& path) { return path.string() + ".backup"; }

void create_job(const fs::path& path, const JobOptions& options) {
  JobContents contents;
  contents.identity = new_identity();
  contents.version = kJobVersion;
  create_with(path, contents, options);
}

void rebuild_job(const fs::path& path, const JobContents& contents, const JobOptions& options) {
  create_with(path, contents, options);
}

JobContents read_job(const fs::path& path, std::span<const std::string> cars, const JobOptions& options) {
  check_header(path);
  const auto read = [&](const fs::path& file) { return read_at(file, cars, Access::Read, options); };
  return guarded(path, options, [&] {
    for (int look = 1;; ++look) {
      try {
        return has_leftover_journal(path) ? with_trial(path, options, read) : read(path);
      } catch (const DatabaseFault& fault) {
        // A program that was killed between our look and SQLite's has left a journal, which a reader may not use up.
        const bool is_new_journal = fault.kind == DatabaseFault::Kind::ReadOnly || fault.kind == DatabaseFault::Kind::CannotOpen;
        if (!is_new_journal || look == kLooks) throw;
      }
    }
  });
}

Saved add_records(const fs::path& path, std::span<const Entry> entries, const Stamp& stamp, const JobOptions& options,
                  const std::optional<std::string>& seal) {
  if (!is_stamp_time(stamp.at)) throw JobRefused{"the clock gave no time: `" + stamp.at + "`"};
  int version = check_header(path);
  if (has_leftover_journal(path)) {
    // The header may be that of a migration that was killed: SQLite takes it back when it opens the file to write.
    version = guarded(path, options, [&] {
      check_leftover_journal(path, options);
      Database database(path, database_options(Access::Write, options));
      return static_cast<int>(database.integer("PRAGMA user_version"));
    });
  }
  if (version < kJobVersion) migrate(path, version, options);
  Saved saved;
  guarded(path, options, [&] {
    Database database(path, database_options(Access::Write, options));
    Transaction transaction(database, Transaction::Kind::Write);
    JobContents contents = check_everything(database);
    if (seal && *seal != contents.seal) {
      throw JobRefused{named(path) + " was changed by another command meanwhile; nothing was saved\nlook at it again and repeat"};
    }
    check_entries(entries, contents);
    saved.ids = append_entries(database, contents, entries, stamp);
    transaction.commit();
  });
  if (options.keep_backup) renew_backup(path, stamp, options, saved);
  return saved;
}

Verification verify_job(const fs::path& path, const JobOptions& options) {
  Verification result;
  const auto check = [&](const fs::path& file, const std::string& begin) {
    try {
      check_header(file);
      const JobContents contents = read_job(file, {}, options);
      if (!has_leftover_journal(file)) check_at(file, Access::Read, options);
      return std::optional<JobContents>(contents);
    } catch (const DatabaseFault& fault) {
      result.damages.push_back(begin + named(file) + " is damaged: " + fault.says + "\n" + restore_hint(path));
    } catch (const MachineFailure& failure) {
      result.damages.push_back(begin + failure.says);
    }
    return std::optional<JobContents>();
  };
  const auto contents = check(path, "");
  if (contents) {
    result.records = static_cast<std::int64_t>(contents->records.size());
    result.cars = static_cast<std::int64_t>(contents->cars.size());
  }
  std::error_code ignored;
  if (!fs::exists(backup_of(path), ignored)) return result;
  try {
    const auto backup = check(backup_of(path), "its backup: ");
    if (contents && backup && backup->identity != contents->identity) {
      result.damages.push_back(named(backup_of(path)) + " is the backup of another job");
    }
  } catch (const JobRefused& refused) {
    result.damages.push_back("its backup: " + refused.says);
  }
  return result;
}

void back_up_job(const fs::path& path, const fs::path& backup, const JobOptions& options) {
  std::error_code ignored;
  if (fs::equivalent(path, backup, ignored)) throw JobRefused{"the backup would replace the job file itself"};
  check_header(path);
  remove_abandoned(backup);
  const Unfinished made(backup);
  guarded(path, options, [&] {
    check_leftover_journal(path, options);
    Database database(path, database_options(Access::Read, options));
    database.copy_into(made.path());
  });
  sync_path(made.path());
  guarded(made.path(), options, [&] { check_at(made.path(), Access::Read, options); });
  rename_file(made.path(), backup);
}

std::optional<fs::path> restore_job(const fs::path& path, const fs::path& backup, const JobOptions& options) {
  std::error_code error;
  if (fs::equivalent(path, backup, error)) throw JobRefused{"the backup and the job file are one file"};
  check_header(backup);
  const Unfinished made(path);
  fs::copy_file(backup, made.path(), error);
  if (error) throw MachineFailure{named(backup) + " cannot be copied: " + error.message() + "; nothing was changed"};
  sync_path(made.path());
  guarded(backup, options, [&] { check_at(made.path(), Access::Read, options); });
  if (const auto holder = holder_of(path)) {
    throw MachineFailure{named(path) + " is in use by process " + *holder + "; nothing was changed"};
  }
  std::optional<fs::path> aside;
  if (fs::exists(path, error)) {
    int number = 1;
    while (fs::exists(path.string() + ".damaged-" + std::to_string(number), error)) ++number;
    aside = path.string() + ".damaged-" + std::to_string(number);
    // A second name first, so that there is a file of this name at every moment.
    fs::create_hard_link(path, *aside, error);
    if (error) fs::copy_file(path, *aside, error);
    if (error) throw MachineFailure{named(path) + " cannot be kept beside: " + error.message() + "; nothing was changed"};
  }
  // The journal of the damaged file must not be taken for one of the good file.
  if (fs::exists(journal_of(path), error)) rename_file(journal_of(path), journal_of(aside.value_or(backup.string() + ".old")));
  rename_file(made.path(), path);
  return aside;
}

}  // namespace kitgap
