#include "text/xlsx.h"

#include <doctest/doctest.h>

#include "support/archive.h"
#include "text/xlsx_parts.h"

using namespace kitgap;

namespace {

const std::vector<ColumnWords>& columns() {
  static const std::vector<ColumnWords> kColumns = {
      {"part number", {"part no"}}, {"quantity", {"qty"}}, {"due", {"due"}}};
  return kColumns;
}

// Remarks, then the rows with their cells; a letter after each cell says what it was (Number, Date, Formula,
// number as teXt).
std::string read(const std::string& bytes, std::string sheet = "") {
  Sources sources;
  Diagnostics diagnostics;
  const SourceId source = sources.add("list.xlsx", bytes);
  const auto table = read_sheet(source, {columns(), {}, std::move(sheet)}, sources, diagnostics);
  if (!table) return layout(diagnostics, sources);
  std::string out;
  for (const std::string& remark : table->remarks()) out += (out.empty() ? "" : "; ") + remark;
  out += "\n";
  for (std::size_t row = 0; row < table->row_count(); ++row) {
    out += std::to_string(table->line(row));
    for (std::size_t column = 0; column < table->cell_count(row); ++column) {
      out += "|" + std::string(table->cell(row, column));
      constexpr std::string_view kForms = " NDFX";
      const char form = kForms[static_cast<std::size_t>(table->form(row, column))];
      if (form != ' ') out += std::string(":") + form;
    }
    out += "\n";
  }
  return out;
}

std::string text_cell(std::string_view place, std::string_view text) {
  return "<c r=\"" + std::string(place) + "\" t=\"inlineStr\"><is><t>" + std::string(text) + "</t></is></c>";
}
std::string sheet_of(std::string_view rows, std::string_view after = "") {
  return "<worksheet xmlns=\"m\"><sheetData><row r=\"1\">" + text_cell("A1", "Part no") +
         text_cell("B1", "Qty") + text_cell("C1", "Due") + "</row>" + std::string(rows) + "</sheetData>" +
         std::string(after) + "</worksheet>";
}

constexpr std::string_view kStyles =
    R"(<styleSheet xmlns="m"><numFmts><numFmt numFmtId="170" formatCode="00000"/><numFmt numFmtId="171" formatCode="&quot;day&quot; 0"/>)"
    R"(<numFmt numFmtId="172" formatCode="[$-809]d mmm yyyy"/></numFmts><cellStyleXfs><xf numFmtId="14"/></cellStyleXfs><cellXfs><xf numFmtId="0"/><xf numFmtId="14"/>)"
    R"(<xf numFmtId="170"/><xf numFmtId="171"/><xf numFmtId="172"/></cellXfs></styleSheet>)";

const std::string kSaid = "sheet `Old` is hidden and not read; sheet `List`; ";
const std::string kHeader = "1|Part no|Qty|Due\n";

}  // namespace

TEST_CASE("xlsx: shared and inline strings, rich text, and escapes that XML cannot hold") {
  const std::string shared =
      "<sst xmlns=\"m\"><si><t>K-1</t></si><si><r><t>K</t></r><r><t xml:space=\"preserve\">-2 "
      "</t></r><rPh><t>no</t></rPh></si><si><t>a_x0041_b</t></si></sst>";
  CHECK(
      read(test::workbook(
               sheet_of("<row r=\"2\"><c r=\"A2\" t=\"s\"><v>0</v></c><c r=\"B2\"><v>2</v></c></row><row><c "
                        "t=\"s\"><v>1</v></c><c t=\"s\"><v>2</v></c></row>"),
               shared)
               .bytes()) == kSaid + "header in line 1\n" + kHeader + "2|K-1|2:N\n3|K-2|aAb\n");
}

TEST_CASE("xlsx: numbers as a person sees them, dates of both systems, numbers kept as text") {
  const std::string rows =
      "<row r=\"2\"><c r=\"A2\" s=\"2\"><v>42</v></c><c r=\"B2\"><v>1.3700000000000001</v></c><c r=\"C2\" "
      "s=\"1\"><v>35000</v></c></row>"
      "<row r=\"3\"><c r=\"A3\"><v>1.5E+3</v></c><c r=\"B3\" s=\"3\"><v>7</v></c><c r=\"C3\" "
      "s=\"4\"><v>35000.5</v></c></row>" +
      ("<row r=\"4\">" + text_cell("A4", "007") +
       "<c r=\"B4\" t=\"b\"><v>1</v></c><c r=\"C4\" t=\"e\"><v>#REF!</v></c></row>");
  // Days 35000 of the two systems: 1995-10-28 and, 1,462 days later, 1999-10-29 (ECMA-376 part 1, 18.17.4;
  // from memory).
  CHECK(read(test::workbook(sheet_of(rows), "", std::string(kStyles)).bytes()) ==
        kSaid + "1 number is kept as text; 1 cell shows an error of the spreadsheet; header in line 1\n" +
            kHeader + "2|00042|1.37:N|1995-10-28:D\n3|1500:N|7:N|1995-10-28 12:00:D\n4|007:X|TRUE|#REF!\n");
  CHECK(read(test::workbook(sheet_of("<row r=\"2\"><c r=\"C2\" s=\"1\"><v>35000</v></c></row>"), "",
                            std::string(kStyles), "<workbookPr date1904=\"1\"/>")
                 .bytes()) ==
        "days are counted from 1904; " + kSaid + "header in line 1\n" + kHeader + "2|||1999-10-29:D\n");
}

