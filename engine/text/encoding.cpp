#include "text/encoding.h"

#include <algorithm>
#include <array>

#include "text/codes.h"
#include "text/utf8.h"

namespace kitgap {
namespace {

constexpr std::size_t kSample = 4'096;

// Bytes 0x80 to 0x9f of Windows-1252; 0 where the code page has nothing (its mapping table at the Unicode
// consortium).
constexpr auto kWindows1252 = std::to_array<char16_t>(
    {0x20ac, 0,      0x201a, 0x0192, 0x201e, 0x2026, 0x2020, 0x2021, 0x02c6, 0x2030, 0x0160,
     0x2039, 0x0152, 0,      0x017d, 0,      0,      0x2018, 0x2019, 0x201c, 0x201d, 0x2022,
     0x2013, 0x2014, 0x02dc, 0x2122, 0x0161, 0x203a, 0x0153, 0,      0x017e, 0x0178});
static_assert(kWindows1252.size() == 32);

std::optional<Encoding> marked_as(std::string_view bytes) {
  if (bytes.starts_with("\xef\xbb\xbf")) return Encoding::Utf8;
  if (bytes.starts_with("\xff\xfe")) return Encoding::Utf16Little;
  if (bytes.starts_with("\xfe\xff")) return Encoding::Utf16Big;
  return std::nullopt;
}

// Text of western lists in UTF-16 has a zero in nearly every other byte.
std::optional<Encoding> looks_like_utf16(std::string_view bytes) {
  const std::string_view sample = bytes.substr(0, kSample);
  std::array<std::size_t, 2> zeros{};
  for (std::size_t at = 0; at < sample.size(); ++at) zeros[at % 2] += sample[at] == '\0' ? 1 : 0;
  const std::size_t most = sample.size() / 4;
  if (bytes.size() % 2 != 0 || sample.size() < 4) return std::nullopt;
  if (zeros[1] > most && zeros[0] * 8 < zeros[1]) return Encoding::Utf16Little;
  if (zeros[0] > most && zeros[1] * 8 < zeros[0]) return Encoding::Utf16Big;
  return std::nullopt;
}

std::size_t lines_before(std::string_view text) {
  return static_cast<std::size_t>(std::count(text.begin(), text.end(), '\n')) + 1;
}

Undecodable half_a_pair(std::string_view so_far) {
  return {code::kInvalidUtf8,
          "half a surrogate pair in line " + std::to_string(lines_before(so_far)) + " is no character",
          "text in UTF-8 or UTF-16"};
}

std::optional<std::string> from_utf16(std::string_view bytes, bool big, Undecodable& wrong) {
  const auto unit = [&](std::size_t at) {
    const auto first = static_cast<unsigned char>(bytes[at]);
    const auto second = static_cast<unsigned char>(bytes[at + 1]);
    return static_cast<char32_t>(big ? first << 8 | second : second << 8 | first);
  };
  std::string text;
  text.reserve(bytes.size());
  for (std::size_t at = 0; at + 1 < bytes.size(); at += 2) {
    char32_t code = unit(at);
    const bool high = code >= 0xd800 && code < 0xdc00;
    const char32_t low = high && at + 3 < bytes.size() ? unit(at + 2) : 0;
    if (high && low >= 0xdc00 && low < 0xe000) {
      code = 0x10000 + ((code - 0xd800) << 10) + (low - 0xdc00);
      at += 2;
    } else if (code >= 0xd800 && code < 0xe000) {
      wrong = half_a_pair(text);
      return std::nullopt;
    }
    append_utf8(text, code);
  }
  if (bytes.size() % 2 == 0) return text;
  wrong = {code::kInvalidUtf8, "the file breaks off in the middle of a character", "whole text in UTF-16"};
  return std::nullopt;
}

// Half a pair written as UTF-8, and characters that are UTF-8 beside bytes that are not: damaged, not another
// encoding.
std::optional<Undecodable> damaged_utf8(std::string_view bytes) {
  std::size_t good = 0;
  std::size_t bad = 0;
  std::size_t first_bad = std::string_view::npos;
  for (std::size_t at = 0; at < bytes.size();) {
    const Character character = character_at(bytes, at);
    if (!character.valid && first_bad == std::string_view::npos) first_bad = at;
    good += character.bytes > 1 ? 1 : 0;
    bad += character.valid ? 0 : 1;
    if (!character.valid && bytes[at] == '\xed' && at + 1 < bytes.size() &&
        static_cast<unsigned char>(bytes[at + 1]) >= 0xa0 &&
        static_cast<unsigned char>(bytes[at + 1]) < 0xc0 && good != 0) {
      return half_a_pair(bytes.substr(0, at));
    }
    at += character.bytes;
  }
  const bool only_surrogates = bytes.substr(first_bad, 1) == "\xed" && bad % 3 == 0 && good == 0;
  if (only_surrogates && bytes.size() > first_bad + 1 &&
      static_cast<unsigned char>(bytes[first_bad + 1]) >= 0xa0) {
    return half_a_pair(bytes.substr(0, first_bad));
  }
  if (good <= bad) return std::nullopt;
  return Undecodable{code::kInvalidUtf8,
                     "a byte in line " + std::to_string(lines_before(bytes.substr(0, first_bad))) +
                         " is no UTF-8, all else is",
                     "text in one encoding"};
}

std::string from_windows_1252(std::string_view bytes) {
  std::string text;
  text.reserve(bytes.size() + bytes.size() / 8);
  for (const char byte : bytes) {
    const auto number = static_cast<unsigned char>(byte);
    const bool mapped = number >= 0x80 && number < 0xa0 && kWindows1252[number - 0x80U] != 0;
    append_utf8(text, mapped ? char32_t{kWindows1252[number - 0x80U]} : char32_t{number});
  }
  return text;
}

struct Magic {
  std::string_view bytes;
  std::string_view says;
};
constexpr auto kOtherFiles = std::to_array<Magic>({
    {"\xd0\xcf\x11\xe0", "this is an old or an encrypted workbook"},
    {"%PDF", "this is a PDF"},
    {"\x89PNG", "this is a picture"},
    {"\xff\xd8\xff", "this is a picture"},
    {"GIF8", "this is a picture"},
    {"\x1f\x8b", "this is a compressed file"},
    {"\x7f"
     "ELF",
     "this is a program"},
    {"SQLite format 3", "this is a database"},
});

bool is_odd_control(char byte) {
  return (static_cast<unsigned char>(byte) < 0x20 &&
          std::string_view("\t\n\r\f\v").find(byte) == std::string_view::npos) ||
         byte == 0x7f;
}

std::optional<Undecodable> no_text(std::string_view bytes) {
  constexpr std::string_view kWanted = "a table as CSV, text or XLSX";
  const auto other = std::find_if(kOtherFiles.begin(), kOtherFiles.end(),
                                  [&](const Magic& magic) { return bytes.starts_with(magic.bytes); });
  if (other != kOtherFiles.end())
    return Undecodable{code::kBinaryFile, std::string(other->says), std::string(kWanted)};
  if (bytes.find('\0') != std::string_view::npos)
    return Undecodable{code::kBinaryFile, "the file is not text: it holds NUL bytes", std::string(kWanted)};
  const std::string_view sample = bytes.substr(0, 16 * kSample);
  const auto odd = static_cast<std::size_t>(std::count_if(sample.begin(), sample.end(), is_odd_control));
  if (odd * 20 > sample.size())
    return Undecodable{code::kBinaryFile, "the file is not text", std::string(kWanted)};
  return std::nullopt;
}

}  // namespace

std::string_view word_of(Encoding encoding) {
  constexpr auto kWords =
      std::to_array<std::string_view>({"UTF-8", "UTF-16", "UTF-16 big-endian", "Windows-1252"});
  return kWords.at(static_cast<std::size_t>(encoding));
}

std::optional<Decoded> decode(std::string_view bytes, Undecodable& wrong) {
  Decoded decoded;
  const auto mark = marked_as(bytes);
  decoded.has_mark = mark.has_value();
  const auto utf16 = mark && *mark != Encoding::Utf8 ? mark : mark ? std::nullopt : looks_like_utf16(bytes);
  if (utf16) {
    decoded.encoding = *utf16;
    decoded.text = from_utf16(bytes.substr(mark ? 2 : 0), *utf16 == Encoding::Utf16Big, wrong);
    if (!decoded.text) return std::nullopt;
    if (decoded.text->find('\0') == std::string::npos) return decoded;
    wrong = {code::kBinaryFile, "the file is not text: it holds NUL characters",
             "a table as CSV, text or XLSX"};
    return std::nullopt;
  }
  if (auto other = no_text(bytes)) return wrong = std::move(*other), std::nullopt;
  if (find_invalid_utf8(bytes) == std::string_view::npos) return decoded;
  if (auto damage = damaged_utf8(bytes)) return wrong = std::move(*damage), std::nullopt;
  if (mark) {
    wrong = {code::kInvalidUtf8, "the file says that it is UTF-8 and is not", "text in one encoding"};
    return std::nullopt;
  }
  decoded.encoding = Encoding::Windows1252;
  decoded.text = from_windows_1252(bytes);
  return decoded;
}

}  // namespace kitgap
