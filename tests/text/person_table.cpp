#include "text/person_table.h"

#include <doctest/doctest.h>

#include <array>
#include <fstream>

#include "support/folder.h"

using namespace kitgap;

namespace {

const std::vector<ColumnWords>& columns() {
  static const std::vector<ColumnWords> kColumns = {{"part number", {"part number", "part no"}},
                                                    {"quantity", {"quantity", "qty"}},
                                                    {"note", {"note", "where"}}};
  return kColumns;
}

// The remarks, then each row with its kind and cells; or what is wrong.
std::string read(const std::string& bytes) {
  const test::Folder folder;
  const auto path = folder.write("list.csv", bytes);
  Sources sources;
  Diagnostics diagnostics;
  const auto table = read_person_table(path, {columns(), {}, {}}, sources, diagnostics);
  if (!table) return layout(diagnostics, sources).substr(path.size() + 2);
  std::string out;
  for (const std::string& remark : table->remarks()) out += (out.empty() ? "" : "; ") + remark;
  out += "\n";
  constexpr auto kKinds =
      std::to_array<std::string_view>({"line", "title", "header", "blank", "heading", "total"});
  for (std::size_t row = 0; row < table->row_count(); ++row) {
    out += std::to_string(table->line(row)) + " " +
           std::string(kKinds.at(static_cast<std::size_t>(table->kind(row))));
    if (!table->section(row).empty()) out += " (" + std::string(table->section(row)) + ")";
    for (std::size_t column = 0; column < table->cell_count(row); ++column)
      out += " |" + std::string(table->cell(row, column));
    out += "\n";
  }
  return out;
}

std::string header_of(const std::string& bytes) {
  const test::Folder folder;
  Sources sources;
  Diagnostics diagnostics;
  const auto table =
      read_person_table(folder.write("list.csv", bytes), {columns(), {}, {}}, sources, diagnostics);
  std::string out;
  for (const std::string& name : table->header()) out += "[" + name + "]";
  return out;
}

std::string as_utf16(std::string_view ascii, bool big, bool mark) {
  std::string out = !mark ? "" : big ? "\xfe\xff" : "\xff\xfe";
  for (const char byte : ascii) {
    if (big) out += '\0';
    out += byte;
    if (!big) out += '\0';
  }
  return out;
}

}  // namespace

TEST_CASE("person table: every common delimiter is found and said") {
  CHECK(read("part no,qty\nK-1,2\n") ==
        "delimiter `,`; UTF-8; header in line 1\n1 header |part no |qty\n2 line |K-1 |2\n");
  CHECK(read("part no;qty\nK-1;1,5\n") ==
        "delimiter `;`; UTF-8; header in line 1; decimal comma\n1 header |part no |qty\n2 line |K-1 |1,5\n");
  CHECK(read("part no\tqty\nK-1\t2\n") ==
        "delimiter tab; UTF-8; header in line 1\n1 header |part no |qty\n2 line |K-1 |2\n");
  CHECK(read("part no|qty\r\nK-1|2\r\n") ==
        "delimiter `|`; UTF-8; header in line 1\n1 header |part no |qty\n2 line |K-1 |2\n");
}

TEST_CASE(
    "person table: pasted text has its columns by runs of blanks, empty cells by where the header stands") {
  CHECK(read("Part no    Qty   Where\n"
             "K-1        2     front door\n"
             "K-2              rear\n"
             "K 3 L      4\n") ==
        "columns by runs of blanks; UTF-8; header in line 1\n"
        "1 header |Part no |Qty |Where\n2 line |K-1 |2 |front door\n3 line |K-2 | |rear\n4 line |K 3 L |4\n");
}

