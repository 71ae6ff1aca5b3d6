#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>

#include "text/csv.h"
#include "text/diagnostics.h"
#include "value/fraction.h"

namespace kitgap {

// One CSV table of a standard's values. A missing column or a cell that is no figure is reported once, with its place.
class StandardTable {
 public:
  static std::optional<StandardTable> open(const std::filesystem::path& path, Sources& sources, Diagnostics& diagnostics);

  std::size_t rows() const { return table_.row_count(); }
  std::string text(std::size_t row, std::string_view column);
  // Zero or above; 0, reported, where the cell is no figure.
  Fraction figure(std::size_t row, std::string_view column);
  std::optional<Fraction> figure_if_any(std::size_t row, std::string_view column);
  std::int64_t whole(std::size_t row, std::string_view column) { return figure(row, column).to_integer().value_or(0); }

 private:
  StandardTable(Table table, Diagnostics& diagnostics) : table_(std::move(table)), diagnostics_(diagnostics) {}
  Table table_;
  Diagnostics& diagnostics_;
};

}  // namespace kitgap
