#include "text/diagnostics.h"

#include <algorithm>
#include <array>
#include <tuple>

#include "text/file.h"
#include "text/json.h"
#include "text/utf8.h"

namespace kitgap {
namespace {

// A damaged file of millions of rows must not fill the memory with what is wrong in it.
constexpr std::size_t kMostKept = 10'000;
constexpr std::size_t kMostColumns = 100;

constexpr auto kSeverityWords = std::to_array<std::string_view>({"error", "warning", "note"});

std::string_view word_of(Severity severity) {
  return kSeverityWords.at(static_cast<std::size_t>(severity));
}

auto place_of(const Span& span) {
  return std::tuple(span.source, span.line, span.column);
}

std::string place_text(const Span& span, const Sources& sources) {
  std::string out = printable(sources.name(span.source));
  if (span.line != 0) out += ":" + std::to_string(span.line);
  if (span.line != 0 && span.column != 0) out += ":" + std::to_string(span.column);
  return out;
}

// A line, and a character of it before which nothing will be shown.
struct LinePart {
  std::string_view line;
  std::size_t offset = 0;  // in bytes
  std::size_t passed = 0;  // characters before it
};

// Finds lines and places in them in rising order without starting over: thousands of messages about one file, or one
// line of it, cost one pass.
class LineFinder {
 public:
  explicit LineFinder(const Sources& sources) : sources_(sources) {}
  LinePart find(SourceId source, std::uint32_t number, std::size_t first_shown = 0) {
    if (source != source_ || number < number_) source_ = source, number_ = 0, next_ = 0;
    const std::string_view bytes = sources_.bytes(source);
    while (number_ < number) {
      if (next_ > bytes.size()) return {};
      const std::size_t end = std::min(bytes.find('\n', next_), bytes.size());
      part_ = {bytes.substr(next_, end - next_)};
      if (part_.line.ends_with('\r')) part_.line.remove_suffix(1);
      next_ = end + 1;
      ++number_;
    }
    if (first_shown < part_.passed) part_.offset = part_.passed = 0;
    for (; part_.passed < first_shown && part_.offset < part_.line.size(); ++part_.passed)
      part_.offset += character_at(part_.line, part_.offset).bytes;
    return part_;
  }

