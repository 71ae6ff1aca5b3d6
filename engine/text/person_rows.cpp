#include <algorithm>
#include <array>

#include "text/ascii.h"
#include "text/codes.h"
#include "text/dialect.h"
#include "text/file.h"
#include "text/person_table.h"

namespace kitgap {
namespace {

constexpr std::size_t kHeaderSearch = 60;  // rows

bool has_digit(std::string_view text) {
  return std::any_of(text.begin(), text.end(), is_digit);
}

bool is_figure(std::string_view text) {
  return !text.empty() && std::all_of(text.begin(), text.end(), [](char byte) {
    return is_digit(byte) || byte == '.' || byte == ',' || byte == '-';
  });
}

bool is_capitals(std::string_view text) {
  const auto is_lower = [](char byte) { return byte >= 'a' && byte <= 'z'; };
  const auto is_upper = [](char byte) { return byte >= 'A' && byte <= 'Z'; };
  return std::none_of(text.begin(), text.end(), is_lower) &&
         std::count_if(text.begin(), text.end(), is_upper) >= 2;
}

bool is_decorated(std::string_view text) {
  constexpr std::string_view kSigns = "-=*_#~";
  return text.size() >= 3 && ((kSigns.find(text[0]) != std::string_view::npos && text[0] == text[1]) ||
                              text.ends_with("--") || text.ends_with("==") || text.ends_with("**"));
}

// The marks that stand for "as above": a quote, two of them, the ideographic ditto sign, `do`.
bool is_ditto_mark(std::string_view text) {
  constexpr std::string_view kBeginnings = "\"'-dD\xe2\xe3";
  if (kBeginnings.find(text.front()) == std::string_view::npos) return false;
  constexpr auto kMarks = std::to_array<std::string_view>({"\"", "''", "\xe3\x80\x83", "\xe2\x80\x9d",
                                                           "\xe2\x80\x9c", "\xe2\x80\xb3", "-\"-", "- \" -",
                                                           "ditto", "do", "do.", "-do-", "dto", "dto."});
  return std::find(kMarks.begin(), kMarks.end(), folded(text)) != kMarks.end() ||
         std::find(kMarks.begin(), kMarks.end(), text) != kMarks.end();
}

// Dashes, strokes and the like, with no word among them.
bool is_drawn(std::string_view text) {
  return text.find_first_not_of("-=_*#~+:|. \t") == std::string_view::npos;
}

bool is_total_word(std::string_view text) {
  constexpr std::string_view kBeginnings = "tTgGsSpPcCbBiI-=*_'\"";
  if (text.empty() || kBeginnings.find(text.front()) == std::string_view::npos) return false;
  constexpr auto kWords = std::to_array<std::string_view>(
      {"total", "totals", "grand total", "sub total", "subtotal", "page total", "sum", "total pieces",
       "total pcs", "total items", "total qty", "total quantity", "carried forward", "brought forward", "c/f",
       "b/f", "c/fwd", "b/fwd", "items total"});
  const std::string word = header_word(text.substr(0, 60));
  return std::find(kWords.begin(), kWords.end(), word) != kWords.end();
}

}  // namespace

PersonTableBuilder::PersonTableBuilder(SourceId source, const Sources& sources, bool is_sheet) {
  table_.bytes_ = sources.bytes(source);
  table_.source_ = source;
  table_.is_sheet_ = is_sheet;
}

bool PersonTableBuilder::begin_row(std::uint32_t line) {
  if (table_.rows_.size() == kMostPersonRows) {
    past_ = "the table has too many rows";
    allowed_ = std::to_string(kMostPersonRows);
    return false;
  }
  table_.rows_.push_back({line, static_cast<std::uint32_t>(table_.cells_.size()), 0, RowKind::Line});
  return true;
}

bool PersonTableBuilder::add_cell(std::size_t column, std::size_t start, std::size_t end, std::size_t raw,
                                  CellForm form, bool doubled) {
  if (start == end)
    return true;  // empty cells are those between filled ones: they cost nothing at a row's end
  if (column >= kMostPersonColumns)
    past_ = "a row has too many columns", allowed_ = std::to_string(kMostPersonColumns);
  else if (end - start > PersonTable::kLongestCell)
    past_ = "a cell is too long", allowed_ = std::to_string(PersonTable::kLongestCell) + " bytes";
  else if (table_.cells_.size() + kMostPersonColumns > PersonTable::kMostCells)
    past_ = "the table has too many cells", allowed_ = std::to_string(PersonTable::kMostCells);
  if (!past_.empty()) {
    past_ += ", in line " + std::to_string(table_.rows_.back().line);
    return false;
  }
  const std::size_t before = table_.rows_.back().first_cell + column;
  if (table_.cells_.size() != before)
    table_.cells_.resize(before, {0, 0, static_cast<std::uint32_t>(raw), 0, CellForm::Text});
  PersonTable::Cell cell{static_cast<std::uint32_t>(start), static_cast<std::uint32_t>(end - start),
                         static_cast<std::uint32_t>(raw), 0, form};
  if (doubled) {
    const std::string_view inner = table_.bytes_.substr(start, end - start);
    cell.offset = static_cast<std::uint32_t>(table_.unescaped_.size());
    for (std::size_t at = 0; at < inner.size(); ++at) {
      table_.unescaped_ += inner[at];
      if (inner[at] == '"' && at + 1 < inner.size() && inner[at + 1] == '"') ++at;
    }
    cell.length = static_cast<std::uint32_t>(table_.unescaped_.size()) - cell.offset;
    cell.flags = PersonTable::kUnescaped;
  }
  table_.cells_.push_back(cell);
  return true;
}

void PersonTableBuilder::expect(std::size_t rows, std::size_t cells) {
  table_.rows_.reserve(std::min(rows, kMostPersonRows) + 1);
  table_.cells_.reserve(std::min(cells, PersonTable::kMostCells));
}

void PersonTableBuilder::remark(std::string says) {
  table_.remarks_.push_back(std::move(says));
}

std::size_t PersonTableBuilder::filled(std::size_t row) const {
  std::size_t count = 0;
  for (std::size_t column = 0; column < table_.cell_count(row); ++column)
    count += table_.cell(row, column).empty() ? 0 : 1;
  return count;
}

std::optional<PersonTable> PersonTableBuilder::finish(const PersonTableOptions& options,
                                                      Diagnostics& diagnostics) {
  const Span whole{table_.source_};
  if (!past_.empty()) {
    diagnostics.add({Severity::Error, code::kTooLarge, whole, past_, "at most " + allowed_});
    return std::nullopt;
  }
  const std::size_t count = table_.rows_.size();
  table_.rows_.push_back({0, static_cast<std::uint32_t>(table_.cells_.size()), 0, RowKind::Blank});
  if (table_.cells_.empty()) {
    diagnostics.add(
        {Severity::Error, code::kEmptyFile, whole, "the file holds nothing but blanks", "a table"});
    return std::nullopt;
  }
  for (std::size_t row = 0; row < count; ++row) {
    if (table_.cell_count(row) == 0) table_.rows_[row].kind = RowKind::Blank;
  }
  const bool found = find_header(options);
  if (!found) leave_unnamed();
  sort_rows(found ? header_rows_ : 0);
  find_decimal_comma();
  return std::move(table_);
}

// The row with most column names among the first ones; rows beside it that hold names and no figure belong to
// it.
bool PersonTableBuilder::find_header(const PersonTableOptions& options) {
  const std::size_t search = std::min(table_.row_count(), kHeaderSearch);
  const auto words_in = [&](std::size_t row) {
    std::size_t words = 0;
    for (std::size_t column = 0; column < table_.cell_count(row); ++column) {
      const auto text = table_.cell(row, column);
      const std::string word = header_word(text);
      const bool renamed = std::any_of(options.renamed.begin(), options.renamed.end(), [&](const auto& pair) {
        return !word.empty() && header_word(pair.first) == word;
      });
      words += renamed || is_header_word(text, options.columns) ? 1 : 0;
    }
    return words;
  };
  const auto has_figure = [&](std::size_t row) {
    for (std::size_t column = 0; column < table_.cell_count(row); ++column) {
      if (is_figure(table_.cell(row, column))) return true;
    }
    return false;
  };
  std::size_t best = search;
  std::size_t most = 0;
  for (std::size_t row = 0; row < search; ++row) {
    const std::size_t words = words_in(row);
    // One word of ours alone in a row is a title or a heading, unless the table has a single column.
    const bool enough = words >= 2 || (words == 1 && !has_figure(row) && (filled(row) >= 2 || row == 0));
    if (enough && words > most) best = row, most = words;
  }
  if (best == search) {
    std::size_t row = 0;
    while (row < search && table_.rows_[row].kind == RowKind::Blank) ++row;
    if (row == search || !has_header_shape(row)) return false;
    take_header(row, row);
    return true;
  }
  std::size_t first = best;
  std::size_t last = best;
  const auto belongs = [&](std::size_t row) {
    if (filled(row) < 2) return false;
    std::size_t holding = 0;
    for (std::size_t column = 0; column < table_.cell_count(row); ++column) {
      if (has_digit(table_.cell(row, column))) return false;
      holding += has_header_word(table_.cell(row, column), options.columns) ? 1 : 0;
    }
    return words_in(row) >= 1 || holding >= 2;
  };
  while (first > 0 && best - first < 3 && belongs(first - 1)) --first;
  while (last + 1 < table_.row_count() && last - best < 3 && belongs(last + 1)) ++last;
  take_header(first, last);
  return true;
}

// Names of another language: a row of words above a column in which most rows have figures.
bool PersonTableBuilder::has_header_shape(std::size_t row) const {
  if (filled(row) < 2) return false;
  for (std::size_t column = 0; column < table_.cell_count(row); ++column) {
    if (has_digit(table_.cell(row, column))) return false;
  }
  const std::size_t last = std::min(table_.row_count(), row + 1 + kHeaderSearch);
  for (std::size_t column = 0; column < table_.cell_count(row); ++column) {
    std::size_t figures = 0, filled_rows = 0;
    for (std::size_t below = row + 1; below < last; ++below) {
      const auto text = table_.cell(below, column);
      filled_rows += text.empty() ? 0 : 1;
      figures += has_digit(text) ? 1 : 0;
    }
    if (!table_.cell(row, column).empty() && figures != 0 && figures * 2 > filled_rows) return true;
  }
  return false;
}

void PersonTableBuilder::leave_unnamed() {
  std::size_t widest = 0;
  for (std::size_t row = 0; row < table_.row_count(); ++row)
    widest = std::max(widest, table_.cell_count(row));
  table_.header_.resize(widest);
  table_.header_parts_.resize(widest);
  remark("no header");
}

void PersonTableBuilder::take_header(std::size_t first, std::size_t last) {
  name_columns(first, last);
  for (std::size_t row = 0; row < first; ++row) {
    if (table_.rows_[row].kind == RowKind::Line) table_.rows_[row].kind = RowKind::Title;
  }
  for (std::size_t row = first; row <= last; ++row) table_.rows_[row].kind = RowKind::Header;
  header_rows_ = last + 1;
  const std::string lines = first == last ? "line " + std::to_string(table_.line(first))
                                          : "lines " + std::to_string(table_.line(first)) + " to " +
                                                std::to_string(table_.line(last));
  remark("header in " + lines);
}

// A name over several columns goes on to the right until the next one; names above one another are joined.
void PersonTableBuilder::name_columns(std::size_t first, std::size_t last) {
  std::size_t widest = 0;
  for (std::size_t row = first; row <= last; ++row) widest = std::max(widest, table_.cell_count(row));
  table_.header_.assign(widest, {});
  table_.header_parts_.assign(widest, {});
  for (std::size_t row = first; row <= last; ++row) {
    std::string_view over;  // the name that goes on to the right
    for (std::size_t column = 0; column < widest; ++column) {
      const auto text = table_.cell(row, column);
      if (!text.empty()) over = text;
      const bool spreads = row != last && text.empty() && !table_.cell(last, column).empty();
      std::string& name = table_.header_[column];
      const auto part = spreads ? over : text;
      const bool repeats =
          name == part || name.ends_with(" " + std::string(part));  // a cell merged over both rows
      if (part.empty() || repeats) continue;
      name += (name.empty() ? "" : " ") + std::string(part);
      table_.header_parts_[column].emplace_back(part);
    }
  }
}

void PersonTableBuilder::sort_rows(std::size_t first_line) {
  std::uint32_t section = 0;
  std::size_t above = SIZE_MAX;
  for (std::size_t row = first_line; row < table_.row_count(); ++row) {
    auto& entry = table_.rows_[row];
    if (entry.kind != RowKind::Line) continue;
    entry.kind = kind_of(row);
    entry.section = section;
    if (entry.kind == RowKind::Heading) section = static_cast<std::uint32_t>(row + 1);
    if (entry.kind != RowKind::Line) continue;
    if (above != SIZE_MAX) repeat_dittos(row, above);
    above = row;
  }
}

RowKind PersonTableBuilder::kind_of(std::size_t row) const {
  std::string_view only;
  std::size_t only_column = 0;
  std::size_t texts = 0;
  const std::size_t count = table_.cell_count(row);
  const auto* cells = table_.cells_.data() + table_.rows_[row].first_cell;
  bool as_header = header_rows_ != 0 && count == table_.header_.size();
  for (std::size_t column = 0; column < count; ++column) {
    as_header = as_header && table_.text_of(cells[column]) == table_.header_[column];
    if (cells[column].length == 0) continue;
    if (texts++ == 0) only = table_.text_of(cells[column]), only_column = column;
  }
  if (as_header) return RowKind::Header;
  if (is_drawn(only) && only.size() > 1) {
    const bool all =
        std::all_of(cells, cells + count, [&](const auto& cell) { return is_drawn(table_.text_of(cell)); });
    if (all) return RowKind::Rule;
  }
  if (is_total_word(only)) return RowKind::Total;
  if (is_decorated(only) && !has_digit(only)) return RowKind::Heading;
  if (texts != 1 || table_.header_.size() < 2) return RowKind::Line;
  if (only.ends_with(':') || is_decorated(only)) return RowKind::Heading;
  if (has_digit(only)) return RowKind::Line;
  if (only_column != 0) return is_capitals(only) ? RowKind::Heading : RowKind::Line;
  // A part's key (`panel-clip`) may stand alone, its quantity unwritten; words in the first column name a
  // section.
  const bool is_key = only.find(' ') == std::string_view::npos && only.find('-') != std::string_view::npos &&
                      !is_capitals(only);
  return is_key ? RowKind::Line : RowKind::Heading;
}

void PersonTableBuilder::repeat_dittos(std::size_t row, std::size_t above) {
  const std::size_t first = table_.rows_[row].first_cell;
  const std::size_t count = table_.cell_count(row);
  for (std::size_t column = 0; column < count; ++column) {
    auto& cell = table_.cells_[first + column];
    if (cell.length > 8 || cell.length == 0 || !is_ditto_mark(table_.text_of(cell))) continue;
    const auto* repeated = table_.find_cell(above, column);
    if (repeated == nullptr || repeated->length == 0) continue;
    cell.offset = repeated->offset;
    cell.length = repeated->length;
    cell.form = repeated->form;
    cell.flags = static_cast<std::uint8_t>((repeated->flags & PersonTable::kUnescaped) | PersonTable::kDitto);
  }
}

// A comma is this file's decimal mark when some figure has one with one or two digits after it, and none has
// a point.
void PersonTableBuilder::find_decimal_comma() {
  bool comma = false;
  for (const auto& cell : table_.cells_) {
    if (cell.length < 3 || cell.length > 12) continue;
    const auto text = table_.text_of(cell);
    if (!is_digit(text.front()) || !is_figure(text)) continue;
    const auto mark = text.find_first_of(".,");
    if (mark == std::string_view::npos || text.find_first_of(".,", mark + 1) != std::string_view::npos)
      continue;
    if (text[mark] == '.') return;
    if (text.size() - mark - 1 != 3) comma = true;
  }
  table_.decimal_comma_ = comma;
  if (comma) remark("decimal comma");
}

}  // namespace kitgap
