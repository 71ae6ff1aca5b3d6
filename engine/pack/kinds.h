#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

namespace kitgap {

enum class TableKind : std::uint8_t {
  Suppliers, Facts, Parts, Needs, Offers, Contents, SuppliedWithout, Replaces, MoveOver, Pairings, Limits, Sizes,
  Consumes, Steps, Cautions
};

struct ColumnWord {
  std::string_view name;
  bool must_be_filled = false;
};

struct KindWord {
  TableKind kind;
  std::string_view word;
  std::span<const ColumnWord> columns;
};

// Columns that every kind takes beside its own and the facts.
inline constexpr auto kCommonColumns = std::to_array<std::string_view>({"when", "source", "note"});

// The kinds of tables with their own columns, in the order of the enumeration.
std::span<const KindWord> table_kinds();
const KindWord& word_of(TableKind kind);
std::optional<TableKind> find_table_kind(std::string_view word);

}  // namespace kitgap
