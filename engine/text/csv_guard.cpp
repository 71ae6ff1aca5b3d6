#include <algorithm>
#include <array>

#include "text/ascii.h"
#include "text/csv.h"
#include "text/csv_cells.h"

namespace kitgap {
namespace {

// What a spreadsheet takes for the start of a formula: the list of the OWASP page on CSV injection and
// CWE-1236.
bool starts_formula(std::string_view cell) {
  if (cell.empty()) return false;
  constexpr std::string_view kBytes = "=+-@\t\r\n";
  if (kBytes.find(cell.front()) != std::string_view::npos) return true;
  constexpr auto kFullWidth =
      std::to_array<std::string_view>({"\xef\xbc\x9d", "\xef\xbc\x8b", "\xef\xbc\x8d", "\xef\xbc\xa0"});
  return std::any_of(kFullWidth.begin(), kFullWidth.end(), [&](auto sign) { return cell.starts_with(sign); });
}

// A lone `-` and a plain negative number are no formula to anyone, and mean something to us.
bool is_minus_or_number(std::string_view cell) {
  if (!cell.starts_with('-')) return false;
  cell.remove_prefix(1);
  const auto dot = std::min(cell.find('.'), cell.size());
  const bool digits = std::all_of(cell.begin(), cell.begin() + static_cast<std::ptrdiff_t>(dot), is_digit);
  if (dot == cell.size()) return digits;
  const auto after = cell.substr(dot + 1);
  return digits && dot != 0 && !after.empty() && std::all_of(after.begin(), after.end(), is_digit);
}

// Cells such as `'=x` are guarded as well, so that taking one apostrophe away always gives back what was
// written.
bool needs_guard(std::string_view cell) {
  const std::string_view bare = cell.substr(std::min(cell.find_first_not_of('\''), cell.size()));
  return starts_formula(bare) && (bare.size() != cell.size() || !is_minus_or_number(cell));
}

}  // namespace

bool is_guarded(std::string_view cell) {
  return cell.starts_with('\'') && needs_guard(cell.substr(1));
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
