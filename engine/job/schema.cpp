#include "job/schema.h"

#include <algorithm>

namespace kitgap {
namespace {

// `chain` holds one line per car and one, with no name, for what the file's cars share: how many records it has and
// the hash of the last, each hash covering the one before. `seal` covers all chains. A record that was changed,
// lost or put in by other means than ours breaks a chain or the seal.
constexpr std::string_view kFrame = R"(
CREATE TABLE chain (
  car TEXT PRIMARY KEY,
  records INTEGER NOT NULL CHECK (records >= 0),
  hash TEXT NOT NULL
) STRICT, WITHOUT ROWID;
CREATE TABLE seal (
  id INTEGER PRIMARY KEY CHECK (id = 1),
  identity TEXT NOT NULL,
  version INTEGER NOT NULL,
  commands INTEGER NOT NULL,
  records INTEGER NOT NULL,
  hash TEXT NOT NULL
) STRICT;
CREATE TABLE journal (
  id INTEGER PRIMARY KEY CHECK (id > 0),
  car TEXT NOT NULL REFERENCES chain (car),
  place INTEGER NOT NULL CHECK (place > 0),
  command INTEGER NOT NULL CHECK (command > 0),
  at TEXT NOT NULL,
  who TEXT NOT NULL,
  via TEXT NOT NULL,
  kind TEXT NOT NULL,
  corrects INTEGER REFERENCES journal (id),
  hash TEXT NOT NULL CHECK (length(hash) = 64),
  UNIQUE (car, place)
) STRICT;
CREATE TRIGGER journal_is_only_added_to BEFORE UPDATE ON journal BEGIN
  SELECT RAISE(ABORT, 'records are only added; a correction is a new record');
END;
CREATE TRIGGER journal_keeps_all BEFORE DELETE ON journal BEGIN
  SELECT RAISE(ABORT, 'records are only added; a correction is a new record');
END;
)";

std::string in_quotes(std::string_view name) { return "\"" + std::string(name) + "\""; }

std::string view_of(const RecordKind& kind) { return in_quotes(std::string(kind.table) + "_history"); }

void make_view(Database& database, const RecordKind& kind, int version) {
  std::string listed;
  for (const std::string_view column : kind.columns.first(kind.columns_in(version))) listed += ", r." + in_quotes(column_name(column));
  database.run("CREATE VIEW " + view_of(kind) + " AS SELECT j.id AS record, j.car, j.at, j.who, j.via, j.corrects" + listed +
               " FROM journal AS j JOIN " + in_quotes(kind.table) + " AS r ON r.record = j.id ORDER BY j.id");
}

void make_kind(Database& database, const RecordKind& kind, int version) {
  const std::string table = in_quotes(kind.table);
  std::string columns;
  for (const std::string_view column : kind.columns.first(kind.columns_in(version))) {
    const bool is_needed = std::ranges::find(kind.needed, column) != kind.needed.end();
    columns += ",\n  " + in_quotes(column_name(column)) + " TEXT" + (is_needed ? " NOT NULL" : "");
  }
  database.run("CREATE TABLE " + table + " (\n  record INTEGER PRIMARY KEY REFERENCES journal (id)" + columns + "\n) STRICT");
  make_view(database, kind, version);
  for (const std::string_view verb : {"UPDATE", "DELETE"}) {
    database.run("CREATE TRIGGER " + in_quotes(std::string(kind.table) + (verb == "UPDATE" ? "_is_only_added_to" : "_keeps_all")) +
                 " BEFORE " + std::string(verb) + " ON " + table +
                 " BEGIN SELECT RAISE(ABORT, 'records are only added; a correction is a new record'); END");
  }
}

// A later version's columns stand last, so that what writes rows need not know which came when.
void add_late_columns(Database& database, const RecordKind& kind, int version) {
  database.run("DROP VIEW " + view_of(kind));
  for (const std::string_view column : kind.columns.last(kind.late_columns)) {
    database.run("ALTER TABLE " + in_quotes(kind.table) + " ADD COLUMN " + in_quotes(column_name(column)) + " TEXT");
  }
  make_view(database, kind, version);
}

}  // namespace

std::string column_name(std::string_view word) {
  std::string name(word);
  std::ranges::replace_if(name, [](char letter) { return letter == ' ' || letter == '-'; }, '_');
  return name;
}

void make_schema(Database& database, int version) {
  database.run(std::string(kFrame));
  for (const RecordKind& kind : record_kinds()) {
    if (kind.since <= version) make_kind(database, kind, version);
  }
  database.run("PRAGMA application_id=" + std::to_string(kJobApplicationId) +
               "; PRAGMA user_version=" + std::to_string(version));
}

void migrate_schema(Database& database, int from, int to) {
  for (int version = from + 1; version <= to; ++version) {
    for (const RecordKind& kind : record_kinds()) {
      if (kind.since == version) make_kind(database, kind, version);
      else if (kind.late_columns != 0 && kind.late_since == version) add_late_columns(database, kind, version);
    }
  }
  database.run("PRAGMA user_version=" + std::to_string(to));
}

}  // namespace kitgap
