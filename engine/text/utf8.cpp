#include "text/utf8.h"

#include <utf8proc.h>

#include <algorithm>
#include <array>
#include <cstring>

#include "text/file.h"

namespace kitgap {
namespace {

constexpr int kMarksInARow = 4;  // beyond that a stack of combining marks only smears over other lines

void append_escape(std::string& out, char32_t code) {
  constexpr std::string_view kHex = "0123456789abcdef";
  if (code == '\t')
    out += "\\t";
  else if (code == '\n')
    out += "\\n";
  else if (code == '\r')
    out += "\\r";
  else if (code < 0x100)
    out.append("\\x").append(1, kHex[code >> 4]).append(1, kHex[code & 15]);
  else {
    std::string digits;
    for (char32_t rest = code; rest != 0; rest >>= 4) digits.insert(digits.begin(), kHex[rest & 15]);
    out += "\\u{" + digits + "}";
  }
}

std::size_t width_of(char32_t code) {
  const int width = utf8proc_charwidth(static_cast<utf8proc_int32_t>(code));
  return width < 0 ? 0 : static_cast<std::size_t>(width);
}

bool is_mark(char32_t code) {
  if (code < 0x300) return false;
  const auto category = utf8proc_category(static_cast<utf8proc_int32_t>(code));
  return category == UTF8PROC_CATEGORY_MN || category == UTF8PROC_CATEGORY_ME;
}

bool is_ascii(std::string_view text) {
  return std::all_of(text.begin(), text.end(), [](char byte) { return (byte & 0x80) == 0; });
}

}  // namespace

std::string replaced(std::string_view text, std::string_view what, std::string_view with) {
  std::string out(text);
  for (std::size_t at = out.find(what); at != std::string::npos; at = out.find(what, at + with.size())) out.replace(at, what.size(), with);
  return out;
}

std::string in_ticks(std::string_view text) { return "`" + std::string(text) + "`"; }

std::string in_ticks_cut(std::string_view text) {
  constexpr std::size_t kMostShown = 60;  // bytes
  if (text.size() <= kMostShown) return in_ticks(text);
  std::size_t shown = kMostShown;
  while (shown > 0 && (static_cast<unsigned char>(text[shown]) & 0xC0) == 0x80) --shown;
  return in_ticks(std::string(text.substr(0, shown)) + "...");
}

std::string listed_with_or(std::span<const std::string> words) {
  std::string out;
  for (std::size_t index = 0; index < words.size(); ++index) {
    out += (index == 0 ? "" : index + 1 == words.size() ? " or " : ", ") + words[index];
  }
  return out;
}

// U+2028 and U+2029 break lines, the others turn the direction of what follows or cannot be seen at all.
bool steers_terminal(char32_t code) {
  constexpr auto kOthers = std::to_array<char32_t>({0x61c, 0x200b, 0x200e, 0x200f, 0x2028, 0x2029, 0xfeff});
  if (code < 0x20 || (code >= 0x7f && code < 0xa0)) return true;
  if ((code >= 0x202a && code <= 0x202e) || (code >= 0x2060 && code <= 0x206f)) return true;
  if (code >= 0xe0000 && code <= 0xe0fff) return true;
  return std::find(kOthers.begin(), kOthers.end(), code) != kOthers.end();
}

// The well-formed sequences of the Unicode standard, table 3-7.
Character character_at(std::string_view text, std::size_t at) {
  const auto byte = [&](std::size_t ahead) -> unsigned {
    return at + ahead < text.size() ? static_cast<unsigned char>(text[at + ahead]) : 0U;
  };
  const auto is_next = [&](std::size_t ahead) { return (byte(ahead) & 0xc0U) == 0x80U; };
  const unsigned first = byte(0);
  const Character damaged{first, 1, false};
  if (first < 0x80) return {first, 1, true};
  if (first < 0xc2 || first > 0xf4 || !is_next(1)) return damaged;
  if (first < 0xe0) return {(first & 0x1fU) << 6 | (byte(1) & 0x3fU), 2, true};
  if (!is_next(2)) return damaged;
  if (first < 0xf0) {
    const char32_t code = (first & 0xfU) << 12 | (byte(1) & 0x3fU) << 6 | (byte(2) & 0x3fU);
    return code < 0x800 || (code >= 0xd800 && code < 0xe000) ? damaged : Character{code, 3, true};
  }
  if (!is_next(3)) return damaged;
  const char32_t code =
      (first & 7U) << 18 | (byte(1) & 0x3fU) << 12 | (byte(2) & 0x3fU) << 6 | (byte(3) & 0x3fU);
  return code < 0x10000 || code > 0x10ffff ? damaged : Character{code, 4, true};
}

void append_utf8(std::string& out, char32_t code) {
  const auto tail = [&](int shift) { out += static_cast<char>(0x80U | (code >> shift & 0x3fU)); };
  if (code < 0x80) {
    out += static_cast<char>(code);
  } else if (code < 0x800) {
    out += static_cast<char>(0xc0U | code >> 6);
    tail(0);
  } else if (code < 0x10000) {
    out += static_cast<char>(0xe0U | code >> 12);
    tail(6), tail(0);
  } else {
    out += static_cast<char>(0xf0U | code >> 18);
    tail(12), tail(6), tail(0);
  }
}

std::size_t find_invalid_utf8(std::string_view bytes) {
  std::size_t at = 0;
  while (at < bytes.size()) {
    std::uint64_t eight = 0;
    if (at + sizeof eight <= bytes.size()) {
      std::memcpy(&eight, bytes.data() + at, sizeof eight);
      if ((eight & 0x8080808080808080U) == 0) {
        at += sizeof eight;
        continue;
      }
    }
    if ((bytes[at] & 0x80) == 0) {
      ++at;
      continue;
    }
    const Character character = character_at(bytes, at);
    if (!character.valid) return at;
    at += character.bytes;
  }
  return std::string_view::npos;
}

bool is_utf8(std::string_view bytes) {
  return find_invalid_utf8(bytes) == std::string_view::npos;
}

std::size_t characters(std::string_view text) {
  std::size_t count = 0;
  for (std::size_t at = 0; at < text.size();) {
    std::uint64_t eight = 0;
    if (at + sizeof eight <= text.size()) {
      std::memcpy(&eight, text.data() + at, sizeof eight);
      if ((eight & 0x8080808080808080U) == 0) {
        at += sizeof eight;
        count += sizeof eight;
        continue;
      }
    }
    at += (text[at] & 0x80) == 0 ? 1 : character_at(text, at).bytes;
    ++count;
  }
  return count;
}

std::size_t display_width(std::string_view text) {
  std::size_t width = 0;
  for (std::size_t at = 0; at < text.size();) {
    const Character character = character_at(text, at);
    width += character.code < 0x7f ? 1 : width_of(character.code);
    at += character.bytes;
  }
  return width;
}

std::string printable(std::string_view text) {
  if (std::ranges::all_of(text, [](char letter) { return letter >= ' ' && letter <= '~'; })) return std::string(text);
  std::string out;
  out.reserve(text.size());
  int marks = 0;
  for (std::size_t at = 0; at < text.size();) {
    const Character character = character_at(text, at);
    marks = is_mark(character.code) ? marks + 1 : 0;
    if (!character.valid || steers_terminal(character.code) || marks > kMarksInARow)
      append_escape(out, character.code);
    else
      out += text.substr(at, character.bytes);
    at += character.bytes;
  }
  return out;
}

std::string cut_to(std::string_view text, std::size_t limit) {
  if (display_width(text) <= limit) return std::string(text);
  constexpr std::string_view kDots = "...";
  const std::size_t room = limit > kDots.size() ? limit - kDots.size() : 0;
  std::size_t width = 0;
  std::size_t at = 0;
  while (at < text.size()) {
    const Character character = character_at(text, at);
    const std::size_t more = character.code < 0x7f ? 1 : width_of(character.code);
    if (width + more > room) break;
    width += more;
    at += character.bytes;
  }
  return std::string(text.substr(0, at)) + std::string(kDots.substr(0, limit - std::min(limit, room)));
}

std::string folded(std::string_view text) {
  std::string out(text);
  const auto lower = [](char byte) {
    return byte >= 'A' && byte <= 'Z' ? static_cast<char>(byte + 32) : byte;
  };
  std::transform(out.begin(), out.end(), out.begin(), lower);
  if (is_ascii(text) || !is_utf8(text)) return out;
  utf8proc_uint8_t* mapped = nullptr;
  const auto options = static_cast<utf8proc_option_t>(UTF8PROC_STABLE | UTF8PROC_COMPOSE | UTF8PROC_COMPAT |
                                                      UTF8PROC_CASEFOLD);
  const auto length = utf8proc_map(reinterpret_cast<const utf8proc_uint8_t*>(text.data()),
                                   static_cast<utf8proc_ssize_t>(text.size()), &mapped, options);
  if (length >= 0) out.assign(reinterpret_cast<const char*>(mapped), static_cast<std::size_t>(length));
  std::free(mapped);
  return out;
}

}  // namespace kitgap
