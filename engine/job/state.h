#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "job/record.h"

namespace kitgap {

// What a job's records say now, or said on a day. Pure: from records to tables and texts.

// The records that stand at the end of the day `as_of` (UTC, `2026-03-01`; nothing: today): neither corrected nor
// withdrawn by then. A correction takes the place of what it corrects in the order, so that "the later row" keeps
// its meaning. What is corrected never comes back, not even when the correction is withdrawn: record it anew.
std::vector<Record> standing_records(std::span<const Record> records, const std::optional<std::string>& as_of = {});

// Those of one kind and car (no name: what is shared), as they stand now: of records with the same key columns only
// the last; of list lines only those since the last `list`. `standing` is what `standing_records` gave.
std::vector<Record> present_records(std::span<const Record> standing, std::string_view kind, std::string_view car);

// The car as a CAR file of FORMATS (JSON): facts, work and dates.
std::string car_json(std::span<const Record> standing, std::string_view car);
// LIST, STOCK, ORDER and FOUND of FORMATS as CSV, so that a job is read by the same readers as plain files.
// `lines` gets the record behind each row, in order. Empty when there are no rows.
enum class JobTable : std::uint8_t { List, Stock, Order, Found };
std::string table_csv(std::span<const Record> standing, JobTable table, std::string_view car,
                      std::vector<std::int64_t>* lines = nullptr);

std::string_view word_of(JobTable table);  // `list`, `stock`, `order`, `found`
// theirs=ours pairs remembered for files of that sort (`word_of`, and `counts` of an arrival).
std::vector<std::pair<std::string, std::string>> remembered_columns(std::span<const Record> standing, std::string_view file);

// A pack that was used, and is of another hash now.
struct PackChange {
  std::string name;
  std::string was_version, is_version;
  std::string was_hash, is_hash;
};
struct PackInUse {
  std::string name, path, version, hash;
};
// General first; a pack of place 0 is out of use.
std::vector<PackInUse> packs_in_use(std::span<const Record> standing);
std::vector<PackChange> changed_packs(std::span<const Record> standing, std::span<const PackInUse> now);

}  // namespace kitgap