TEST_CASE("person table: encodings by mark, by their zeros, or Windows-1252 as a fallback that is said") {
  const std::string rows = "1 header |part no |qty\n2 line |K-1 |2\n";
  const std::string_view text = "part no,qty\nK-1,2\n";
  CHECK(read("\xef\xbb\xbf" + std::string(text)) ==
        "delimiter `,`; UTF-8 with a byte order mark; header in line 1\n" + rows);
  CHECK(read(as_utf16(text, false, true)) ==
        "delimiter `,`; UTF-16 with a byte order mark; header in line 1\n" + rows);
  CHECK(read(as_utf16(text, false, false)) == "delimiter `,`; UTF-16; header in line 1\n" + rows);
  CHECK(read(as_utf16(text, true, true)) ==
        "delimiter `,`; UTF-16 big-endian with a byte order mark; header in line 1\n" + rows);
  CHECK(read(as_utf16(text, true, false)) == "delimiter `,`; UTF-16 big-endian; header in line 1\n" + rows);
  CHECK(read("part no,note\nK-1,caf\xe9 \x96 \x80\n") ==
        "delimiter `,`; Windows-1252, taken because the file is no UTF-8; header in line 1\n"
        "1 header |part no |note\n2 line |K-1 |caf\xc3\xa9 \xe2\x80\x93 \xe2\x82\xac\n");
  CHECK(read("part no,qty\rK-1,2\r") ==
        "delimiter `,`; UTF-8; lines end in carriage returns; header in line 1\n" + rows);
}

TEST_CASE("person table: every row has a kind: titles, headings, totals, blanks and repeated headers") {
  CHECK(read("My list,,\n,,\npart no,qty,note\nDOORS,,\nK-1,2,\n,,\nRear seat:,,\nK-2,3,x\npart "
             "no,qty,note\nK-9,,\nTotal,5,\n") ==
        "delimiter `,`; UTF-8; header in line 3\n"
        "1 title |My list\n2 blank\n3 header |part no |qty |note\n4 heading |DOORS\n5 line (DOORS) |K-1 "
        "|2\n6 blank\n"
        "7 heading (DOORS) |Rear seat:\n8 line (Rear seat:) |K-2 |3 |x\n9 header (Rear seat:) |part no |qty "
        "|note\n"
        "10 line (Rear seat:) |K-9\n11 total (Rear seat:) |Total |5\n");
}

TEST_CASE("person table: ditto marks repeat the cell above, an inch mark stays") {
  CHECK(read("part no,qty,note\nK-1,2,front\n\",3,\"\"\"\"\ndo,4,3/8\" x 54 in\n") ==
        "delimiter `,`; UTF-8; header in line 1\n"
        "1 header |part no |qty |note\n2 line |K-1 |2 |front\n3 line |K-1 |3 |front\n4 line |K-1 |4 |3/8\" x "
        "54 in\n");
}

TEST_CASE("person table: quotes as people leave them") {
  CHECK(read("part no,qty,note\n\"7/16\" bolt\",4,\"a,b\"\nK-2,\"1\" ,\"two\nlines\"\nK-3,2,\"never "
             "closed\nK-4,1,\n") ==
        "delimiter `,`; UTF-8; header in line 1\n"
        "1 header |part no |qty |note\n2 line |7/16\" bolt |4 |a,b\n3 line |K-2 |1 |two\nlines\n5 line |K-3 "
        "|2 |\"never closed\n6 line |K-4 |1\n");
}

TEST_CASE("person table: a header over several rows is joined") {
  CHECK(header_of("Part,Quantity,,Note\nno,qty wanted,qty spare,\nK-1,2,1,\n") ==
        "[Part no][Quantity qty wanted][Quantity qty spare][Note]");
  CHECK(header_of("K-1,2\nK-2,3\n") == "[][]");
}

