#include "job/bench.h"

#include <doctest/doctest.h>
#include <sqlite3.h>
#include <stdlib.h>

#include <fstream>
#include <iterator>

#include "job/chains.h"
#include "job/database.h"
#include "text/file.h"

namespace kitgap::test {

Folder::Folder() {
  // In memory where there is such a folder: what is tested here is the order of calls, not the speed of a disk.
  const std::filesystem::path memory = "/dev/shm";
  std::error_code ignored;
  const bool has_memory = std::filesystem::is_directory(memory, ignored);
  std::string name = ((has_memory ? memory : std::filesystem::temp_directory_path()) / "kitgap-test-XXXXXX").string();
  REQUIRE(::mkdtemp(name.data()) != nullptr);
  path_ = name;
}

Folder::~Folder() {
  std::error_code ignored;
  std::filesystem::remove_all(path_, ignored);
}

Entry fact(const std::string& car, const std::string& name, const std::string& value, std::optional<std::int64_t> corrects) {
  return entry_of(car, "fact", {{"fact", name}, {"value", value}}, corrects);
}

Stamp stamp() { return {.at = "2026-03-01T10:00:00Z", .who = "Ann", .via = "test"}; }

std::vector<Entry> command(int number) {
  const std::string text = std::to_string(number);
  const std::string car = number % 3 == 0 ? "amber" : "blue";
  std::vector<Entry> entries = {
      fact(car, "fact " + text, "value of " + text),
      entry_of(car, "found", {{"parent", "door-panel"}, {"position", "rear.left"}, {"part", "panel-clip"}, {"count", text},
                              {"counted in", "shell"}, {"bag", "bag " + text}}),
      entry_of("", "arrival", {{"id", "order 7"}, {"line", text}, {"counted", text}, {"damaged", "0"}}),
  };
  for (int extra = 0; extra < number % 4; ++extra) {
    entries.push_back(entry_of("", "stock line", {{"line", text + "." + std::to_string(extra)}, {"quantity", "12"}}));
  }
  return entries;
}

std::string bytes_of(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

void write(const std::filesystem::path& path, const std::string& bytes) {
  std::ofstream(path, std::ios::binary).write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
}

void sql(const std::filesystem::path& path, const std::string& statements) {
  sqlite3* database = nullptr;
  REQUIRE(sqlite3_open(path.c_str(), &database) == SQLITE_OK);
  REQUIRE(sqlite3_exec(database, statements.c_str(), nullptr, nullptr, nullptr) == SQLITE_OK);
  sqlite3_close(database);
}

std::string message_of(const std::function<void()>& work) {
  try {
    work();
  } catch (const JobRefused& refused) {
    return refused.says;
  } catch (const MachineFailure& failure) {
    return failure.says;
  }
  return {};
}

void make_form_0(const std::filesystem::path& path) {
  JobContents contents = read_job(path);
  REQUIRE(contents.records.empty());
  Database database(path, {.access = DatabaseOptions::Access::Write});
  for (const RecordKind& kind : record_kinds()) {
    database.run("DROP VIEW \"" + std::string(kind.table) + "_history\"; DROP TABLE \"" + std::string(kind.table) + "\"");
  }
  database.run("PRAGMA user_version=0");
  contents.version = 0;
  write_seal(database, contents);
}

int figure(const char* name, int every_run, int full) {
  if (const char* text = ::getenv(name)) return std::stoi(text);
  const char* tier = ::getenv("KITGAP_TIER");
  return tier != nullptr && std::string_view(tier) == "full" ? full : every_run;
}

}  // namespace kitgap::test
