#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "condition/syntax.h"

namespace kitgap {

// A function value: one of the standard's, or written in an expression (then it keeps that expression and what it saw).
struct FeelFunction {
  std::string name;  // of the standard's functions
  std::shared_ptr<const Expression> expression;
  std::uint32_t body = 0;
  std::vector<std::string> parameters;
  std::vector<std::pair<std::string, FeelValue>> seen;
};

// What happened on the way to a value.
struct EvaluationReport {
  std::string problem;    // why something is `null` that need not be; the first such thing
  bool rounded = false;   // a number lost digits
  bool gave_up = false;   // past the bounds on steps and memory; the value is null
};

// Works out an expression over the values of its scope, in the scope's order. `input` is the value of `?`.
// Never throws; bounded in steps, memory and depth. Same input, same value; `now` and `today` read the clock.
FeelValue evaluate(const std::shared_ptr<const Expression>& expression, std::span<const FeelValue> scope,
                   const FeelValue* input, EvaluationReport& report);
// For a tree of parse_unary_tests: nothing where the standard says null.
std::optional<bool> matches(const std::shared_ptr<const Expression>& tests, std::span<const FeelValue> scope,
                            const FeelValue& input, EvaluationReport& report);

// The same for one node of a tree.
FeelValue evaluate_part(const std::shared_ptr<const Expression>& expression, std::uint32_t node,
                        std::span<const FeelValue> scope, const FeelValue* input, EvaluationReport& report);
std::optional<bool> test_part(const std::shared_ptr<const Expression>& expression, std::uint32_t node,
                              std::span<const FeelValue> scope, const FeelValue& input, EvaluationReport& report);

class Evaluator {
 public:
  Evaluator(std::shared_ptr<const Expression> expression, std::span<const FeelValue> scope, const FeelValue* input,
            EvaluationReport& report)
      : expression_(std::move(expression)), scope_(scope), input_(input), report_(report) {}

  // Thrown past the bounds, caught by `evaluate`.
  struct Exhausted {};

  FeelValue value(std::uint32_t node);
  std::optional<bool> test(std::uint32_t node, const FeelValue& input);
  std::optional<bool> any_test(const Node& tests, const FeelValue& input);

  // For the functions of the standard.
  FeelValue problem(std::string says);
  void charge(std::size_t steps);
  bool* rounded() { return &report_.rounded; }
  FeelValue call(const FeelFunction& function, std::span<const FeelValue> arguments);
  FeelValue number(std::optional<Decimal> result);  // null, with the problem, where there is none

 private:
  struct Local {
    std::string_view name;
    FeelValue value;
    bool is_item = false;  // the item of a filter: `item`, and its own keys if it is a context
  };

  FeelValue name(const Node& node);
  const FeelValue* find_local(std::string_view name) const;
  FeelValue path(const Node& node);
  FeelValue path_of(const FeelValue& value, std::string_view key);
  FeelValue filter(const Node& node);
  FeelValue list(const Node& node);
  FeelValue context(const Node& node);
  FeelValue call(const Node& node);
  FeelValue call_by_name(const FeelFunction& function, std::span<const std::string> names,
                         std::span<const FeelValue> arguments);
  FeelValue function(const Node& node);
  FeelValue conditional(const Node& node);
  FeelValue loop(const Node& node);
  FeelValue quantified(const Node& node);
  bool run_loop(const Node& node, std::size_t level, std::size_t part, const std::shared_ptr<FeelList>& results);
  bool items_of(const Iteration& iteration, const FeelValue& from, const FeelValue& to, FeelList& items);
  bool steps_between(const FeelValue& from, const FeelValue& to, FeelList& items);
  FeelValue logical(const Node& node);
  FeelValue comparison(const Node& node);
  FeelValue between(const Node& node);
  FeelValue in(const Node& node);
  FeelValue arithmetic(const Node& node);
  FeelValue interval(const Node& node);
  FeelValue test_value(const Node& node);
  FeelValue instance_of(const Node& node);

  std::shared_ptr<const Expression> expression_;
  std::span<const FeelValue> scope_;
  const FeelValue* input_;
  EvaluationReport& report_;
  std::vector<Local> locals_;
  std::size_t steps_ = 0;
  int depth_ = 0;
};

// Arithmetic and order of values (OMG DMN 10.3.2.11 and 10.3.2.13); null with the problem said where there is none.
FeelValue add_values(Evaluator& evaluator, const FeelValue& a, const FeelValue& b);
FeelValue subtract_values(Evaluator& evaluator, const FeelValue& a, const FeelValue& b);
FeelValue multiply_values(Evaluator& evaluator, const FeelValue& a, const FeelValue& b);
FeelValue divide_values(Evaluator& evaluator, const FeelValue& a, const FeelValue& b);
FeelValue power_values(Evaluator& evaluator, const FeelValue& a, const FeelValue& b);
std::optional<bool> compare_values(Comparison comparison, const FeelValue& a, const FeelValue& b);
// Whether `value` is of the type (10.3.2.9); null is of the type Null alone.
bool is_instance(const FeelValue& value, const FeelType& type);

// A property of a date, time, duration or range (10.3.2.3, 10.3.2.7); nothing when it has none of that name.
std::optional<FeelValue> property_of(const FeelValue& value, std::string_view name);

// A function of the standard. `parameters` names them in order, optional ones with `?` at the end; one that ends in
// `...` takes all further arguments.
struct BuiltIn {
  std::string_view name;
  std::string_view parameters;
  FeelValue (*call)(Evaluator& evaluator, std::span<const FeelValue> arguments);
};
std::span<const BuiltIn> string_functions();
std::span<const BuiltIn> number_functions();
std::span<const BuiltIn> list_functions();
std::span<const BuiltIn> context_functions();
std::span<const BuiltIn> range_functions();
std::span<const BuiltIn> temporal_functions();
// All rows of that name.
std::vector<const BuiltIn*> find_functions(std::string_view name);

}  // namespace kitgap
