#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "text/diagnostics.h"

namespace kitgap {

// What a row of a person's file is. Every row of the file has one of these: none is dropped.
enum class RowKind : std::uint8_t {
  Line,    // to be read
  Title,   // above the header
  Header,  // names the columns; more than one row where they are merged, or where a page repeats it
  Blank,
  Heading,  // one cell that names the section below it
  Total,    // sums the rows above it
  Rule,     // dashes drawn across
};
std::string_view reason_of(RowKind kind);  // "a heading", ...: why the row is no line

// What a cell of a spreadsheet was, beside its text.
enum class CellForm : std::uint8_t { Text, Number, Date, Formula, NumberAsText };

// Bounds of a person's file: a list, a packing slip, a stock sheet. What is larger is refused whole.
inline constexpr std::uint64_t kMostPersonBytes = 64'000'000;
inline constexpr std::size_t kMostPersonRows = 100'000;
inline constexpr std::size_t kMostPersonColumns = 400;

// A table as a person keeps it: CSV in any common dialect, text with columns by blanks, or a sheet of a
// workbook. Cells are trimmed. The text of a file in another encoding, and of a sheet, is kept in `sources`
// as UTF-8 with the row numbers of the file, so that messages can show it. `sources` must outlive the table.
class PersonTable {
 public:
  SourceId source() const { return source_; }
  // The columns as named; empty where a column has no name. Headers over several rows are joined by a blank.
  const std::vector<std::string>& header() const { return header_; }
  // The names of a column's header rows, one by one; a single one where the header is one row.
  const std::vector<std::string>& header_parts(std::size_t column) const { return header_parts_[column]; }
  std::size_t row_count() const { return rows_.empty() ? 0 : rows_.size() - 1; }
  RowKind kind(std::size_t row) const { return rows_[row].kind; }
  std::uint32_t line(std::size_t row) const { return rows_[row].line; }
  std::size_t cell_count(std::size_t row) const { return rows_[row + 1].first_cell - rows_[row].first_cell; }
  // Empty past the row's end. Ditto marks are replaced by what they repeat; see `is_ditto`.
  std::string_view cell(std::size_t row, std::size_t column) const;
  bool is_ditto(std::size_t row, std::size_t column) const;
  CellForm form(std::size_t row, std::size_t column) const;
  // The heading that this row stands under, or empty.
  std::string_view section(std::size_t row) const;
  // All cells of the row, ` | ` between them, as typed (ditto marks stay).
  std::string as_typed(std::size_t row) const;
  Span span(std::size_t row, std::size_t column) const;
  // What was found out about the file, a sentence each: "delimiter `;`", "header in line 3", "UTF-16", "sheet
  // `old` is hidden".
  const std::vector<std::string>& remarks() const { return remarks_; }
  // True where numbers of this file use a decimal comma without a doubt.
  bool has_decimal_comma() const { return decimal_comma_; }

 private:
  friend class PersonTableBuilder;
  static constexpr std::size_t kMostCells = 6'000'000;
  static constexpr std::size_t kLongestCell = 64'000;
  enum Flag : std::uint8_t { kUnescaped = 1, kDitto = 2 };
  struct Cell {
    std::uint32_t offset = 0;  // of the text: among the bytes, or in `unescaped_`
    std::uint32_t length = 0;
    std::uint32_t raw = 0;  // where the cell begins among the bytes
    std::uint8_t flags = 0;
    CellForm form = CellForm::Text;
  };
  struct Row {
    std::uint32_t line = 0;
    std::uint32_t first_cell = 0;
    std::uint32_t section = 0;  // row + 1 of the heading above; 0: none
    RowKind kind = RowKind::Line;
  };
  std::string_view text_of(const Cell& cell) const;
  const Cell* find_cell(std::size_t row, std::size_t column) const;