 private:
  const Sources& sources_;
  SourceId source_{UINT32_MAX};
  std::uint32_t number_ = 0;
  std::size_t next_ = 0;  // where the line after this one begins
  LinePart part_;
};

// The source line as it is shown: what each character became, and where the carets go.
struct Shown {
  std::string line;
  std::string carets;
};

struct Piece {
  std::string text;
  std::size_t width = 0;
  bool marked = false;
};

// A line may be a gigabyte; only what stands near the caret is ever shown.
std::size_t first_shown(const Span& span) {
  return span.column > 2 * kMostColumns ? span.column - 2 * kMostColumns : 0;
}

std::vector<Piece> pieces_of(const LinePart& part, const Span& span) {
  std::vector<Piece> pieces;
  const std::size_t last = std::max<std::size_t>(span.column, 1) + 2 * kMostColumns;
  std::size_t number = part.passed;
  for (std::size_t at = part.offset; at < part.line.size() && number < last; ++number) {
    const Character character = character_at(part.line, at);
    const std::string_view text = part.line.substr(at, character.bytes);
    Piece piece{text == "\t" ? " " : printable(text), 0, false};
    piece.width = display_width(piece.text);
    piece.marked = number + 1 >= span.column && number + 1 < std::size_t{span.column} + span.length;
    pieces.push_back(std::move(piece));
    at += character.bytes;
  }
  return pieces;
}

// Cuts to a window round the first marked piece, in columns of the screen.
std::pair<std::size_t, std::size_t> window_of(const std::vector<Piece>& pieces, std::size_t caret) {
  std::size_t from = std::min(caret, pieces.size());
  std::size_t width = 0;
  while (from > 0 && width + pieces[from - 1].width <= kMostColumns / 2) width += pieces[--from].width;
  std::size_t to = std::min(caret, pieces.size());
  while (to < pieces.size() && width + pieces[to].width <= kMostColumns) width += pieces[to++].width;
  while (from > 0 && width + pieces[from - 1].width <= kMostColumns) width += pieces[--from].width;
  return {from, to};
}

Shown show(const LinePart& part, const Span& span) {
  const auto pieces = pieces_of(part, span);
  const auto marked =
      std::find_if(pieces.begin(), pieces.end(), [](const Piece& piece) { return piece.marked; });
  const auto [from, to] = window_of(pieces, static_cast<std::size_t>(marked - pieces.begin()));
  const std::size_t hidden_before = span.column > 2 * kMostColumns ? 1 : 0;
  const bool cut_left = from > 0 || hidden_before != 0;
  const bool cut_right =
      to < pieces.size() || characters(part.line.substr(0, 8 * kMostColumns)) > span.column + 2 * kMostColumns;
  Shown shown;
  if (cut_left) shown.line = shown.carets = "...";
  std::fill(shown.carets.begin(), shown.carets.end(), ' ');
  bool any = false;
  for (std::size_t index = from; index < to; ++index) {
    shown.line += pieces[index].text;
    shown.carets.append(pieces[index].width, pieces[index].marked ? '^' : ' ');
    any = any || pieces[index].marked;
  }
  if (cut_right) shown.line += "...";
  if (!any && span.column != 0) shown.carets += '^';  // what is missing at the end of the line
  shown.carets.erase(shown.carets.find_last_not_of(' ') + 1);
  return shown;
}

void append_source_line(std::string& out, const Span& span, LineFinder& lines, const std::string& margin) {
  const Shown shown = show(lines.find(span.source, span.line, first_shown(span)), span);
  out += " " + std::to_string(span.line) + " | " + shown.line + "\n";
  if (!shown.carets.empty()) out += margin + "| " + shown.carets + "\n";
}

void append_diagnostic(std::string& out, const Diagnostic& diagnostic, const Sources& sources,
                       LineFinder& lines) {
  const Span& span = diagnostic.span;
  out += place_text(span, sources) + ": " + std::string(word_of(diagnostic.severity)) + ": " +
         printable(diagnostic.says) + " [" + std::string(diagnostic.code) + "]\n";
  const std::string margin(span.line == 0 ? 4 : std::to_string(span.line).size() + 2, ' ');
  if (span.line != 0) append_source_line(out, span, lines, margin);
  for (const FurtherSpan& further : diagnostic.further) {
    out += margin + place_text(further.span, sources) + ": " + printable(further.says) + "\n";
  }
  std::string what = diagnostic.expected.empty() ? "" : "expected " + printable(diagnostic.expected);
  if (!span.cell.empty()) what = "cell " + span.cell + (what.empty() ? "" : ": " + what);
  if (!what.empty()) out += margin + what + "\n";
  if (!diagnostic.suggestion.empty())
    out += margin + "did you mean `" + printable(diagnostic.suggestion) + "`?\n";
  for (const std::string& line : diagnostic.help) out += margin + printable(line) + "\n";
}

}  // namespace

SourceId Sources::add(std::string name, std::string bytes) {
  sources_.push_back({std::move(name), std::move(bytes)});
  return {static_cast<std::uint32_t>(sources_.size() - 1)};
}

SourceId Sources::add_view(std::string name, std::string_view bytes, std::shared_ptr<const void> holder) {
  sources_.push_back({.name = std::move(name), .bytes = {}, .view = bytes, .holder = std::move(holder)});
  return {static_cast<std::uint32_t>(sources_.size() - 1)};
}

std::string_view Sources::name(SourceId source) const {
  return sources_.at(source.index).name;
}
std::string_view Sources::bytes(SourceId source) const {
  const Source& found = sources_.at(source.index);
  return found.holder ? found.view : std::string_view(found.bytes);
}

std::string_view Sources::line(SourceId source, std::uint32_t number) const {
  return LineFinder(*this).find(source, number).line;
}

void Diagnostics::add(Diagnostic diagnostic) {
  if (diagnostic.severity == Severity::Error) ++errors_;
  if (diagnostics_.size() < kMostKept)
    diagnostics_.push_back(std::move(diagnostic));
  else
    ++left_out_;
}

std::vector<Diagnostic> Diagnostics::sorted() const {
  auto sorted = diagnostics_;
  std::stable_sort(sorted.begin(), sorted.end(), [](const Diagnostic& a, const Diagnostic& b) {
    return place_of(a.span) < place_of(b.span);
  });
  const auto same = [](const Diagnostic& a, const Diagnostic& b) {
    return place_of(a.span) == place_of(b.span) && a.code == b.code && a.says == b.says;
  };
  sorted.erase(std::unique(sorted.begin(), sorted.end(), same), sorted.end());
  return sorted;
}

std::string layout(const Diagnostics& diagnostics, const Sources& sources) {
  std::string out;
  LineFinder lines(sources);
  for (const Diagnostic& diagnostic : diagnostics.sorted()) {
    if (!out.empty()) out += "\n";
    append_diagnostic(out, diagnostic, sources, lines);
  }
  if (diagnostics.left_out() != 0) out += "\nand " + std::to_string(diagnostics.left_out()) + " more\n";
  return out;
}

std::string diagnostics_json(const Diagnostics& diagnostics, const Sources& sources) {
  JsonWriter json;
  json.begin_array();
  for (const Diagnostic& diagnostic : diagnostics.sorted()) {
    const Span& span = diagnostic.span;
    json.begin_object();
    json.key("severity").string(word_of(diagnostic.severity));
    json.key("code").string(diagnostic.code);
    json.key("file").string(sources.name(span.source));
    json.key("line").number(std::int64_t{span.line});
    json.key("column").number(std::int64_t{span.column});
    json.key("length").number(std::int64_t{span.length});
    json.key("cell").string(span.cell);
    json.key("says").string(diagnostic.says);
    json.key("expected").string(diagnostic.expected);
    json.key("suggestion").string(diagnostic.suggestion);
    json.end_object();
  }
  json.end_array();
  return json.take();
}

}  // namespace kitgap
