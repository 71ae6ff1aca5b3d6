#include "job/chains.h"

#include <algorithm>
#include <map>
#include <memory>

#include "job/schema.h"
#include "text/diagnostics.h"
#include "text/sha256.h"

namespace kitgap {
namespace {

struct Chain {
  std::int64_t records = 0;
  std::string hash;
};
using Chains = std::map<std::string, Chain>;  // by car; no name: shared

[[noreturn]] void report_damage(std::string says) {
  throw DatabaseFault{DatabaseFault::Kind::Damaged, std::move(says)};
}

std::string seal_of(const JobContents& contents, const Chains& chains) {
  Sha256 hash;
  std::int64_t records = 0;
  for (const auto& [car, chain] : chains) records += chain.records;
  hash.add(contents.identity + "\n" + std::to_string(contents.version) + "\n" + std::to_string(contents.commands) +
           "\n" + std::to_string(records) + "\n");
  for (const auto& [car, chain] : chains) {
    hash.add(std::to_string(car.size()) + ":" + car + ":" + std::to_string(chain.records) + ":" + chain.hash + "\n");
  }
  return hash.hex();
}

Chains read_chains(Database& database) {
  Chains chains;
  Statement statement(database, "SELECT car, records, hash FROM chain ORDER BY car");
  while (statement.step()) chains[statement.text(0)] = {statement.integer(1), statement.text(2)};
  return chains;
}

// The seal and the chains, each checked against the other.
JobContents read_sealed(Database& database, Chains& chains) {
  JobContents contents;
  std::int64_t records = 0;
  {
    Statement statement(database, "SELECT identity, version, commands, records, hash FROM seal");
    if (!statement.step()) report_damage("its seal is missing");
    contents.identity = statement.text(0);
    contents.version = static_cast<int>(statement.integer(1));
    contents.commands = statement.integer(2);
    records = statement.integer(3);
    contents.seal = statement.text(4);
  }
  chains = read_chains(database);
  std::int64_t in_chains = 0;
  for (const auto& [car, chain] : chains) {
    in_chains += chain.records;
    if (!car.empty()) contents.cars.push_back(car);
  }
  if (contents.version != database.integer("PRAGMA user_version")) report_damage("its version was changed");
  if (in_chains != records || contents.seal != seal_of(contents, chains)) report_damage("its seal does not fit");
  return contents;
}

// One statement per kind, made when the first record of that kind is read.
class CellReader {
 public:
  CellReader(Database& database, int version) : database_(database), version_(version) {
    statements_.resize(record_kinds().size());
  }
  std::vector<std::string> cells(KindIndex index, std::int64_t id) {
    const RecordKind& kind = record_kinds()[index];
    if (kind.since > version_) report_damage("record " + std::to_string(id) + " is of a kind that its version lacks");
    auto& statement = statements_[index];
    if (statement == nullptr) {
      std::string sql;
      for (const std::string_view column : kind.columns.first(kind.columns_in(version_))) {
        sql += (sql.empty() ? "SELECT \"" : ", \"") + column_name(column) + "\"";
      }
      statement = std::make_unique<Statement>(
          database_, sql + " FROM \"" + std::string(kind.table) + "\" WHERE record = ?1");
    }
    statement->bind(1, id);
    if (!statement->step()) report_damage("record " + std::to_string(id) + " has lost its content");
    std::vector<std::string> cells(kind.columns.size());
    for (std::size_t column = 0; column < kind.columns_in(version_); ++column) {
      cells[column] = statement->text(static_cast<int>(column));
    }
    statement->reset();
    return cells;
  }

