#include "text/csv.h"

#include <doctest/doctest.h>

#include <random>

#include "text/codes.h"

using namespace kitgap;

namespace {

// Rows on lines, cells between bars; what is wrong after them.
std::string read(std::string bytes) {
  Sources sources;
  const SourceId source = sources.add("t.csv", std::move(bytes));
  Diagnostics diagnostics;
  const auto table = read_pack_table(source, sources, diagnostics);
  std::string out;
  for (std::size_t row = 0; table && row < table->row_count(); ++row) {
    out += std::to_string(table->line(row)) + ":";
    for (std::size_t column = 0; column < table->column_count(); ++column)
      out += "|" + std::string(table->cell(row, column));
    out += "|\n";
  }
  return out + layout(diagnostics, sources);
}

}  // namespace

TEST_CASE("csv: cells, quotes, line ends, blank lines and the byte order mark") {
  struct Case {
    std::string_view bytes;
    std::string_view read;
  };
  const std::vector<Case> cases = {
      {"p,q\r\ns,t\r\n", "2:|s|t|\n"},
      {"p,q\ns,t", "2:|s|t|\n"},
      {"\xef\xbb\xbfp,q\ns,t\n", "2:|s|t|\n"},
      {"p,q\n\n\r\ns,t\n\n", "4:|s|t|\n"},
      {"p,q\n,\n", "2:|||\n"},
      {"p,q\na,", "2:|a||\n"},
      {"p,q\n\"a,b\",\"7/16\"\" bolt\"\n", "2:|a,b|7/16\" bolt|\n"},
      {"p,q\n\"a\r\nb\",c\nd,e\n", "2:|a\r\nb|c|\n4:|d|e|\n"},
      {"p,q\n\"\",\"\"\"\"\n", "2:||\"|\n"},
      {"p\n\"a\"", "2:|a|\n"},
      {"p,q\n a , b\n", "2:| a | b|\n"},
      {"p,q\n'=1+1,'quoted\n", "2:|=1+1|'quoted|\n"},  // the guard of our own writer comes off
  };
  for (const Case& row : cases) {
    CAPTURE(row.bytes);
    CHECK(read(std::string(row.bytes)) == row.read);
  }
}

TEST_CASE("csv: a row of the wrong length is shown with its place; reading goes on") {
  CHECK(read("part,at\nclip\nclip,front,9\nclip,front\n") ==
        "2:|clip||\n3:|clip|front|\n4:|clip|front|\n"
        "t.csv:2:5: error: this row has 1 cell [wrong-column-count]\n"
        " 2 | clip\n   |     ^\n   cell A2: expected 2, as the header\n\n"
        "t.csv:3:12: error: this row has 3 cells [wrong-column-count]\n"
        " 3 | clip,front,9\n   |            ^\n   cell C3: expected 2, as the header\n"
        "   a cell that holds a comma stands in quotes\n");
}

TEST_CASE("csv: a quote that is never closed") {
  CHECK(read("part,at\nclip,\"front\nclip,rear\n") ==
        "2:|clip|front\nclip,rear|\n"
        "t.csv:2:6: error: the quote that opens this cell is never closed [unterminated-quote]\n"
        " 2 | clip,\"front\n   |      ^\n   cell B2: expected a closing quote\n"
        "   the quote runs to the end of the file, so nothing after it was read\n");
}

TEST_CASE("csv: stray quotes, each said once") {
  CHECK(read("p,q\na\"b,c\n\"a\"b,c\n") ==
        "2:|a\"b|c|\n3:|a|c|\n"
        "t.csv:2:2: error: a quote stands inside a cell that does not start with one [stray-quote]\n"
        " 2 | a\"b,c\n   |  ^\n   cell A2: expected the whole cell in quotes, each quote in it doubled\n\n"
        "t.csv:3:4: error: text stands after the closing quote of a cell [stray-quote]\n"
        " 3 | \"a\"b,c\n   |    ^\n"
        "   cell A3: expected a comma or the line's end, or each quote inside the cell doubled\n");
}

TEST_CASE("csv: damaged UTF-8 names the byte and the cell, columns count in characters") {
  CHECK(read("p,q\n\xc3\xa9\xc3\xa9,x\xff\n") ==
        "2:|\xc3\xa9\xc3\xa9|x\xff|\n"
        "t.csv:2:5: error: the byte `\\xff` is no UTF-8 [invalid-utf8]\n"
        " 2 | \xc3\xa9\xc3\xa9,x\\xff\n   |     ^^^^\n   cell B2: expected text in UTF-8\n"
        "   save the table again as CSV in UTF-8\n");
}

