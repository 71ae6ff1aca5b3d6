#include "text/person_table.h"

#include <algorithm>
#include <array>

#include "text/codes.h"
#include "text/csv.h"
#include "text/dialect.h"
#include "text/encoding.h"
#include "text/file.h"
#include "text/utf8.h"
#include "text/xlsx.h"

namespace kitgap {
namespace {

std::string name_of(const Dialect& dialect) {
  switch (dialect.kind) {
    case Dialect::Kind::WideBlanks:
      return "columns by runs of blanks";
    case Dialect::Kind::Blanks:
      return "columns by blanks";
    case Dialect::Kind::OneColumn:
      return "one column";
    case Dialect::Kind::Delimited:
      break;
  }
  return dialect.delimiter == '\t' ? "delimiter tab" : std::string("delimiter `") + dialect.delimiter + "`";
}

void report(Diagnostics& diagnostics, SourceId source, std::string_view code, std::string says,
            std::string expected) {
  diagnostics.add({Severity::Error, code, Span{source}, std::move(says), std::move(expected)});
}

// Where each column of text in columns by blanks begins and ends, in bytes from the line's start, as the
// header has it.
using Stops = std::vector<std::pair<std::size_t, std::size_t>>;

std::size_t line_start(std::string_view bytes, std::size_t at) {
  const std::size_t before = at == 0 ? std::string_view::npos : bytes.rfind('\n', at - 1);
  return before == std::string_view::npos ? 0 : before + 1;
}

// A row with as many cells as the header is in order; a shorter one has its cells under the names they stand
// under.
std::size_t column_under(const Stops& stops, std::size_t start, std::size_t end, std::size_t least) {
  std::size_t best = std::min(least, stops.empty() ? 0 : stops.size() - 1);
  std::size_t best_distance = SIZE_MAX;
  for (std::size_t column = least; column < stops.size(); ++column) {
    const auto [from, to] = stops[column];
    const std::size_t distance = end <= from ? from - end + 1 : start >= to ? start - to + 1 : 0;
    if (distance < best_distance) best = column, best_distance = distance;
  }
  return std::max(best, least);
}

class TextReader {
  static constexpr std::size_t kSampleRows = 1'000;

 public:
  TextReader(SourceId source, const Sources& sources, std::size_t start, Dialect dialect,
             const PersonTableOptions& options)
      : bytes_(sources.bytes(source)),
        scanner_(bytes_, start, dialect),
        dialect_(dialect),
        options_(options),
        builder_(source, sources, false) {}

  PersonTableBuilder& read() {
    std::vector<FoundCell> cells;
    while (!scanner_.at_end()) {
      const std::uint32_t line = scanner_.line();
      scanner_.next(cells);
      if (!builder_.begin_row(line) || !add(cells)) break;
      if (builder_.rows() == kSampleRows) expect_more();
    }
    return builder_;
  }

 private:
  bool add(const std::vector<FoundCell>& cells) {
    const bool by_blanks = dialect_.kind == Dialect::Kind::WideBlanks;
    if (by_blanks) take_stops(cells);
    const bool in_order = !by_blanks || stops_.empty() || cells.size() >= stops_.size();
    std::size_t column = 0;
    for (const FoundCell& cell : cells) {
      if (!in_order) {
        const std::size_t from = line_start(bytes_, cell.raw);
        column = column_under(stops_, cell.start - from, cell.end - from, column);
      }
      if (!builder_.add_cell(column++, cell.start, cell.end, cell.raw, CellForm::Text, cell.doubled))
        return false;
    }
    return true;
  }

  // The rest of the file is likely to be as its first rows are.
  void expect_more() {
    const std::size_t read = std::max<std::size_t>(scanner_.at(), 1);
    const auto ahead = [&](std::size_t count) {
      return count + count * (bytes_.size() / 64) / (read / 64 + 1);
    };
    builder_.expect(ahead(builder_.rows()), ahead(builder_.cells()));
  }

  void take_stops(const std::vector<FoundCell>& cells) {
    if (!stops_.empty() || cells.size() < 2) return;
    const bool is_header = std::any_of(cells.begin(), cells.end(), [&](const FoundCell& cell) {
      return is_header_word(bytes_.substr(cell.start, cell.end - cell.start), options_.columns);
    });
    if (!is_header) return;
    for (const FoundCell& cell : cells) {
      const std::size_t from = line_start(bytes_, cell.raw);
      stops_.emplace_back(cell.start - from, cell.end - from);
    }
  }

