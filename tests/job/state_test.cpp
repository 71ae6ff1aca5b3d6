#include "job/state.h"

#include <doctest/doctest.h>

#include <map>

#include "job/bench.h"
#include "job/exchange.h"
#include "job/orders.h"
#include "text/file.h"

namespace kitgap {
namespace {

using test::fact;
using test::Folder;

// Records as a store would number them, all of one car or shared, a day apart.
std::vector<Record> recorded(const std::vector<Entry>& entries) {
  std::vector<Record> records;
  std::map<std::string, std::int64_t> places;
  for (const Entry& entry : entries) {
    const auto id = static_cast<std::int64_t>(records.size()) + 1;
    records.push_back({.id = id, .car = entry.car, .place = ++places[entry.car], .command = id,
                       .at = "2026-03-0" + std::to_string(id) + "T10:00:00Z", .who = "Ann", .via = "test",
                       .kind = entry.kind, .corrects = entry.corrects, .cells = entry.cells});
  }
  return records;
}

std::string numbers(const std::vector<Record>& records) {
  std::string out;
  for (const Record& record : records) out += (out.empty() ? "" : " ") + std::to_string(record.id);
  return out;
}

TEST_CASE("state: the last statement of a fact stands, and on an earlier day the one of that day") {
  const auto records = recorded({fact("amber", "body style", "estate"), fact("amber", "model year", ">= 1970"),
                                 fact("amber", "body style", "saloon"), fact("blue", "body style", "van")});
  CHECK(car_json(standing_records(records), "amber") ==
        "{\n  \"name\": \"amber\",\n  \"facts\": {\n    \"body style\": \"saloon\",\n    \"model year\": \"\\u003e= 1970\"\n  }\n}\n");
  CHECK(numbers(standing_records(records, "2026-03-02")) == "1 2");
  CHECK(present_records(standing_records(records, "2026-03-02"), "fact", "amber")[0].cell("value") == "estate");
}

TEST_CASE("state: a correction takes the place of what it corrects; a withdrawal leaves nothing") {
  const auto found = [](const std::string& count, std::optional<std::int64_t> corrects = {}) {
    return entry_of("amber", "found", {{"parent", "door-panel"}, {"position", "rear.left"}, {"part", "panel-clip"},
                                       {"count", count}, {"counted in", "shell"}}, corrects);
  };
  const auto records = recorded({found("9"), found("8"), found("10", 1), found("11", 3),
                                 entry_of("amber", "withdrawal", {{"reason", "wrong door"}}, 2)});
  CHECK(numbers(standing_records(records)) == "4");
  CHECK(numbers(standing_records(records, "2026-03-03")) == "3 2");
  CHECK(numbers(standing_records(records, "2026-03-01")) == "1");
  std::vector<std::int64_t> lines;
  CHECK(table_csv(standing_records(records), JobTable::Found, "amber", &lines) ==
        "parent,position,part,count,counted in,condition,bag,photo,date,note,by\n"
        "door-panel,rear.left,panel-clip,11,shell,,,,,,Ann\n");
  CHECK(lines == std::vector<std::int64_t>{4});
}

TEST_CASE("state: a new list takes the place of the old one; stock lines change one by one, and none is gone") {
  const auto line = [](const std::string& kind, const std::string& id, const std::string& number, const std::string& quantity) {
    return entry_of(kind == "list line" ? "amber" : "", kind, {{"line", id}, {"part number", number}, {"quantity", quantity}});
  };
  const auto records = recorded({line("list line", "1", "K-17", "2"), entry_of("amber", "list", {{"file", "list.csv"}}),
                                 line("list line", "1", "K-18", "1"), line("stock line", "1", "S-1", "60"),
                                 line("stock line", "2", "S-2", "5"), line("stock line", "1", "S-1", "40"),
                                 line("stock line", "2", "S-2", "0")});
  const auto standing = standing_records(records);
  CHECK(table_csv(standing, JobTable::List, "amber") ==
        "part number,description,quantity,position,supplier,bag,due,note\nK-18,,1,,,,,\n");
  CHECK(table_csv(standing, JobTable::Stock, "") ==
        "part number,description,quantity,position,supplier,bag,due,note\nS-1,,40,,,,,\n");
  CHECK(table_csv(standing, JobTable::Order, "").empty());
}

TEST_CASE("state: a pack that changed since the job used it is named with both versions") {
  const auto records = recorded({entry_of("", "pack", {{"name", "demo"}, {"version", "1.0"}, {"hash", "aa"}})});
  const std::vector<PackInUse> now = {{"demo", "rules/demo", "1.1", "bb"}, {"trade", "rules/trade", "1.0", "cc"}};
  const auto changes = changed_packs(standing_records(records), now);
  REQUIRE(changes.size() == 1);
  CHECK(changes[0].was_version == "1.0");
  CHECK(changes[0].is_version == "1.1");
}

TEST_CASE("orders: rework counts for the car that it is for, less what is logged there") {
  const auto rework = [](const std::string& car, const std::string& minutes) {
    return entry_of("", "rework", {{"id", "o1"}, {"line", "1"}, {"quantity", "1"}, {"minutes", minutes}, {"what", "trim"}, {"for car", car}});
  };
  const auto hours = [](const std::string& car, const std::string& minutes) {
    return entry_of(car, "hours", {{"step", "rework"}, {"minutes", minutes}});
  };
  const auto standing = standing_records(recorded({rework("amber", "40"), rework("blue", "15"), hours("amber", "25"), hours("blue", "30"), rework("", "7")}));
  CHECK(rework_minutes(standing, "amber", false) == Fraction(15));
  CHECK(rework_minutes(standing, "amber", true) == Fraction(22));  // a job of one car: all of it is its own
  CHECK(rework_minutes(standing, "blue", false) == Fraction(0));
  CHECK(rework_for_no_car(standing) == std::vector<std::int64_t>{5});
}

TEST_CASE("exchange: an export gives back a job of equal content, from its JSON and from its CSV files") {
  const Folder folder;
  const auto job = folder / "shed.job";
  create_job(job);
  for (int number = 1; number <= 4; ++number) add_records(job, test::command(number), test::stamp(), {.keep_backup = false});
  // What a spreadsheet, a browser or a terminal could stumble over comes back letter by letter.
  for (const std::string text : {"=1+1", "'=1+1", "@x", "-", "a,b\n\"c\"", "\xe2\x80\xa8<b>&", " blank ", "+49", "\tx"}) {
    add_records(job, std::vector<Entry>{fact("amber", "f", text)}, test::stamp(), {.keep_backup = false});
  }
  const JobContents contents = read_job(job);
  export_job(contents, folder / "out");
  for (const bool from_csv : {false, true}) {
    CAPTURE(from_csv);
    if (from_csv) std::filesystem::remove(folder / "out" / "job.json");
    Sources sources;
    Diagnostics diagnostics;
    const auto read = read_export(folder / "out", sources, diagnostics);
    CHECK(layout(diagnostics, sources) == "");
    REQUIRE(read.has_value());
    const auto copy = folder / (from_csv ? "csv.job" : "json.job");
    rebuild_job(copy, *read);
    const JobContents again = read_job(copy);
    CHECK(again.records == contents.records);
    CHECK(again.seal == contents.seal);
    CHECK(verify_job(copy).damages.empty());
  }
}

TEST_CASE("exchange: a job as of a day is the file as it stood that evening, to the seal") {
  const Folder folder;
  const auto job = folder / "shed.job";
  create_job(job);
  std::vector<JobContents> evenings;
  for (int number = 1; number <= 6; ++number) {
    Stamp on_day = test::stamp();
    on_day.at = "2026-03-0" + std::to_string((number + 1) / 2) + (number % 2 == 1 ? "T09:00:00Z" : "T23:59:59Z");  // two a day
    add_records(job, test::command(number), on_day, {.keep_backup = false});
    if (number % 2 == 0) evenings.push_back(read_job(job));
  }
  for (int day = 1; day <= 3; ++day) {
    CAPTURE(day);
    const JobContents& evening = evenings[static_cast<std::size_t>(day - 1)];
    const JobContents then = job_at(evenings.back(), "2026-03-0" + std::to_string(day));
    CHECK(then.seal == evening.seal);
    CHECK(then.records == evening.records);
    CHECK(then.cars == evening.cars);
    rebuild_job(folder / ("copy" + std::to_string(day)), then);
    CHECK(read_job(folder / ("copy" + std::to_string(day))).seal == evening.seal);
  }
  CHECK(job_at(evenings.back(), "2026-02-28").records.empty());
}

TEST_CASE("exchange: an export in which something was changed makes no job") {
  const Folder folder;
  const auto job = folder / "shed.job";
  create_job(job);
  add_records(job, std::vector<Entry>{fact("amber", "body style", "estate")}, test::stamp());
  JobContents contents = read_job(job);
  contents.records[0].cells[1] = "saloon";
  const std::string says = test::message_of([&] { rebuild_job(folder / "copy.job", contents); });
  CHECK(says == "the records do not fit their seal: something in the export was changed or is missing");
  CHECK_FALSE(std::filesystem::exists(folder / "copy.job"));
}

TEST_CASE("exchange: the history shows each record and what corrected it") {
  const auto records = recorded({fact("amber", "body style", "estate"), fact("amber", "body style", "saloon", 1)});
  CHECK(history_text(records) ==
        "1  2026-03-01T10:00:00Z  Ann  amber  fact: fact=body style; value=estate  (corrected by 2)\n"
        "2  2026-03-02T10:00:00Z  Ann  amber  fact: fact=body style; value=saloon  (corrects 1)\n");
  CHECK(history_csv(std::span(records).first(1)) ==
        "record,car,place,command,at,who,via,corrects,kind,cells\n"
        "1,amber,1,1,2026-03-01T10:00:00Z,Ann,test,,fact,fact=body style; value=estate\n");
}

}  // namespace
}  // namespace kitgap
