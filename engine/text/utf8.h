#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>

namespace kitgap {

// One character of a text that may be damaged: a byte that is no UTF-8 stands for itself, with `valid` unset.
struct Character {
  char32_t code = 0;
  std::uint8_t bytes = 1;
  bool valid = true;
};

// The character at `at`, which must be inside `text`.
Character character_at(std::string_view text, std::size_t at);
void append_utf8(std::string& out, char32_t code);
// Where the first malformed byte stands; npos when there is none.
std::size_t find_invalid_utf8(std::string_view bytes);

// The text with every `what` (not empty) as `with`.
std::string replaced(std::string_view text, std::string_view what, std::string_view with);

// What a person wrote, as it stands in a message.
std::string in_ticks(std::string_view text);
// The same; of a long one the first 60 bytes of whole characters, then dots.
std::string in_ticks_cut(std::string_view text);

// `a, b or c`.
std::string listed_with_or(std::span<const std::string> words);

// Whether it could steer a terminal or turn a line round: control characters, direction marks, what cannot be seen.
bool steers_terminal(char32_t code);

}  // namespace kitgap
