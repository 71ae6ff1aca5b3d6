#include "text/xlsx.h"

#include <algorithm>

#include "text/codes.h"
#include "text/dialect.h"
#include "text/utf8.h"
#include "text/xlsx_parts.h"

namespace kitgap {
namespace {

constexpr std::uint32_t kLongestGap = 1'000;  // blank rows; a longer gap is told, not listed
constexpr std::uint32_t kTallestMerge = 1'000;

bool is_before(const ReadSheetCell& a, const ReadSheetCell& b) {
  return a.row != b.row ? a.row < b.row : a.column < b.column;
}

// A value over several rows counts for each of them.
std::size_t spread_merges(ReadSheet& sheet) {
  std::vector<ReadSheetCell> more;
  for (const SheetMerge& merge : sheet.merges) {
    if (merge.last_row == merge.first_row || merge.last_row - merge.first_row > kTallestMerge) continue;
    const ReadSheetCell wanted{merge.first_row, merge.first_column, 0, 0, CellForm::Text};
    const auto cell = std::lower_bound(sheet.cells.begin(), sheet.cells.end(), wanted, is_before);
    if (cell == sheet.cells.end() || is_before(wanted, *cell)) continue;
    for (std::uint32_t row = merge.first_row + 1; row <= merge.last_row && more.size() < kMostPersonRows;
         ++row) {
      more.push_back(*cell);
      more.back().row = row;
    }
  }
  const std::size_t count = more.size();
  sheet.cells.insert(sheet.cells.end(), more.begin(), more.end());
  std::stable_sort(sheet.cells.begin(), sheet.cells.end(), is_before);
  const auto same = [](const ReadSheetCell& a, const ReadSheetCell& b) {
    return a.row == b.row && a.column == b.column;
  };
  sheet.cells.erase(std::unique(sheet.cells.begin(), sheet.cells.end(), same), sheet.cells.end());
  return count;
}

// The sheet as lines of text, cells between tabs, so that messages can show it: cells then point into these
// lines.
std::string as_lines(ReadSheet& sheet) {
  std::string lines;
  lines.reserve(sheet.text.size() + sheet.cells.size() * 2);
  std::uint32_t row = 1;
  std::uint32_t column = 0;
  for (ReadSheetCell& cell : sheet.cells) {
    for (; row < cell.row; ++row) lines += '\n', column = 0;
    for (; column < cell.column; ++column) lines += '\t';
    std::string_view text = std::string_view(sheet.text).substr(cell.offset, cell.length);
    while (!text.empty() &&
           (text.front() == ' ' || text.front() == '\n' || text.front() == '\r' || text.front() == '\t'))
      text.remove_prefix(1);
    while (!text.empty() &&
           (text.back() == ' ' || text.back() == '\n' || text.back() == '\r' || text.back() == '\t'))
      text.remove_suffix(1);
    cell.offset = static_cast<std::uint32_t>(lines.size());
    cell.length = static_cast<std::uint32_t>(text.size());
    for (const char byte : text) lines += byte == '\n' || byte == '\r' || byte == '\t' ? ' ' : byte;
  }
  lines += '\n';
  sheet.text = {};
  return lines;
}

std::string counted(std::size_t count, std::string_view one, std::string_view many) {
  return std::to_string(count) + " " + std::string(count == 1 ? one : many);
}

void remark_on(const ReadSheet& sheet, std::size_t spread, PersonTableBuilder& builder) {
  if (sheet.formulas != 0)
    builder.remark(counted(sheet.formulas, "formula is", "formulas are") + " read by the value last stored");
  if (sheet.formulas_without_value != 0)
    builder.remark(counted(sheet.formulas_without_value, "formula has", "formulas have") +
                   " no stored value; those cells are taken as empty");
  if (sheet.hidden_rows != 0)
    builder.remark(counted(sheet.hidden_rows, "hidden row is", "hidden rows are") + " read as well");
  if (sheet.hidden_columns != 0) builder.remark("hidden columns are read as well");
  if (spread != 0) builder.remark("merged cells count for each of their rows");
  if (sheet.numbers_as_text != 0)
    builder.remark(counted(sheet.numbers_as_text, "number is", "numbers are") + " kept as text");
  if (sheet.errors != 0)
    builder.remark(counted(sheet.errors, "cell shows", "cells show") + " an error of the spreadsheet");
}

std::optional<PersonTable> build(ReadSheet& sheet, const std::vector<std::string>& remarks, SourceId workbook,
                                 const PersonTableOptions& options, Sources& sources,
                                 Diagnostics& diagnostics) {
  const std::size_t spread = spread_merges(sheet);
  std::string lines = as_lines(sheet);
  const SourceId source = sources.add(std::string(sources.name(workbook)), std::move(lines));
  PersonTableBuilder builder(source, sources, true);
  for (const std::string& remark : remarks) builder.remark(remark);
  remark_on(sheet, spread, builder);
  std::uint32_t row = 0;
  bool going = true;
  for (auto cell = sheet.cells.begin(); cell != sheet.cells.end() && going; ++cell) {
    if (cell->row - row > kLongestGap) {
      builder.remark("rows " + std::to_string(row + 1) + " to " + std::to_string(cell->row - 1) +
                     " are blank");
      row = cell->row - 1;
    }
    while (row < cell->row && going) going = builder.begin_row(++row);
    going = going && builder.add_cell(cell->column, cell->offset, cell->offset + cell->length, cell->offset,
                                      cell->form);
  }
  return builder.finish(options, diagnostics);
}

// Whether a row near the top names two of our columns or more.
bool names_columns(const ReadSheet& sheet, const PersonTableOptions& options) {
  constexpr std::uint32_t kSearch = 60;  // rows
  std::uint32_t row = 0;
  std::size_t names = 0;
  for (const ReadSheetCell& cell : sheet.cells) {
    if (cell.row > kSearch) return false;
    if (cell.row != row) row = cell.row, names = 0;
    const std::string_view text = std::string_view(sheet.text).substr(cell.offset, cell.length);
    const bool renamed = std::any_of(options.renamed.begin(), options.renamed.end(), [&](const auto& pair) {
      return header_word(pair.first) == header_word(text.substr(0, 200)) && !pair.first.empty();
    });
    names += renamed || is_header_word(text, options.columns) ? 1 : 0;
    if (names >= 2) return true;
  }
  return false;
}

// The sheet that is asked for; else the first visible one that names our columns; else the first visible one with
// cells. What is left unread is named.
std::optional<PersonTable> read_chosen(SourceId workbook_source, const PersonTableOptions& options,
                                       Sources& sources, Diagnostics& diagnostics) {
  WorkbookArchive archive(sources.bytes(workbook_source));
  const Workbook workbook = read_workbook(archive);
  std::vector<std::string> remarks;
  if (workbook.from_1904) remarks.emplace_back("days are counted from 1904");
  std::optional<ReadSheet> chosen;
  const SheetEntry* chosen_entry = nullptr;
  bool is_certain = false;
  std::vector<const SheetEntry*> empty;
  for (const SheetEntry& entry : workbook.sheets) {
    const bool asked = entry.name == options.sheet;
    if (options.sheet.empty() ? entry.is_hidden || is_certain : !asked) continue;
    ReadSheet sheet = read_sheet_part(archive, workbook, entry.path);
    if (sheet.cells.empty() && !asked) {
      empty.push_back(&entry);
      continue;
    }
    is_certain = asked || names_columns(sheet, options);
    if (chosen && !is_certain) continue;
    chosen = std::move(sheet);
    chosen_entry = &entry;
  }
  for (const SheetEntry& entry : workbook.sheets) {
    const bool is_empty = std::find(empty.begin(), empty.end(), &entry) != empty.end();
    remarks.push_back("sheet " + in_ticks(entry.name) +
                      (&entry == chosen_entry ? "" : is_empty ? " is empty" : entry.is_hidden ? " is hidden and not read" : " is not read"));
  }
  if (chosen) return build(*chosen, remarks, workbook_source, options, sources, diagnostics);
  if (!options.sheet.empty()) {
    std::vector<std::string> names;
    for (const SheetEntry& entry : workbook.sheets) names.push_back(entry.name);
    diagnostics.add({Severity::Error, code::kUnknownName, Span{workbook_source},
                     "the workbook has no sheet `" + options.sheet + "`", "the name of a sheet",
                     nearest(options.sheet, names)});
  } else {
    diagnostics.add({Severity::Error,
                     code::kEmptyFile,
                     Span{workbook_source},
                     "no visible sheet of the workbook holds anything",
                     "a table",
                     "",
                     {},
                     remarks});
  }
  return std::nullopt;
}

}  // namespace

std::optional<PersonTable> read_sheet(SourceId workbook, const PersonTableOptions& options, Sources& sources,
                                      Diagnostics& diagnostics) {
  try {
    return read_chosen(workbook, options, sources, diagnostics);
  } catch (WorkbookRefused& refused) {
    diagnostics.add({Severity::Error, refused.code, Span{workbook}, std::move(refused.says),
                     std::move(refused.expected)});
    return std::nullopt;
  }
}

}  // namespace kitgap
