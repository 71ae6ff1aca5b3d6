#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <utility>
#include <vector>

#include "pack/manifest.h"
#include "pack/rules.h"

namespace kitgap {

template <class Value>
using Words = std::vector<std::pair<std::string_view, Value>>;

// Reads the cells of one table into values: what is wrong is reported with its cell, and reading goes on.
// A reader asks for its columns once and then walks the rows.
class Cells {
 public:
  using Column = std::optional<std::size_t>;

  // `scope` are the facts as this pack may name them; conditions and figures are shared through `interned`.
  struct Interned {
    std::unordered_map<std::string, ConditionId> conditions;
    std::unordered_map<std::string, FigureId> figures;
    std::unordered_map<std::string, PlacesId> places;
    std::unordered_map<std::string, std::uint32_t> practices;
  };
  Cells(Rules& rules, std::uint32_t table, const ManifestResource& resource, Interned& interned, Diagnostics& diagnostics);

  Column column(std::string_view name) const { return table().find_column(name); }
  std::size_t row_count() const { return table().row_count(); }
  void go_to(std::size_t row) { row_ = row; }
  RowPlace place() const { return {table_, static_cast<std::uint32_t>(row_)}; }

  std::string_view text(Column column) const;
  std::string string(Column column) const { return std::string(text(column)); }
  bool is_empty(Column column) const { return text(column).empty(); }
  // The text, or a report that the cell must be filled.
  std::optional<std::string_view> filled(Column column, std::string_view name);

  template <class Value>
  Value word(Column column, const Words<Value>& words, Value otherwise) {
    const std::string_view typed = text(column);
    if (typed.empty()) return otherwise;
    for (const auto& [word, value] : words) {
      if (word == typed) return value;
    }
    std::vector<std::string> candidates;
    for (const auto& [word, value] : words) candidates.emplace_back(word);
    report_word(column, candidates);
    return otherwise;
  }
  std::optional<bool> yes_no(Column column);
  // A plain number at or above zero; a share also as `5 %`.
  std::optional<Fraction> number(Column column);
  std::optional<Fraction> share(Column column);
  // A length in metres: `12 in`, or a number in the unit that the schema gives the column.
  std::optional<Fraction> length(Column column);
  std::optional<Range> minutes(Column column);  // `20` or `15..25`

  std::optional<PartId> part(Column column);           // an empty cell is nothing without a report
  std::optional<PartId> part_named(std::string_view key, Column column);
  std::vector<PartId> parts(Column column);            // `;` between
  PlacesId places(Column column);                      // `;` between
  StatedPlace stated_place(Column column);
  FigureId figure(Column column, Unit unit, std::span<const std::string> names);
  ConditionId condition();
  std::uint32_t practice(Column column);

  void error(Column column, std::string_view code, std::string says, std::string expected, std::string suggestion = {});
  Rules& rules() { return rules_; }
  Diagnostics& diagnostics() { return diagnostics_; }
  const TableInfo& info() const { return rules_.tables[table_]; }
  std::optional<std::string> declared_unit(std::string_view column) const;

 private:
  const Table& table() const { return info().table; }
  void report_word(Column column, const std::vector<std::string>& words);
  PlacesId intern_places(std::vector<PositionId> leaves);
  std::optional<Figure> parse_figure(Column column, Unit unit, std::span<const std::string> names);
  void check_dimension(const Quantity& quantity, Column column, Unit unit);

  Rules& rules_;
  std::uint32_t table_;
  const ManifestResource& resource_;
  Interned& interned_;
  Diagnostics& diagnostics_;
  std::size_t row_ = 0;
};

// One entry per kind: reads all rows of one table into its vector in `rules`.
void read_rows(TableKind kind, Cells& cells);
// The keys of parts and offers, so that rows of any table and pack can name them.
void declare_parts(Cells& cells);
void declare_offers(Cells& cells);

}  // namespace kitgap
