#include "job/store.h"

#include <doctest/doctest.h>
#include <sqlite3.h>
#include <sys/stat.h>

#include <algorithm>
#include <fstream>
#include <span>

#include "job/bench.h"
#include "job/leftover.h"
#include "job/schema.h"
#include "text/file.h"

namespace kitgap {
namespace {

using test::Folder;
using test::fact;
using test::message_of;
using test::stamp;

TEST_CASE("store: what one command recorded the next one reads, in order and with who said it") {
  const Folder folder;
  const auto job = folder / "shed.job";
  create_job(job);
  add_records(job, std::vector<Entry>{fact("amber", "body style", "estate"), fact("blue", "model year", "1970")},
              {"2026-03-01T10:00:00Z", "Ann", "start"});
  add_records(job, std::vector<Entry>{fact("amber", "body style", "saloon")}, {"2026-03-02T10:00:00Z", "Bo", "start"});
  const JobContents contents = read_job(job);
  CHECK(contents.cars == std::vector<std::string>{"amber", "blue"});
  CHECK(contents.commands == 2);
  REQUIRE(contents.records.size() == 3);
  CHECK(contents.records[0].cell("value") == "estate");
  CHECK(contents.records[0].who == "Ann");
  CHECK(contents.records[2].cell("value") == "saloon");
  CHECK(contents.records[2].place == 2);
  CHECK(contents.records[2].command == 2);
}

TEST_CASE("store: one car is read without the others, and a car that is not there is refused by name") {
  const Folder folder;
  const auto job = folder / "shed.job";
  create_job(job);
  add_records(job, std::vector<Entry>{fact("amber", "f", "1"), fact("blue", "f", "2"),
                                      entry_of("", "stock line", {{"line", "S1"}, {"quantity", "60"}})}, stamp());
  const JobContents contents = read_job(job, std::vector<std::string>{"blue"});
  REQUIRE(contents.records.size() == 2);
  CHECK(contents.records[0].cell("value") == "2");
  CHECK(contents.records[1].cell("quantity") == "60");
  CHECK(message_of([&] { (void)read_job(job, std::vector<std::string>{"bleu"}); }) ==
        "there is no car `bleu` in this job\ndid you mean `blue`?");
}

TEST_CASE("store: a correction names a record of its own kind and car that is not yet corrected") {
  const Folder folder;
  const auto job = folder / "shed.job";
  create_job(job);
  add_records(job, std::vector<Entry>{fact("amber", "f", "1"), fact("blue", "f", "2")}, stamp());
  const auto add = [&](const Entry& entry) {
    return message_of([&] { add_records(job, std::vector<Entry>{entry}, stamp()); });
  };
  CHECK(add(fact("amber", "f", "3", 9)) == "there is no record 9 to correct\n`kitgap job history FILE` lists them");
  CHECK(add(fact("amber", "f", "3", 2)) == "record 2 is a `fact` of `blue`; a correction is of the same kind and car");
  CHECK(add(fact("amber", "f", "3", 1)) == "");
  CHECK(add(fact("amber", "f", "4", 1)) == "record 1 is already corrected; correct the later one");
  CHECK(add(fact("", "f", "4")) == "a record of `fact` needs a car");
  CHECK(add(fact("amber", "", "4")) == "a record of `fact` needs `fact`");
  CHECK(add(fact("amber", "f", "\xff")) == "`value` is no text of at most 100,000 bytes of UTF-8");
  CHECK(read_job(job).records.size() == 3);
}

TEST_CASE("store: a command that was planned on an older state of the file is refused") {
  const Folder folder;
  const auto job = folder / "shed.job";
  create_job(job);
  const std::string seal = read_job(job).seal;
  add_records(job, std::vector<Entry>{fact("amber", "f", "1")}, stamp(), {}, seal);
  CHECK(message_of([&] { add_records(job, std::vector<Entry>{fact("amber", "f", "2")}, stamp(), {}, seal); })
            .find("was changed by another command meanwhile; nothing was saved") != std::string::npos);
  CHECK(read_job(job).records.size() == 1);
}

TEST_CASE("store: what is no job file is refused in words, and left as it is") {
  const Folder folder;
  CHECK(message_of([&] { (void)read_job(folder / "none.job"); }) ==
        "there is no job file `" + (folder / "none.job").string() + "`\n`kitgap start --job FILE` makes one");
  CHECK(message_of([&] { (void)read_job(folder.path()); }) == "`" + folder.path().string() + "` is a folder, not a job file");
  REQUIRE(::mkfifo((folder / "pipe.job").c_str(), 0600) == 0);
  CHECK(message_of([&] { (void)read_job(folder / "pipe.job"); }) ==
        "`" + (folder / "pipe.job").string() + "` is no regular file, not a job file");
  test::write(folder / "list.csv", "part number,quantity\nK-17,2\n");
  CHECK(message_of([&] { (void)read_job(folder / "list.csv"); }).find("is no job file, or nothing is left of it") !=
        std::string::npos);
  CHECK(message_of([&] { create_job(folder / "list.csv"); }).find("is there already") != std::string::npos);
  CHECK(message_of([&] { create_job(folder / "none" / "a.job"); }).find("there is no folder") != std::string::npos);
}

TEST_CASE("store: the file of a newer kitgap is refused and its bytes stay") {
  const Folder folder;
  const auto job = folder / "shed.job";
  create_job(job);
  add_records(job, std::vector<Entry>{fact("amber", "f", "1")}, stamp());
  std::string bytes = test::bytes_of(job);
  bytes[63] = static_cast<char>(kJobVersion + 1);  // user_version, bytes 60 to 63 (SQLite, file format 1.3)
  test::write(job, bytes);
  const std::string says = "was made by a newer kitgap (form " + std::to_string(kJobVersion + 1);
  CHECK(message_of([&] { (void)read_job(job); }).find(says) != std::string::npos);
  CHECK(message_of([&] { add_records(job, std::vector<Entry>{fact("amber", "f", "2")}, stamp()); }).find(says) !=
        std::string::npos);
  CHECK(message_of([&] { back_up_job(job, folder / "b"); }).find(says) != std::string::npos);
  CHECK(test::bytes_of(job) == bytes);
}

TEST_CASE("store: any SQLite browser reads the facts, and none can change them by accident") {
  const Folder folder;
  const auto job = folder / "shed.job";
  create_job(job);
  add_records(job, std::vector<Entry>{fact("amber", "body style", "estate")}, stamp());
  sqlite3* database = nullptr;
  REQUIRE(sqlite3_open(job.c_str(), &database) == SQLITE_OK);
  sqlite3_stmt* statement = nullptr;
  REQUIRE(sqlite3_prepare_v2(database, "SELECT car, who, fact, value FROM fact_history", -1, &statement, nullptr) == SQLITE_OK);
  REQUIRE(sqlite3_step(statement) == SQLITE_ROW);
  CHECK(std::string(reinterpret_cast<const char*>(sqlite3_column_text(statement, 3))) == "estate");
  sqlite3_finalize(statement);
  for (const char* sql : {"UPDATE fact SET value = 'saloon'", "DELETE FROM fact", "UPDATE journal SET who = 'me'", "DELETE FROM journal"}) {
    CAPTURE(sql);
    CHECK(sqlite3_exec(database, sql, nullptr, nullptr, nullptr) == SQLITE_CONSTRAINT);
    CHECK(std::string(sqlite3_errmsg(database)) == "records are only added; a correction is a new record");
  }
  sqlite3_close(database);
}

TEST_CASE("store: a record that someone changed with the triggers off is noticed, and its backup still reads") {
  const Folder folder;
  const auto job = folder / "shed.job";
  create_job(job);
  add_records(job, std::vector<Entry>{fact("amber", "body style", "estate")}, stamp());
  test::sql(job, "DROP TRIGGER fact_is_only_added_to; UPDATE fact SET value = 'saloon'");
  CHECK(message_of([&] { (void)read_job(job); }) ==
        "`" + job.string() + "` is damaged: record 1 was changed; nothing was written\nput the last good state back: kitgap job restore " +
            job.string() + "\nthe damaged file is kept beside it");
  CHECK(verify_job(job).damages.size() == 1);
  const auto aside = restore_job(job, backup_of(job));
  REQUIRE(aside.has_value());
  CHECK(aside->filename() == "shed.job.damaged-1");
  CHECK(read_job(job).records[0].cell("value") == "estate");
  CHECK(verify_job(job).damages.empty());
}

TEST_CASE("store: the kept file of each form that was ever written still opens, reads and takes records") {
  for (int form = 1; form <= kJobVersion; ++form) {
    CAPTURE(form);
    const Folder folder;
    const auto job = folder / "kept.job";
    std::filesystem::copy_file(std::filesystem::path(KITGAP_SOURCE_DIR) / "tests" / "job" / "forms" / ("form-" + std::to_string(form) + ".job"), job);
    const JobContents before = read_job(job);
    CHECK(before.version == form);
    // Each form: the records of the one before, and what is new in it.
    REQUIRE(before.records.size() == (form == 1 ? 5U : form == 2 ? 7U : 8U));
    if (form >= 2) CHECK(before.records[5].cell("by") == "Bo");
    if (form >= 3) CHECK(before.records[7].cell("for car") == "amber");
    CHECK(before.records[2].cell("value") == "estate");
    CHECK(before.records[4].cell("minutes") == "45");
    add_records(job, std::vector<Entry>{fact("amber", "f", "1")}, stamp());
    const JobContents after = read_job(job);
    CHECK(std::ranges::equal(before.records, std::span(after.records).first(before.records.size())));
    CHECK(verify_job(job).damages.empty());
  }
}

TEST_CASE("store: an older form opens, is kept beside, and holds the same records after") {
  const Folder folder;
  const auto job = folder / "old.job";
  create_job(job);
  test::make_form_0(job);  // a file of the form before the first, as only a test can make it
  const JobContents before = read_job(job);
  CHECK(before.version == 0);
  add_records(job, std::vector<Entry>{fact("amber", "f", "1")}, stamp());
  const JobContents after = read_job(job);
  CHECK(after.version == kJobVersion);
  CHECK(after.identity == before.identity);
  CHECK(after.records.size() == 1);
  CHECK(read_job(folder / "old.job.form-0").version == 0);
}

}  // namespace
}  // namespace kitgap
