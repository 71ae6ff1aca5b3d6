#include "job/database.h"

#include <sqlite3.h>

#include <new>

namespace kitgap {
namespace {

DatabaseFault::Kind kind_of(int code) {
  using Kind = DatabaseFault::Kind;
  switch (code & 0xff) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED: return Kind::Busy;
    case SQLITE_FULL: return Kind::Full;
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB: return Kind::Damaged;
    case SQLITE_READONLY:
    case SQLITE_PERM:
    case SQLITE_AUTH: return Kind::ReadOnly;
    case SQLITE_CANTOPEN: return Kind::CannotOpen;
    case SQLITE_IOERR: return Kind::InputOutput;
    // Whatever else SQLite says of statements that are ours, the file has led it there: a table that is missing,
    // a type that a strict table cannot hold, a length past the limit.
    case SQLITE_ERROR:
    case SQLITE_TOOBIG:
    case SQLITE_MISMATCH:
    case SQLITE_SCHEMA:
    case SQLITE_CONSTRAINT: return Kind::Damaged;
    default: return Kind::Refused;
  }
}

void throw_if_failed(int code, sqlite3* handle) {
  if (code == SQLITE_OK || code == SQLITE_ROW || code == SQLITE_DONE) return;
  if ((code & 0xff) == SQLITE_NOMEM) throw std::bad_alloc();
  throw DatabaseFault{kind_of(code), handle != nullptr ? sqlite3_errmsg(handle) : sqlite3_errstr(code)};
}

int flags_of(DatabaseOptions::Access access) {
  switch (access) {
    case DatabaseOptions::Access::Read: return SQLITE_OPEN_READONLY;
    case DatabaseOptions::Access::Write: return SQLITE_OPEN_READWRITE;
    case DatabaseOptions::Access::Create: return SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE;
  }
  return SQLITE_OPEN_READONLY;
}

}  // namespace

Database::Database(const std::filesystem::path& path, const DatabaseOptions& options) {
  const int code = sqlite3_open_v2(path.c_str(), &handle_, flags_of(options.access) | SQLITE_OPEN_NOMUTEX,
                                   options.vfs);
  try {
    throw_if_failed(code, handle_);
    sqlite3_extended_result_codes(handle_, 1);
    sqlite3_busy_timeout(handle_, options.wait_milliseconds);
    sqlite3_db_config(handle_, SQLITE_DBCONFIG_DEFENSIVE, 1, nullptr);
    sqlite3_limit(handle_, SQLITE_LIMIT_LENGTH, 1'000'000);
    sqlite3_limit(handle_, SQLITE_LIMIT_SQL_LENGTH, 100'000);
    run("PRAGMA trusted_schema=OFF; PRAGMA cell_size_check=ON; PRAGMA mmap_size=0; PRAGMA foreign_keys=ON;"
        "PRAGMA temp_store=MEMORY; PRAGMA synchronous=EXTRA;");
  } catch (...) {
    sqlite3_close(handle_);
    throw;
  }
}

Database::~Database() { sqlite3_close(handle_); }

void Database::run(const std::string& sql) {
  throw_if_failed(sqlite3_exec(handle_, sql.c_str(), nullptr, nullptr, nullptr), handle_);
}

std::int64_t Database::integer(const std::string& sql) {
  Statement statement(*this, sql);
  return statement.step() ? statement.integer(0) : 0;
}

std::string Database::text(const std::string& sql) {
  Statement statement(*this, sql);
  return statement.step() ? statement.text(0) : std::string{};
}

void Database::copy_into(const std::filesystem::path& path) {
  Statement statement(*this, "VACUUM INTO ?1");
  statement.bind(1, path.native());
  statement.step();
}

Statement::Statement(Database& database, const std::string& sql) : database_(database) {
  throw_if_failed(sqlite3_prepare_v2(database.handle_, sql.c_str(), static_cast<int>(sql.size()), &statement_, nullptr),
                  database.handle_);
}

Statement::~Statement() { sqlite3_finalize(statement_); }

Statement& Statement::bind(int parameter, std::int64_t value) {
  throw_if_failed(sqlite3_bind_int64(statement_, parameter, value), database_.handle_);
  return *this;
}

Statement& Statement::bind(int parameter, std::string_view text) {
  throw_if_failed(sqlite3_bind_text64(statement_, parameter, text.data(), text.size(), SQLITE_STATIC, SQLITE_UTF8),
                  database_.handle_);
  return *this;
}

Statement& Statement::bind_null(int parameter) {
  throw_if_failed(sqlite3_bind_null(statement_, parameter), database_.handle_);
  return *this;
}

bool Statement::step() {
  const int code = sqlite3_step(statement_);
  throw_if_failed(code, database_.handle_);
  return code == SQLITE_ROW;
}

void Statement::reset() {
  sqlite3_reset(statement_);
  sqlite3_clear_bindings(statement_);
}

std::int64_t Statement::integer(int column) const { return sqlite3_column_int64(statement_, column); }

std::string Statement::text(int column) const {
  const auto* text = reinterpret_cast<const char*>(sqlite3_column_text(statement_, column));
  if (text == nullptr) return {};
  return {text, static_cast<std::size_t>(sqlite3_column_bytes(statement_, column))};
}

bool Statement::is_null(int column) const { return sqlite3_column_type(statement_, column) == SQLITE_NULL; }

Transaction::Transaction(Database& database, Kind kind) : database_(database) {
  database_.run(kind == Kind::Write ? "BEGIN IMMEDIATE" : "BEGIN");
}

Transaction::~Transaction() {
  if (!is_open_) return;
  try {
    database_.run("ROLLBACK");
  } catch (const DatabaseFault&) {  // SQLite has rolled back by itself: a full disk, an input/output error
  } catch (const std::bad_alloc&) {
  }
}

void Transaction::commit() {
  database_.run("COMMIT");
  is_open_ = false;
}

}  // namespace kitgap