TEST_CASE("xlsx: formulas by their stored value, merged cells, hidden rows, all said") {
  const std::string rows =
      "<row r=\"2\"><c r=\"A2\" t=\"str\"><f>X</f><v>K-1</v></c><c r=\"B2\"><f>1+1</f><v>2</v></c></row>"
      "<row r=\"3\" hidden=\"1\"><c r=\"A3\" t=\"inlineStr\"><is><t>K-2</t></is></c><c "
      "r=\"B3\"><f>1+1</f></c></row>";
  CHECK(read(test::workbook(sheet_of(rows, "<mergeCells><mergeCell ref=\"A3:A4\"/></mergeCells>")).bytes()) ==
        kSaid +
            "3 formulas are read by the value last stored; 1 formula has no stored value; those cells are "
            "taken as empty; "
            "1 hidden row is read as well; merged cells count for each of their rows; header in line 1\n" +
            kHeader + "2|K-1|2:F\n3|K-2\n4|K-2\n");
}

TEST_CASE("xlsx: a cover sheet is passed over for the sheet that names our columns") {
  const std::string cover = "<worksheet xmlns=\"m\"><sheetData><row r=\"1\">" + text_cell("A1", "My car") +
                            "</row></sheetData></worksheet>";
  const std::string list = sheet_of("<row r=\"2\"><c r=\"A2\"><v>7</v></c></row>");
  CHECK(read(test::workbook(list, "", "", "", cover).bytes()) ==
        "sheet `Old` is not read; sheet `List`; header in line 1\n" + kHeader + "2|7:N\n");
  CHECK(read(test::workbook(list, "", "", "", cover).bytes(), "Old") ==
        "sheet `Old`; sheet `List` is not read; no header\n1|My car\n");
  CHECK(read(test::workbook(cover, "", "", "", cover).bytes()) ==
        "sheet `Old`; sheet `List` is not read; no header\n1|My car\n");
  CHECK(read(test::workbook(list, "", "", "", list).bytes()) ==
        "sheet `Old`; sheet `List` is not read; header in line 1\n" + kHeader + "2|7:N\n");
}

TEST_CASE("xlsx: a header merged over two rows and two columns") {
  const std::string sheet =
      "<worksheet xmlns=\"m\"><sheetData><row r=\"1\">" + text_cell("A1", "Part no") +
      text_cell("B1", "Qty") + "</row><row r=\"2\">" + text_cell("B2", "qty wanted") +
      text_cell("C2", "qty spare") + "</row><row r=\"3\">" + text_cell("A3", "K-1") +
      "<c r=\"B3\"><v>2</v></c></row></sheetData>" +
      "<mergeCells><mergeCell ref=\"A1:A2\"/><mergeCell ref=\"B1:C1\"/></mergeCells></worksheet>";
  Sources sources;
  Diagnostics diagnostics;
  const SourceId source = sources.add("list.xlsx", test::workbook(sheet).bytes());
  const auto table = read_sheet(source, {columns(), {}, {}}, sources, diagnostics);
  REQUIRE(table);
  CHECK(table->header() == std::vector<std::string>{"Part no", "Qty qty wanted", "Qty qty spare"});
  CHECK(table->span(2, 1).cell == "B3");
}

TEST_CASE("xlsx: a long gap is told, a sheet that is asked for is read or the nearest is named") {
  CHECK(read(test::workbook(sheet_of("<row r=\"5000\"><c r=\"A5000\"><v>7</v></c></row>")).bytes()) ==
        kSaid + "rows 2 to 4999 are blank; header in line 1\n" + kHeader + "5000|7:N\n");
  CHECK(read(test::workbook(sheet_of("")).bytes(), "Lisd") ==
        "list.xlsx: error: the workbook has no sheet `Lisd` [unknown-name]\n    expected the name of a "
        "sheet\n    did you mean `List`?\n");
}

