#include "report/layout.h"

#include "text/file.h"

namespace kitgap {

std::string paragraph(std::string_view text, std::size_t indent, std::size_t width) {
  const std::string clean = printable(text);
  std::string out(indent, ' ');
  std::size_t column = indent;
  bool is_first = true;
  for (std::size_t at = 0; at < clean.size();) {
    const std::size_t end = std::min(clean.find(' ', at), clean.size());
    const std::string_view word = std::string_view(clean).substr(at, end - at);
    at = end + 1;
    if (word.empty()) continue;
    const std::size_t columns = display_width(word);
    if (!is_first && column + 1 + columns > width) {
      out += "\n" + std::string(indent, ' ');
      column = indent;
      is_first = true;
    }
    if (!is_first) {
      out += ' ';
      ++column;
    }
    out += word;
    column += columns;
    is_first = false;
  }
  return out + "\n";
}

std::string padded(std::string_view text, std::size_t width) {
  std::string out = cut_to(printable(text), width);
  const std::size_t columns = display_width(out);
  return columns < width ? out + std::string(width - columns, ' ') : out;
}

std::string padded_left(std::string_view text, std::size_t width) {
  const std::string clean = printable(text);
  const std::size_t columns = display_width(clean);
  return columns < width ? std::string(width - columns, ' ') + clean : clean;
}

std::string beside(std::string_view left, std::size_t indent, std::size_t left_width, std::string_view right, std::size_t width) {
  // On a narrow screen the right column keeps room for a few words.
  constexpr std::size_t kLeastRight = 14;
  if (width < indent + left_width + 1 + kLeastRight) left_width = width > indent + 9 + kLeastRight ? width - indent - 1 - kLeastRight : 8;
  const std::string block = paragraph(right, indent + left_width + 1, width);
  const std::string shown = printable(left);
  if (indent + display_width(shown) > width) return paragraph(left, indent, width) + block;
  if (display_width(shown) > left_width) return std::string(indent, ' ') + shown + "\n" + block;
  return std::string(indent, ' ') + padded(left, left_width) + " " + block.substr(indent + left_width + 1);
}

std::string heading(std::string_view text, bool colour) {
  return "\n" + (colour ? "\x1b[1m" + std::string(text) + "\x1b[0m" : std::string(text)) + "\n";
}

}  // namespace kitgap
