#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "purchase/order_notes.h"
#include "report/report.h"

namespace kitgap {

// The tables of a report, for spreadsheets: CSV and XLSX print the same cells.

struct SheetCell {
  std::string text;        // as it stands in the report; of a number its digits
  bool is_number = false;  // a plain decimal
};

struct SheetColumn {
  std::string title;
  int width = 10;  // in letters, as it is first shown
};

struct Sheet {
  std::string name;  // at most 31 letters, none of []:*?/\ (what a workbook allows)
  std::vector<SheetColumn> columns;
  std::vector<std::vector<SheetCell>> rows;  // each as long as `columns`
};

using Workbook = std::vector<Sheet>;  // the first sheet is the table itself, and there even when it has no rows

SheetCell text_cell(std::string_view text);
SheetCell yes_or_no(bool value);
SheetCell number_cell(const Fraction& figure);  // `1/3`, which no decimal is equal to, stands as text
SheetCell count_cell(std::size_t count);

// Comma-separated, RFC 4180 with LF, UTF-8; a text that a spreadsheet would take for a formula has an apostrophe
// before it, which our own reader takes away.
std::string sheet_csv(const Sheet& sheet);
// An Office Open XML workbook: texts are texts whatever they begin with, numbers are numbers, the header row stays in
// sight and filters. The same workbook gives the same bytes. Loads a module of the program; throws MachineFailure when
// it is not there, or when the folder for temporary files cannot be written.
std::string workbook_xlsx(const Workbook& workbook);

Workbook check_workbook(const Report& report);
Workbook counts_workbook(const Report& report);
Workbook order_workbook(const PurchaseProblem& problem, const Plan& plan, const OrderNotes& notes);

}  // namespace kitgap
