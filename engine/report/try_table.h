#pragma once

#include <string>
#include <vector>

#include "need/knowledge.h"

namespace kitgap {

// One row of a pack's table against one car.
struct TriedRow {
  std::uint32_t line = 0;
  Ternary applies = Ternary::Yes;
  std::string says;                // the row's own cells
  std::vector<std::string> fails;  // conditions that the car does not pass
  std::vector<std::string> open;   // facts that it hangs on
};

// Rows of the table that `path` names (its path as read, or its name within its pack). Empty where none does.
std::vector<TriedRow> try_table(const Knowledge& knowledge, std::string_view path);
std::string try_table_text(const std::vector<TriedRow>& rows, int width);
std::string try_table_json(const std::vector<TriedRow>& rows);

}  // namespace kitgap
