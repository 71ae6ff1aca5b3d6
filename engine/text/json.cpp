#include "text/json.h"

#include <algorithm>
#include <span>
#include <unordered_set>
#include <utility>

#include "text/codes.h"
#include "text/file.h"
#include "text/utf8.h"

namespace kitgap {
namespace {

constexpr std::size_t kMostJsonValues =
    2'000'000;  // each takes some 100 bytes: this keeps any file under 512 MB
constexpr std::size_t kFewMembers = 8;  // of an object
constexpr std::string_view kByteOrderMark = "\xef\xbb\xbf";

// A reader of its own, because none of Debian 12's keeps the digits of a number and the place of a value.
// It stops at the first thing that is no JSON; duplicate keys are all reported.
class JsonParser {
 public:
  JsonParser(SourceId source, const Sources& sources, Diagnostics& diagnostics)
      : source_(source), bytes_(sources.bytes(source)), diagnostics_(diagnostics) {
    if (bytes_.starts_with(kByteOrderMark)) at_ = line_start_ = counted_ = kByteOrderMark.size();
  }

  std::optional<Json> parse() {
    const std::size_t before = diagnostics_.error_count();
    Json json;
    if (!parse_value(json, 1)) return std::nullopt;
    skip_blanks();
    if (at_ < bytes_.size()) refuse("text stands after the value", "nothing more");
    return diagnostics_.error_count() != before ? std::nullopt : std::optional(std::move(json));
  }

 private:
  bool at_end() const { return at_ >= bytes_.size(); }
  char here() const { return at_end() ? '\0' : bytes_[at_]; }

  void skip_blanks() {
    for (; !at_end(); ++at_) {
      const char byte = bytes_[at_];
      if (byte == '\n') {
        ++line_;
        line_start_ = counted_ = at_ + 1;
        counted_characters_ = 0;
      } else if (byte != ' ' && byte != '\t' && byte != '\r') {
        return;
      }
    }
  }

  // Counts on from where it counted last: a file of one long line costs one pass.
  std::uint32_t column_at(std::size_t at) {
    if (at < counted_) counted_ = line_start_, counted_characters_ = 0;
    counted_characters_ += characters(bytes_.substr(counted_, at - counted_));
    counted_ = at;
    return static_cast<std::uint32_t>(counted_characters_ + 1);
  }

  bool refuse_at(std::size_t at, std::string_view code, std::string says, std::string expected,
                 std::uint32_t length = 1) {
    diagnostics_.add({Severity::Error, code, Span{source_, line_, column_at(at), length}, std::move(says),
                      std::move(expected)});
    return false;
  }
  bool refuse(std::string says, std::string expected) {
    return refuse_at(at_, code::kInvalidJson, std::move(says), std::move(expected));
  }
  bool refuse_here(std::string expected) {
    if (at_end()) return refuse("the file ends too soon", std::move(expected));
    const std::size_t bytes = character_at(bytes_, at_).bytes;
    return refuse("`" + printable(bytes_.substr(at_, bytes)) + "` cannot stand here", std::move(expected));
  }

  bool parse_value(Json& json, std::size_t depth) {
    skip_blanks();
    json.line = line_;
    json.column = column_at(at_);
    if (++values_ > kMostJsonValues) {
      return refuse_at(at_, code::kTooLarge, "the file holds too many values",
                       "at most " + std::to_string(kMostJsonValues));
    }
    switch (here()) {
      case '{':
        return deeper(depth) && parse_object(json, depth);
      case '[':
        return deeper(depth) && parse_array(json, depth);
      case '"':
        json.kind = Json::Kind::String;
        return parse_string(json.text);
      case 't':
        json.kind = Json::Kind::Boolean;
        json.boolean = true;
        return parse_word("true");
      case 'f':
        json.kind = Json::Kind::Boolean;
        return parse_word("false");
      case 'n':
        return parse_word("null");
      default:
        json.kind = Json::Kind::Number;
        return parse_number(json.text);
    }
  }

