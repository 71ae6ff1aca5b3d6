#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "job/kinds.h"

namespace kitgap {

// When, by whom and through which command something is recorded. The clock is the caller's.
struct Stamp {
  std::string at;   // UTC, `2026-11-25T08:30:00Z`
  std::string who;  // the person's name
  std::string via;  // the command: `found`
};

// What is to be recorded.
struct Entry {
  std::string car;                        // empty: for the file as a whole
  KindIndex kind = 0;
  std::vector<std::string> cells;         // by the kind's columns; empty: not said
  std::optional<std::int64_t> corrects;   // the record that this one replaces (or, of kind `withdrawal`, takes back)
};

// What is recorded. Never changed and never removed.
struct Record {
  std::int64_t id = 0;       // 1, 2, 3, ... through the whole file
  std::string car;
  std::int64_t place = 0;    // 1, 2, 3, ... within its car
  std::int64_t command = 0;  // records of one command share it
  std::string at, who, via;
  KindIndex kind = 0;
  std::optional<std::int64_t> corrects;
  std::vector<std::string> cells;

  // The cell of that column, which the kind must have (else InternalError).
  std::string_view cell(std::string_view column) const;
  friend bool operator==(const Record&, const Record&) = default;
};

// An entry by names: `entry_of("amber", "fact", {{"fact", "body style"}, {"value", "estate"}})`. The kind and the
// columns must exist (else InternalError).
Entry entry_of(std::string car, std::string_view kind,
               const std::vector<std::pair<std::string_view, std::string>>& cells,
               std::optional<std::int64_t> corrects = {});

// The hash of the record over the one before it in its car. Columns that are empty do not count, so that a later
// version may add one.
std::string hash_of(const Record& record, std::string_view previous_hash);

// `2026-11-25T08:30:00Z`, and nothing else.
bool is_stamp_time(std::string_view text);

}  // namespace kitgap
