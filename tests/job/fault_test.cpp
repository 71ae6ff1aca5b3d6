// The figures R1, R4, R5, R8, R9 of the reliability notes. Set KITGAP_KILLS and KITGAP_WRITERS for other numbers.
#include <doctest/doctest.h>
#include <fcntl.h>
#include <signal.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <fstream>
#include <random>
#include <set>

#include "job/bench.h"
#include "job/faulty_vfs.h"
#include "job/leftover.h"
#include "job/store.h"
#include "text/file.h"

namespace kitgap {
namespace {

using test::command;
using test::fact;
using test::Folder;
using test::message_of;
using test::stamp;

// Runs `work` in a process of its own; its exit status as waitpid gives it.
template <class Work>
pid_t start(const Work& work) {
  const pid_t child = ::fork();
  REQUIRE(child >= 0);
  if (child == 0) {
    int status = 9;
    try {
      status = work();
    } catch (...) {
    }
    ::_exit(status);
  }
  return child;
}

int end_of(pid_t child) {
  int status = 0;
  REQUIRE(::waitpid(child, &status, 0) == child);
  return status;
}

// Every command is there wholly or not at all, in order and without a hole: records of commands 1..n equal those of
// `command(1)` .. `command(n)`. Returns n.
int whole_commands(const JobContents& contents) {
  std::size_t at = 0;
  int number = 0;
  while (at < contents.records.size()) {
    const std::vector<Entry> entries = command(++number);
    REQUIRE(at + entries.size() <= contents.records.size());
    for (const Entry& entry : entries) {
      const Record& record = contents.records[at++];
      REQUIRE(record.cells == entry.cells);
      REQUIRE(record.car == entry.car);
      REQUIRE(record.command == number);
    }
  }
  REQUIRE(contents.commands == number);
  return number;
}

TEST_CASE("store: kill -9 at random moments loses nothing that was acknowledged, and leaves no half command") {
  const Folder folder;
  const auto job = folder / "shed.job";
  const auto said = folder / "said";
  create_job(job);
  const int kills = test::figure("KITGAP_KILLS", 40, 10'000);
  const unsigned seed = 20260301;
  std::mt19937 random(seed);
  int stored = 0;
  int journals = 0;
  for (int trial = 0; trial < kills; ++trial) {
    CAPTURE(seed);
    CAPTURE(trial);
    test::write(said, "");
    const pid_t child = start([&] {
      for (int number = stored + 1;; ++number) {
        (void)add_records(job, command(number), stamp());
        std::ofstream(said, std::ios::app) << number << std::endl;
      }
      return 0;
    });
    ::usleep(static_cast<useconds_t>(random() % 50'000));
    ::kill(child, SIGKILL);
    end_of(child);
    journals += has_leftover_journal(job) ? 1 : 0;
    int acknowledged = stored;
    std::ifstream lines(said);
    for (int number = 0; lines >> number;) acknowledged = number;
    const int found = whole_commands(read_job(job));
    CHECK(found >= acknowledged);
    CHECK(found <= acknowledged + 1);
    stored = found;
    if (stored > 150) {  // a fresh file, so that a trial costs the same at the end
      std::filesystem::remove_all(job);
      std::filesystem::remove(journal_of(job));
      create_job(job);
      stored = 0;
    }
  }
  MESSAGE("kills " << kills << ", journals left " << journals);
}

TEST_CASE("store: kill -9 at each single write, sync and delete leaves the command done or not done") {
  const Folder folder;
  const auto first = folder / "first.job";
  create_job(first);
  for (int number = 1; number <= 3; ++number) add_records(first, command(number), stamp(), {.keep_backup = false});
  const JobOptions faulty{.vfs = test::faulty_vfs()};
  test::arm(test::Fault::None, 0, false, true);
  std::filesystem::copy_file(first, folder / "count.job");
  add_records(folder / "count.job", command(4), stamp(), faulty);
  const std::int64_t writes = test::disarm();
  REQUIRE(writes > 10);
  int done = 0;
  for (std::int64_t call = 1; call <= writes; ++call) {
    CAPTURE(call);
    const auto job = folder / "trial.job";
    std::filesystem::copy_file(first, job, std::filesystem::copy_options::overwrite_existing);
    std::filesystem::remove(backup_of(job));
    const pid_t child = start([&] {
      test::arm(test::Fault::Kill, call, false, true);
      add_records(job, command(4), stamp(), faulty);
      return 0;
    });
    const int status = end_of(child);
    CHECK(WIFSIGNALED(status));
    const int found = whole_commands(read_job(job));
    CHECK((found == 3 || found == 4));
    done += found == 4 ? 1 : 0;
    // The next command needs no repair, and goes on from there.
    add_records(job, command(found + 1), stamp());
    CHECK(whole_commands(read_job(job)) == found + 1);
    CHECK(verify_job(job).damages.empty());
  }
  CHECK(done > 0);
  CHECK(done < writes);
}

// Fails call 1, 2, 3, ... until the command goes through without meeting the fault.
void fail_every_call(test::Fault fault, bool for_ever) {
  const Folder folder;
  const auto first = folder / "first.job";
  create_job(first);
  for (int number = 1; number <= 3; ++number) add_records(first, command(number), stamp(), {.keep_backup = false});
  const JobOptions faulty{.vfs = test::faulty_vfs(), .wait_milliseconds = 0, .keep_backup = false};
  int failures = 0;
  for (std::int64_t call = 1;; ++call) {
    CAPTURE(call);
    const auto job = folder / "trial.job";
    std::filesystem::copy_file(first, job, std::filesystem::copy_options::overwrite_existing);
    std::filesystem::remove(journal_of(job));
    test::arm(fault, call, for_ever, false);
    const std::string says = message_of([&] { add_records(job, command(4), stamp(), faulty); });
    const bool is_met = test::disarm() >= call;
    const int found = whole_commands(read_job(job));
    if (says.empty()) {
      CHECK(found == 4);
    } else {
      ++failures;
      CAPTURE(says);
      CHECK(found == 3);
      CHECK(says.find(job.string()) != std::string::npos);
      // An error after the last write leaves it open whether the disk has it: then the message says where to look.
      CHECK((says.find("nothing") != std::string::npos || says.find("job history") != std::string::npos));
    }
    CHECK(verify_job(job, {.keep_backup = false}).damages.empty());
    if (!is_met) break;
    REQUIRE(call < 2000);
  }
  CHECK(failures > 5);
}

TEST_CASE("store: an input/output error at any call is told, and the file is as before") {
  fail_every_call(test::Fault::InputOutput, false);
}
TEST_CASE("store: a disk that fails for ever from any call on is told, and the file is as before") {
  fail_every_call(test::Fault::InputOutput, true);
}
TEST_CASE("store: a full disk at any write is told, and the file is as before") {
  fail_every_call(test::Fault::DiskFull, false);
  fail_every_call(test::Fault::DiskFull, true);
}

TEST_CASE("store: a backup that cannot be made leaves the command saved, and says so") {
  const Folder folder;
  const auto job = folder / "shed.job";
  create_job(job);
  std::filesystem::create_directory(backup_of(job));  // a folder stands where the backup should go
  test::write(backup_of(job) / "x", "x");
  const Saved saved = add_records(job, command(1), stamp());
  REQUIRE(saved.backup_failed.has_value());
  CHECK(saved.backup_failed->find("shed.job.backup") != std::string::npos);
  CHECK(whole_commands(read_job(job)) == 1);
}

// R9: readers are never blocked for over a second; sanitizers and a busy machine are allowed the rest.
constexpr auto kReaderWaits = std::chrono::seconds(5);

TEST_CASE("store: four writers at once, a fifth that is killed, and two readers: nothing is lost, nobody waits long") {
  const Folder folder;
  const auto job = folder / "shed.job";
  create_job(job);
  const int each = test::figure("KITGAP_WRITERS", 12, 500);
  std::vector<pid_t> writers;
  for (int writer = 0; writer < 4; ++writer) {
    writers.push_back(start([&] {
      std::ofstream said(folder / ("said-" + std::to_string(writer)));
      for (int number = 0; number < each; ++number) {
        const std::string name = std::to_string(writer) + "." + std::to_string(number);
        try {
          (void)add_records(job, std::vector<Entry>{fact("amber", name, "x")}, stamp());
          said << name << "\n";
        } catch (const MachineFailure& failure) {
          if (failure.says.find("is in use") == std::string::npos) return 1;
        }
      }
      return 0;
    }));
  }
  // Two readers all the while: none waits for a second, and what is read is whole.
  std::vector<pid_t> readers;
  for (int reader = 0; reader < 2; ++reader) {
    readers.push_back(start([&] {
      auto longest = std::chrono::steady_clock::duration::zero();
      for (std::size_t before = 0;;) {
        const auto begun = std::chrono::steady_clock::now();
        const std::size_t now = read_job(job).records.size();
        longest = std::max(longest, std::chrono::steady_clock::now() - begun);
        if (longest > kReaderWaits || now < before) return 2;
        before = now;
        std::error_code ignored;
        if (std::filesystem::exists(folder / "done", ignored)) {
          std::ofstream(folder / ("waited-" + std::to_string(reader))) << std::chrono::duration_cast<std::chrono::milliseconds>(longest).count() << " ms";
          return 0;
        }
        ::usleep(2'000);
      }
    }));
  }
  // A fifth writer is killed again and again.
  for (int kill = 0; kill < each / 2; ++kill) {
    const pid_t killed = start([&] {
      for (;;) (void)add_records(job, std::vector<Entry>{fact("blue", "killed", "x")}, stamp());
      return 0;
    });
    ::usleep(static_cast<useconds_t>(1'000 * (kill % 40)));
    ::kill(killed, SIGKILL);
    end_of(killed);
  }
  for (const pid_t writer : writers) CHECK(end_of(writer) == 0);
  test::write(folder / "done", "");
  for (const pid_t reader : readers) CHECK(end_of(reader) == 0);
  MESSAGE("longest waits of the readers: " << test::bytes_of(folder / "waited-0") << ", " << test::bytes_of(folder / "waited-1"));
  std::multiset<std::string> accepted;
  for (int writer = 0; writer < 4; ++writer) {
    std::ifstream said(folder / ("said-" + std::to_string(writer)));
    for (std::string name; said >> name;) accepted.insert(name);
  }
  std::multiset<std::string> stored;
  for (const Record& record : read_job(job).records) {
    if (record.car == "amber") stored.insert(std::string(record.cell("fact")));
  }
  CHECK(accepted == stored);
  CHECK(stored.size() >= static_cast<std::size_t>(each));
  CHECK(verify_job(job).damages.empty());
}

TEST_CASE("store: who holds the file is named, and nothing is changed") {
  const Folder folder;
  const auto job = folder / "shed.job";
  create_job(job);
  int ready[2];
  REQUIRE(::pipe(ready) == 0);
  const pid_t child = start([&] {
    struct flock lock {};
    lock.l_type = F_WRLCK;
    lock.l_whence = SEEK_SET;
    lock.l_start = 0x40000000;
    lock.l_len = 512;
    const int file = ::open(job.c_str(), O_RDWR);
    if (::fcntl(file, F_SETLK, &lock) != 0) return 1;
    if (::write(ready[1], "x", 1) != 1) return 1;
    ::pause();
    return 0;
  });
  char byte = 0;
  REQUIRE(::read(ready[0], &byte, 1) == 1);
  const std::string says =
      message_of([&] { add_records(job, command(1), stamp(), {.wait_milliseconds = 50, .keep_backup = false}); });
  ::kill(child, SIGKILL);
  end_of(child);
  CHECK(says.find("`" + job.string() + "` is in use by process " + std::to_string(child) + " (") == 0);
  CHECK(says.find("nothing was changed\ntry again when that program is done") != std::string::npos);
  CHECK(read_job(job).records.empty());
}

// Without root: root writes where it may not.
template <class Work>
int as_nobody(const Work& work) {
  return end_of(start([&] {
    if (::geteuid() == 0 && (::setgid(65534) != 0 || ::setuid(65534) != 0)) return 8;
    return work();
  }));
}

TEST_CASE("store: in a read-only folder, and a read-only file, reading works and writing says why not") {
  const Folder folder;
  const auto job = folder / "shed.job";
  create_job(job);
  add_records(job, command(1), stamp(), {.keep_backup = false});
  const auto tries = [&] {
    return as_nobody([&] {
      if (whole_commands(read_job(job)) != 1) return 1;
      const std::string says = message_of([&] { add_records(job, command(2), stamp()); });
      if (says.find(job.string()) == std::string::npos || says.find("folder") == std::string::npos) return 2;
      return whole_commands(read_job(job)) == 1 ? 0 : 3;
    });
  };
  ::chmod(job.c_str(), 0444);
  ::chmod(folder.path().c_str(), 0777);
  CHECK(tries() == 0);
  ::chmod(job.c_str(), 0666);
  ::chmod(folder.path().c_str(), 0555);
  CHECK(tries() == 0);
  ::chmod(job.c_str(), 0000);
  CHECK(as_nobody([&] { return message_of([&] { (void)read_job(job); }).find("may not be read") != std::string::npos ? 0 : 1; }) == 0);
  ::chmod(folder.path().c_str(), 0777);
}

TEST_CASE("store: what a killed command left is read in a read-only folder too") {
  const Folder folder;
  const auto job = folder / "shed.job";
  create_job(job);
  add_records(job, command(1), stamp(), {.keep_backup = false});
  const JobOptions faulty{.vfs = test::faulty_vfs(), .keep_backup = false};
  bool was_left = false;
  for (std::int64_t call = 1; !was_left; ++call) {
    REQUIRE(call < 200);
    end_of(start([&] {
      test::arm(test::Fault::Kill, call, false, true);
      add_records(job, command(2), stamp(), faulty);
      return 0;
    }));
    was_left = has_leftover_journal(job) && std::filesystem::file_size(journal_of(job)) > 4096;
  }
  ::chmod(job.c_str(), 0444);
  ::chmod(journal_of(job).c_str(), 0444);
  ::chmod(folder.path().c_str(), 0555);
  const std::string before = test::bytes_of(job);
  CHECK(as_nobody([&] { return whole_commands(read_job(job)) == 1 ? 0 : 1; }) == 0);
  CHECK(test::bytes_of(job) == before);
  ::chmod(folder.path().c_str(), 0777);
}

}  // namespace
}  // namespace kitgap
