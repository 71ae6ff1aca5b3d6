#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "condition/condition.h"

namespace kitgap {

// What people type where a test should stand, and what to write: `1968-71` for `[1968..1971]`, `1968 on` for
// `>= 1968`, `late 1968`, a date that a spreadsheet made. What counts as such is common practice, no source.
struct TypedInstead {
  std::string write;  // the right spelling; empty where it cannot be told
  std::string says;   // what the cell is, after its own text: "is a range as people write it"
  std::string help = {};
};
std::optional<TypedInstead> find_typed_instead(std::string_view cell, const Fact& fact);

// The cell as it should have been written; nothing when it is right as it is, or cannot be told.
std::optional<std::string> rewritten_cell(std::string_view cell, const Fact& fact);

}  // namespace kitgap
