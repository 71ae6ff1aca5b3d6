#include "condition/scanner.h"

#include <algorithm>
#include <array>

#include "text/ascii.h"
#include "text/utf8.h"

namespace kitgap {
std::size_t blank_length(std::string_view source, std::size_t at) {
  if (at >= source.size()) return 0;
  const auto byte = static_cast<unsigned char>(source[at]);
  if (byte == ' ' || (byte >= 0x09 && byte <= 0x0D)) return 1;
  if (byte < 0xC2) return 0;
  const auto two = source.substr(at, 2);
  if (two == "\xC2\x85" || two == "\xC2\xA0") return 2;
  const auto three = source.substr(at, 3);
  if (three == "\xE1\x9A\x80" || three == "\xE1\xA0\x8E" || three == "\xE3\x80\x80" || three == "\xEF\xBB\xBF") return 3;
  if (three.size() == 3 && three.starts_with("\xE2\x80")) {
    const auto last = static_cast<unsigned char>(three[2]);
    if ((last >= 0x80 && last <= 0x8B) || last == 0xA8 || last == 0xA9 || last == 0xAF) return 3;
  }
  return three == "\xE2\x81\x9F" ? 3 : 0;
}

bool is_name_part(std::string_view source, std::size_t at) {
  if (at >= source.size()) return false;
  const auto byte = static_cast<unsigned char>(source[at]);
  if (byte >= 0x80) return blank_length(source, at) == 0;
  return is_letter(byte) || is_digit(byte) || byte == '_';
}

void Scanner::skip_blanks() {
  while (at_ < source_.size()) {
    if (const std::size_t blank = blank_length(source_, at_)) {
      at_ += blank;
    } else if (looking_at("//")) {
      while (at_ < source_.size() && source_[at_] != '\n' && source_[at_] != '\r') ++at_;
    } else if (looking_at("/*")) {
      const std::size_t end = source_.find("*/", at_ + 2);
      if (end == std::string_view::npos) fail_at(at_, at_ + 2, "a comment that begins with `/*` has no end", "`*/`");
      at_ = end + 2;
    } else {
      return;
    }
  }
}

bool Scanner::take(std::string_view symbol) {
  skip_blanks();
  if (!looking_at(symbol)) return false;
  at_ += symbol.size();
  return true;
}

bool Scanner::looking_at_word(std::string_view keyword) const {
  return looking_at(keyword) && !is_name_part(source_, at_ + keyword.size());
}

bool Scanner::take_word(std::string_view keyword) {
  skip_blanks();
  if (!looking_at_word(keyword)) return false;
  at_ += keyword.size();
  return true;
}

void Scanner::expect(std::string_view symbol, std::string_view after) {
  if (take(symbol)) return;
  fail("found " + found() + " " + std::string(after), "`" + std::string(symbol) + "`");
}

std::size_t Scanner::end_of_name(std::string_view name) const {
  if (at_ >= source_.size() || name.empty() || source_[at_] != name[0]) return 0;
  std::size_t here = at_;
  for (std::size_t letter = 0; letter < name.size();) {
    if (const std::size_t blank = blank_length(name, letter)) {
      std::size_t skipped = 0;
      while (const std::size_t length = blank_length(source_, here)) {
        here += length;
        ++skipped;
      }
      if (skipped == 0) return 0;
      letter += blank;
      continue;
    }
    if (here >= source_.size() || source_[here] != name[letter]) return 0;
    ++here;
    ++letter;
  }
  return is_name_part(name, name.size() - 1) && is_name_part(source_, here) ? 0 : here;
}

std::size_t Scanner::end_of_word() const {
  std::size_t end = at_;
  if (end < source_.size() && is_digit(source_[end])) return end;
  while (is_name_part(source_, end)) ++end;
  return end;
}

bool Scanner::at_number() const { return is_digit(peek()) || (peek() == '.' && is_digit(peek(1))); }

std::string_view Scanner::take_number() {
  const std::size_t begin = at_;
  while (is_digit(peek())) ++at_;
  if (peek() == '.' && is_digit(peek(1))) {
    ++at_;
    while (is_digit(peek())) ++at_;
  }
  if (peek() == 'e' || peek() == 'E') {
    const std::size_t sign = peek(1) == '+' || peek(1) == '-' ? 1 : 0;
    if (is_digit(peek(1 + sign))) {
      at_ += 2 + sign;
      while (is_digit(peek())) ++at_;
    }
  }
  return text(begin, at_);
}

std::optional<std::uint32_t> Scanner::take_hex(int digits) {
  std::uint32_t code = 0;
  for (int digit = 0; digit < digits; ++digit) {
    const char c = peek(static_cast<std::size_t>(digit));
    const int value = is_digit(c) ? c - '0' : c >= 'a' && c <= 'f' ? c - 'a' + 10 : c >= 'A' && c <= 'F' ? c - 'A' + 10 : -1;
    if (value < 0) return std::nullopt;
    code = code * 16 + static_cast<std::uint32_t>(value);
  }
  at_ += static_cast<std::size_t>(digits);
  return code;
}

// Escapes of OMG DMN 10.3.1.2 rule 64; two \u halves of a pair are one character. A backslash before anything else is
// a backslash, so that patterns can be written plainly.
void Scanner::take_escape(std::string& text) {
  const std::size_t begin = at_;
  const char c = peek(1);
  at_ += 2;
  constexpr std::array<std::pair<char, char>, 7> kPlain{
      {{'n', '\n'}, {'r', '\r'}, {'t', '\t'}, {'"', '"'}, {'\'', '\''}, {'\\', '\\'}, {'\0', '\0'}}};
  for (const auto& [letter, meaning] : kPlain) {
    if (c == letter && c != '\0') return text.push_back(meaning);
  }
  if (c == 'u' || c == 'U') {
    auto code = take_hex(c == 'u' ? 4 : 6);
    if (code && *code >= 0xD800 && *code < 0xDC00 && looking_at("\\u")) {
      at_ += 2;
      const auto low = take_hex(4);
      code = low && *low >= 0xDC00 && *low < 0xE000
                 ? std::optional(0x10000 + ((*code - 0xD800) << 10) + (*low - 0xDC00))
                 : std::nullopt;
    }
    if (!code || *code > 0x10FFFF || (*code >= 0xD800 && *code < 0xE000)) {
      fail_at(begin, std::min(at_, source_.size()), "an escape that is no character");
    }
    return append_utf8(text, *code);
  }
  at_ = begin + 1;
  text.push_back('\\');
}

std::string Scanner::take_string() {
  const std::size_t begin = at_++;
  std::string text;
  while (true) {
    const std::size_t plain = source_.find_first_of("\"\\", at_);
    if (plain == std::string_view::npos) fail_at(begin, source_.size(), "a string has no closing quote", "`\"`");
    text.append(source_.substr(at_, plain - at_));
    at_ = plain;
    if (source_[at_] == '"') break;
    take_escape(text);
  }
  ++at_;
  return text;
}

std::string Scanner::found() const {
  if (at_ >= source_.size()) return "the end";
  std::size_t end = at_;
  while (is_name_part(source_, end)) ++end;
  if (end == at_) ++end;
  return "`" + std::string(source_.substr(at_, std::min<std::size_t>(end - at_, 40))) + "`";
}

void Scanner::fail(std::string says, std::string expected) const {
  std::size_t end = at_;
  while (is_name_part(source_, end)) ++end;
  fail_at(at_, std::max(end, at_ + 1), std::move(says), std::move(expected));
}

void Scanner::fail_at(std::size_t begin, std::size_t end, std::string says, std::string expected) const {
  throw SyntaxError{begin, end, std::move(says), std::move(expected)};
}

}  // namespace kitgap
