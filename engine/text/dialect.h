#pragma once

#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

#include "text/person_table.h"

namespace kitgap {

// How the cells of a person's text file are told apart.
struct Dialect {
  enum class Kind : std::uint8_t { Delimited, WideBlanks, Blanks, OneColumn };
  Kind kind = Kind::OneColumn;
  char delimiter = '\0';
};

// A cell among the bytes: `start` and `end` without the quotes.
struct FoundCell {
  std::uint32_t start = 0;
  std::uint32_t end = 0;
  std::uint32_t raw = 0;  // where it begins, quote included
  bool doubled = false;   // holds doubled quotes
};

// Cuts text into records as a person types them: a quote counts only at the start of a cell and only if a
// closing one stands before a delimiter or a line end; else it is an inch mark or a ditto mark and stays.
class RecordScanner {
 public:
  RecordScanner(std::string_view bytes, std::size_t at, Dialect dialect);
  bool at_end() const { return at_ >= bytes_.size(); }
  std::size_t at() const { return at_; }
  std::uint32_t line() const { return line_; }  // of the record that `next` will read
  // The cells of one record, trimmed of blanks; one empty cell for a blank line.
  void next(std::vector<FoundCell>& cells);

 private:
  void next_delimited(std::vector<FoundCell>& cells);
  void next_by_blanks(std::vector<FoundCell>& cells);
  FoundCell plain_cell();
  bool quoted_cell(FoundCell& cell);
  FoundCell trimmed(std::size_t start, std::size_t end) const;
  std::size_t closing_quote(std::size_t at, bool& doubled);
  std::size_t next_mark(std::size_t at);
  void look_at_block(std::size_t at);

  std::string_view bytes_;
  std::size_t at_;
  Dialect dialect_;
  std::uint32_t line_ = 1;
  // Which of the 64 bytes from `block_` on are delimiters or line ends, a bit each.
  std::uint64_t marks_ = 0;
  std::size_t block_ = SIZE_MAX;
  std::size_t looked_in_vain_ = 0;  // bytes; past a bound a quote is looked for in its own line only
};

// The dialect in which the first records agree best, by header words first and by their lengths second.
Dialect find_dialect(std::string_view bytes, std::size_t start, std::span<const ColumnWords> columns);

// A column's name or a word of ours as they are compared: letter case, punctuation and blanks at the ends
// dropped.
std::string header_word(std::string_view text);
// True when it holds one of ours among others: `qty wanted`.
bool has_header_word(std::string_view text, std::span<const ColumnWords> columns);
bool is_header_word(std::string_view text, std::span<const ColumnWords> columns);

}  // namespace kitgap
