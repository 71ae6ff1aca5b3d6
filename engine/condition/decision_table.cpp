#include "condition/decision_table.h"

#include <algorithm>
#include <array>

#include "condition/evaluator.h"

namespace kitgap {
namespace {

using HitPolicy = DecisionTable::HitPolicy;

struct PolicyWord {
  HitPolicy policy;
  std::string_view word;
};
constexpr auto kPolicyWords = std::to_array<PolicyWord>({
    {HitPolicy::Unique, "U"}, {HitPolicy::Any, "A"}, {HitPolicy::Priority, "P"}, {HitPolicy::First, "F"},
    {HitPolicy::RuleOrder, "R"}, {HitPolicy::OutputOrder, "O"}, {HitPolicy::Collect, "C"}, {HitPolicy::Sum, "C+"},
    {HitPolicy::Least, "C<"}, {HitPolicy::Greatest, "C>"}, {HitPolicy::Count, "C#"},
});

bool gives_list(HitPolicy policy) {
  return policy == HitPolicy::RuleOrder || policy == HitPolicy::OutputOrder || policy == HitPolicy::Collect;
}

bool aggregates(HitPolicy policy) {
  return policy == HitPolicy::Sum || policy == HitPolicy::Least || policy == HitPolicy::Greatest || policy == HitPolicy::Count;
}

std::string text_member(const Json& json, std::string_view name) {
  const Json* member = json.find(name);
  return member != nullptr && member->is_string() ? member->text : std::string();
}

bool texts_of(const Json* json, std::vector<std::string>& texts) {
  if (json == nullptr || json->is_null()) return true;
  if (!json->is_array()) return false;
  for (const Json& item : json->items) {
    if (!item.is_string()) return false;
    texts.push_back(item.text);
  }
  return true;
}

const std::vector<Json>& items_of(const Json& json, std::string_view name) {
  static const std::vector<Json> kNone;
  const Json* member = json.find(name);
  return member != nullptr && member->is_array() ? member->items : kNone;
}

// A table with its cells read, and one case being decided.
class Decider {
 public:
  Decider(const DecisionTable& table, const EvaluationScope& scope) : table_(table), scope_(scope) {
    names_.names = NameView(scope.names);
    names_.properties = NameView(scope.keys);
  }

  Decision decide() {
    Decision decision;
    try {
      read_inputs();
      const std::vector<std::size_t> hits = matching_rules();
      decision = hits.empty() ? by_default() : by_policy(hits);
    } catch (const FeelTooLarge&) {
      decision = Decision{};
      decision.error = "the outputs are too large";
    } catch (const Wrong& wrong) {
      decision.value = FeelValue();
      decision.error = wrong.says;
      decision.rules = wrong.rules;
    }
    return decision;
  }

 private:
  struct Wrong {
    std::string says;
    std::vector<std::size_t> rules = {};
  };

  FeelValue value_of(const std::string& expression, const std::string& where) const {
    SyntaxError error;
    const auto tree = parse_expression(expression, names_, error);
    if (!tree) throw Wrong{where + ": " + error.says};
    EvaluationReport report;
    FeelValue value = evaluate(tree, scope_.values, nullptr, report);
    if (report.gave_up) throw Wrong{where + ": " + report.problem};
    return value;
  }

  bool holds(const std::string& tests, const FeelValue& input, const std::string& where) const {
    SyntaxError error;
    const auto tree = parse_unary_tests(tests, names_, error);
    if (!tree) throw Wrong{where + ": " + error.says};
    EvaluationReport report;
    const auto truth = matches(tree, scope_.values, input, report);
    if (report.gave_up) throw Wrong{where + ": " + report.problem};
    return truth == true;
  }

  void read_inputs() {
    for (const auto& input : table_.inputs) {
      FeelValue value = value_of(input.expression, "input `" + input.expression + "`");
      if (!input.allowed.empty() && !value.is_null()) {
        const bool is_allowed = std::any_of(input.allowed.begin(), input.allowed.end(), [&](const std::string& test) {
          return holds(test, value, "allowed values of `" + input.expression + "`");
        });
        if (!is_allowed) throw Wrong{"`" + text_of(value).substr(0, 60) + "` is none of the allowed values of `" + input.expression + "`"};
      }
      inputs_.push_back(std::move(value));
    }
  }

