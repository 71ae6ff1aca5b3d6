#include "text/csv.h"

#include <algorithm>
#include <utility>

#include "text/codes.h"
#include "text/csv_cells.h"
#include "text/file.h"
#include "text/utf8.h"

namespace kitgap {
namespace {

// A table is worked on in memory: these bounds keep any file under 512 MB.
constexpr std::size_t kMostColumns = 1'000;
constexpr std::size_t kMostCells = 24'000'000;
constexpr std::size_t kMostRows = 5'000'000;
constexpr std::uint32_t kLongestCell = (1U << 23) - 1;
constexpr std::uint64_t kOffsetMask = (std::uint64_t{1} << 40) - 1;

constexpr std::string_view kByteOrderMark = "\xef\xbb\xbf";

std::size_t start_of(std::string_view bytes) {
  return bytes.starts_with(kByteOrderMark) ? kByteOrderMark.size() : 0;
}

std::string unescape(std::string_view inner) {
  std::string out;
  out.reserve(inner.size());
  for (std::size_t at = 0; at < inner.size(); ++at) {
    out += inner[at];
    if (inner[at] == '"') ++at;
  }
  return out;
}

std::uint32_t saturated(std::size_t value) {
  return static_cast<std::uint32_t>(std::min<std::size_t>(value, UINT32_MAX));
}

}  // namespace

std::string spreadsheet_column(std::size_t column) {
  std::string letters;
  for (std::size_t rest = column + 1; rest != 0; rest = (rest - 1) / 26) {
    letters.insert(letters.begin(), static_cast<char>('A' + (rest - 1) % 26));
  }
  return letters;
}

// Reads one file into a Table; lives as long as the reading.
class CsvReader {
 public:
  CsvReader(SourceId source, const Sources& sources, Diagnostics& diagnostics)
      : bytes_(sources.bytes(source)), diagnostics_(diagnostics), scanner_(bytes_, start_of(bytes_)) {
    table_.sources_ = &sources;
    table_.source_ = source;
    line_start_ = start_of(bytes_);
  }

  std::optional<Table> read() {
    valid_utf8_ = is_utf8(bytes_);
    if (!read_header()) return std::nullopt;
    make_room();
    while (!scanner_.at_end() && !refused_) read_record();
    table_.first_cell_.push_back(static_cast<std::uint32_t>(table_.cells_.size()));
    return refused_ || header_wrong_ ? std::nullopt : std::optional(std::move(table_));
  }

 private:
  // At once for all rows: growing step by step would take up to twice the place.
  void make_room() {
    const std::string_view rest = bytes_.substr(scanner_.at());
    const auto rows = std::min<std::size_t>(static_cast<std::size_t>(std::ranges::count(rest, '\n')) + 1, kMostRows);
    table_.row_lines_.reserve(rows);
    table_.first_cell_.reserve(rows + 1);
    table_.cells_.reserve(std::min({table_.cells_.size() + rows * table_.header_.size(), kMostCells, bytes_.size() + 1}));
  }

  bool is_blank_line() const {
    const std::string_view rest = bytes_.substr(scanner_.at(), 2);
    return rest.starts_with('\n') || rest == "\r\n";
  }

  // Reads the cells of one record into `record_`; false at a blank line.
  bool next_record() {
    record_.clear();
    record_line_ = line_;
    record_start_ = line_start_;
    const bool blank = is_blank_line();
    do {
      record_.push_back(scanner_.next());
      if (scanner_.fault() != CsvFault::None) add_fault(record_.back());
      if (record_.back().quoted) count_breaks(record_.back());
      if (record_.size() > kMostColumns * 2) skip_to_record_end();
    } while (!scanner_.ended_record());
    ++line_;
    line_start_ = scanner_.at();
    if (!valid_utf8_ && !blank) check_utf8();
    return !blank;
  }

  // A hostile record of a hundred million cells: what is beyond twice the bound is only passed over.
  void skip_to_record_end() {
    while (!scanner_.ended_record()) {
      const CsvCell cell = scanner_.next();
      if (cell.quoted) count_breaks(cell);
    }
  }

  void count_breaks(const CsvCell& cell) {
    for (std::size_t at = bytes_.find('\n', cell.start); at < cell.end; at = bytes_.find('\n', at + 1)) {
      table_.continuation_lines_.push_back(++line_);
      line_start_ = at + 1;
    }
  }

  bool read_header() {
    bool found = false;
    while (!found && !scanner_.at_end()) found = next_record();
    if (!found) {
      diagnostics_.add({Severity::Error, code::kEmptyFile, Span{table_.source_}, "the file has no header row",
                        "a first row with the names of the columns"});
      return false;
    }
    table_.header_line_ = record_line_;
    if (record_.size() > kMostColumns) {
      refuse("the header has " + std::to_string(record_.size()) + " columns or more", kMostColumns,
             " columns");
      return false;
    }
    for (const CsvCell& raw : record_) table_.header_.emplace_back(text_of(keep(raw)));
    for (std::size_t column = 0; column < table_.header_.size(); ++column) check_name(column);
    return true;
  }

