// The figures R3, R5 and R12 of the reliability notes: power cuts, a disk that is really full, migration. Set
// KITGAP_POWER_CUTS for another number of sessions.
#include <doctest/doctest.h>
#include <signal.h>
#include <sys/mount.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <map>
#include <random>

#include "job/bench.h"
#include "job/faulty_vfs.h"
#include "job/leftover.h"
#include "job/schema.h"
#include "job/store.h"
#include "text/file.h"

namespace kitgap {
namespace {

namespace fs = std::filesystem;
using test::command;
using test::DiskEvent;
using test::Folder;
using test::message_of;
using test::stamp;

// Records of commands 1..n, whole and in order; n, or -1.
int commands_of(const JobContents& contents) {
  std::size_t at = 0;
  int number = 0;
  while (at < contents.records.size()) {
    for (const Entry& entry : command(++number)) {
      if (at == contents.records.size() || contents.records[at].cells != entry.cells || contents.records[at].car != entry.car) return -1;
      ++at;
    }
  }
  return contents.commands == number ? number : -1;
}

// What lies on the disk after a power cut: synced bytes for sure; of the rest any part, in any order, torn at 512 bytes
// (a sector, the least that a disk writes as one).
class Disk {
 public:
  explicit Disk(std::string job_bytes, std::string job) { files_[std::move(job)] = {.bytes = std::move(job_bytes), .is_there = true, .pending = {}}; }

  void apply(const DiskEvent& event) {
    File& file = files_[event.file];
    switch (event.kind) {
      case DiskEvent::Kind::Write:
      case DiskEvent::Kind::Truncate: file.pending.push_back(event); break;
      case DiskEvent::Kind::Sync:
        for (const DiskEvent& pending : file.pending) put(file.bytes, pending);
        file.pending.clear();
        file.is_there = true;
        break;
      case DiskEvent::Kind::Delete:
        file.pending.clear();
        if (event.is_folder_synced) file = {};
        else file.is_gone_perhaps = true;
        break;
      case DiskEvent::Kind::Said: break;
    }
  }

  // `damage` 0: nothing that was not synced; 1: all of it; else some, by chance.
  void lay_out(const fs::path& folder, int damage, std::mt19937& random) const {
    for (const auto& [name, file] : files_) {
      std::string bytes = file.bytes;
      bool is_there = file.is_there;
      std::vector<DiskEvent> kept;
      for (const DiskEvent& pending : file.pending) {
        if (damage == 1 || (damage > 1 && random() % 2 == 0)) kept.push_back(pending);
      }
      if (damage > 2) std::shuffle(kept.begin(), kept.end(), random);
      for (DiskEvent& event : kept) {
        if (damage > 1 && event.kind == DiskEvent::Kind::Write && event.bytes.size() > 512 && random() % 3 == 0) {
          event.bytes.resize(512 * (1 + random() % (event.bytes.size() / 512)));
        }
        put(bytes, event);
        is_there = true;
      }
      if (file.is_gone_perhaps && damage != 0 && (damage == 1 || random() % 2 == 0)) is_there = false;
      if (is_there) test::write(folder / fs::path(name).filename(), bytes);
    }
  }

