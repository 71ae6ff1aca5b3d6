#pragma once

#include <string>
#include <utility>
#include <vector>

#include "pack/rules.h"

namespace kitgap {

// Rows of any kind as they are compared: by key, by what they say, and by the cars they speak of.
struct KeyedRow {
  RowPlace place;
  ConditionId condition;
  std::string key;  // the cells of the key columns; rows of one key and layer compete. Empty: the kind only adds
};

// All rows of a kind, in the order of reading. The key of a need is parent, part and the cell `at`.
std::vector<KeyedRow> keyed_rows(const Rules& rules, TableKind kind);
// Every cell of the row that is neither key nor condition, source or note, as column and text; empty cells left out.
std::vector<std::pair<std::string, std::string>> said_by(const Rules& rules, RowPlace place);
// `supplier Rope, part number R-1`.
std::string key_in_words(const Rules& rules, RowPlace place);
// `rules/demo/offers.csv:4`.
std::string row_in_words(const Rules& rules, RowPlace place);
bool is_key_column(TableKind kind, std::string_view column);

}  // namespace kitgap