  std::vector<std::size_t> matching_rules() const {
    std::vector<std::size_t> hits;
    for (std::size_t rule = 0; rule < table_.rules.size(); ++rule) {
      const auto& tests = table_.rules[rule].tests;
      bool fits = true;
      for (std::size_t input = 0; input < inputs_.size() && fits; ++input) {
        fits = holds(tests[input], inputs_[input], "rule " + std::to_string(rule + 1) + ", input " + std::to_string(input + 1));
      }
      if (!fits) continue;
      hits.push_back(rule);
      if (table_.policy == HitPolicy::First) break;
    }
    return hits;
  }

  // One value, or a context of several named ones.
  FeelValue joined(std::vector<FeelValue> values) const {
    if (values.size() == 1) return values[0];
    FeelContext entries;
    for (std::size_t output = 0; output < values.size(); ++output) {
      entries.emplace_back(table_.outputs[output].name, std::move(values[output]));
    }
    return FeelValue::of(std::move(entries));
  }

  std::vector<FeelValue> outputs_of(std::size_t rule) const {
    std::vector<FeelValue> values;
    for (std::size_t output = 0; output < table_.outputs.size(); ++output) {
      values.push_back(value_of(table_.rules[rule].outputs[output],
                                "rule " + std::to_string(rule + 1) + ", output " + std::to_string(output + 1)));
    }
    return values;
  }

  // Without a default: null, an empty list, or a count of none.
  Decision by_default() const {
    Decision decision;
    const bool has_default = std::any_of(table_.outputs.begin(), table_.outputs.end(),
                                         [](const auto& output) { return !output.default_value.empty(); });
    if (!has_default) {
      if (gives_list(table_.policy)) decision.value = FeelValue::of(FeelList{});
      if (table_.policy == HitPolicy::Count) decision.value = Decimal(0);
      return decision;
    }
    std::vector<FeelValue> values;
    for (const auto& output : table_.outputs) {
      values.push_back(output.default_value.empty() ? FeelValue() : value_of(output.default_value, "default of `" + output.name + "`"));
    }
    decision.value = joined(std::move(values));
    if (gives_list(table_.policy)) decision.value = FeelValue::of(FeelList{decision.value});
    return decision;
  }

  // Places of the outputs in their allowed lists, first output first; lower is more important (8.2.8).
  std::vector<std::size_t> rank(const std::vector<FeelValue>& values) const {
    std::vector<std::size_t> ranks;
    for (std::size_t output = 0; output < values.size(); ++output) {
      const auto& allowed = table_.outputs[output].allowed;
      std::size_t place = allowed.size();
      for (std::size_t index = 0; index < allowed.size() && place == allowed.size(); ++index) {
        if (holds(allowed[index], values[output], "allowed values of an output")) place = index;
      }
      ranks.push_back(place);
    }
    return ranks;
  }

  Decision by_policy(std::vector<std::size_t> hits) const {
    std::vector<std::vector<FeelValue>> values;
    for (const std::size_t rule : hits) values.push_back(outputs_of(rule));
    Decision decision;
    if (table_.policy == HitPolicy::Priority || table_.policy == HitPolicy::OutputOrder) sort_by_rank(hits, values);
    for (const std::size_t rule : hits) decision.rules.push_back(rule + 1);
    if (table_.policy == HitPolicy::Unique && hits.size() > 1) {
      throw Wrong{"more than one rule matches under the hit policy U", decision.rules};
    }
    if (table_.policy == HitPolicy::Any) check_same(values, decision.rules);
    if (aggregates(table_.policy)) {
      decision.value = aggregated(values);
      return decision;
    }
    if (gives_list(table_.policy)) {
      FeelList list;
      for (auto& one : values) list.push_back(joined(std::move(one)));
      decision.value = FeelValue::of(std::move(list));
      return decision;
    }
    if (table_.policy == HitPolicy::Priority) decision.rules.resize(1);
    decision.value = joined(std::move(values[0]));
    return decision;
  }

  void sort_by_rank(std::vector<std::size_t>& hits, std::vector<std::vector<FeelValue>>& values) const {
    std::vector<std::vector<std::size_t>> ranks;
    for (const auto& one : values) ranks.push_back(rank(one));
    std::vector<std::size_t> order(hits.size());
    for (std::size_t index = 0; index < order.size(); ++index) order[index] = index;
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return ranks[a] < ranks[b]; });
    std::vector<std::size_t> sorted_hits;
    std::vector<std::vector<FeelValue>> sorted_values;
    for (const std::size_t index : order) {
      sorted_hits.push_back(hits[index]);
      sorted_values.push_back(std::move(values[index]));
    }
    hits = std::move(sorted_hits);
    values = std::move(sorted_values);
  }