  void check_name(std::size_t column) {
    const auto& header = table_.header_;
    const auto add = [&](std::string_view code, std::string says, std::string expected,
                         std::vector<std::string> help = {}) {
      header_wrong_ = true;
      diagnostics_.add({Severity::Error,
                        code,
                        table_.header_span(column),
                        std::move(says),
                        std::move(expected),
                        {},
                        {},
                        std::move(help)});
    };
    if (header[column].empty())
      return add(code::kUnnamedColumn, "a column has no name", "a name, or no such column");
    const auto first = std::find(header.begin(), header.end(), header[column]);
    if (first - header.begin() != static_cast<std::ptrdiff_t>(column)) {
      return add(code::kDuplicateColumn, "the column `" + header[column] + "` stands twice",
                 "each column once");
    }
    const bool other_separator = header.size() == 1 && header[0].find_first_of(";\t|") != std::string::npos;
    if (other_separator) {
      add(code::kNotCommaSeparated, "the columns are not separated by commas",
          "a comma between the columns of a pack's table", {"save the table again as CSV with commas"});
    }
  }

  void read_record() {
    if (!next_record()) return;
    if (table_.row_lines_.size() == kMostRows || table_.cells_.size() + table_.header_.size() > kMostCells) {
      refused_ = true;
      return table_.row_lines_.size() == kMostRows ? refuse("the table is too long", kMostRows, " rows")
                                                   : refuse("the table is too large", kMostCells, " cells");
    }
    table_.row_lines_.push_back(record_line_);
    table_.first_cell_.push_back(static_cast<std::uint32_t>(table_.cells_.size()));
    if (record_.size() != table_.header_.size()) add_wrong_count();
    record_.resize(table_.header_.size(), CsvCell{});
    for (const CsvCell& raw : record_) table_.cells_.push_back(keep(raw));
  }

  Table::Cell keep(const CsvCell& raw) {
    std::size_t start = raw.start + (raw.quoted ? 1 : 0);
    std::size_t end = raw.end - (raw.quoted && raw.end > start ? 1 : 0);
    if (end - start > kLongestCell) {
      refuse("a cell in line " + std::to_string(record_line_) + " is too long", kLongestCell, " bytes");
      refused_ = true;
      end = start;
    }
    std::string_view inner = bytes_.substr(start, end - start);
    if (raw.doubled) {
      const std::string plain = unescape(inner);
      start = table_.unescaped_.size();
      table_.unescaped_ += plain;
      inner = std::string_view(table_.unescaped_).substr(start);
      end = table_.unescaped_.size();
    }
    if (is_guarded(inner)) ++start;
    return {start & kOffsetMask, static_cast<std::uint32_t>(end - start) & kLongestCell, raw.doubled};
  }

  std::string_view text_of(const Table::Cell& cell) const {
    const std::string_view from = cell.unescaped != 0 ? std::string_view(table_.unescaped_) : bytes_;
    return from.substr(cell.offset, cell.length);
  }

  Span span_at(std::size_t at, std::size_t length) const {
    // The cell may have begun some lines above the one that was read last.
    const std::size_t before = at == 0 ? std::string_view::npos : bytes_.rfind('\n', at - 1);
    const std::size_t start =
        before == std::string_view::npos || before + 1 < record_start_ ? record_start_ : before + 1;
    const auto breaks = std::count(bytes_.begin() + static_cast<std::ptrdiff_t>(record_start_),
                                   bytes_.begin() + static_cast<std::ptrdiff_t>(start), '\n');
    const std::size_t column = characters(bytes_.substr(start, at - start)) + 1;
    return {table_.source_, record_line_ + static_cast<std::uint32_t>(breaks), saturated(column),
            saturated(length),
            spreadsheet_column(record_.size() - 1) + std::to_string(table_.record_number(record_line_))};
  }

  void add_fault(const CsvCell& raw) {
    const auto add = [&](std::string_view code, std::string says, std::string expected,
                         std::vector<std::string> help = {}) {
      diagnostics_.add({Severity::Error,
                        code,
                        span_at(scanner_.fault_at(), 1),
                        std::move(says),
                        std::move(expected),
                        {},
                        {},
                        std::move(help)});
    };
    switch (scanner_.fault()) {
      case CsvFault::StrayQuote:
        return add(code::kStrayQuote, "a quote stands inside a cell that does not start with one",
                   "the whole cell in quotes, each quote in it doubled");
      case CsvFault::TextAfterQuote:
        return add(code::kStrayQuote, "text stands after the closing quote of a cell",
                   "a comma or the line's end, or each quote inside the cell doubled");
      case CsvFault::Unterminated:
        return add(code::kUnterminatedQuote, "the quote that opens this cell is never closed",
                   "a closing quote",
                   {"the quote runs to the end of the file, so nothing after it was read"});
      case CsvFault::CarriageReturn:
        if (std::exchange(said_carriage_return_, true)) return;
        return add(code::kStrayCarriageReturn, "a carriage return stands alone",
                   "lines that end in LF or CRLF", {"save the table again as CSV in UTF-8"});
      case CsvFault::None:
        break;
    }
    static_cast<void>(raw);
  }

