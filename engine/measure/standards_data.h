#pragma once

#include <string_view>
#include <vector>

namespace kitgap {

// A table of `data/standards`, built into the program as text.
struct BuiltInTable {
  std::string_view name;
  std::string_view text;
};
extern const std::vector<BuiltInTable> kFastenerTables;

}  // namespace kitgap
