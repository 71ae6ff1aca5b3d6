#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "condition/eval_json.h"

namespace kitgap {

// Decision tables apart from any pack (OMG DMN chapter 8), in the JSON of FORMATS, `kitgap rules try --tables`.
struct DecisionTable {
  enum class HitPolicy : std::uint8_t { Unique, Any, Priority, First, RuleOrder, OutputOrder, Collect, Sum, Least, Greatest, Count };
  struct Input {
    std::string expression;
    std::string type;                   // `number`, `string`, `boolean`, `date`, or another of the language
    std::vector<std::string> allowed;   // unary tests; empty: any
  };
  struct Output {
    std::string name;
    std::string type;
    std::vector<std::string> allowed;   // expressions, the first has the highest priority
    std::string default_value;          // an expression, or empty
  };
  struct Rule {
    std::vector<std::string> tests;     // one for each input
    std::vector<std::string> outputs;   // expressions, one for each output
  };
  std::string id;
  HitPolicy policy = HitPolicy::Unique;
  std::vector<Input> inputs;
  std::vector<Output> outputs;
  std::vector<Rule> rules;
};

// Nothing, with `error` filled, when the JSON has not the form of a table.
std::optional<DecisionTable> decision_table_of(const Json& json, std::string& error);

struct Decision {
  FeelValue value;
  std::vector<std::size_t> rules;  // that gave the value, from 1; where the policy is broken, all that matched
  std::string error;
};
Decision decide(const DecisionTable& table, const EvaluationScope& scope);

// A JSON line per case of each table: `{"id", "case", "value", "rules", "error"?}`.
std::string try_tables(const Json& tables);

}  // namespace kitgap
