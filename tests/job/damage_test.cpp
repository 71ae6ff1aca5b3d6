// The figures R10 and R11 of the reliability notes. Set KITGAP_DAMAGES for another number.
#include <doctest/doctest.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <random>

#include "job/bench.h"
#include "job/faulty_vfs.h"
#include "job/leftover.h"
#include "job/store.h"
#include "text/file.h"

namespace kitgap {
namespace {

using test::command;
using test::Folder;
using test::message_of;
using test::stamp;

constexpr std::size_t kPage = 4096;

using Random = std::mt19937;
std::size_t below(Random& random, std::size_t bound) { return std::uniform_int_distribution<std::size_t>(0, bound - 1)(random); }

void flip_bit(std::string& bytes, Random& random) {
  char& byte = bytes[below(random, bytes.size())];
  byte = static_cast<char>(byte ^ (1 << below(random, 8)));
}
void zero_page(std::string& bytes, Random& random) {
  bytes.replace(below(random, bytes.size() / kPage) * kPage, kPage, kPage, '\0');
}
void cut_short(std::string& bytes, Random& random) { bytes.resize(below(random, bytes.size())); }
void swap_pages(std::string& bytes, Random& random) {
  const std::size_t pages = bytes.size() / kPage;
  const std::size_t one = below(random, pages);
  const std::size_t other = (one + 1 + below(random, pages - 1)) % pages;
  std::swap_ranges(bytes.begin() + static_cast<std::ptrdiff_t>(one * kPage),
                   bytes.begin() + static_cast<std::ptrdiff_t>((one + 1) * kPage),
                   bytes.begin() + static_cast<std::ptrdiff_t>(other * kPage));
}

struct Damage {
  const char* name;
  void (*apply)(std::string&, Random&);
};
constexpr Damage kDamages[] = {
    {"bit flipped", flip_bit}, {"page zeroed", zero_page}, {"cut short", cut_short}, {"pages swapped", swap_pages}};

TEST_CASE("store: no damage to the file is ever read as other records, and each refusal shows the way back") {
  const Folder folder;
  const auto good = folder / "good.job";
  create_job(good);
  for (int number = 1; number <= 30; ++number) add_records(good, command(number), stamp(), {.keep_backup = false});
  const JobContents contents = read_job(good);
  const std::string bytes = test::bytes_of(good);
  const int trials = test::figure("KITGAP_DAMAGES", 400, 20'000);
  const unsigned seed = 20260302;
  Random random(seed);
  int refused = 0;
  int harmless = 0;
  for (int trial = 0; trial < trials; ++trial) {
    const Damage& damage = kDamages[trial % 4 == 0 ? 1 + trial / 4 % 3 : 0];
    std::string damaged = bytes;
    damage.apply(damaged, random);
    CAPTURE(seed);
    CAPTURE(trial);
    CAPTURE(damage.name);
    const auto job = folder / "trial.job";
    test::write(job, damaged);
    JobContents read;
    const std::string says = message_of([&] { read = read_job(job); });
    CHECK(test::bytes_of(job) == damaged);
    if (says.empty()) {
      ++harmless;  // free space in a page, a message of a trigger: all records are as they were
      CHECK(read.records == contents.records);
      CHECK(read.seal == contents.seal);
    } else {
      ++refused;
      CAPTURE(says);
      const bool shows_the_way = says.find("kitgap job restore") != std::string::npos || says.find("newer kitgap") != std::string::npos;
      CHECK(shows_the_way);
    }
    // A writing command either refuses and writes nothing, or adds to what is wholly good.
    const std::string told = message_of([&] { add_records(job, command(31), stamp(), {.keep_backup = false}); });
    if (told.empty()) {
      CHECK(says.empty());
      CHECK(read_job(job).records.size() == contents.records.size() + command(31).size());
    } else {
      CHECK(test::bytes_of(job) == damaged);
    }
  }
  MESSAGE("damages " << trials << ", refused " << refused << ", harmless " << harmless);
  CHECK(refused > trials / 4);
}

// Kills a command so late that pages of the file are written already; true when a journal is left.
bool kill_late(const std::filesystem::path& job, std::int64_t call) {
  const pid_t child = ::fork();
  if (child == 0) {
    test::arm(test::Fault::Kill, call, false, true);
    const JobOptions faulty{.vfs = test::faulty_vfs(), .keep_backup = false};
    message_of([&] { add_records(job, command(6), stamp(), faulty); });
    ::_exit(0);
  }
  int status = 0;
  ::waitpid(child, &status, 0);
  return WIFSIGNALED(status);
}

TEST_CASE("store: a lost journal of a killed command is noticed, or the records are those of before or after") {
  const Folder folder;
  const auto good = folder / "good.job";
  create_job(good);
  for (int number = 1; number <= 5; ++number) add_records(good, command(number), stamp(), {.keep_backup = false});
  const JobContents before = read_job(good);
  const auto after_job = folder / "after.job";
  std::filesystem::copy_file(good, after_job);
  add_records(after_job, command(6), stamp(), {.keep_backup = false});
  const JobContents after = read_job(after_job);
  int noticed = 0;
  for (std::int64_t call = 1;; ++call) {
    CAPTURE(call);
    const auto job = folder / "trial.job";
    std::filesystem::remove(journal_of(job));
    std::filesystem::copy_file(good, job, std::filesystem::copy_options::overwrite_existing);
    if (!kill_late(job, call)) break;
    std::filesystem::remove(journal_of(job));  // lost
    JobContents read;
    const std::string says = message_of([&] { read = read_job(job); });
    if (says.empty()) {
      const bool is_old_or_new = read.records == before.records || read.records == after.records;
      CHECK(is_old_or_new);
    } else {
      ++noticed;
      CHECK(says.find("kitgap job restore") != std::string::npos);
    }
  }
  CHECK(noticed > 0);
}

TEST_CASE("store: the journal of another job does no harm to the file that it lies beside") {
  const Folder folder;
  const auto one = folder / "one.job";
  const auto other = folder / "other.job";
  create_job(one);
  create_job(other);
  for (int number = 1; number <= 5; ++number) {
    add_records(one, command(number), stamp(), {.keep_backup = false});
    add_records(other, command(number), stamp(), {.keep_backup = false});
  }
  add_records(one, command(6), stamp());
  const std::string bytes = test::bytes_of(one);
  const JobContents contents = read_job(one);
  int noticed = 0;
  for (std::int64_t call = 1;; ++call) {
    CAPTURE(call);
    const auto trial = folder / "trial.job";
    std::filesystem::remove(journal_of(trial));
    std::filesystem::copy_file(other, trial, std::filesystem::copy_options::overwrite_existing);
    if (!kill_late(trial, call)) break;
    if (!has_leftover_journal(trial)) continue;
    std::filesystem::copy_file(journal_of(trial), journal_of(one), std::filesystem::copy_options::overwrite_existing);
    JobContents read;
    const std::string says = message_of([&] { read = read_job(one); });
    const std::string told = message_of([&] { add_records(one, command(7), stamp(), {.keep_backup = false}); });
    if (says.empty()) {
      CHECK(read.records == contents.records);  // the journal had nothing in it yet
    } else {
      ++noticed;
      CHECK(says.find("which may be another file's") != std::string::npos);
      CHECK(told == says);
      CHECK(test::bytes_of(one) == bytes);
    }
    // The way back is one command, whatever lies there.
    const auto aside = restore_job(one, backup_of(one));
    CHECK(aside.has_value());
    CHECK(read_job(one).records == contents.records);
    CHECK_FALSE(std::filesystem::exists(journal_of(one)));
    test::write(one, bytes);
  }
  CHECK(noticed > 0);
}

TEST_CASE("store: after any damage one command brings back all that was saved") {
  const Folder folder;
  const auto job = folder / "shed.job";
  create_job(job);
  for (int number = 1; number <= 4; ++number) CHECK_FALSE(add_records(job, command(number), stamp()).backup_failed.has_value());
  const JobContents contents = read_job(job);
  const std::string bytes = test::bytes_of(job);
  Random random(20260303);
  for (const Damage& damage : kDamages) {
    CAPTURE(damage.name);
    std::string damaged = bytes;
    damage.apply(damaged, random);
    test::write(job, damaged);
    const auto aside = restore_job(job, backup_of(job));
    REQUIRE(aside.has_value());
    CHECK(test::bytes_of(*aside) == damaged);
    CHECK(read_job(job).records == contents.records);
    CHECK(verify_job(job).damages.empty());
  }
  std::filesystem::remove(job);
  CHECK_FALSE(restore_job(job, backup_of(job)).has_value());
  CHECK(read_job(job).records == contents.records);
}

TEST_CASE("store: a damaged backup is never put in the place of the file, nor in the place of a good backup") {
  const Folder folder;
  const auto job = folder / "shed.job";
  create_job(job);
  add_records(job, command(1), stamp());
  const std::string good = test::bytes_of(job);
  std::string damaged = test::bytes_of(backup_of(job));
  damaged.replace(damaged.size() - kPage, kPage, kPage, '\0');
  test::write(backup_of(job), damaged);
  CHECK(message_of([&] { (void)restore_job(job, backup_of(job)); }).find("is damaged") != std::string::npos);
  CHECK(test::bytes_of(job) == good);
  CHECK(verify_job(job).damages.size() == 1);
  back_up_job(job, backup_of(job));
  CHECK(verify_job(job).damages.empty());
  test::write(job, damaged);
  CHECK(message_of([&] { back_up_job(job, backup_of(job)); }).find("is damaged") != std::string::npos);
  CHECK(read_job(backup_of(job)).records.size() == command(1).size());
}

}  // namespace
}  // namespace kitgap
