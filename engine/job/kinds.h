#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

namespace kitgap {

// What a job file records. Each kind is one plain table of text columns, named as here with `_` for a blank.
//
// Records belong to one car, or to the file as a whole: stock, orders and suppliers are shared by all its cars.
// `key` columns say what a later record of the same key replaces in the present state: the first `key_columns`
// of the kind. Kinds with no key columns only add up (arrivals, hours).
struct RecordKind {
  std::string_view word;                      // `order line`
  std::string_view table;                     // `order_line`
  bool is_of_car = false;
  std::size_t key_columns = 0;
  std::span<const std::string_view> columns;
  std::span<const std::string_view> needed;   // columns that may not be empty
  int since = 1;                              // the version of the file that first had it
  std::size_t late_columns = 0;               // the last so many columns came with `late_since`
  int late_since = 1;

  // How many of the columns a file of that version has.
  std::size_t columns_in(int version) const { return columns.size() - (version < late_since ? late_columns : 0); }
};

// In the order of the index that `Record::kind` holds.
std::span<const RecordKind> record_kinds();

using KindIndex = std::size_t;
// Nothing when no kind has that word.
std::optional<KindIndex> find_record_kind(std::string_view word);
// The word must be one of the kinds'; else InternalError.
KindIndex record_kind_of(std::string_view word);
std::optional<std::size_t> find_record_column(KindIndex kind, std::string_view column);

}  // namespace kitgap