  static void check_same(const std::vector<std::vector<FeelValue>>& values, const std::vector<std::size_t>& rules) {
    for (const auto& one : values) {
      for (std::size_t output = 0; output < one.size(); ++output) {
        if (equal(one[output], values[0][output]) != true) {
          throw Wrong{"rules that match give different outputs under the hit policy A", rules};
        }
      }
    }
  }

  FeelValue aggregated(const std::vector<std::vector<FeelValue>>& values) const {
    if (table_.policy == HitPolicy::Count) return Decimal(static_cast<std::int64_t>(values.size()));
    if (table_.outputs.size() != 1) throw Wrong{"several outputs cannot be added up or compared"};
    FeelList list;
    for (const auto& one : values) list.push_back(one[0]);
    FeelFunction function;
    function.name = table_.policy == HitPolicy::Sum ? "sum" : table_.policy == HitPolicy::Least ? "min" : "max";
    EvaluationReport report;
    const FeelValue argument = FeelValue::of(std::move(list));
    FeelValue result = Evaluator(nullptr, {}, nullptr, report).call(function, std::span(&argument, 1));
    if (result.is_null()) throw Wrong{"the outputs cannot be added up or compared: " + report.problem};
    return result;
  }

  const DecisionTable& table_;
  const EvaluationScope& scope_;
  Scope names_;
  std::vector<FeelValue> inputs_;
};

}  // namespace

std::optional<DecisionTable> decision_table_of(const Json& json, std::string& error) {
  DecisionTable table;
  table.id = text_member(json, "id");
  const std::string policy = text_member(json, "hit_policy");
  const auto word = std::find_if(kPolicyWords.begin(), kPolicyWords.end(), [&](const PolicyWord& known) { return known.word == policy; });
  if (word == kPolicyWords.end() && !policy.empty()) {
    error = "`" + policy.substr(0, 20) + "` is no hit policy, expected one of U A P F R O C C+ C< C> C#";
    return std::nullopt;
  }
  if (word != kPolicyWords.end()) table.policy = word->policy;
  bool is_right = true;
  for (const Json& item : items_of(json, "inputs")) {
    DecisionTable::Input input{text_member(item, "expr"), text_member(item, "type"), {}};
    is_right = texts_of(item.find("allowed"), input.allowed) && !input.expression.empty() && is_right;
    table.inputs.push_back(std::move(input));
  }
  for (const Json& item : items_of(json, "outputs")) {
    DecisionTable::Output output{text_member(item, "name"), text_member(item, "type"), {}, text_member(item, "default")};
    is_right = texts_of(item.find("allowed"), output.allowed) && is_right;
    table.outputs.push_back(std::move(output));
  }
  for (const Json& item : items_of(json, "rules")) {
    DecisionTable::Rule rule;
    is_right = texts_of(item.find("in"), rule.tests) && texts_of(item.find("out"), rule.outputs) && is_right;
    is_right = is_right && rule.tests.size() == table.inputs.size() && rule.outputs.size() == table.outputs.size();
    table.rules.push_back(std::move(rule));
  }
  if (!is_right || table.outputs.empty()) {
    error = "the table has not the form of `inputs`, `outputs` and `rules` with a test for each input and an output for each output";
    return std::nullopt;
  }
  return table;
}

Decision decide(const DecisionTable& table, const EvaluationScope& scope) { return Decider(table, scope).decide(); }

std::string try_tables(const Json& tables) {
  std::string out;
  for (const Json& json : tables.items) {
    std::string error;
    const auto table = decision_table_of(json, error);
    for (const Json& item : items_of(json, "cases")) {
      Decision decision;
      if (table) {
        decision = decide(*table, scope_of(item.find("context")));
      } else {
        decision.error = error;
      }
      JsonWriter line(JsonWriter::Layout::OneLine);
      line.begin_object().key("id").string(text_member(json, "id")).key("case");
      const Json* name = item.find("case");
      if (name != nullptr) {
        line.value(*name);
      } else {
        line.null();
      }
      line.key("value");
      write_feel_value(line, decision.value);
      line.key("rules").begin_array();
      for (const std::size_t rule : decision.rules) line.number(static_cast<std::int64_t>(rule));
      line.end_array();
      if (!decision.error.empty()) line.key("error").string(decision.error);
      line.end_object();
      out += line.take();
    }
  }
  return out;
}

}  // namespace kitgap
