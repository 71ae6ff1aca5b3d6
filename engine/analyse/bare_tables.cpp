#include "analyse/bare_tables.h"

#include <algorithm>
#include <cctype>
#include <map>

#include "condition/evaluator.h"
#include "condition/truth.h"
#include "condition/typed_instead.h"
#include "text/codes.h"
#include "text/json.h"
#include "text/utf8.h"

namespace kitgap {
namespace {

class TableReader {
 public:
  TableReader(SourceId source, Diagnostics& diagnostics) : source_(source), diagnostics_(diagnostics) {}

  std::vector<BareTable> read(const Json& json) {
    std::vector<BareTable> tables;
    if (!json.is_array()) {
      report(json, "this is no list of tables", "`[{\"id\": ..., \"inputs\": [...], \"rules\": [...]}]`");
      return tables;
    }
    for (const Json& item : json.items) tables.push_back(table(item));
    return tables;
  }

 private:
  void report(const Json& at, std::string says, std::string expected, std::string_view code = code::kInvalidJson) {
    diagnostics_.add({.code = code,
                      .span = {.source = source_, .line = at.line, .column = at.column},
                      .says = std::move(says),
                      .expected = std::move(expected)});
  }

  const Json* list(const Json& object, std::string_view name) {
    const Json* found = object.is_object() ? object.find(name) : nullptr;
    if (found != nullptr && found->is_array()) return found;
    report(object, "there is no list `" + std::string(name) + "`", "the form of `kitgap rules try --help`");
    return nullptr;
  }

  std::string text(const Json& object, std::string_view name) {
    const Json* found = object.is_object() ? object.find(name) : nullptr;
    if (found != nullptr && found->is_string()) return found->text;
    report(object, "there is no text `" + std::string(name) + "`", "the form of `kitgap rules try --help`");
    return "";
  }

  BareTable table(const Json& json) {
    BareTable table;
    const Json* id = json.is_object() ? json.find("id") : nullptr;
    if (id != nullptr && (id->is_string() || id->is_number())) table.id = id->text;
    const Json* policy = json.is_object() ? json.find("hit_policy") : nullptr;
    table.hit_policy = policy != nullptr && policy->is_string() ? policy->text : "U";
    const Json* inputs = list(json, "inputs");
    const Json* rules = list(json, "rules");
    if (inputs == nullptr || rules == nullptr) return table;
    for (const Json& item : inputs->items) table.inputs.push_back(input(item));
    if (const Json* outputs = json.find("outputs"); outputs != nullptr && outputs->is_array()) {
      for (const Json& item : outputs->items) table.outputs.push_back(output(item));
    }
    if (diagnostics_.has_errors()) return table;
    std::map<std::pair<std::size_t, std::string>, ValueSet> known;
    for (const Json& item : rules->items) table.rules.push_back(rule(item, table, known));
    return table;
  }

  BareTable::Input input(const Json& json) {
    BareTable::Input input;
    input.name = text(json, "expr");
    input.domain = std::make_unique<FactDomain>();
    const std::string type = text(json, "type");
    input.domain->type = type == "number"    ? FactType::Number
                         : type == "boolean" ? FactType::Boolean
                         : type == "date"    ? FactType::Date
                                             : FactType::Text;
    if (!diagnostics_.has_errors() && input.domain->type == FactType::Text && type != "string") {
      report(json, "of the type `" + type + "` no sets of values can be made", "`number`, `string`, `boolean` or `date`");
    }
    input.domain->whole = input.domain->type == FactType::Date;
    input.within = ValueSet::all(*input.domain);
    const Json* allowed = json.is_object() ? json.find("allowed") : nullptr;
    if (allowed == nullptr || !allowed->is_array() || allowed->items.empty()) return input;
    ValueSet within = ValueSet::none(*input.domain);
    std::vector<FactValue> listed;
    for (const Json& item : allowed->items) {
      const auto set = set_of_unary_tests(item.text, *input.domain);
      if (!set) {
        report(item, "`" + item.text + "` is no unary test over `" + input.name + "`", "unary tests", code::kInvalidExpression);
        continue;
      }
      within = within | *set;
      if (input.domain->type != FactType::Text || !set->size()) continue;
      for (const FactValue& value : set->values()) listed.push_back(value);
    }
    if (input.domain->type == FactType::Text && within.size()) {
      // A list of words is a domain of its own, in the order given.
      for (const FactValue& value : listed) {
        auto& values = input.domain->allowed;
        if (std::find(values.begin(), values.end(), value) == values.end()) values.push_back(value);
      }
      within = ValueSet::all(*input.domain);
    }
    input.within = within;
    return input;
  }

  FeelValue constant(const std::string& text) {
    SyntaxError error;
    const auto expression = parse_expression(text, Scope{.names = {}}, error);
    if (!expression || !expression->unknown.empty()) return {};
    EvaluationReport problems;
    return evaluate(expression, {}, nullptr, problems);
  }

  BareTable::Output output(const Json& json) {
    BareTable::Output output;
    const Json* allowed = json.is_object() ? json.find("allowed") : nullptr;
    if (allowed == nullptr || !allowed->is_array()) return output;
    for (const Json& item : allowed->items) output.allowed.push_back(constant(item.text));
    return output;
  }

