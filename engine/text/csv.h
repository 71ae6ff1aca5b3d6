#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "text/archive.h"
#include "text/diagnostics.h"

namespace kitgap {

// A table of cells with the place of each. Rows keep offsets into the source's bytes, not copies.
// `sources` must outlive the table; cells are views into it or into the table.
class Table {
 public:
  SourceId source() const { return source_; }
  const std::vector<std::string>& header() const { return header_; }
  std::size_t row_count() const { return row_lines_.size(); }
  std::size_t column_count() const { return header_.size(); }
  // The cell's text, unquoted. A row may be shorter or longer than the header only where the dialect allows
  // it.
  std::string_view cell(std::size_t row, std::size_t column) const;
  std::uint32_t line(std::size_t row) const { return row_lines_[row]; }
  // Found again from the bytes, so it costs a scan of the row; for messages and reasons.
  Span span(std::size_t row, std::size_t column) const;
  Span header_span(std::size_t column) const;
  std::optional<std::size_t> find_column(std::string_view name) const;

 private:
  friend class CsvReader;
  friend void visit_fields(auto& archive, Is<Table> auto& table) {
    archive(table.sources_, table.source_, table.header_, table.unescaped_, table.header_line_, table.continuation_lines_);
    archive.arrays(table.row_lines_, table.first_cell_, table.cells_);
  }
  struct Cell {
    std::uint64_t offset : 40;
    std::uint64_t length : 23;
    std::uint64_t unescaped : 1;  // offset points into `unescaped_`
  };
  const Sources* sources_ = nullptr;
  SourceId source_;
  std::vector<std::string> header_;
  std::vector<std::uint32_t> row_lines_;
  std::vector<std::uint32_t> first_cell_;  // per row, and one past the end
  std::vector<Cell> cells_;
  std::string unescaped_;
  std::uint32_t header_line_ = 1;
  std::vector<std::uint32_t> continuation_lines_;  // physical lines that go on inside a quoted cell

  // The number that a spreadsheet gives the record that starts in `line`.
  std::uint32_t record_number(std::uint32_t line) const;
  Span span_in(std::uint32_t line, std::size_t column) const;
};

// Strict RFC 4180 as packs use it: UTF-8 (a BOM is passed over), comma, one header row, every row as long as
// the header, LF or CRLF. Blank lines are passed over. Everything wrong in the file is reported in one run.
// Nothing when the file is no table.
[[nodiscard]] std::optional<Table> read_pack_table(SourceId source, const Sources& sources,
                                                   Diagnostics& diagnostics);

// `A`, `B`, ..., `Z`, `AA`: how a spreadsheet names the column (from 0).
std::string spreadsheet_column(std::size_t column);

// Writes one CSV cell: quoted where RFC 4180 asks for it, and never a formula when a spreadsheet opens it
// (a leading apostrophe, which our reader takes away again; CWE-1236).
void append_csv_cell(std::string& out, std::string_view cell);

}  // namespace kitgap