 private:
  Database& database_;
  int version_;
  std::vector<std::unique_ptr<Statement>> statements_;
};

std::string named(const std::string& car) { return car.empty() ? "shared by all cars" : "of `" + car + "`"; }

void read_chain(Database& database, CellReader& cells, const std::string& car, const Chain& chain, JobContents& contents) {
  Statement rows(database,
                 "SELECT id, place, command, at, who, via, kind, corrects, hash FROM journal WHERE car = ?1 ORDER BY place");
  rows.bind(1, car);
  std::string previous = contents.identity;
  std::int64_t place = 0;
  while (rows.step()) {
    Record record{.id = rows.integer(0), .car = car, .place = rows.integer(1), .command = rows.integer(2),
                  .at = rows.text(3), .who = rows.text(4), .via = rows.text(5), .kind = 0, .corrects = {}, .cells = {}};
    const auto kind = find_record_kind(rows.text(6));
    if (!kind || record.place != ++place) report_damage("record " + std::to_string(record.id) + " was changed");
    record.kind = *kind;
    if (!rows.is_null(7)) record.corrects = rows.integer(7);
    record.cells = cells.cells(*kind, record.id);
    const std::string hash = hash_of(record, previous);
    if (hash != rows.text(8)) report_damage("record " + std::to_string(record.id) + " was changed");
    previous = hash;
    contents.records.push_back(std::move(record));
  }
  if (place != chain.records || (place != 0 && previous != chain.hash)) {
    report_damage("records " + named(car) + " are missing: " + std::to_string(place) + " of " +
                  std::to_string(chain.records) + " are there");
  }
}

void check_row_counts(Database& database, const JobContents& contents) {
  const auto records = static_cast<std::int64_t>(contents.records.size());
  if (database.integer("SELECT count(*) FROM journal NOT INDEXED") != records) report_damage("there are records of no car");
  std::vector<std::int64_t> by_kind(record_kinds().size());
  for (const Record& record : contents.records) ++by_kind[record.kind];
  for (std::size_t kind = 0; kind < by_kind.size(); ++kind) {
    if (record_kinds()[kind].since > contents.version) continue;
    const std::string table(record_kinds()[kind].table);
    if (database.integer("SELECT count(*) FROM \"" + table + "\"") != by_kind[kind]) {
      report_damage("the table `" + table + "` has rows that no record owns");
    }
  }
}

void insert_record(Database& database, const Record& record, const std::string& hash) {
  const RecordKind& kind = record_kinds()[record.kind];
  Statement journal(database, "INSERT INTO journal VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)");
  journal.bind(1, record.id).bind(2, record.car).bind(3, record.place).bind(4, record.command).bind(5, record.at);
  journal.bind(6, record.who).bind(7, record.via).bind(8, kind.word).bind(10, hash);
  if (record.corrects) journal.bind(9, *record.corrects);
  journal.step();
  std::string places = "?1";
  for (std::size_t column = 0; column < kind.columns.size(); ++column) places += ", ?" + std::to_string(column + 2);
  Statement row(database, "INSERT INTO \"" + std::string(kind.table) + "\" VALUES (" + places + ")");
  row.bind(1, record.id);
  for (std::size_t column = 0; column < kind.columns.size(); ++column) {
    if (!record.cells[column].empty()) row.bind(static_cast<int>(column) + 2, record.cells[column]);
  }
  row.step();
}

void write_chain(Database& database, const std::string& car, const Chain& chain) {
  Statement statement(database, "INSERT INTO chain VALUES (?1, ?2, ?3) ON CONFLICT (car) DO UPDATE SET "
                                "records = excluded.records, hash = excluded.hash");
  statement.bind(1, car).bind(2, chain.records).bind(3, chain.hash).step();
}

void write_seal_row(Database& database, const JobContents& contents, const Chains& chains) {
  std::int64_t records = 0;
  for (const auto& [car, chain] : chains) records += chain.records;
  Statement statement(database, "INSERT INTO seal VALUES (1, ?1, ?2, ?3, ?4, ?5) ON CONFLICT (id) DO UPDATE SET "
                                "version = excluded.version, commands = excluded.commands, records = excluded.records, "
                                "hash = excluded.hash");
  statement.bind(1, contents.identity).bind(2, std::int64_t{contents.version}).bind(3, contents.commands);
  statement.bind(4, records).bind(5, contents.seal).step();
}

// Adds one record at the end of its chain.
void extend(Database& database, Chains& chains, const std::string& identity, Record& record) {
  const bool is_new = !chains.contains(record.car);
  Chain& chain = chains[record.car];
  if (is_new) write_chain(database, record.car, chain);
  record.place = chain.records + 1;
  const std::string hash = hash_of(record, chain.records == 0 ? identity : chain.hash);
  insert_record(database, record, hash);
  chain = {record.place, hash};
}

}  // namespace

JobContents read_contents(Database& database, std::span<const std::string> cars) {
  Chains chains;
  JobContents contents = read_sealed(database, chains);
  CellReader cells(database, contents.version);
  for (const std::string& car : cars) {
    if (chains.contains(car) && !car.empty()) continue;
    const std::string near = nearest(car, contents.cars);
    throw JobRefused{"there is no car `" + car + "` in this job" + (near.empty() ? "" : "\ndid you mean `" + near + "`?")};
  }
  for (const auto& [car, chain] : chains) {
    const bool is_wanted = cars.empty() || car.empty() || std::ranges::find(cars, car) != cars.end();
    if (is_wanted) read_chain(database, cells, car, chain, contents);
  }
  std::ranges::sort(contents.records, {}, &Record::id);
  return contents;
}

JobContents read_identity(Database& database) {
  JobContents contents;
  Statement statement(database, "SELECT identity, commands FROM seal");
  if (!statement.step()) report_damage("its seal is missing");
  contents.identity = statement.text(0);
  contents.commands = statement.integer(1);
  return contents;
}

JobContents check_everything(Database& database) {
  const std::string says = database.text("PRAGMA integrity_check(1)");
  if (says != "ok") report_damage("its pages do not fit together (" + says + ")");
  JobContents contents = read_contents(database, {});
  for (std::size_t index = 0; index < contents.records.size(); ++index) {
    if (contents.records[index].id != static_cast<std::int64_t>(index) + 1) report_damage("the records are not numbered in order");
  }
  check_row_counts(database, contents);
  return contents;
}

std::vector<std::int64_t> append_entries(Database& database, JobContents& contents, std::span<const Entry> entries,
                                         const Stamp& stamp) {
  Chains chains = read_chains(database);
  ++contents.commands;
  std::vector<std::int64_t> ids;
  auto id = static_cast<std::int64_t>(contents.records.size());
  for (const Entry& entry : entries) {
    Record record{.id = ++id, .car = entry.car, .place = 0, .command = contents.commands, .at = stamp.at,
                  .who = stamp.who, .via = stamp.via, .kind = entry.kind, .corrects = entry.corrects,
                  .cells = entry.cells};
    extend(database, chains, contents.identity, record);
    ids.push_back(record.id);
    contents.records.push_back(std::move(record));
  }
  for (const auto& [car, chain] : chains) write_chain(database, car, chain);
  contents.seal = seal_of(contents, chains);
  write_seal_row(database, contents, chains);
  return ids;
}

void append_records(Database& database, const JobContents& contents) {
  Chains chains;
  for (Record record : contents.records) {
    const std::int64_t place = record.place;
    extend(database, chains, contents.identity, record);
    if (record.place != place) throw JobRefused{"record " + std::to_string(record.id) + " is out of order"};
  }
  for (const auto& [car, chain] : chains) write_chain(database, car, chain);
  if (seal_of(contents, chains) != contents.seal) {
    throw JobRefused{"the records do not fit their seal: something in the export was changed or is missing"};
  }
  write_seal_row(database, contents, chains);
}

JobContents job_at(const JobContents& contents, std::string_view day) {
  JobContents then{.identity = contents.identity, .version = contents.version, .commands = 0, .seal = {}, .cars = {}, .records = {}};
  // Commands in their order, whatever the clock said in between.
  for (const Record& record : contents.records) {
    if (std::string_view(record.at).substr(0, 10) <= day) then.commands = std::max(then.commands, record.command);
  }
  Chains chains;
  for (const Record& record : contents.records) {
    if (record.command > then.commands) continue;
    Chain& chain = chains[record.car];
    chain = {record.place, hash_of(record, chain.records == 0 ? contents.identity : chain.hash)};
    then.records.push_back(record);
  }
  for (const auto& [car, chain] : chains) {
    if (!car.empty()) then.cars.push_back(car);
  }
  then.seal = seal_of(then, chains);
  return then;
}

void write_seal(Database& database, const JobContents& contents) {
  JobContents sealed = contents;
  const Chains chains = read_chains(database);
  sealed.seal = seal_of(sealed, chains);
  write_seal_row(database, sealed, chains);
}

}  // namespace kitgap
