#pragma once

// Peers of tests/outside: scripts and programs of other people, run where they can be had.

#include <array>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <memory>
#include <optional>
#include <sstream>
#include <string>
#include <string_view>
#include <vector>

#include "text/person_table.h"

namespace kitgap::test {

inline const std::filesystem::path kOutside = std::filesystem::path(KITGAP_SOURCE_DIR) / "tests" / "outside";

inline bool skipped(std::string_view package) {
  if (std::filesystem::exists(kOutside / "node_modules" / package)) return false;
  std::cout << "skipped: the npm package " << package << " is not installed (npm ci in tests/outside)\n";
  return true;
}

inline std::string bytes_of(const std::filesystem::path& path) {
  std::ostringstream out;
  out << std::ifstream(path, std::ios::binary).rdbuf();
  return out.str();
}

// What a script of tests/outside/text prints; nothing when it cannot be run.
inline std::optional<std::string> run_script(std::string_view program, std::string_view script,
                                      const std::string& argument = "") {
  const std::string command = std::string(program) + " '" + (kOutside / "text" / script).string() + "' '" +
                              argument + "' 2>/dev/null";
  const std::unique_ptr<FILE, int (*)(FILE*)> pipe(::popen(command.c_str(), "r"), ::pclose);
  std::string out;
  std::array<char, 4'096> buffer;
  while (pipe && !std::feof(pipe.get())) {
    out.append(buffer.data(), std::fread(buffer.data(), 1, buffer.size(), pipe.get()));
  }
  if (!out.empty()) return out;
  std::cout << "skipped: " << program << " or what it needs is not installed, " << script
            << " cannot be run\n";
  return std::nullopt;
}

inline std::vector<std::string> split(std::string_view text, char by) {
  std::vector<std::string> parts;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find(by), text.size());
    parts.emplace_back(text.substr(0, end));
    text.remove_prefix(std::min(end + 1, text.size()));
  }
  return parts;
}

using Rows = std::vector<std::vector<std::string>>;

// Every row of a person's file from `first` on, each as wide as the header; none where the file is refused.
inline Rows read_as_person(const std::filesystem::path& path, std::size_t first) {
  Sources sources;
  Diagnostics diagnostics;
  const auto table = read_person_table(path, {}, sources, diagnostics);
  Rows rows;
  for (std::size_t row = first; table && row < table->row_count(); ++row) {
    rows.emplace_back();
    for (std::size_t column = 0; column < table->header().size(); ++column)
      rows.back().emplace_back(table->cell(row, column));
  }
  return rows;
}

}  // namespace kitgap::test