  void check_utf8() {
    for (std::size_t column = 0; column < record_.size(); ++column) {
      const CsvCell& raw = record_[column];
      const std::string_view text = bytes_.substr(raw.start, raw.end - raw.start);
      const std::size_t at = find_invalid_utf8(text);
      if (at == std::string_view::npos) continue;
      const auto cells = std::exchange(
          record_,
          std::vector<CsvCell>(record_.begin(), record_.begin() + static_cast<std::ptrdiff_t>(column) + 1));
      const Span span = span_at(raw.start + at, 1);
      record_ = cells;
      diagnostics_.add({Severity::Error,
                        code::kInvalidUtf8,
                        span,
                        "the byte `" + printable(text.substr(at, 1)) + "` is no UTF-8",
                        "text in UTF-8",
                        {},
                        {},
                        {"save the table again as CSV in UTF-8"}});
    }
  }

  void add_wrong_count() {
    const std::size_t want = table_.header_.size();
    const bool many = record_.size() > want;
    // Too many: from the first cell that has no column. Too few: at the end of the line.
    const std::size_t number = std::min(record_.size(), want + 1);
    const CsvCell& raw = record_[number - 1];
    const auto all = record_;
    record_.resize(number);
    const std::size_t at = many ? raw.start : raw.end;
    const std::size_t length =
        many ? std::max<std::size_t>(characters(bytes_.substr(raw.start, raw.end - raw.start)), 1) : 1;
    const Span span = span_at(at, length);
    record_ = all;
    diagnostics_.add(
        {Severity::Error,
         code::kWrongColumnCount,
         span,
         "this row has " + std::to_string(record_.size()) + (record_.size() == 1 ? " cell" : " cells"),
         std::to_string(want) + ", as the header",
         {},
         {},
         many ? std::vector<std::string>{"a cell that holds a comma stands in quotes"}
              : std::vector<std::string>{}});
  }

  void refuse(std::string says, std::size_t most, std::string_view what) {
    if (std::exchange(said_too_large_, true)) return;
    diagnostics_.add({Severity::Error, code::kTooLarge, Span{table_.source_}, std::move(says),
                      "at most " + std::to_string(most) + std::string(what)});
  }

  std::string_view bytes_;
  Diagnostics& diagnostics_;
  CsvScanner scanner_;
  Table table_;
  std::vector<CsvCell> record_;
  std::uint32_t line_ = 1;
  std::size_t line_start_ = 0;
  std::uint32_t record_line_ = 1;
  std::size_t record_start_ = 0;
  bool valid_utf8_ = true;
  bool header_wrong_ = false;
  bool refused_ = false;
  bool said_carriage_return_ = false;
  bool said_too_large_ = false;
};

std::string_view Table::cell(std::size_t row, std::size_t column) const {
  const std::size_t index = first_cell_[row] + column;
  if (index >= first_cell_[row + 1]) return {};
  const Cell& cell = cells_[index];
  const std::string_view from = cell.unescaped != 0 ? std::string_view(unescaped_) : sources_->bytes(source_);
  return from.substr(cell.offset, cell.length);
}

std::uint32_t Table::record_number(std::uint32_t line) const {
  const auto before = std::lower_bound(continuation_lines_.begin(), continuation_lines_.end(), line);
  return line - static_cast<std::uint32_t>(before - continuation_lines_.begin());
}

Span Table::span_in(std::uint32_t line, std::size_t column) const {
  const std::string_view bytes = sources_->bytes(source_);
  const std::size_t start =
      line == 1 ? start_of(bytes)
                : static_cast<std::size_t>(sources_->line(source_, line).data() - bytes.data());
  CsvScanner scanner(bytes, start);
  CsvCell raw = scanner.next();
  std::size_t number = 0;
  for (; number < column && !scanner.ended_record(); ++number) raw = scanner.next();
  const std::size_t inside = number == column ? raw.start : raw.end;
  const std::size_t before = inside == 0 ? std::string_view::npos : bytes.rfind('\n', inside - 1);
  const std::size_t from = before == std::string_view::npos || before + 1 < start ? start : before + 1;
  const auto breaks = std::count(bytes.data() + start, bytes.data() + from, '\n');
  const std::string_view text = bytes.substr(inside, number == column ? raw.end - inside : 0);
  return {source_, line + static_cast<std::uint32_t>(breaks),
          saturated(characters(bytes.substr(from, inside - from)) + 1),
          saturated(std::max<std::size_t>(characters(text), 1)),
          spreadsheet_column(column) + std::to_string(record_number(line))};
}

Span Table::span(std::size_t row, std::size_t column) const {
  return span_in(row_lines_[row], column);
}
Span Table::header_span(std::size_t column) const {
  return span_in(header_line_, column);
}

std::optional<std::size_t> Table::find_column(std::string_view name) const {
  const auto found = std::find(header_.begin(), header_.end(), name);
  if (found == header_.end()) return std::nullopt;
  return static_cast<std::size_t>(found - header_.begin());
}

std::optional<Table> read_pack_table(SourceId source, const Sources& sources, Diagnostics& diagnostics) {
  return CsvReader(source, sources, diagnostics).read();
}

}  // namespace kitgap