  bool deeper(std::size_t depth) {
    if (depth <= kMaxJsonDepth) return true;
    return refuse_at(at_, code::kTooDeep, "the values are nested too deep",
                     "at most " + std::to_string(kMaxJsonDepth) + " levels");
  }

  bool parse_word(std::string_view word) {
    if (bytes_.substr(at_, word.size()) != word)
      return refuse_here("a value: an object, a list, a string, a number, true, false or null");
    at_ += word.size();
    return true;
  }

  bool skip_digits() {
    const std::size_t start = at_;
    while (here() >= '0' && here() <= '9') ++at_;
    return at_ != start;
  }

  bool parse_number(std::string& digits) {
    const std::size_t start = at_;
    if (here() == '-') ++at_;
    if (here() == '0') {
      ++at_;
      if (here() >= '0' && here() <= '9')
        return refuse("a number starts with a needless 0", "the number without it");
    } else if (!skip_digits()) {
      return refuse_here(at_ == start ? "a value: an object, a list, a string, a number, true, false or null"
                                      : "a digit");
    }
    if (here() == '.') {
      ++at_;
      if (!skip_digits()) return refuse_here("a digit after the point");
    }
    if (here() == 'e' || here() == 'E') {
      ++at_;
      if (here() == '+' || here() == '-') ++at_;
      if (!skip_digits()) return refuse_here("a digit of the exponent");
    }
    digits.assign(bytes_.substr(start, at_ - start));
    return true;
  }

  bool parse_hex(char32_t& code) {
    code = 0;
    for (int digit = 0; digit < 4; ++digit, ++at_) {
      constexpr std::string_view kDigits = "0123456789abcdef";
      const char byte = here();
      const std::size_t value =
          at_end() ? std::string_view::npos
                   : kDigits.find(byte >= 'A' && byte <= 'F' ? static_cast<char>(byte + 32) : byte);
      if (value == std::string_view::npos) return refuse_here("four hexadecimal digits after `\\u`");
      code = code << 4 | static_cast<char32_t>(value);
    }
    return true;
  }

  bool parse_escape(std::string& text) {
    const std::size_t start = at_++;
    constexpr std::string_view kNames = "\"\\/bfnrt";
    constexpr std::string_view kMeanings = "\"\\/\b\f\n\r\t";
    const std::size_t name = at_end() ? std::string_view::npos : kNames.find(here());
    if (name != std::string_view::npos) {
      text += kMeanings[name];
      ++at_;
      return true;
    }
    if (here() != 'u') return refuse_here("one of \" \\ / b f n r t u after a backslash");
    ++at_;
    char32_t code = 0;
    if (!parse_hex(code)) return false;
    if (code >= 0xd800 && code < 0xdc00 && bytes_.substr(at_, 2) == "\\u") {
      at_ += 2;
      char32_t low = 0;
      if (!parse_hex(low)) return false;
      if (low >= 0xdc00 && low < 0xe000) code = 0x10000 + ((code - 0xd800) << 10) + (low - 0xdc00);
    }
    if (code >= 0xd800 && code < 0xe000) {
      return refuse_at(start, code::kInvalidJson, "half a surrogate pair is no character",
                       "both halves, or the character itself", static_cast<std::uint32_t>(at_ - start));
    }
    append_utf8(text, code);
    return true;
  }

  bool parse_string(std::string& text) {
    const std::size_t opening = at_++;
    while (true) {
      const std::size_t start = at_;
      while (!at_end() && bytes_[at_] != '"' && bytes_[at_] != '\\' &&
             static_cast<unsigned char>(bytes_[at_]) >= 0x20)
        ++at_;
      const std::string_view plain = bytes_.substr(start, at_ - start);
      const std::size_t damaged = find_invalid_utf8(plain);
      if (damaged != std::string_view::npos) {
        return refuse_at(start + damaged, code::kInvalidUtf8,
                         "the byte `" + printable(plain.substr(damaged, 1)) + "` is no UTF-8",
                         "text in UTF-8");
      }
      text += plain;
      if (at_end())
        return refuse_at(opening, code::kInvalidJson, "this string is never closed", "a closing quote");
      if (here() == '"') {
        ++at_;
        return true;
      }
      if (here() != '\\') return refuse_here("control characters written as escapes (`\\n`, `\\t`)");
      if (!parse_escape(text)) return false;
    }
  }

