#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace kitgap {

// What a person's file is encoded in. Windows-1252 is only ever a fallback, and said.
enum class Encoding : unsigned char { Utf8, Utf16Little, Utf16Big, Windows1252 };
std::string_view word_of(Encoding encoding);  // "UTF-16"

struct Decoded {
  Encoding encoding = Encoding::Utf8;
  bool has_mark = false;  // a byte order mark, which is not part of the text
  std::optional<std::string>
      text;  // as UTF-8; empty where the bytes are it already, past the mark if there is one
};

struct Undecodable {
  std::string_view code;  // of text/codes.h
  std::string says;
  std::string expected;
};

// The encoding by mark, else by what the bytes can be. `wrong` is filled when they are no text.
[[nodiscard]] std::optional<Decoded> decode(std::string_view bytes, Undecodable& wrong);

}  // namespace kitgap