  std::string_view bytes_;  // of the source
  SourceId source_;
  std::vector<std::string> header_;
  std::vector<std::vector<std::string>> header_parts_;
  std::vector<Row> rows_;  // and one past the end
  std::vector<Cell> cells_;
  std::string unescaped_;
  std::vector<std::string> remarks_;
  bool decimal_comma_ = false;
  bool is_sheet_ = false;
};

struct PersonTableOptions;

// Fills a PersonTable row by row; for the readers of files.
class PersonTableBuilder {
 public:
  // `source` holds the text that cells point into.
  PersonTableBuilder(SourceId source, const Sources& sources, bool is_sheet);

  // Columns rise within a row; cells between are empty. False once the file is past its bounds: stop then.
  bool begin_row(std::uint32_t line);
  bool add_cell(std::size_t column, std::size_t start, std::size_t end, std::size_t raw,
                CellForm form = CellForm::Text, bool doubled = false);
  void remark(std::string says);
  // Room for about so many cells and rows: a hint that saves copying.
  void expect(std::size_t rows, std::size_t cells);
  std::size_t rows() const { return table_.rows_.size(); }
  std::size_t cells() const { return table_.cells_.size(); }
  // Finds header, headings, totals and ditto marks. Reports what is past the bounds.
  [[nodiscard]] std::optional<PersonTable> finish(const PersonTableOptions& options,
                                                  Diagnostics& diagnostics);

 private:
  std::size_t filled(std::size_t row) const;  // cells that are not empty
  bool find_header(const PersonTableOptions& options);
  bool has_header_shape(std::size_t row) const;
  void take_header(std::size_t first, std::size_t last);
  void leave_unnamed();
  void name_columns(std::size_t first, std::size_t last);
  void sort_rows(std::size_t first_line);
  RowKind kind_of(std::size_t row) const;
  void repeat_dittos(std::size_t row, std::size_t above);
  void find_decimal_comma();

  PersonTable table_;
  std::string past_;  // what is past the bounds
  std::string allowed_;
  std::size_t header_rows_ = 0;
};

// One of our columns with the words that people use for it (lower case, single blanks).
struct ColumnWords {
  std::string_view name;
  std::vector<std::string_view> words;
};

struct PersonTableOptions {
  // Words that make a row a header. With none of them found the first row is it only if nothing in it is a
  // number.
  std::span<const ColumnWords> columns;
  // theirs=ours, as `--columns` gives them: they count as words too.
  std::span<const std::pair<std::string, std::string>> renamed;
  // The sheet to read, where a workbook has several; empty: the first visible one that names two of the columns,
  // else the first visible one with cells.
  std::string sheet;
  // A `renamed` pair may be meant for another file of the run: it is no error then, but told in ColumnMap::unmatched.
  bool may_lack_renamed = false;
};

// Reads the file or refuses it whole (absent, empty, binary, past the bounds, a damaged or hostile workbook).
[[nodiscard]] std::optional<PersonTable> read_person_table(const std::filesystem::path& path,
                                                           const PersonTableOptions& options,
                                                           Sources& sources, Diagnostics& diagnostics);
// The same of bytes that `sources` holds already.
[[nodiscard]] std::optional<PersonTable> read_person_table(SourceId source, const PersonTableOptions& options,
                                                           Sources& sources, Diagnostics& diagnostics);

// Which column of the table is which of ours, by `columns` in order; nothing where the table has none.
struct ColumnMap {
  std::vector<std::optional<std::size_t>> columns;
  std::vector<std::string> unused;  // named columns that are none of ours
  std::vector<std::string> said;    // "`qty` is read as `quantity`", where the name differs
  std::vector<std::size_t> unmatched;  // pairs of `renamed` whose column the table lacks
};
// A `renamed` pair that names no column of the table, or none of ours, is reported.
[[nodiscard]] ColumnMap map_columns(const PersonTable& table, const PersonTableOptions& options,
                                    Diagnostics& diagnostics);

}  // namespace kitgap
