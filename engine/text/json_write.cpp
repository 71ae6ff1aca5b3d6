#include <utility>

#include "text/json.h"
#include "text/utf8.h"

namespace kitgap {
namespace {

// `<`, `>` and `&` could end a script element, U+2028 and U+2029 a line of it; the rest could steer a
// terminal.
bool needs_escape(char32_t code, bool is_plain) {
  if (code == '<' || code == '>' || code == '&') return !is_plain;
  return steers_terminal(code);
}

void append_escape(std::string& out, char32_t code) {
  constexpr std::string_view kHex = "0123456789abcdef";
  switch (code) {
    case '\n':
      out += "\\n";
      return;
    case '\t':
      out += "\\t";
      return;
    case '\r':
      out += "\\r";
      return;
    default:
      break;
  }
  const auto add = [&](char32_t unit) {
    out += "\\u";
    for (int shift = 12; shift >= 0; shift -= 4) out += kHex[unit >> shift & 15];
  };
  // Past the first plane two halves stand for one character.
  if (code > 0xffff) add(0xd800 + ((code - 0x10000) >> 10));
  add(code > 0xffff ? 0xdc00 + ((code - 0x10000) & 0x3ff) : code);
}

void append_quoted(std::string& out, std::string_view text, bool is_plain) {
  out += '"';
  for (std::size_t at = 0; at < text.size();) {
    const Character character = character_at(text, at);
    if (!character.valid)
      append_utf8(out, 0xfffd);
    else if (character.code == '"' || character.code == '\\')
      out.append(1, '\\').append(1, static_cast<char>(character.code));
    else if (needs_escape(character.code, is_plain))
      append_escape(out, character.code);
    else
      out += text.substr(at, character.bytes);
    at += character.bytes;
  }
  out += '"';
}

}  // namespace

void JsonWriter::line_break() {
  if (layout_ == Layout::OneLine) return;
  out_ += '\n';
  out_.append(2 * has_items_.size(), ' ');
}

void JsonWriter::before_value() {
  if (after_key_) {
    after_key_ = false;
    return;
  }
  if (has_items_.empty()) return;
  if (has_items_.back()) out_ += layout_ == Layout::OneLine ? ", " : ",";
  has_items_.back() = true;
  line_break();
}

JsonWriter& JsonWriter::begin_object() {
  before_value();
  out_ += '{';
  has_items_.push_back(false);
  return *this;
}

JsonWriter& JsonWriter::begin_array() {
  before_value();
  out_ += '[';
  has_items_.push_back(false);
  return *this;
}

JsonWriter& JsonWriter::end_object() {
  const bool had_items = has_items_.back();
  has_items_.pop_back();
  if (had_items) line_break();
  out_ += '}';
  return *this;
}

JsonWriter& JsonWriter::end_array() {
  const bool had_items = has_items_.back();
  has_items_.pop_back();
  if (had_items) line_break();
  out_ += ']';
  return *this;
}

JsonWriter& JsonWriter::key(std::string_view name) {
  before_value();
  append_quoted(out_, name, is_plain_);
  out_ += ": ";
  after_key_ = true;
  return *this;
}

JsonWriter& JsonWriter::string(std::string_view text) {
  before_value();
  append_quoted(out_, text, is_plain_);
  return *this;
}

JsonWriter& JsonWriter::number(std::string_view digits) {
  before_value();
  out_ += digits;
  return *this;
}

JsonWriter& JsonWriter::number(std::int64_t value) {
  return number(std::string_view(std::to_string(value)));
}
JsonWriter& JsonWriter::boolean(bool value) {
  return number(std::string_view(value ? "true" : "false"));
}
JsonWriter& JsonWriter::null() {
  return number(std::string_view("null"));
}

JsonWriter& JsonWriter::value(const Json& json) {
  switch (json.kind) {
    case Json::Kind::Null:
      return null();
    case Json::Kind::Boolean:
      return boolean(json.boolean);
    case Json::Kind::Number:
      return number(std::string_view(json.text));
    case Json::Kind::String:
      return string(json.text);
    case Json::Kind::Array:
      begin_array();
      for (const Json& item : json.items) value(item);
      return end_array();
    case Json::Kind::Object:
      break;
  }
  begin_object();
  for (const auto& [name, item] : json.members) key(name).value(item);
  return end_object();
}

std::string JsonWriter::take() {
  out_ += '\n';
  has_items_.clear();
  after_key_ = false;
  return std::exchange(out_, {});
}

}  // namespace kitgap
