#include "text/csv.h"

#include <algorithm>
#include <array>
#include <utility>

#include "text/codes.h"
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

// What a spreadsheet takes for the start of a formula: the list of the OWASP page on CSV injection and CWE-1236.
bool starts_formula(std::string_view cell) {
  if (cell.empty()) return false;
  constexpr std::string_view kBytes = "=+-@\t\r\n";
  if (kBytes.find(cell.front()) != std::string_view::npos) return true;
  constexpr auto kFullWidth = std::to_array<std::string_view>({"\xef\xbc\x9d", "\xef\xbc\x8b", "\xef\xbc\x8d", "\xef\xbc\xa0"});
  return std::any_of(kFullWidth.begin(), kFullWidth.end(), [&](auto sign) { return cell.starts_with(sign); });
}

// A lone `-` and a plain negative number are no formula to anyone, and mean something to us.
bool is_minus_or_number(std::string_view cell) {
  if (!cell.starts_with('-')) return false;
  cell.remove_prefix(1);
  const auto is_digit = [](char byte) { return byte >= '0' && byte <= '9'; };
  const auto dot = std::min(cell.find('.'), cell.size());
  const bool digits = std::all_of(cell.begin(), cell.begin() + static_cast<std::ptrdiff_t>(dot), is_digit);
  if (dot == cell.size()) return digits;
  const auto after = cell.substr(dot + 1);
  return digits && dot != 0 && !after.empty() && std::all_of(after.begin(), after.end(), is_digit);
}

// Cells such as `'=x` are guarded as well, so that taking one apostrophe away always gives back what was written.
bool needs_guard(std::string_view cell) {
  const std::string_view bare = cell.substr(std::min(cell.find_first_not_of('\''), cell.size()));
  return starts_formula(bare) && (bare.size() != cell.size() || !is_minus_or_number(cell));
}

bool is_guarded(std::string_view cell) { return cell.starts_with('\'') && needs_guard(cell.substr(1)); }

// One raw cell of a record: where it starts and ends among the bytes, quotes included.
struct RawCell {
  std::size_t start = 0;
  std::size_t end = 0;
  bool quoted = false;
  bool doubled = false;  // holds a doubled quote
};

enum class Fault : std::uint8_t { None, StrayQuote, TextAfterQuote, Unterminated, CarriageReturn };

// Cuts bytes into cells, one at a time. After a fault it goes on at the next comma or line end.
class Scanner {
 public:
  Scanner(std::string_view bytes, std::size_t at) : bytes_(bytes), at_(at) {}

  bool at_end() const { return at_ >= bytes_.size(); }
  std::size_t at() const { return at_; }
  // True when the cell just read was the last of its record.
  bool ended_record() const { return ended_record_; }
  Fault fault() const { return fault_; }
  std::size_t fault_at() const { return fault_at_; }

  RawCell next() {
    fault_ = Fault::None;
    RawCell cell{at_, at_, false, false};
    if (at_ < bytes_.size() && bytes_[at_] == '"') read_quoted(cell);
    else read_plain(cell);
    finish();
    return cell;
  }

 private:
  void set_fault(Fault fault, std::size_t at) {
    if (fault_ == Fault::None) fault_ = fault, fault_at_ = at;
  }
  bool is_line_end(std::size_t at) const {
    return bytes_[at] == '\n' || (bytes_[at] == '\r' && at + 1 < bytes_.size() && bytes_[at + 1] == '\n');
  }
  void read_plain(RawCell& cell) {
    for (; at_ < bytes_.size(); ++at_) {
      const char byte = bytes_[at_];
      if (byte > ',') continue;
      if (byte == ',' || byte == '\n') break;
      if (byte == '"') set_fault(Fault::StrayQuote, at_);
      if (byte != '\r') continue;
      if (is_line_end(at_)) break;
      set_fault(Fault::CarriageReturn, at_);
    }
    cell.end = at_;
  }
  void read_quoted(RawCell& cell) {
    cell.quoted = true;
    const std::size_t opening = at_++;
    while (true) {
      at_ = bytes_.find('"', at_);
      if (at_ == std::string_view::npos) {
        set_fault(Fault::Unterminated, opening);
        cell.end = at_ = bytes_.size();
        return;
      }
      if (at_ + 1 >= bytes_.size() || bytes_[at_ + 1] != '"') break;
      cell.doubled = true;
      at_ += 2;
    }
    cell.end = ++at_;
    if (at_ < bytes_.size() && bytes_[at_] != ',' && !is_line_end(at_)) {
      set_fault(Fault::TextAfterQuote, at_);
      while (at_ < bytes_.size() && bytes_[at_] != ',' && !is_line_end(at_)) ++at_;
    }
  }
  void finish() {
    ended_record_ = at_ >= bytes_.size() || bytes_[at_] != ',';
    if (at_ >= bytes_.size()) return;
    at_ += bytes_[at_] == '\r' ? 2 : 1;
  }

