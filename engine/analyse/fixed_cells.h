#pragma once

#include <string>
#include <vector>

#include "text/diagnostics.h"

namespace kitgap {

// A file in which cells were written as people write them (`1968-71`, `late 1968`), with the right spelling put in
// their place; nothing else in it changes, not a byte.
struct FixedFile {
  std::string name;   // the path as the person gave it
  std::string before;
  std::string bytes;
  std::vector<std::string> changes;  // `needs.csv:14:9: 1968-71 becomes [1968..1971]`
};

// By the diagnostics `write-as-range` that say what to write; those that cannot tell stay as they are.
std::vector<FixedFile> fixed_cells(const Diagnostics& diagnostics, const Sources& sources);

}  // namespace kitgap