  BareTable::Rule rule(const Json& json, const BareTable& table,
                       std::map<std::pair<std::size_t, std::string>, ValueSet>& known) {
    BareTable::Rule rule;
    const Json* in = list(json, "in");
    if (in != nullptr && in->items.size() != table.inputs.size()) {
      report(*in, "the rule has " + std::to_string(in->items.size()) + " tests for " +
                      std::to_string(table.inputs.size()) + " inputs", "a test for each input");
      in = nullptr;
    }
    if (in == nullptr) return rule;
    for (std::size_t column = 0; column < table.inputs.size(); ++column) {
      rule.in.push_back(tests(in->items[column], column, table.inputs[column], known));
    }
    const Json* out = json.find("out");
    if (out == nullptr || !out->is_array()) return rule;
    for (const Json& item : out->items) {
      rule.out_text.push_back(item.text);
      rule.out.push_back(constant(item.text));
    }
    return rule;
  }

  ValueSet tests(const Json& cell, std::size_t column, const BareTable::Input& input,
                 std::map<std::pair<std::size_t, std::string>, ValueSet>& known) {
    const bool is_any = cell.text.find_first_not_of(" \t\r\n") == std::string::npos;
    const auto [place, is_new] = known.try_emplace({column, is_any ? "-" : cell.text});
    if (!is_new) return place->second;
    if (const auto instead = find_typed_instead(place->first.second, {.name = input.name, .domain = *input.domain})) {
      diagnostics_.add({.code = code::kWriteAsRange, .span = {.source = source_, .line = cell.line, .column = cell.column},
                        .says = "`" + cell.text + "` " + instead->says, .expected = "a test such as `[1968..1971]`, `>= 1968` or `<= 1971`",
                        .suggestion = instead->write});
      return place->second = ValueSet::none(*input.domain);
    }
    const auto set = set_of_unary_tests(place->first.second, *input.domain);
    if (!set) {
      report(cell, "`" + cell.text + "` is no unary test over `" + input.name + "` alone",
             "unary tests of constants, such as `[1968..1971]` or `\"a\", \"b\"`", code::kInvalidExpression);
    }
    return place->second = set.value_or(ValueSet::none(*input.domain));
  }

  SourceId source_;
  Diagnostics& diagnostics_;
};

}  // namespace

void check_table_words(const Json& json, SourceId source, Diagnostics& diagnostics) {
  static const std::vector<std::string> kPolicies = {"U", "A", "P", "F", "R", "O", "C", "C+", "C<", "C>", "C#"};
  static const std::vector<std::string> kTypes = {"number", "string", "boolean", "date"};
  // Of the language, though no set of values can be made of them: tables that only decide may have them.
  static const std::vector<std::string> kFurther = {"time", "date and time", "days and time duration", "years and months duration",
                                                    "context", "list", "any", "Any"};
  const auto report = [&](const Json& at, std::string says, std::string expected, std::string suggestion) {
    diagnostics.add({.code = code::kInvalidMember, .span = {.source = source, .line = at.line, .column = at.column},
                     .says = std::move(says), .expected = std::move(expected), .suggestion = std::move(suggestion)});
  };
  const auto has = [](const std::vector<std::string>& words, const std::string& word) { return std::find(words.begin(), words.end(), word) != words.end(); };
  if (!json.is_array()) return;
  for (const Json& table : json.items) {
    if (!table.is_object()) continue;
    const Json* policy = table.find("hit_policy");
    if (policy != nullptr && policy->is_string() && !policy->text.empty() && !has(kPolicies, policy->text)) {
      std::string upper = policy->text;
      std::transform(upper.begin(), upper.end(), upper.begin(), [](unsigned char c) { return static_cast<char>(std::toupper(c)); });
      // Whole words are written for the letter that stands for them.
      const std::string letter = upper.substr(0, 1);
      report(*policy, in_ticks_cut(policy->text) + " is no hit policy", "one of U A P F R O C C+ C< C> C#",
             has(kPolicies, upper) ? upper : upper.size() > 2 && has(kPolicies, letter) ? letter : "");
    }
    const Json* inputs = table.find("inputs");
    if (inputs == nullptr || !inputs->is_array()) continue;
    for (const Json& input : inputs->items) {
      const Json* type = input.is_object() ? input.find("type") : nullptr;
      if (type == nullptr || !type->is_string() || has(kTypes, type->text) || has(kFurther, type->text)) continue;
      report(*type, "the type " + in_ticks_cut(type->text) + " is not known", "`number`, `string`, `boolean` or `date`", nearest(type->text, kTypes));
    }
  }
}

std::optional<std::vector<BareTable>> read_bare_tables(SourceId source, const Sources& sources, Diagnostics& diagnostics) {
  const auto json = parse_json(source, sources, diagnostics);
  if (!json) return std::nullopt;
  check_table_words(*json, source, diagnostics);
  if (diagnostics.has_errors()) return std::nullopt;
  auto tables = TableReader(source, diagnostics).read(*json);
  if (diagnostics.has_errors()) return std::nullopt;
  return tables;
}

Grid grid_of(const BareTable& table, std::vector<ColumnCells>& columns) {
  Grid grid;
  const std::size_t width = table.inputs.size();
  grid.sets.resize(table.rules.size() * width);
  for (std::size_t column = 0; column < width; ++column) {
    // Equal sets share a number, by the text of the set.
    std::vector<ValueSet> sets;
    std::map<std::string, std::uint32_t> numbers;
    for (std::size_t row = 0; row < table.rules.size(); ++row) {
      const ValueSet& set = table.rules[row].in[column];
      const auto [place, is_new] = numbers.emplace(set.to_unary_test(), static_cast<std::uint32_t>(sets.size() + 1));
      if (is_new) sets.push_back(set);
      grid.sets[row * width + column] = place->second;
    }
    columns.emplace_back(table.inputs[column].within, sets);
    grid.columns.push_back(columns.back().column());
  }
  return grid;
}

}  // namespace kitgap