  std::string_view bytes_;
  std::size_t at_;
  bool ended_record_ = false;
  Fault fault_ = Fault::None;
  std::size_t fault_at_ = 0;
};

constexpr std::string_view kByteOrderMark = "\xef\xbb\xbf";

std::size_t start_of(std::string_view bytes) { return bytes.starts_with(kByteOrderMark) ? kByteOrderMark.size() : 0; }

std::string unescape(std::string_view inner) {
  std::string out;
  out.reserve(inner.size());
  for (std::size_t at = 0; at < inner.size(); ++at) {
    out += inner[at];
    if (inner[at] == '"') ++at;
  }
  return out;
}

std::uint32_t saturated(std::size_t value) { return static_cast<std::uint32_t>(std::min<std::size_t>(value, UINT32_MAX)); }

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
    while (!scanner_.at_end() && !refused_) read_record();
    table_.first_cell_.push_back(static_cast<std::uint32_t>(table_.cells_.size()));
    return refused_ || header_wrong_ ? std::nullopt : std::optional(std::move(table_));
  }

 private:
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
      if (scanner_.fault() != Fault::None) add_fault(record_.back());
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
      const RawCell cell = scanner_.next();
      if (cell.quoted) count_breaks(cell);
    }
  }

  void count_breaks(const RawCell& cell) {
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
      refuse("the header has " + std::to_string(record_.size()) + " columns or more", kMostColumns, " columns");
      return false;
    }
    for (const RawCell& raw : record_) table_.header_.emplace_back(text_of(keep(raw)));
    for (std::size_t column = 0; column < table_.header_.size(); ++column) check_name(column);
    return true;
  }

  void check_name(std::size_t column) {
    const auto& header = table_.header_;
    const auto add = [&](std::string_view code, std::string says, std::string expected, std::vector<std::string> help = {}) {
      header_wrong_ = true;
      diagnostics_.add({Severity::Error, code, table_.header_span(column), std::move(says), std::move(expected), {}, {},
                        std::move(help)});
    };
    if (header[column].empty()) return add(code::kUnnamedColumn, "a column has no name", "a name, or no such column");
    const auto first = std::find(header.begin(), header.end(), header[column]);
    if (first - header.begin() != static_cast<std::ptrdiff_t>(column)) {
      return add(code::kDuplicateColumn, "the column `" + header[column] + "` stands twice", "each column once");
    }
    const bool other_separator = header.size() == 1 && header[0].find_first_of(";\t|") != std::string::npos;
    if (other_separator) {
      add(code::kNotCommaSeparated, "the columns are not separated by commas", "a comma between the columns of a pack's table",
          {"save the table again as CSV with commas"});
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
    record_.resize(table_.header_.size(), RawCell{});
    for (const RawCell& raw : record_) table_.cells_.push_back(keep(raw));
  }

  Table::Cell keep(const RawCell& raw) {
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
    const std::size_t start = before == std::string_view::npos || before + 1 < record_start_ ? record_start_ : before + 1;
    const auto breaks = std::count(bytes_.begin() + static_cast<std::ptrdiff_t>(record_start_),
                                   bytes_.begin() + static_cast<std::ptrdiff_t>(start), '\n');
    const std::size_t column = characters(bytes_.substr(start, at - start)) + 1;
    return {table_.source_, record_line_ + static_cast<std::uint32_t>(breaks), saturated(column), saturated(length),
            spreadsheet_column(record_.size() - 1) + std::to_string(table_.record_number(record_line_))};
  }

  void add_fault(const RawCell& raw) {
    const auto add = [&](std::string_view code, std::string says, std::string expected, std::vector<std::string> help = {}) {
      diagnostics_.add({Severity::Error, code, span_at(scanner_.fault_at(), 1), std::move(says), std::move(expected), {}, {},
                        std::move(help)});
    };
    switch (scanner_.fault()) {
      case Fault::StrayQuote:
        return add(code::kStrayQuote, "a quote stands inside a cell that does not start with one",
                   "the whole cell in quotes, each quote in it doubled");
      case Fault::TextAfterQuote:
        return add(code::kStrayQuote, "text stands after the closing quote of a cell",
                   "a comma or the line's end, or each quote inside the cell doubled");
      case Fault::Unterminated:
        return add(code::kUnterminatedQuote, "the quote that opens this cell is never closed", "a closing quote",
                   {"the quote runs to the end of the file, so nothing after it was read"});
      case Fault::CarriageReturn:
        if (std::exchange(said_carriage_return_, true)) return;
        return add(code::kStrayCarriageReturn, "a carriage return stands alone", "lines that end in LF or CRLF",
                   {"save the table again as CSV in UTF-8"});
      case Fault::None: break;
    }
    static_cast<void>(raw);
  }

  void check_utf8() {
    for (std::size_t column = 0; column < record_.size(); ++column) {
      const RawCell& raw = record_[column];
      const std::string_view text = bytes_.substr(raw.start, raw.end - raw.start);
      const std::size_t at = find_invalid_utf8(text);
      if (at == std::string_view::npos) continue;
      const auto cells = std::exchange(record_, std::vector<RawCell>(record_.begin(), record_.begin() + static_cast<std::ptrdiff_t>(column) + 1));
      const Span span = span_at(raw.start + at, 1);
      record_ = cells;
      diagnostics_.add({Severity::Error, code::kInvalidUtf8, span,
                        "the byte `" + printable(text.substr(at, 1)) + "` is no UTF-8", "text in UTF-8", {}, {},
                        {"save the table again as CSV in UTF-8"}});
    }
  }

  void add_wrong_count() {
    const std::size_t want = table_.header_.size();
    const bool many = record_.size() > want;
    // Too many: from the first cell that has no column. Too few: at the end of the line.
    const std::size_t number = std::min(record_.size(), want + 1);
    const RawCell& raw = record_[number - 1];
    const auto all = record_;
    record_.resize(number);
    const std::size_t at = many ? raw.start : raw.end;
    const std::size_t length = many ? std::max<std::size_t>(characters(bytes_.substr(raw.start, raw.end - raw.start)), 1) : 1;
    const Span span = span_at(at, length);
    record_ = all;
    diagnostics_.add({Severity::Error, code::kWrongColumnCount, span,
                      "this row has " + std::to_string(record_.size()) + (record_.size() == 1 ? " cell" : " cells"),
                      std::to_string(want) + ", as the header", {}, {},
                      many ? std::vector<std::string>{"a cell that holds a comma stands in quotes"} : std::vector<std::string>{}});
  }

  void refuse(std::string says, std::size_t most, std::string_view what) {
    if (std::exchange(said_too_large_, true)) return;
    diagnostics_.add({Severity::Error, code::kTooLarge, Span{table_.source_}, std::move(says),
                      "at most " + std::to_string(most) + std::string(what)});
  }

  std::string_view bytes_;
  Diagnostics& diagnostics_;
  Scanner scanner_;
  Table table_;
  std::vector<RawCell> record_;
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
  const std::size_t start = line == 1 ? start_of(bytes) : static_cast<std::size_t>(sources_->line(source_, line).data() - bytes.data());
  Scanner scanner(bytes, start);
  RawCell raw = scanner.next();
  std::size_t number = 0;
  for (; number < column && !scanner.ended_record(); ++number) raw = scanner.next();
  const std::size_t inside = number == column ? raw.start : raw.end;
  const std::size_t before = inside == 0 ? std::string_view::npos : bytes.rfind('\n', inside - 1);
  const std::size_t from = before == std::string_view::npos || before + 1 < start ? start : before + 1;
  const auto breaks = std::count(bytes.data() + start, bytes.data() + from, '\n');
  const std::string_view text = bytes.substr(inside, number == column ? raw.end - inside : 0);
  return {source_, line + static_cast<std::uint32_t>(breaks), saturated(characters(bytes.substr(from, inside - from)) + 1),
          saturated(std::max<std::size_t>(characters(text), 1)), spreadsheet_column(column) + std::to_string(record_number(line))};
}

Span Table::span(std::size_t row, std::size_t column) const { return span_in(row_lines_[row], column); }
Span Table::header_span(std::size_t column) const { return span_in(header_line_, column); }

std::optional<std::size_t> Table::find_column(std::string_view name) const {
  const auto found = std::find(header_.begin(), header_.end(), name);
  if (found == header_.end()) return std::nullopt;
  return static_cast<std::size_t>(found - header_.begin());
}

std::optional<Table> read_pack_table(SourceId source, const Sources& sources, Diagnostics& diagnostics) {
  return CsvReader(source, sources, diagnostics).read();
}

void append_csv_cell(std::string& out, std::string_view cell) {
  const bool guard = needs_guard(cell);
  if (cell.find_first_of(",\"\r\n") == std::string_view::npos) {
    if (guard) out += '\'';
    out += cell;
    return;
  }
  out += guard ? "\"'" : "\"";
  for (const char byte : cell) {
    if (byte == '"') out += '"';
    out += byte;
  }
  out += '"';
}

}  // namespace kitgap