TEST_CASE("xlsx: damaged and hostile workbooks are refused whole") {
  const std::string good = test::workbook(sheet_of("")).bytes();
  const auto says = [](const std::string& bytes) {
    const std::string text = read(bytes);
    return text.substr(0, text.find('\n'));
  };
  const auto with = [](std::string name, std::string bytes) {
    return test::workbook(sheet_of("")).add(std::move(name), std::move(bytes)).bytes();
  };
  CHECK(says(good.substr(0, good.size() / 2)) ==
        "list.xlsx: error: the workbook is damaged or cut short: its directory cannot be read "
        "[damaged-workbook]");
  CHECK(says(with("../../evil", "x")) ==
        "list.xlsx: error: the workbook names a place outside itself: `../../evil` [damaged-workbook]");
  CHECK(says(with("/etc/evil", "x")) ==
        "list.xlsx: error: the workbook names a place outside itself: `/etc/evil` [damaged-workbook]");
  CHECK(says(with("xl\\evil", "x")) ==
        "list.xlsx: error: the workbook names a place outside itself: `xl\\evil` [damaged-workbook]");
  CHECK(says(test::Archive().add("a", "b").bytes()) ==
        "list.xlsx: error: this is an archive, but no workbook [binary-file]");
  CHECK(
      says(test::workbook("<!DOCTYPE a [<!ENTITY b \"c\">]><worksheet xmlns=\"m\"/>").bytes()) ==
      "list.xlsx: error: the workbook declares a document type, which no workbook needs [damaged-workbook]");
  CHECK(says(test::workbook("<worksheet xmlns=\"m\"><sheetData>").bytes()) ==
        "list.xlsx: error: the workbook is damaged: no element found [damaged-workbook]");
  std::string deep;
  for (int level = 0; level < 100'000; ++level) deep += "<a>";
  CHECK(says(test::workbook(deep).bytes()) ==
        "list.xlsx: error: the workbook's parts are nested too deep [too-deep]");
  CHECK(
      says(test::workbook(sheet_of("<row r=\"2\"><c r=\"A2\" t=\"s\"><v>9</v></c></row>")).bytes()) ==
      "list.xlsx: error: the workbook is damaged: a cell names a text that is not there [damaged-workbook]");
  CHECK(says(test::workbook(sheet_of("<row r=\"1\"/>")).bytes()) ==
        "list.xlsx: error: the workbook is damaged: its rows are not in order [damaged-workbook]");
  CHECK(says(test::workbook(sheet_of("<row r=\"2\"><c r=\"ZZZZ2\"/></row>")).bytes()) ==
        "list.xlsx: error: the workbook is damaged: its cells are not in order [damaged-workbook]");
  CHECK(says(test::workbook(sheet_of("")).encrypted().bytes()) ==
        "list.xlsx: error: the workbook is encrypted [binary-file]");
  test::Archive many = test::workbook(sheet_of(""));
  for (int index = 0; index < 2'000; ++index) many.add("p" + std::to_string(index), "");
  CHECK(says(many.bytes()) == "list.xlsx: error: the workbook has 2004 parts [too-large]");
  std::string flipped = good;
  flipped[flipped.find("Part no")] ^= 1;
  CHECK(says(flipped) ==
        "list.xlsx: error: the workbook is damaged or cut short: `xl/worksheets/sheet1.xml` cannot be "
        "unpacked [damaged-workbook]");
}

TEST_CASE("xlsx: every byte of a small workbook changed or cut off: read or refused, never worse") {
  const std::string good =
      test::workbook(sheet_of("<row r=\"2\"><c r=\"A2\"><v>7</v></c></row>"), "", std::string(kStyles))
          .bytes();
  std::size_t refused = 0;
  for (std::size_t at = 0; at < good.size(); at += 3) {
    std::string bad = good;
    bad[at] = static_cast<char>(bad[at] ^ (1 << at % 8));
    refused += read(bad).find("error:") != std::string::npos ? 1 : 0;
    refused += read(good.substr(0, at)).find("error:") != std::string::npos ? 1 : 0;
  }
  CHECK(refused > good.size() / 3);
}

TEST_CASE("xlsx: which number formats are days (ECMA-376 part 1, 18.8.30 and 18.8.31)") {
  for (const std::string_view code :
       {"yyyy-mm-dd", "d/m", "[h]:mm", "[$-809]d mmm yyyy", "mm:ss.0", "DD.MM.YY"})
    CHECK(style_of_format(code).is_date);
  for (const std::string_view code : {"General", "0.00", "\"day\" 0", "#,##0 \\d", "[Red]0", "0%", "@"})
    CHECK(!style_of_format(code).is_date);
  CHECK(style_of_format("00000").leading_zeros == 5);
  CHECK(date_text("60", false) == "1900-02-29");
  CHECK(date_text("61", false) == "1900-03-01");
  CHECK(date_text("59", false) == "1900-02-28");
  CHECK(date_text("0.25", false) == "06:00");
  CHECK(!date_text("-1", false));
  CHECK(!date_text("1e300", false));
  CHECK(number_text("0.1", {}) == "0.1");
  CHECK(number_text("2.9999999999999996", {}) == "3");
  CHECK(number_text("1E-3", {}) == "0.001");
  CHECK(number_text("123456789012345678", {}) == "123456789012346000");
}