 private:
  struct File {
    std::string bytes;  // for sure
    bool is_there = false;
    bool is_gone_perhaps = false;  // deleted, but the folder was not synced
    std::vector<DiskEvent> pending;
  };
  static void put(std::string& bytes, const DiskEvent& event) {
    const auto offset = static_cast<std::size_t>(event.offset);
    if (event.kind == DiskEvent::Kind::Truncate) {
      bytes.resize(offset, '\0');
      return;
    }
    if (bytes.size() < offset + event.bytes.size()) bytes.resize(offset + event.bytes.size(), '\0');
    bytes.replace(offset, event.bytes.size(), event.bytes);
  }
  std::map<std::string, File> files_;
};

TEST_CASE("store: after a power cut at any moment the job opens and holds all that was said to be saved") {
  const int sessions = test::figure("KITGAP_POWER_CUTS", 2, 200);
  constexpr int kDamages = 8;
  const unsigned seed = 20270301;
  std::mt19937 random(seed);
  CAPTURE(seed);
  int trials = 0;
  for (int session = 0; session < sessions; ++session) {
    const Folder folder;
    const auto job = folder / "shed.job";
    create_job(job);
    const int before = session % 4;
    for (int number = 1; number <= before; ++number) add_records(job, command(number), stamp(), {.keep_backup = false});
    const std::string first = test::bytes_of(job);
    test::start_log();
    const int last = before + 2;
    for (int number = before + 1; number <= last; ++number) {
      add_records(job, command(number), stamp(), {.vfs = test::faulty_vfs(), .keep_backup = false});
      test::log_said(number);
    }
    const std::vector<DiskEvent> events = test::take_log();
    REQUIRE(events.size() > 20);
    Disk disk(first, job.string());
    int said = before;
    for (std::size_t cut = 0; cut <= events.size(); ++cut) {
      for (int damage = 0; damage < kDamages; ++damage) {
        CAPTURE(session);
        CAPTURE(cut);
        CAPTURE(damage);
        const Folder after;
        disk.lay_out(after.path(), damage, random);
        const std::string says = message_of([&] {
          const int found = commands_of(read_job(after / "shed.job"));
          CHECK(found >= said);
          CHECK(found <= last);
        });
        CHECK(says == "");
        ++trials;
      }
      if (cut == events.size()) break;
      disk.apply(events[cut]);
      if (events[cut].kind == DiskEvent::Kind::Said) said = static_cast<int>(events[cut].offset);
    }
  }
  MESSAGE("power cuts played " << trials);
}

TEST_CASE("store: a disk that is really full is told, and the job on it is as before") {
  const Folder folder;
  const auto disk = folder / "disk";
  fs::create_directory(disk);
  const auto first = folder / "first.job";
  create_job(first);
  for (int number = 1; number <= 3; ++number) add_records(first, command(number), stamp(), {.keep_backup = false});
  const auto least = (static_cast<int>(fs::file_size(first)) / 16384 + 1) * 16;
  int refused = 0;
  int saved = 0;
  // 60 steps of 16 KB (R5): from a disk that the job alone fills to one with room for command, journal and backup.
  for (int step = 0; step < 60; ++step) {
    const std::string size = "size=" + std::to_string(least + step * 16) + "k";
    CAPTURE(size);
    if (::mount("tmpfs", disk.c_str(), "tmpfs", 0, size.c_str()) != 0) {
      MESSAGE("skipped: a disk of a chosen size, mounting is not allowed here");
      return;
    }
    const auto job = disk / "shed.job";
    std::error_code error;
    fs::copy_file(first, job, error);
    REQUIRE(!error);
    Saved done;
    const std::string says = message_of([&] { done = add_records(job, command(4), stamp()); });
    if (says.empty()) {
      ++saved;
      CHECK(commands_of(read_job(job)) == 4);
      // A backup that did not fit is told; none is left half made.
      if (done.backup_failed) CHECK(!fs::exists(backup_of(job)));
    } else {
      ++refused;
      CHECK(says.find("has no room left") != std::string::npos);
      CHECK(commands_of(read_job(job)) == 3);
    }
    CHECK(verify_job(job).damages.empty());
    for (const auto& entry : fs::directory_iterator(disk)) CHECK(entry.path().filename().string().find(".new-") == std::string::npos);
    ::umount(disk.c_str());
  }
  CHECK(refused > 0);
  CHECK(saved > 0);
}

JobContents kept_form_1(const fs::path& job) {
  fs::copy_file(fs::path(KITGAP_SOURCE_DIR) / "tests" / "job" / "forms" / "form-1.job", job, fs::copy_options::overwrite_existing);
  return read_job(job);
}

// What stands after an interrupted migration: the five records of the old form, readable, in the old or the new form, and
// the next command goes through.
void check_after_migration(const fs::path& job, const JobContents& before) {
  const JobContents found = read_job(job);
  CHECK((found.version == 1 || found.version == kJobVersion));
  REQUIRE(found.records.size() >= before.records.size());
  for (std::size_t at = 0; at < before.records.size(); ++at) CHECK(found.records[at] == before.records[at]);
  CHECK(found.records.size() <= before.records.size() + 1);
  add_records(job, std::vector<Entry>{test::fact("amber", "g", "1")}, stamp(), {.keep_backup = false});
  CHECK(read_job(job).version == kJobVersion);
  CHECK(verify_job(job, {.keep_backup = false}).damages.empty());
}

TEST_CASE("store: kill -9 at each write of a migration leaves the old form or the new one, whole") {
  const Folder folder;
  const auto job = folder / "old.job";
  const JobContents before = kept_form_1(job);
  const auto work = [&] {
    add_records(job, std::vector<Entry>{test::fact("amber", "f", "1")}, stamp(), {.vfs = test::faulty_vfs(), .keep_backup = false});
  };
  int kills = 0;
  int migrated = 0;
  // Each call twice: before it, and in the middle of what it writes.
  for (std::int64_t turn = 2;; ++turn) {
    const std::int64_t call = turn / 2;
    CAPTURE(turn);
    for (const auto& entry : fs::directory_iterator(folder.path())) fs::remove(entry.path());
    (void)kept_form_1(job);
    const pid_t child = ::fork();
    REQUIRE(child >= 0);
    if (child == 0) {
      test::arm(turn % 2 == 0 ? test::Fault::Kill : test::Fault::KillTorn, call, false, true);
      work();
      ::_exit(0);
    }
    int status = 0;
    REQUIRE(::waitpid(child, &status, 0) == child);
    if (!WIFSIGNALED(status)) break;
    ++kills;
    migrated += read_job(job).version == kJobVersion ? 1 : 0;
    check_after_migration(job, before);
    REQUIRE(call < 2000);
  }
  MESSAGE("kills during migration " << kills);
  CHECK(kills >= 200);
  CHECK(migrated > 0);
  CHECK(migrated < kills);
}

TEST_CASE("store: a full disk at any write of a migration leaves the old form or the new one, whole") {
  const Folder folder;
  const auto job = folder / "old.job";
  int failures = 0;
  for (std::int64_t call = 1;; ++call) {
    CAPTURE(call);
    for (const auto& entry : fs::directory_iterator(folder.path())) fs::remove(entry.path());
    const JobContents before = kept_form_1(job);
    test::arm(test::Fault::DiskFull, call, true, true);
    const std::string says = message_of([&] {
      add_records(job, std::vector<Entry>{test::fact("amber", "f", "1")}, stamp(), {.vfs = test::faulty_vfs(), .keep_backup = false});
    });
    const bool is_met = test::disarm() >= call;
    if (!says.empty()) {
      ++failures;
      CHECK(says.find("no room left") != std::string::npos);
    }
    check_after_migration(job, before);
    if (!is_met) break;
    REQUIRE(call < 2000);
  }
  CHECK(failures > 10);
}

TEST_CASE("store: what later forms added is empty in a file of the first, and the old file is kept beside") {
  const Folder folder;
  const auto job = folder / "old.job";
  const JobContents before = kept_form_1(job);
  const auto found = entry_of("amber", "found", {{"part", "panel-clip"}, {"count", "9"}, {"by", "Bo"}});
  add_records(job, std::vector<Entry>{found}, stamp());
  CHECK(read_job(job).records.back().cell("by") == "Bo");
  const JobContents kept = read_job(folder / "old.job.form-1");
  CHECK(kept.version == 1);
  CHECK(kept.records == before.records);
}

}  // namespace
}  // namespace kitgap
