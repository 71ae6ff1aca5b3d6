#include "job/faulty_vfs.h"

#include <signal.h>
#include <sqlite3.h>
#include <unistd.h>

#include <cstring>

namespace kitgap::test {
namespace {

struct State {
  Fault fault = Fault::None;
  std::int64_t at = 0;
  std::int64_t calls = 0;
  bool for_ever = false;
  bool writes_only = false;
};
State state;

bool is_logging = false;
std::vector<DiskEvent> events;
void log(DiskEvent event) {
  if (is_logging) events.push_back(std::move(event));
}

// Every faulty file holds the real one behind it.
struct File {
  sqlite3_file base;
  sqlite3_file* real;
  std::string* name;
};
const std::string& name_of(sqlite3_file* file) { return *reinterpret_cast<File*>(file)->name; }
sqlite3_vfs* real_vfs = nullptr;
sqlite3_vfs vfs;

sqlite3_file* real_of(sqlite3_file* file) { return reinterpret_cast<File*>(file)->real; }

// The code to fail with, or SQLITE_OK.
int next(bool is_write, int input_output_code) {
  if (state.writes_only && !is_write) return SQLITE_OK;
  ++state.calls;
  if (state.fault == Fault::None) return SQLITE_OK;
  if (state.for_ever ? state.calls < state.at : state.calls != state.at) return SQLITE_OK;
  if (state.fault == Fault::Kill || state.fault == Fault::KillTorn) ::kill(::getpid(), SIGKILL);
  // A disk without room fails what would take room; the rest goes on.
  if (state.fault == Fault::DiskFull) {
    return input_output_code == SQLITE_IOERR_WRITE || input_output_code == SQLITE_CANTOPEN ? SQLITE_FULL : SQLITE_OK;
  }
  return input_output_code;
}

int close_file(sqlite3_file* file) {
  const int code = real_of(file)->pMethods != nullptr ? real_of(file)->pMethods->xClose(real_of(file)) : SQLITE_OK;
  sqlite3_free(real_of(file));
  delete reinterpret_cast<File*>(file)->name;
  return code;
}
int read_file(sqlite3_file* file, void* to, int amount, sqlite3_int64 offset) {
  if (const int code = next(false, SQLITE_IOERR_READ); code != SQLITE_OK) return code;
  return real_of(file)->pMethods->xRead(real_of(file), to, amount, offset);
}
int write_file(sqlite3_file* file, const void* from, int amount, sqlite3_int64 offset) {
  if (state.fault == Fault::KillTorn && state.calls + 1 == state.at) real_of(file)->pMethods->xWrite(real_of(file), from, amount / 2, offset);
  if (const int code = next(true, SQLITE_IOERR_WRITE); code != SQLITE_OK) {
    // Half of it arrives, as when a disk fills up or fails in the middle.
    real_of(file)->pMethods->xWrite(real_of(file), from, amount / 2, offset);
    return code;
  }
  log({.kind = DiskEvent::Kind::Write, .file = name_of(file), .offset = offset, .bytes = std::string(static_cast<const char*>(from), static_cast<std::size_t>(amount))});
  return real_of(file)->pMethods->xWrite(real_of(file), from, amount, offset);
}
int truncate_file(sqlite3_file* file, sqlite3_int64 size) {
  if (const int code = next(true, SQLITE_IOERR_TRUNCATE); code != SQLITE_OK) return code;
  log({.kind = DiskEvent::Kind::Truncate, .file = name_of(file), .offset = size, .bytes = {}});
  return real_of(file)->pMethods->xTruncate(real_of(file), size);
}
int sync_file(sqlite3_file* file, int flags) {
  if (const int code = next(true, SQLITE_IOERR_FSYNC); code != SQLITE_OK) return code;
  log({.kind = DiskEvent::Kind::Sync, .file = name_of(file), .bytes = {}});
  return real_of(file)->pMethods->xSync(real_of(file), flags);
}
int file_size(sqlite3_file* file, sqlite3_int64* size) { return real_of(file)->pMethods->xFileSize(real_of(file), size); }
int lock(sqlite3_file* file, int level) { return real_of(file)->pMethods->xLock(real_of(file), level); }
int unlock(sqlite3_file* file, int level) { return real_of(file)->pMethods->xUnlock(real_of(file), level); }
int check_reserved(sqlite3_file* file, int* out) { return real_of(file)->pMethods->xCheckReservedLock(real_of(file), out); }
int control(sqlite3_file* file, int what, void* data) { return real_of(file)->pMethods->xFileControl(real_of(file), what, data); }
int sector_size(sqlite3_file* file) { return real_of(file)->pMethods->xSectorSize(real_of(file)); }
// No promises of the disk: SQLite then takes every precaution.
int characteristics(sqlite3_file*) { return 0; }

// Version 1: no shared memory and no mapping, so every byte goes through the calls above.
const sqlite3_io_methods kMethods = {1,          close_file, read_file, write_file,     truncate_file, sync_file,
                                     file_size,  lock,       unlock,    check_reserved, control,       sector_size,
                                     characteristics, nullptr, nullptr,  nullptr,        nullptr,       nullptr, nullptr};

int open_file(sqlite3_vfs*, const char* name, sqlite3_file* file, int flags, int* out) {
  auto* mine = reinterpret_cast<File*>(file);
  mine->base.pMethods = nullptr;
  const bool creates = (flags & SQLITE_OPEN_CREATE) != 0;
  if (const int code = next(creates, SQLITE_CANTOPEN); code != SQLITE_OK) return code;
  mine->real = static_cast<sqlite3_file*>(sqlite3_malloc(real_vfs->szOsFile));
  std::memset(mine->real, 0, static_cast<std::size_t>(real_vfs->szOsFile));
  const int code = real_vfs->xOpen(real_vfs, name, mine->real, flags, out);
  if (code != SQLITE_OK) {
    sqlite3_free(mine->real);
    return code;
  }
  mine->base.pMethods = &kMethods;
  mine->name = new std::string(name == nullptr ? "" : name);
  return SQLITE_OK;
}
int delete_file(sqlite3_vfs*, const char* name, int sync_folder) {
  if (const int code = next(true, SQLITE_IOERR_DELETE); code != SQLITE_OK) return code;
  log({.kind = DiskEvent::Kind::Delete, .file = name, .bytes = {}, .is_folder_synced = sync_folder != 0});
  return real_vfs->xDelete(real_vfs, name, sync_folder);
}

}  // namespace

const char* faulty_vfs() {
  if (real_vfs == nullptr) {
    real_vfs = sqlite3_vfs_find(nullptr);
    vfs = *real_vfs;
    vfs.zName = "faulty";
    vfs.szOsFile = sizeof(File);
    vfs.xOpen = open_file;
    vfs.xDelete = delete_file;
    sqlite3_vfs_register(&vfs, 0);
  }
  return "faulty";
}

void arm(Fault fault, std::int64_t call, bool for_ever, bool writes_only) {
  state = {.fault = fault, .at = call, .calls = 0, .for_ever = for_ever, .writes_only = writes_only};
}

std::int64_t disarm() {
  const std::int64_t calls = state.calls;
  state = {};
  return calls;
}

void start_log() {
  events.clear();
  is_logging = true;
}
void log_said(std::int64_t command) { log({.kind = DiskEvent::Kind::Said, .file = {}, .offset = command, .bytes = {}}); }
std::vector<DiskEvent> take_log() {
  is_logging = false;
  return std::move(events);
}

}  // namespace kitgap::test
