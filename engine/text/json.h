#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "text/diagnostics.h"

namespace kitgap {

// A JSON value that keeps what other readers lose: the digits of a number, the order of members, the place of
// each value. Duplicate keys are refused when read, so that `find` has one answer.
struct Json {
  struct Member;
  enum class Kind : std::uint8_t { Null, Boolean, Number, String, Array, Object };
  Kind kind = Kind::Null;
  bool boolean = false;
  std::string text;  // the digits of a number as written, or a string
  std::vector<Json> items;
  std::vector<Member> members;
  std::uint32_t line = 0;
  std::uint32_t column = 0;  // in characters, from 1

  bool is_null() const { return kind == Kind::Null; }
  bool is_string() const { return kind == Kind::String; }
  bool is_number() const { return kind == Kind::Number; }
  bool is_array() const { return kind == Kind::Array; }
  bool is_object() const { return kind == Kind::Object; }
  // The member of that name, or nullptr.
  const Json* find(std::string_view name) const;
};

struct Json::Member {
  std::string first;  // the key
  Json second;
};

inline constexpr std::size_t kMaxJsonDepth = 64;

// Parses strictly (RFC 8259): UTF-8, no comments, no duplicate keys, depth up to 64. A number is kept as its
// digits.
[[nodiscard]] std::optional<Json> parse_json(SourceId source, const Sources& sources,
                                             Diagnostics& diagnostics);

// Writes JSON as it goes, indented by two blanks or on one line, keys in the order given: same calls, same
// bytes.
class JsonWriter {
 public:
  enum class Layout : std::uint8_t { Indented, OneLine };
  explicit JsonWriter(Layout layout = Layout::Indented) : layout_(layout) {}

  // For a terminal or a file, not for a page: < > & stand as they are from here on.
  JsonWriter& plain() {
    is_plain_ = true;
    return *this;
  }
  JsonWriter& begin_object();
  JsonWriter& end_object();
  JsonWriter& begin_array();
  JsonWriter& end_array();
  JsonWriter& key(std::string_view name);
  JsonWriter& string(
      std::string_view text);  // < > & and U+2028, U+2029 are escaped, so it may stand in a page (but see `plain`)
  JsonWriter& number(std::string_view digits);
  JsonWriter& number(std::int64_t value);
  JsonWriter& boolean(bool value);
  JsonWriter& null();
  JsonWriter& value(const Json& json);
  // The text so far, with a line end.
  std::string take();

 private:
  void before_value();
  void line_break();
  Layout layout_;
  std::string out_;
  std::vector<bool> has_items_;
  bool after_key_ = false;
  bool is_plain_ = false;
};

}  // namespace kitgap
