#pragma once

#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <optional>
#include <sstream>
#include <string>
#include <vector>

#include <unistd.h>

#include "measure/standard_table.h"

// A program outside the project that gives a second opinion. Its answer, line by line; nothing when it is not installed, and
// the test then says so.
inline std::optional<std::vector<std::string>> peer_says(const std::string& program, const std::string& arguments, const std::string& input) {
  if (std::system(("command -v " + program + " >/dev/null 2>&1").c_str()) != 0) return std::nullopt;
  const auto path = std::filesystem::temp_directory_path() / ("kitgap-peer-" + program + "-" + std::to_string(::getpid()));
  std::ofstream(path) << input;
  std::FILE* pipe = ::popen((program + " " + arguments + " <'" + path.string() + "' 2>/dev/null").c_str(), "r");
  std::string output;
  char buffer[4096];
  for (std::size_t got = 0; pipe && (got = std::fread(buffer, 1, sizeof buffer, pipe)) > 0;) output.append(buffer, got);
  const int status = pipe ? ::pclose(pipe) : -1;
  std::filesystem::remove(path);
  if (status != 0) return std::nullopt;
  std::vector<std::string> lines;
  std::istringstream stream(output);
  for (std::string line; std::getline(stream, line);) lines.push_back(line);
  return lines;
}

// A table of published values beside this file.
struct OutsideTable {
  kitgap::Sources sources;
  kitgap::Diagnostics diagnostics;
  std::optional<kitgap::StandardTable> table;
  explicit OutsideTable(const std::string& name)
      : table(kitgap::StandardTable::open(std::filesystem::path(KITGAP_SOURCE_DIR) / "tests/outside/measure" / name, sources,
                                          diagnostics)) {}
  OutsideTable(const OutsideTable&) = delete;
  OutsideTable& operator=(const OutsideTable&) = delete;
};