  bool parse_array(Json& json, std::size_t depth) {
    json.kind = Json::Kind::Array;
    ++at_;
    skip_blanks();
    if (here() == ']') return ++at_, true;
    while (true) {
      json.items.emplace_back();
      if (!parse_value(json.items.back(), depth + 1)) return false;
      skip_blanks();
      if (here() == ']') return ++at_, true;
      if (here() != ',') return refuse_here("a comma or `]`");
      ++at_;
      skip_blanks();
      if (here() == ']') return refuse_here("a value after the comma, or no comma");
    }
  }

  bool parse_object(Json& json, std::size_t depth) {
    json.kind = Json::Kind::Object;
    ++at_;
    skip_blanks();
    if (here() == '}') return ++at_, true;
    json.members.reserve(4);
    const std::size_t first_key = keys_.size();
    while (true) {
      skip_blanks();
      if (here() != '"') return refuse_here("a key in double quotes");
      Span key{source_, line_, column_at(at_)};
      const std::size_t start = at_;
      json.members.emplace_back();
      if (!parse_string(json.members.back().first)) return false;
      key.length = static_cast<std::uint32_t>(characters(bytes_.substr(start, at_ - start)));
      keys_.push_back(key);
      skip_blanks();
      if (here() != ':') return refuse_here("`:` after the key");
      ++at_;
      if (!parse_value(json.members.back().second, depth + 1)) return false;
      skip_blanks();
      if (here() == '}') break;
      if (here() != ',') return refuse_here("a comma or `}`");
      ++at_;
    }
    ++at_;
    check_keys(json, std::span(keys_).subspan(first_key));
    keys_.resize(first_key);
    return true;
  }

  void check_keys(const Json& json, std::span<const Span> keys) {
    std::unordered_set<std::string_view> seen;
    // Few keys are compared one by one; many by a table.
    const auto stands_before = [&](std::size_t index) {
      if (keys.size() > kFewMembers) return !seen.insert(json.members[index].first).second;
      const auto end = json.members.begin() + static_cast<std::ptrdiff_t>(index);
      return std::any_of(json.members.begin(), end, [&](const auto& member) { return member.first == json.members[index].first; });
    };
    for (std::size_t index = 0; index < keys.size(); ++index) {
      const std::string& key = json.members[index].first;
      if (!stands_before(index)) continue;
      const auto first = std::find_if(json.members.begin(), json.members.end(),
                                      [&](const auto& member) { return member.first == key; });
      const Span& other = keys[static_cast<std::size_t>(first - json.members.begin())];
      diagnostics_.add({Severity::Error,
                        code::kDuplicateKey,
                        keys[index],
                        "the key `" + key + "` stands twice in one object",
                        "each key once",
                        {},
                        {{other, "the first one"}}});
    }
  }

  SourceId source_;
  std::string_view bytes_;
  Diagnostics& diagnostics_;
  std::size_t at_ = 0;
  std::uint32_t line_ = 1;
  std::size_t line_start_ = 0;
  std::size_t counted_ = 0;
  std::size_t counted_characters_ = 0;
  std::size_t values_ = 0;
  std::vector<Span> keys_;  // of the objects that are open, one after the other
};

}  // namespace

const Json* Json::find(std::string_view name) const {
  const auto found =
      std::find_if(members.begin(), members.end(), [&](const auto& member) { return member.first == name; });
  return found == members.end() ? nullptr : &found->second;
}

std::optional<Json> parse_json(SourceId source, const Sources& sources, Diagnostics& diagnostics) {
  return JsonParser(source, sources, diagnostics).parse();
}

}  // namespace kitgap
