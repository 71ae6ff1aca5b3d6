#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "condition/feel_value.h"
#include "match/grid.h"
#include "text/diagnostics.h"
#include "text/json.h"
#include "value/value_set.h"

namespace kitgap {

// A decision table apart from any pack, in the form of FORMATS `rules try`, ready for analysis.
struct BareTable {
  struct Input {
    std::string name;
    std::unique_ptr<FactDomain> domain;  // sets of the column refer to it
    ValueSet within;                     // what is allowed; all values of the type where nothing is said
  };
  struct Output {
    std::vector<FeelValue> allowed;  // in order of priority
  };
  struct Rule {
    std::vector<ValueSet> in;
    std::vector<FeelValue> out;
    std::vector<std::string> out_text;
  };
  std::string id;
  std::string hit_policy;
  std::vector<Input> inputs;
  std::vector<Output> outputs;
  std::vector<Rule> rules;
};

// Refuses hit policies and types of inputs that are none, with the nearest that is. `json` is what was read of `source`.
void check_table_words(const Json& json, SourceId source, Diagnostics& diagnostics);

// Reads the tables of one JSON file. A cell that is no set of values by itself (it reads another input) is refused
// as well: what is said of boxes would not be exact.
[[nodiscard]] std::optional<std::vector<BareTable>> read_bare_tables(SourceId source, const Sources& sources,
                                                                    Diagnostics& diagnostics);

// The table's rules as boxes; `columns` turns them back into values.
Grid grid_of(const BareTable& table, std::vector<ColumnCells>& columns);

}  // namespace kitgap