TEST_CASE("csv: the cell is counted in records, the place in lines") {
  CHECK(read("p,q\n\"a\nb\",c\nd\n") ==
        "2:|a\nb|c|\n4:|d||\n"
        "t.csv:4:2: error: this row has 1 cell [wrong-column-count]\n"
        " 4 | d\n   |  ^\n   cell A3: expected 2, as the header\n");
}

TEST_CASE("csv: headers that cannot be used") {
  CHECK(read("p,p\n1,2\n") ==
        "t.csv:1:3: error: the column `p` stands twice [duplicate-column]\n"
        " 1 | p,p\n   |   ^\n   cell B1: expected each column once\n");
  CHECK(read("p,\n1,2\n") ==
        "t.csv:1:3: error: a column has no name [unnamed-column]\n"
        " 1 | p,\n   |   ^\n   cell B1: expected a name, or no such column\n");
  CHECK(read("p;q\n1;2\n") ==
        "t.csv:1:1: error: the columns are not separated by commas [not-comma-separated]\n"
        " 1 | p;q\n   | ^^^\n   cell A1: expected a comma between the columns of a pack's table\n"
        "   save the table again as CSV with commas\n");
  CHECK(read("\n\n") ==
        "t.csv: error: the file has no header row [empty-file]\n    expected a first row with the names of "
        "the columns\n");
}

TEST_CASE("csv: a lone carriage return is no line end") {
  CHECK(read("p,q\ra,b\rc,d") ==
        "t.csv:1:4: error: a carriage return stands alone [stray-carriage-return]\n"
        " 1 | p,q\\ra,b\\rc,d\n   |    ^^\n   cell B1: expected lines that end in LF or CRLF\n"
        "   save the table again as CSV in UTF-8\n");
}

TEST_CASE("csv: spans are found again from the bytes") {
  Sources sources;
  const SourceId source = sources.add("t.csv", "part,at\n\"a\nb\",c\n\xc3\xa9,\"front\"\n");
  Diagnostics diagnostics;
  const auto table = read_pack_table(source, sources, diagnostics);
  REQUIRE(table);
  const auto text = [](const Span& span) {
    return std::to_string(span.line) + ":" + std::to_string(span.column) + "+" + std::to_string(span.length) +
           " " + span.cell;
  };
  CHECK(text(table->header_span(1)) == "1:6+2 B1");
  CHECK(text(table->span(0, 0)) == "2:1+5 A2");
  CHECK(text(table->span(0, 1)) == "3:4+1 B2");
  CHECK(text(table->span(1, 1)) == "4:3+7 B3");
  CHECK(table->find_column("at") == 1);
  CHECK(!table->find_column("At"));
}

TEST_CASE("csv: no cell we write is a formula to a spreadsheet (OWASP list, CWE-1236)") {
  struct Case {
    std::string_view cell;
    std::string_view written;
  };
  const std::vector<Case> cases = {
      {"=1+1", "'=1+1"},
      {"+1", "'+1"},
      {"@x", "'@x"},
      {"\tx", "'\tx"},
      {"\nx", "\"'\nx\""},
      {"-x", "'-x"},
      {"\xef\xbc\x9d"
       "1",
       "'\xef\xbc\x9d"
       "1"},
      {"M8", "M8"},
      {" =1", " =1"},
      {"-", "-"},
      {"-2", "-2"},
      {"-2.5", "-2.5"},
      {"-2+3", "'-2+3"},
      {"'=x", "''=x"},
      {"'x", "'x"},
      {"a,b", "\"a,b\""},
      {"a\"b", "\"a\"\"b\""},
      {"", ""},
  };
  for (const Case& row : cases) {
    CAPTURE(row.cell);
    std::string written;
    append_csv_cell(written, row.cell);
    CHECK(written == row.written);
  }
}

TEST_CASE("csv: what is written reads back equal") {
  constexpr unsigned kSeed = 20261;
  CAPTURE(kSeed);
  std::mt19937 random(kSeed);
  constexpr std::string_view kLetters = "ab'=+-@\t\",;\r\n 1.";
  for (int round = 0; round < 3'000; ++round) {
    std::string cell;
    for (auto length = random() % 7; length > 0; --length) cell += kLetters[random() % kLetters.size()];
    CAPTURE(cell);
    std::string bytes = "p,q\n";
    append_csv_cell(bytes, cell);
    bytes += ",x\n";
    Sources sources;
    const SourceId source = sources.add("t.csv", bytes);
    Diagnostics diagnostics;
    const auto table = read_pack_table(source, sources, diagnostics);
    REQUIRE(table);
    REQUIRE(layout(diagnostics, sources) == "");
    REQUIRE(table->cell(0, 0) == cell);
  }
}