TEST_CASE("person table: what is no table is refused whole") {
  struct Case {
    std::string bytes;
    std::string_view says;
  };
  const std::vector<Case> cases = {
      {"", "error: the file is empty [empty-file]\n"},
      {" \n\n", "error: the file holds nothing but blanks [empty-file]\n    expected a table\n"},
      {std::string("part no,qty\nK-1\0,2\n", 19),
       "error: the file is not text: it holds NUL bytes [binary-file]\n    expected a table as CSV, text or "
       "XLSX\n"},
      {"%PDF-1.4 x", "error: this is a PDF [binary-file]\n    expected a table as CSV, text or XLSX\n"},
      {"\xd0\xcf\x11\xe0xx",
       "error: this is an old or an encrypted workbook [binary-file]\n    expected a table as CSV, text or "
       "XLSX\n"},
      {"\xff\xfe" + std::string("a\0\0\xd8,\0", 6),
       "error: half a surrogate pair in line 1 is no character [invalid-utf8]\n    expected text in UTF-8 or "
       "UTF-16\n"},
      {"part no,qty\nK\xed\xa0\x80,2\n",
       "error: half a surrogate pair in line 2 is no character [invalid-utf8]\n    expected text in UTF-8 or "
       "UTF-16\n"},
      {"caf\xc3\xa9,caf\xc3\xa9\nx\xff,2\n",
       "error: a byte in line 2 is no UTF-8, all else is [invalid-utf8]\n    expected text in one "
       "encoding\n"},
      {"part no\n" + std::string(70'000, 'x'),
       "error: a cell is too long, in line 2 [too-large]\n    expected at most 64000 bytes\n"},
      {"part no,qty\n" + std::string(500, ',') + "x\n",
       "error: a row has too many columns, in line 2 [too-large]\n    expected at most 400\n"},
  };
  for (const Case& row : cases) {
    CAPTURE(row.bytes.substr(0, 40));
    CHECK(read(row.bytes) == row.says);
  }
  std::string many = "part no,qty\n";
  for (int row = 0; row < 100'001; ++row) many += "a,1\n";
  CHECK(read(many) == "error: the table has too many rows [too-large]\n    expected at most 100000\n");
}

TEST_CASE("person table: a column is found by its words, by --columns, or named as not used") {
  const test::Folder folder;
  Sources sources;
  Diagnostics diagnostics;
  const std::vector<std::pair<std::string, std::string>> renamed = {{"Teil", "part number"}};
  const PersonTableOptions options{columns(), renamed, {}};
  const auto table = read_person_table(folder.write("list.csv", "Teil;Qty.;Farbe\nK-1;2;red\n"), options,
                                       sources, diagnostics);
  REQUIRE(table);
  const ColumnMap map = map_columns(*table, options, diagnostics);
  CHECK(map.columns[0] == 0);
  CHECK(map.columns[1] == 1);
  CHECK(!map.columns[2]);
  CHECK(map.unused == std::vector<std::string>{"Farbe"});
  CHECK(map.said ==
        std::vector<std::string>{"`Teil` is read as `part number`", "`Qty.` is read as `quantity`"});
  CHECK(table->span(1, 1).cell == "B2");
  CHECK(table->span(1, 1).column == 5);
}

TEST_CASE("person table: a wrong --columns names what is near") {
  const test::Folder folder;
  Sources sources;
  Diagnostics diagnostics;
  const std::vector<std::pair<std::string, std::string>> renamed = {{"Tiel", "part number"},
                                                                    {"Qty", "quanttiy"}};
  const PersonTableOptions options{columns(), renamed, {}};
  const auto path = folder.write("list.csv", "Teil;Qty\nK-1;2\n");
  const auto table = read_person_table(path, options, sources, diagnostics);
  REQUIRE(table);
  static_cast<void>(map_columns(*table, options, diagnostics));
  CHECK(layout(diagnostics, sources) ==
        path +
            ": error: the file has no column `Tiel` [unknown-column]\n    expected the name of a column "
            "before `=`\n    did you mean `Teil`?\n\n" +
            path +
            ": error: `quanttiy` is no column of kitgap's [unknown-column]\n    expected a column of "
            "kitgap's after `=`\n    did you mean `quantity`?\n");
}
