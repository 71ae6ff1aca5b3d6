#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>

struct sqlite3;
struct sqlite3_stmt;

namespace kitgap {

// What SQLite could not do, sorted by what a person can do about it.
struct DatabaseFault {
  enum class Kind : std::uint8_t { Busy, Full, InputOutput, Damaged, ReadOnly, CannotOpen, Refused };
  Kind kind = Kind::InputOutput;
  std::string says;  // SQLite's own words
};

struct DatabaseOptions {
  enum class Access : std::uint8_t { Read, Write, Create };
  Access access = Access::Read;
  const char* vfs = nullptr;   // the file layer: tests put a faulty one in between
  int wait_milliseconds = 5000;  // for another program to finish
};

// One open SQLite file. Every call throws DatabaseFault when it fails, std::bad_alloc when memory is out.
// Set for files that may be damaged or hostile: trusted_schema off, cell_size_check on, no memory mapping, lower
// limits (SQLite, "Defense Against The Dark Arts"). Rollback journal with synchronous EXTRA: see store.h for why.
class Database {
 public:
  Database(const std::filesystem::path& path, const DatabaseOptions& options);
  ~Database();
  Database(const Database&) = delete;
  Database& operator=(const Database&) = delete;

  void run(const std::string& sql);
  // The first column of the first row.
  std::int64_t integer(const std::string& sql);
  std::string text(const std::string& sql);
  // A compacted copy of what is committed, into a file that is not there yet.
  void copy_into(const std::filesystem::path& path);

 private:
  friend class Statement;
  sqlite3* handle_ = nullptr;
};

// A prepared statement; columns count from 0, parameters from 1.
class Statement {
 public:
  Statement(Database& database, const std::string& sql);
  ~Statement();
  Statement(const Statement&) = delete;
  Statement& operator=(const Statement&) = delete;

  Statement& bind(int parameter, std::int64_t value);
  Statement& bind(int parameter, std::string_view text);  // must live until `reset`
  Statement& bind_null(int parameter);
  // True when there is a row.
  bool step();
  void reset();

  std::int64_t integer(int column) const;
  std::string text(int column) const;  // null reads as empty
  bool is_null(int column) const;

 private:
  Database& database_;
  sqlite3_stmt* statement_ = nullptr;
};

// BEGIN IMMEDIATE or BEGIN; rolled back unless committed.
class Transaction {
 public:
  enum class Kind : std::uint8_t { Read, Write };
  Transaction(Database& database, Kind kind);
  ~Transaction();
  Transaction(const Transaction&) = delete;
  Transaction& operator=(const Transaction&) = delete;
  void commit();

 private:
  Database& database_;
  bool is_open_ = true;
};

}  // namespace kitgap
