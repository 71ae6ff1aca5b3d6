#include "report/workbook.h"

#include "text/csv.h"

namespace kitgap {

SheetCell text_cell(std::string_view text) { return {.text = std::string(text)}; }

SheetCell yes_or_no(bool value) { return {.text = value ? "yes" : "no"}; }

SheetCell number_cell(const Fraction& figure) {
  if (auto digits = figure.to_decimal()) return {.text = std::move(*digits), .is_number = true};
  return {.text = figure.to_text()};
}

SheetCell count_cell(std::size_t count) { return {.text = std::to_string(count), .is_number = true}; }

std::string sheet_csv(const Sheet& sheet) {
  std::string out;
  bool is_first = true;
  const auto add = [&](std::string_view text) {
    if (!is_first) out += ',';
    is_first = false;
    append_csv_cell(out, text);
  };
  for (const SheetColumn& column : sheet.columns) add(column.title);
  for (const std::vector<SheetCell>& row : sheet.rows) {
    out += '\n';
    is_first = true;
    for (const SheetCell& cell : row) add(cell.text);
  }
  return out + '\n';
}

}  // namespace kitgap
