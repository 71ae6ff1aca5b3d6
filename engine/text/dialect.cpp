#include "text/dialect.h"

#include <algorithm>
#ifdef __SSE2__
#include <emmintrin.h>
#endif

#include <array>
#include <bit>
#include <map>

#include "text/file.h"

namespace kitgap {
namespace {

constexpr std::size_t kSampleBytes = 64'000;
constexpr std::size_t kSampleRecords = 60;
constexpr std::size_t kLongestQuoted = 64'000;
constexpr std::size_t kTiredLook = 200;
constexpr std::size_t kMostInVain = 1'000'000;  // bytes

bool is_blank(char byte) {
  return byte == ' ' || byte == '\t' || byte == '\r' || byte == '\v' || byte == '\f';
}

// How well a dialect fits a sample.
struct Score {
  std::size_t header_words = 0;  // in the best record
  std::size_t agreeing = 0;      // records as long as most are, if that is more than one cell
  std::size_t cells = 0;         // of those
  auto operator<=>(const Score&) const = default;
};

Score score_of(std::string_view sample, std::size_t start, Dialect dialect,
               std::span<const ColumnWords> columns) {
  RecordScanner scanner(sample, start, dialect);
  std::vector<FoundCell> cells;
  std::map<std::size_t, std::size_t> lengths;
  Score score;
  for (std::size_t record = 0; record < kSampleRecords && !scanner.at_end(); ++record) {
    scanner.next(cells);
    if (cells.size() == 1 && cells[0].start == cells[0].end) continue;
    ++lengths[cells.size()];
    if (cells.size() == 1) continue;
    const auto words = std::count_if(cells.begin(), cells.end(), [&](const FoundCell& cell) {
      return is_header_word(sample.substr(cell.start, cell.end - cell.start), columns);
    });
    score.header_words = std::max(score.header_words, static_cast<std::size_t>(words));
  }
  for (const auto& [length, count] : lengths) {
    if (length > 1 && count >= score.agreeing) score.agreeing = count, score.cells = length;
  }
  return score;
}

}  // namespace

std::string header_word(std::string_view text) {
  std::string out;
  for (const char byte : folded(text.substr(0, 200))) {
    const bool dropped =
        byte == '.' || byte == ':' || byte == '*' || byte == '?' || byte == '\'' || byte == '"';
    if (dropped) continue;
    const bool gap =
        is_blank(byte) || byte == '_' || byte == '-' || byte == '\n' || byte == '(' || byte == ')';
    if (!gap)
      out += byte;
    else if (!out.empty() && out.back() != ' ')
      out += ' ';
  }
  while (out.ends_with(' ')) out.pop_back();
  return out;
}

bool has_header_word(std::string_view text, std::span<const ColumnWords> columns) {
  const std::string words = " " + header_word(text) + " ";
  return std::any_of(columns.begin(), columns.end(), [&](const ColumnWords& column) {
    return std::any_of(column.words.begin(), column.words.end(), [&](std::string_view word) {
      return word.size() > 2 && words.find(" " + std::string(word) + " ") != std::string::npos;
    });
  });
}

bool is_header_word(std::string_view text, std::span<const ColumnWords> columns) {
  if (text.empty() || text.size() > 60) return false;
  const std::string word = header_word(text);
  return std::any_of(columns.begin(), columns.end(), [&](const ColumnWords& column) {
    return std::find(column.words.begin(), column.words.end(), word) != column.words.end();
  });
}

RecordScanner::RecordScanner(std::string_view bytes, std::size_t at, Dialect dialect)
    : bytes_(bytes), at_(at), dialect_(dialect) {}

void RecordScanner::next(std::vector<FoundCell>& cells) {
  cells.clear();
  if (dialect_.kind == Dialect::Kind::Delimited)
    next_delimited(cells);
  else
    next_by_blanks(cells);
}

FoundCell RecordScanner::trimmed(std::size_t start, std::size_t end) const {
  FoundCell cell;
  cell.raw = static_cast<std::uint32_t>(start);
  while (start < end && is_blank(bytes_[start])) ++start;
  while (end > start && is_blank(bytes_[end - 1])) --end;
  cell.start = static_cast<std::uint32_t>(start);
  cell.end = static_cast<std::uint32_t>(end);
  return cell;
}

void RecordScanner::next_delimited(std::vector<FoundCell>& cells) {
  while (true) {
    FoundCell cell;
    const bool kept = cells.size() <= kMostPersonColumns;
    // Nearly every cell begins with neither a blank nor a quote.
    const bool is_plain = !kept || at_ >= bytes_.size() ||
                          (static_cast<unsigned char>(bytes_[at_]) > ' ' && bytes_[at_] != '"');
    if (is_plain || !quoted_cell(cell)) cell = plain_cell();
    // What is past the bound is cut all the same, but not kept: a line of a million commas costs no memory.
    if (kept)
      cells.push_back(cell);
    else if (cell.start != cell.end)
      cells.back() = cell;
    if (at_ >= bytes_.size()) return;
    if (bytes_[at_++] == dialect_.delimiter) continue;
    ++line_;
    return;
  }
}

FoundCell RecordScanner::plain_cell() {
  const std::size_t start = at_;
  at_ = next_mark(at_);
  return trimmed(start, at_);
}

void RecordScanner::look_at_block(std::size_t at) {
  block_ = at;
  marks_ = 0;
  const std::size_t count = std::min<std::size_t>(64, bytes_.size() - at);
  std::size_t done = 0;
#ifdef __SSE2__
  const __m128i delimiters = _mm_set1_epi8(dialect_.delimiter);
  const __m128i line_ends = _mm_set1_epi8('\n');
  for (; done + 16 <= count; done += 16) {
    const __m128i bytes = _mm_loadu_si128(reinterpret_cast<const __m128i*>(bytes_.data() + at + done));
    const __m128i found = _mm_or_si128(_mm_cmpeq_epi8(bytes, delimiters), _mm_cmpeq_epi8(bytes, line_ends));
    marks_ |= static_cast<std::uint64_t>(static_cast<std::uint32_t>(_mm_movemask_epi8(found))) << done;
  }
#endif
  for (; done < count; ++done) {
    const char byte = bytes_[at + done];
    if (byte == dialect_.delimiter || byte == '\n') marks_ |= std::uint64_t{1} << done;
  }
}

// The next delimiter or line end at or after `at`, or the end.
std::size_t RecordScanner::next_mark(std::size_t at) {
  while (at < bytes_.size()) {
    if (at < block_ || at - block_ >= 64) look_at_block(at);
    const std::uint64_t ahead = marks_ >> (at - block_);
    if (ahead != 0) return at + static_cast<std::size_t>(std::countr_zero(ahead));
    at = block_ + 64;
  }
  return bytes_.size();
}

// A closing quote is followed by blanks and then a delimiter, a line end or the end.
// Looking in vain is bounded, so that a file of opening quotes costs a few passes and not one for each.
std::size_t RecordScanner::closing_quote(std::size_t at, bool& doubled) {
  const std::size_t from = at;
  // A lone quote in its cell is a ditto mark, though a quote some lines on would make it a long cell.
  const bool lone =
      at < bytes_.size() && (bytes_[at] == dialect_.delimiter || bytes_[at] == '\n' || bytes_[at] == '\r');
  const bool tired = looked_in_vain_ > kMostInVain + bytes_.size();
  const std::size_t window = std::min(bytes_.size(), at + (tired ? kTiredLook : kLongestQuoted));
  const std::size_t line_end =
      lone || tired ? bytes_.substr(at, window - at).find('\n') : std::string_view::npos;
  const std::size_t limit = line_end == std::string_view::npos ? window : at + line_end;
  for (at = bytes_.find('"', at); at < limit; at = bytes_.find('"', at + 1)) {
    if (at + 1 < bytes_.size() && bytes_[at + 1] == '"') {
      doubled = true;
      ++at;
      continue;
    }
    std::size_t after = at + 1;
    while (after < bytes_.size() && bytes_[after] != dialect_.delimiter && is_blank(bytes_[after])) ++after;
    if (after >= bytes_.size() || bytes_[after] == dialect_.delimiter || bytes_[after] == '\n') return at;
  }
  looked_in_vain_ += limit - from;
  return std::string_view::npos;
}

bool RecordScanner::quoted_cell(FoundCell& cell) {
  std::size_t opening = at_;
  while (opening < bytes_.size() && bytes_[opening] != dialect_.delimiter && is_blank(bytes_[opening]))
    ++opening;
  if (opening >= bytes_.size() || bytes_[opening] != '"') return false;
  bool doubled = false;
  const std::size_t closing = closing_quote(opening + 1, doubled);
  if (closing == std::string_view::npos) return false;
  const std::string_view inner = bytes_.substr(opening + 1, closing - opening - 1);
  const auto breaks = static_cast<std::uint32_t>(std::count(inner.begin(), inner.end(), '\n'));
  cell = trimmed(opening + 1, closing);
  cell.raw = static_cast<std::uint32_t>(opening);
  cell.doubled = doubled;
  line_ += breaks;
  at_ = closing + 1;
  while (at_ < bytes_.size() && bytes_[at_] != dialect_.delimiter && bytes_[at_] != '\n') ++at_;
  return true;
}

void RecordScanner::next_by_blanks(std::vector<FoundCell>& cells) {
  const std::size_t end = std::min(bytes_.find('\n', at_), bytes_.size());
  const std::size_t gap = dialect_.kind == Dialect::Kind::WideBlanks ? 2 : 1;
  std::size_t start = at_;
  while (start < end && is_blank(bytes_[start])) ++start;
  while (start < end && dialect_.kind != Dialect::Kind::OneColumn) {
    std::size_t stop = start;
    std::size_t blanks = 0;
    for (; stop < end; ++stop) {
      blanks = is_blank(bytes_[stop]) ? blanks + (bytes_[stop] == '\t' ? gap : 1) : 0;
      if (blanks >= gap) break;
    }
    if (cells.size() <= kMostPersonColumns) cells.push_back(trimmed(start, std::min(stop, end)));
    start = stop;
    while (start < end && is_blank(bytes_[start])) ++start;
  }
  if (cells.empty()) cells.push_back(trimmed(at_, end));
  at_ = end < bytes_.size() ? end + 1 : end;
  ++line_;
}

Dialect find_dialect(std::string_view bytes, std::size_t start, std::span<const ColumnWords> columns) {
  const std::string_view sample = bytes.substr(0, start + kSampleBytes);
  Dialect best;
  Score best_score;
  for (const char delimiter : {',', ';', '\t', '|'}) {
    const Dialect dialect{Dialect::Kind::Delimited, delimiter};
    const Score score = score_of(sample, start, dialect, columns);
    if (score.agreeing != 0 && score > best_score) best = dialect, best_score = score;
  }
  const Dialect wide{Dialect::Kind::WideBlanks, ' '};
  const Score by_wide = score_of(sample, start, wide, columns);
  if ((by_wide.agreeing >= 2 || by_wide.header_words >= 2) && by_wide > best_score) best = wide, best_score = by_wide;
  // `part number` is one name: where another way finds two names or more, single blanks part nothing.
  if (best_score.header_words >= 2) return best;
  // They stand inside names as well: they part columns only under a header that says so.
  const Dialect blanks{Dialect::Kind::Blanks, ' '};
  const Score by_blanks = score_of(sample, start, blanks, columns);
  const bool says_so = by_blanks.header_words >= 2 && by_blanks.cells == by_blanks.header_words && by_blanks.agreeing >= 2;
  return says_so ? blanks : best;
}

}  // namespace kitgap