  std::string_view bytes_;
  RecordScanner scanner_;
  Dialect dialect_;
  const PersonTableOptions& options_;
  PersonTableBuilder builder_;
  Stops stops_;
};

// Old files whose lines end in a carriage return alone.
bool has_lone_returns(std::string_view text) {
  return text.find('\n') == std::string_view::npos && text.find('\r') != std::string_view::npos;
}

std::optional<PersonTable> read_text(SourceId raw, const PersonTableOptions& options, Sources& sources,
                                     Diagnostics& diagnostics) {
  Undecodable wrong;
  auto decoded = decode(sources.bytes(raw), wrong);
  if (!decoded) {
    report(diagnostics, raw, wrong.code, std::move(wrong.says), std::move(wrong.expected));
    return std::nullopt;
  }
  const bool returns =
      has_lone_returns(decoded->text ? std::string_view(*decoded->text) : sources.bytes(raw));
  std::size_t start = decoded->has_mark && !decoded->text ? 3 : 0;
  if (returns) {
    std::string text =
        decoded->text ? std::move(*decoded->text) : std::string(sources.bytes(raw).substr(start));
    std::replace(text.begin(), text.end(), '\r', '\n');
    decoded->text = std::move(text);
    start = 0;
  }
  const SourceId source =
      decoded->text ? sources.add(std::string(sources.name(raw)), std::move(*decoded->text)) : raw;
  const Dialect dialect = find_dialect(sources.bytes(source), start, options.columns);
  TextReader reader(source, sources, start, dialect, options);
  PersonTableBuilder& builder = reader.read();
  builder.remark(name_of(dialect));
  builder.remark(std::string(word_of(decoded->encoding)) +
                 (decoded->has_mark ? " with a byte order mark" : "") +
                 (decoded->encoding == Encoding::Windows1252 ? ", taken because the file is no UTF-8" : ""));
  if (returns) builder.remark("lines end in carriage returns");
  return builder.finish(options, diagnostics);
}

}  // namespace

std::string_view reason_of(RowKind kind) {
  constexpr auto kReasons =
      std::to_array<std::string_view>({"", "a title above the header", "the header", "a blank row",
                                       "a heading", "a total", "a line drawn across"});
  return kReasons.at(static_cast<std::size_t>(kind));
}

std::string_view PersonTable::text_of(const Cell& cell) const {
  const std::string_view from = (cell.flags & kUnescaped) != 0 ? std::string_view(unescaped_) : bytes_;
  return {from.data() + cell.offset, cell.length};
}

const PersonTable::Cell* PersonTable::find_cell(std::size_t row, std::size_t column) const {
  const std::size_t index = rows_[row].first_cell + column;
  return index < rows_[row + 1].first_cell ? &cells_[index] : nullptr;
}

std::string_view PersonTable::cell(std::size_t row, std::size_t column) const {
  const Cell* cell = find_cell(row, column);
  return cell == nullptr ? std::string_view() : text_of(*cell);
}

bool PersonTable::is_ditto(std::size_t row, std::size_t column) const {
  const Cell* cell = find_cell(row, column);
  return cell != nullptr && (cell->flags & kDitto) != 0;
}

CellForm PersonTable::form(std::size_t row, std::size_t column) const {
  const Cell* cell = find_cell(row, column);
  return cell == nullptr ? CellForm::Text : cell->form;
}

std::string_view PersonTable::section(std::size_t row) const {
  const std::uint32_t heading = rows_[row].section;
  if (heading == 0) return {};
  for (std::size_t column = 0; column < cell_count(heading - 1); ++column) {
    if (const auto text = cell(heading - 1, column); !text.empty()) return text;
  }
  return {};
}

std::string PersonTable::as_typed(std::size_t row) const {
  std::string out;
  for (std::size_t column = 0; column < cell_count(row); ++column) {
    if (column != 0) out += " | ";
    if (is_ditto(row, column))
      out += '"';
    else
      out += cell(row, column);
  }
  return out;
}

Span PersonTable::span(std::size_t row, std::size_t column) const {
  const std::string_view bytes = bytes_;
  Span span{source_, rows_[row].line, 1, 1, {}};
  const std::uint32_t number = is_sheet_ ? rows_[row].line : static_cast<std::uint32_t>(row + 1);
  span.cell = spreadsheet_column(column) + std::to_string(number);
  if (cell_count(row) == 0) return span;
  const std::size_t row_start = line_start(bytes, find_cell(row, 0)->raw);
  const Cell* cell = find_cell(row, std::min(column, cell_count(row) - 1));
  const std::size_t start = line_start(bytes, cell->raw);
  span.line += static_cast<std::uint32_t>(std::count(bytes.data() + row_start, bytes.data() + start, '\n'));
  span.column = static_cast<std::uint32_t>(characters(bytes.substr(start, cell->raw - start)) + 1);
  const bool elsewhere = (cell->flags & (kDitto | kUnescaped)) != 0 || column >= cell_count(row);
  if (!elsewhere) {
    span.column = static_cast<std::uint32_t>(characters(bytes.substr(start, cell->offset - start)) + 1);
    span.length = std::max<std::uint32_t>(static_cast<std::uint32_t>(characters(text_of(*cell))), 1);
  }
  return span;
}

std::optional<PersonTable> read_person_table(const std::filesystem::path& path,
                                             const PersonTableOptions& options, Sources& sources,
                                             Diagnostics& diagnostics) {
  const auto source = read_file(path, sources, diagnostics, false, kMostPersonBytes);
  if (!source) return std::nullopt;
  return read_person_table(*source, options, sources, diagnostics);
}

std::optional<PersonTable> read_person_table(SourceId source, const PersonTableOptions& options,
                                             Sources& sources, Diagnostics& diagnostics) {
  if (sources.bytes(source).starts_with("PK\x03\x04"))
    return read_sheet(source, options, sources, diagnostics);
  return read_text(source, options, sources, diagnostics);
}

}  // namespace kitgap
