#include "measure/standard_table.h"

#include "text/codes.h"
#include "text/file.h"

namespace kitgap {

std::optional<StandardTable> StandardTable::open(const std::filesystem::path& path, Sources& sources, Diagnostics& diagnostics) {
  const auto source = read_file(path, sources, diagnostics);
  auto table = source ? read_pack_table(*source, sources, diagnostics) : std::nullopt;
  if (!table) return std::nullopt;
  return StandardTable(std::move(*table), diagnostics);
}

std::string StandardTable::text(std::size_t row, std::string_view column) {
  const auto found = table_.find_column(column);
  if (found) return std::string(table_.cell(row, *found));
  if (row == 0) {
    diagnostics_.add({.severity = Severity::Error,
                      .code = code::kMissingColumn,
                      .span = {.source = table_.source(), .line = 1},
                      .says = "the column `" + std::string(column) + "` is missing",
                      .expected = ""});
  }
  return {};
}

Fraction StandardTable::figure(std::size_t row, std::string_view column) {
  const std::string cell = text(row, column);
  try {
    const auto value = Fraction::parse(cell);
    if (value && value->sign() >= 0) return *value;
  } catch (const FigureOverflow&) {  // reported below, like any other cell that is no figure
  }
  if (const auto found = table_.find_column(column)) {
    diagnostics_.add({.severity = Severity::Error,
                      .code = code::kInvalidCell,
                      .span = table_.span(row, *found),
                      .says = "`" + cell + "` is no figure",
                      .expected = "a number, zero or above"});
  }
  return 0;
}

std::optional<Fraction> StandardTable::figure_if_any(std::size_t row, std::string_view column) {
  if (text(row, column).empty()) return std::nullopt;
  return figure(row, column);
}

}  // namespace kitgap
