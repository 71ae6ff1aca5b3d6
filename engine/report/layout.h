#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace kitgap {

// `text` broken at blanks to lines of at most `width` columns; the first begins at `indent`, the others are
// indented by it. Control bytes never come through. Ends with a line end.
std::string paragraph(std::string_view text, std::size_t indent, std::size_t width);
// A left part in a column of `left_width`, then `right` as a paragraph beside it.
std::string beside(std::string_view left, std::size_t indent, std::size_t left_width, std::string_view right, std::size_t width);
// `text` padded with blanks to `width` columns; cut where it is longer.
std::string padded(std::string_view text, std::size_t width);
std::string padded_left(std::string_view text, std::size_t width);
std::string heading(std::string_view text, bool colour);

}  // namespace kitgap
