#include "report/xlsx_module.h"

#include <xlsxwriter.h>

namespace {

constexpr int kWrapFrom = 30;         // letters: wider columns hold sentences
constexpr std::uint8_t kPaperA4 = 9;  // ECMA-376 part 1, 18.3.1.63 `paperSize`

struct Formats {
  lxw_format* header;
  lxw_format* plain;
  lxw_format* wrapped;
};

Formats add_formats(lxw_workbook* workbook) {
  const Formats formats = {workbook_add_format(workbook), workbook_add_format(workbook), workbook_add_format(workbook)};
  format_set_bold(formats.header);
  format_set_bottom(formats.header, LXW_BORDER_THIN);
  format_set_text_wrap(formats.header);
  format_set_align(formats.plain, LXW_ALIGN_VERTICAL_TOP);
  format_set_align(formats.wrapped, LXW_ALIGN_VERTICAL_TOP);
  format_set_text_wrap(formats.wrapped);
  return formats;
}

// On paper: A4 across, as wide as the page, the header on every page.
void lay_out(lxw_worksheet* sheet, const KitgapXlsxSheet& table) {
  worksheet_freeze_panes(sheet, 1, 0);
  worksheet_autofilter(sheet, 0, 0, table.rows, static_cast<lxw_col_t>(table.columns - 1));
  worksheet_set_paper(sheet, kPaperA4);
  worksheet_set_landscape(sheet);
  worksheet_fit_to_pages(sheet, 1, 0);
  worksheet_repeat_rows(sheet, 0, 0);
}

lxw_error fill(lxw_worksheet* sheet, const KitgapXlsxSheet& table, const Formats& formats) {
  for (std::uint32_t column = 0; column < table.columns; ++column) {
    const auto at = static_cast<lxw_col_t>(column);
    worksheet_set_column(sheet, at, at, table.widths[column], nullptr);
    if (const lxw_error error = worksheet_write_string(sheet, 0, at, table.titles[column], formats.header)) return error;
  }
  const KitgapXlsxCell* cell = table.cells;
  for (std::uint32_t row = 1; row <= table.rows; ++row) {
    for (std::uint32_t column = 0; column < table.columns; ++column, ++cell) {
      const auto at = static_cast<lxw_col_t>(column);
      lxw_format* format = table.widths[column] >= kWrapFrom ? formats.wrapped : formats.plain;
      lxw_error error = LXW_NO_ERROR;
      if (cell->text == nullptr) error = worksheet_write_number(sheet, row, at, cell->number, format);
      // Never `write_formula` nor `write_url`, whatever the text begins with.
      else if (*cell->text != '\0') error = worksheet_write_string(sheet, row, at, cell->text, format);
      if (error != LXW_NO_ERROR) return error;
    }
  }
  return LXW_NO_ERROR;
}

const char* write_workbook(const char* path, const KitgapXlsxSheet* sheets, std::uint32_t count) {
  lxw_workbook* workbook = workbook_new(path);
  if (workbook == nullptr) return "out of memory";
  lxw_doc_properties properties = {};
  properties.created = 315'532'800;  // 1980-01-01, the first day a ZIP entry can have: the same bytes every day
  workbook_set_properties(workbook, &properties);
  const Formats formats = add_formats(workbook);
  lxw_error error = LXW_NO_ERROR;
  for (std::uint32_t at = 0; at < count && error == LXW_NO_ERROR; ++at) {
    lxw_worksheet* sheet = workbook_add_worksheet(workbook, sheets[at].name);
    error = sheet == nullptr ? LXW_ERROR_SHEETNAME_ALREADY_USED : fill(sheet, sheets[at], formats);
    if (sheet != nullptr) lay_out(sheet, sheets[at]);
  }
  const lxw_error closed = workbook_close(workbook);
  if (error == LXW_NO_ERROR) error = closed;
  return error == LXW_NO_ERROR ? nullptr : lxw_strerror(error);
}

constexpr KitgapXlsx kModule = {kKitgapXlsxVersion, write_workbook};

}  // namespace

extern "C" __attribute__((visibility("default"))) const KitgapXlsx* kitgap_xlsx() { return &kModule; }
