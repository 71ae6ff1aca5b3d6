#include "text/json.h"

#include <doctest/doctest.h>

#include "text/codes.h"

using namespace kitgap;

namespace {

std::string dump(const Json& json) {
  JsonWriter writer(JsonWriter::Layout::OneLine);
  return writer.value(json).take();
}

std::string read(std::string bytes) {
  Sources sources;
  const SourceId source = sources.add("t.json", std::move(bytes));
  Diagnostics diagnostics;
  const auto json = parse_json(source, sources, diagnostics);
  return (json ? dump(*json) : "") + layout(diagnostics, sources);
}

// Only the first line of what is wrong.
std::string wrong(std::string bytes) {
  const std::string text = read(std::move(bytes));
  return text.substr(0, text.find('\n'));
}

}  // namespace

TEST_CASE("json: digits, order and escapes are kept") {
  CHECK(
      read(
          "{\"b\": 12345678901234567890.10, \"a\": [true, null, -0, 1e400, \"\\u00e9\\ud83d\\ude97\\n\"]}") ==
      "{\"b\": 12345678901234567890.10, \"a\": [true, null, -0, 1e400, \"\xc3\xa9\xf0\x9f\x9a\x97\\n\"]}\n");
  CHECK(read("\xef\xbb\xbf {} ") == "{}\n");
  CHECK(read("[]") == "[]\n");
}

TEST_CASE("json: each value knows its line and column, in characters") {
  Sources sources;
  const SourceId source = sources.add("t.json", "{\n  \"\xc3\xa9\": [1,\n 22]}");
  Diagnostics diagnostics;
  const auto json = parse_json(source, sources, diagnostics);
  REQUIRE(json);
  const Json& list = *json->find("\xc3\xa9");
  CHECK(list.line == 2);
  CHECK(list.column == 8);
  CHECK(list.items[0].column == 9);
  CHECK(list.items[1].line == 3);
  CHECK(list.items[1].column == 2);
  CHECK(json->find("e") == nullptr);
}

TEST_CASE("json: a duplicate key is refused and both places are shown") {
  CHECK(read("{\"a\": 1,\n \"a\": 2}") ==
        "t.json:2:2: error: the key `a` stands twice in one object [duplicate-key]\n"
        " 2 |  \"a\": 2}\n   |  ^^^\n   t.json:1:2: the first one\n   expected each key once\n");
}

TEST_CASE("json: what RFC 8259 does not allow is refused at its place") {
  struct Case {
    std::string_view bytes;
    std::string_view wrong;
  };
  const std::vector<Case> cases = {
      {"[1,]", "t.json:1:4: error: `]` cannot stand here [invalid-json]"},
      {"{\"a\" 1}", "t.json:1:6: error: `1` cannot stand here [invalid-json]"},
      {"{a: 1}", "t.json:1:2: error: `a` cannot stand here [invalid-json]"},
      {"[01]", "t.json:1:3: error: a number starts with a needless 0 [invalid-json]"},
      {"[1.]", "t.json:1:4: error: `]` cannot stand here [invalid-json]"},
      {"[NaN]", "t.json:1:2: error: `N` cannot stand here [invalid-json]"},
      {"[1] x", "t.json:1:5: error: text stands after the value [invalid-json]"},
      {"// no\n1", "t.json:1:1: error: `/` cannot stand here [invalid-json]"},
      {"\"a", "t.json:1:1: error: this string is never closed [invalid-json]"},
      {"\"\\x\"", "t.json:1:3: error: `x` cannot stand here [invalid-json]"},
      {"\"\\ud800\"", "t.json:1:2: error: half a surrogate pair is no character [invalid-json]"},
      {"\"\xff\"", "t.json:1:2: error: the byte `\\xff` is no UTF-8 [invalid-utf8]"},
      {"\"a\tb\"", "t.json:1:3: error: `\\t` cannot stand here [invalid-json]"},
      {" ", "t.json:1:2: error: the file ends too soon [invalid-json]"},
  };
  for (const Case& row : cases) {
    CAPTURE(row.bytes);
    CHECK(wrong(std::string(row.bytes)) == row.wrong);
  }
}

TEST_CASE("json: 64 levels are read, 65 and 100,000 are refused") {
  CHECK(read(std::string(64, '[') + std::string(64, ']')) ==
        std::string(64, '[') + std::string(64, ']') + "\n");
  CHECK(wrong(std::string(65, '[') + std::string(65, ']')) ==
        "t.json:1:65: error: the values are nested too deep [too-deep]");
  CHECK(wrong(std::string(100'000, '[')) == "t.json:1:65: error: the values are nested too deep [too-deep]");
}

TEST_CASE("json: the writer indents, and no string can leave its page or steer a terminal") {
  JsonWriter writer;
  writer.begin_object();
  writer.key("list")
      .begin_array()
      .number(std::int64_t{1})
      .string("</script>\xe2\x80\xa8\x1b\xc2\x9b&")
      .end_array();
  writer.key("none").begin_array().end_array();
  writer.key("flag").boolean(true);
  writer.end_object();
  CHECK(writer.take() ==
        "{\n  \"list\": [\n    1,\n    \"\\u003c/script\\u003e\\u2028\\u001b\\u009b\\u0026\"\n  ],\n  "
        "\"none\": [],\n  \"flag\": true\n}\n");
}
