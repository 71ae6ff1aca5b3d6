// What LibreOffice Calc saves, as workbook and as CSV in three dialects, reads back equal. Skipped where it cannot be had.
#include <doctest/doctest.h>

#include <algorithm>
#include <cstdlib>

#include "support/folder.h"
#include "support/outside.h"

using namespace kitgap;
using namespace kitgap::test;

namespace {

// RELIABILITY notes a workbook that LibreOffice 7.4 sat over for minutes: every run has a limit.
bool convert(const std::filesystem::path& folder, const std::string& to, const std::string& files) {
  const std::string command = "cd '" + folder.string() + "' && timeout 90 soffice --headless -env:UserInstallation=file://" +
                              (folder / "profile").string() + " --convert-to '" + to + "' --outdir saved " + files + " >/dev/null 2>&1";
  return std::system(command.c_str()) == 0;
}

}  // namespace

TEST_CASE("outside: what LibreOffice saves reads back equal, in both date systems and as CSV") {
  if (std::system("command -v soffice >/dev/null 2>&1") != 0) {
    std::cout << "skipped: LibreOffice Calc (libreoffice-calc-nogui) is not installed\n";
    return;
  }
  if (skipped("exceljs")) return;
  const Folder folder;
  const auto expected = run_script("node", "workbook.mjs", folder.path().string());
  if (!expected) return;
  Rows rows;
  for (const std::string& line : split(*expected, '\n')) rows.push_back(split(line, '\t'));
  for (auto& row : rows) row.resize(5);
  REQUIRE(convert(folder.path(), "xlsx:Calc MS Excel 2007 XML", "list.xlsx list-1904.xlsx"));
  for (const char* name : {"list.xlsx", "list-1904.xlsx"}) {
    CAPTURE(name);
    CHECK(read_as_person(folder.path() / "saved" / name, 0) == rows);
  }
  // Days are written in the machine's own way there: only the other columns are compared. 59 is `;`, 9 a tab; 34 the
  // quote; 76 UTF-8, 1 Windows-1252 (which cannot hold the row in other scripts).
  for (auto& row : rows) row.erase(row.begin() + 3);
  struct Dialect {
    const char* filter;
    bool is_unicode;
  };
  for (const Dialect& dialect : {Dialect{"44,34,76", true}, Dialect{"59,34,76", true}, Dialect{"9,34,76", true}, Dialect{"59,34,1", false}}) {
    CAPTURE(dialect.filter);
    REQUIRE(convert(folder.path(), "csv:Text - txt - csv (StarCalc):" + std::string(dialect.filter) + ",1,,0,false,true,false,false,false,2", "list.xlsx"));
    Rows saved = read_as_person(folder.path() / "saved" / "list-List.csv", 0);
    REQUIRE(saved.size() == rows.size());
    for (auto& row : saved) {
      row.resize(5);
      row.erase(row.begin() + 3);
    }
    if (!dialect.is_unicode) saved[2].back() = rows[2].back();
    CHECK(saved == rows);
  }
}
