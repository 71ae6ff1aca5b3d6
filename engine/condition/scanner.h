#pragma once

#include "condition/syntax.h"

namespace kitgap {

// The characters of an expression: blanks, comments, symbols, words, numbers and strings. Throws SyntaxError.
class Scanner {
 public:
  explicit Scanner(std::string_view source) : source_(source) {}

  std::size_t at() const { return at_; }
  void go_to(std::size_t at) { at_ = at; }
  void skip_blanks();  // and comments
  bool is_at_end() const { return at_ >= source_.size(); }
  char peek(std::size_t ahead = 0) const { return at_ + ahead < source_.size() ? source_[at_ + ahead] : '\0'; }
  bool looking_at(std::string_view symbol) const { return source_.substr(at_).starts_with(symbol); }
  // Skips blanks first. A keyword is followed by no part of a name.
  bool take(std::string_view symbol);
  bool take_word(std::string_view keyword);
  bool looking_at_word(std::string_view keyword) const;
  void expect(std::string_view symbol, std::string_view after);

  // The end of `name` when it stands here, blanks of any kind and number between its words; 0 when it does not.
  std::size_t end_of_name(std::string_view name) const;
  // The end of the plain word here; where it stands when there is none.
  std::size_t end_of_word() const;
  bool at_number() const;
  std::string_view take_number();
  std::string take_string();  // at its opening quote
  std::string_view text(std::size_t begin, std::size_t end) const { return source_.substr(begin, end - begin); }
  std::string_view source() const { return source_; }

  [[noreturn]] void fail(std::string says, std::string expected = {}) const;
  [[noreturn]] void fail_at(std::size_t begin, std::size_t end, std::string says, std::string expected = {}) const;
  // What stands here, for a message: a word, a number, a symbol or `the end`.
  std::string found() const;

 private:
  void take_escape(std::string& text);
  std::optional<std::uint32_t> take_hex(int digits);
  std::string_view source_;
  std::size_t at_ = 0;
};

// The length in bytes of a blank at `at` (also U+00A0, U+2028 and their like, OMG DMN 10.3.1.2 rule 61); 0 for none.
std::size_t blank_length(std::string_view source, std::size_t at);

}  // namespace kitgap
