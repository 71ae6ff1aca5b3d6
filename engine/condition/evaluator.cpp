#include "condition/evaluator.h"

#include <algorithm>

namespace kitgap {
namespace {

constexpr std::size_t kMaxSteps = 1'000'000;
constexpr int kMaxDepth = 300;  // of nodes being worked out at once, calls of functions included

template <class Result, class Work>
Result within_bounds(EvaluationReport& report, Result otherwise, Work&& work) {
  try {
    return work();
  } catch (const Evaluator::Exhausted&) {
    report.problem = "takes too many steps";
  } catch (const FeelTooLarge&) {
    report.problem = "makes a value that is too large";
  }
  report.gave_up = true;
  return otherwise;
}

FeelValue value_of(std::optional<bool> truth) { return truth ? FeelValue(*truth) : FeelValue(); }

}  // namespace

FeelValue evaluate_part(const std::shared_ptr<const Expression>& expression, std::uint32_t node,
                        std::span<const FeelValue> scope, const FeelValue* input, EvaluationReport& report) {
  return within_bounds(report, FeelValue(), [&] { return Evaluator(expression, scope, input, report).value(node); });
}

std::optional<bool> test_part(const std::shared_ptr<const Expression>& expression, std::uint32_t node,
                              std::span<const FeelValue> scope, const FeelValue& input, EvaluationReport& report) {
  return within_bounds(report, std::optional<bool>(),
                       [&] { return Evaluator(expression, scope, &input, report).test(node, input); });
}

FeelValue evaluate(const std::shared_ptr<const Expression>& expression, std::span<const FeelValue> scope,
                   const FeelValue* input, EvaluationReport& report) {
  return evaluate_part(expression, expression->root, scope, input, report);
}

std::optional<bool> matches(const std::shared_ptr<const Expression>& tests, std::span<const FeelValue> scope,
                            const FeelValue& input, EvaluationReport& report) {
  return test_part(tests, tests->root, scope, input, report);
}

FeelValue Evaluator::problem(std::string says) {
  if (report_.problem.empty()) report_.problem = std::move(says);
  return {};
}

FeelValue Evaluator::number(std::optional<Decimal> result) {
  return result ? FeelValue(*result) : problem("the result is no number that can be held");
}

void Evaluator::charge(std::size_t steps) {
  steps_ += steps;
  if (steps_ > kMaxSteps) throw Exhausted();
}

FeelValue Evaluator::value(std::uint32_t index) {
  const Node& node = expression_->nodes[index];
  if (node.kind == NodeKind::Constant) return expression_->constants[node.data];
  charge(1);
  if (depth_ >= kMaxDepth) throw Exhausted();
  struct Depth {
    int& depth;
    ~Depth() { --depth; }
  } depth{++depth_};
  switch (node.kind) {
    case NodeKind::Constant: break;
    case NodeKind::Name: return name(node);
    case NodeKind::Input: return input_ != nullptr ? *input_ : problem("`?` stands outside a unary test");
    case NodeKind::Path: return path(node);
    case NodeKind::Filter: return filter(node);
    case NodeKind::List: return list(node);
    case NodeKind::Context: return context(node);
    case NodeKind::Call:
    case NodeKind::NamedCall: return call(node);
    case NodeKind::Function: return function(node);
    case NodeKind::If: return conditional(node);
    case NodeKind::For: return loop(node);
    case NodeKind::Some:
    case NodeKind::Every: return quantified(node);
    case NodeKind::Between: return between(node);
    case NodeKind::In: return in(node);
    case NodeKind::InstanceOf: return instance_of(node);
    case NodeKind::And:
    case NodeKind::Or: return logical(node);
    case NodeKind::Compare: return comparison(node);
    case NodeKind::Add:
    case NodeKind::Multiply:
    case NodeKind::Power:
    case NodeKind::Negate: return arithmetic(node);
    case NodeKind::Interval: return interval(node);
    case NodeKind::Test: return test_value(node);
    case NodeKind::Tests:
    case NodeKind::NotTests:
    case NodeKind::Any:
      return input_ != nullptr ? value_of(test(index, *input_)) : problem("a list of tests stands where a value should");
  }
  return {};
}

const FeelValue* Evaluator::find_local(std::string_view name) const {
  for (auto local = locals_.rbegin(); local != locals_.rend(); ++local) {
    if (!local->is_item) {
      if (local->name == name) return &local->value;
      continue;
    }
    if (const FeelContext* keys = local->value.context()) {
      if (const FeelValue* entry = find_entry(*keys, name)) return entry;
    }
    if (name == "item") return &local->value;
  }
  return nullptr;
}

FeelValue Evaluator::name(const Node& node) {
  const std::string& text = expression_->names[node.data];
  if (!locals_.empty()) {
    if (const FeelValue* local = find_local(text)) return *local;
  }
  if (node.first < scope_.size()) return scope_[node.first];
  if (is_function_name(text)) {
    FeelFunction function;
    function.name = text;
    return FeelValue(std::make_shared<const FeelFunction>(std::move(function)));
  }
  return problem("`" + text + "` is not known here");
}

FeelValue Evaluator::path_of(const FeelValue& value, std::string_view key) {
  if (const FeelContext* entries = value.context()) {
    const FeelValue* entry = find_entry(*entries, key);
    return entry != nullptr ? *entry : problem("there is no key `" + std::string(key) + "`");
  }
  if (const FeelList* items = value.list()) {
    FeelList results;
    charge(items->size());
    for (const FeelValue& item : *items) results.push_back(path_of(item, key));
    return FeelValue::of(std::move(results));
  }
  if (auto found = property_of(value, key)) return *found;
  if (value.is_null()) return {};
  return problem("a " + std::string(kind_of(value)) + " has no `" + std::string(key) + "`");
}

FeelValue Evaluator::path(const Node& node) {
  return path_of(value(expression_->children[node.first]), expression_->names[node.data]);
}

// OMG DMN 10.3.2.5: by number the item at that place, else the items for which the condition is true.
FeelValue Evaluator::filter(const Node& node) {
  const FeelValue what = value(expression_->children[node.first]);
  const std::uint32_t by = expression_->children[node.first + 1];
  const FeelList single = what.list() != nullptr ? FeelList{} : what.is_null() ? FeelList{} : FeelList{what};
  const FeelList& items = what.list() != nullptr ? *what.list() : single;
  const Node& condition = expression_->nodes[by];
  const bool may_be_number = condition.kind != NodeKind::Compare && condition.kind != NodeKind::And;
  if (may_be_number) {
    // With the item out of sight: a place does not depend on it; a name that is only the item's gives null.
    const std::string before = report_.problem;
    const FeelValue place = value(by);
    if (const Decimal* number = place.as<Decimal>()) {
      const auto index = number->to_integer();
      const auto count = static_cast<std::int64_t>(items.size());
      if (!index || *index == 0 || *index > count || *index < -count) return problem("there is no item at that place");
      return items[static_cast<std::size_t>(*index > 0 ? *index - 1 : count + *index)];
    }
    report_.problem = before;
  }
  FeelList results;
  for (const FeelValue& item : items) {
    locals_.push_back({"", item, true});
    const FeelValue holds = value(by);
    locals_.pop_back();
    if (holds.is_true()) {
      results.push_back(item);
    } else if (!holds.is_false() && !holds.is_null()) {
      return problem("a filter gives a " + std::string(kind_of(holds)) + ", not true or false");
    }
  }
  return FeelValue::of(std::move(results));
}

FeelValue Evaluator::list(const Node& node) {
  FeelList items;
  items.reserve(node.count);
  for (const std::uint32_t child : expression_->children_of(node)) items.push_back(value(child));
  return FeelValue::of(std::move(items));
}

FeelValue Evaluator::context(const Node& node) {
  const std::size_t outer = locals_.size();
  FeelContext entries;
  for (std::uint32_t index = 0; index < node.count; ++index) {
    const std::string& key = expression_->names[node.data + index];
    FeelValue entry = value(expression_->children[node.first + index]);
    locals_.push_back({key, entry, false});
    entries.emplace_back(key, std::move(entry));
  }
  locals_.resize(outer);
  return FeelValue::of(std::move(entries));
}

FeelValue Evaluator::function(const Node& node) {
  FeelFunction result;
  result.expression = expression_;
  result.body = expression_->children[node.first];
  for (std::uint8_t index = 0; index < node.op; ++index) result.parameters.push_back(expression_->names[node.data + index]);
  charge(locals_.size());
  for (const Local& local : locals_) {
    if (!local.is_item) {
      result.seen.emplace_back(local.name, local.value);
    } else if (const FeelContext* entries = local.value.context()) {
      result.seen.insert(result.seen.end(), entries->begin(), entries->end());
    }
  }
  return FeelValue(std::make_shared<const FeelFunction>(std::move(result)));
}

FeelValue Evaluator::conditional(const Node& node) {
  const FeelValue holds = value(expression_->children[node.first]);
  return value(expression_->children[node.first + (holds.is_true() ? 1 : 2)]);
}

// Three-valued logic (OMG DMN 10.3.2.10, table 51): what is neither true nor false counts as null.
FeelValue Evaluator::logical(const Node& node) {
  const bool decides = node.kind == NodeKind::Or;
  bool is_open = false;
  for (const std::uint32_t child : expression_->children_of(node)) {
    const FeelValue part = value(child);
    if (decides ? part.is_true() : part.is_false()) return FeelValue(decides);
    is_open = is_open || part.as<bool>() == nullptr;
  }
  return is_open ? FeelValue() : FeelValue(!decides);
}

FeelValue Evaluator::comparison(const Node& node) {
  const FeelValue left = value(expression_->children[node.first]);
  const FeelValue right = value(expression_->children[node.first + 1]);
  charge((left.weight() + right.weight()) / 8);
  const auto truth = compare_values(static_cast<Comparison>(node.op), left, right);
  if (truth) return FeelValue(*truth);
  return problem("a " + std::string(kind_of(left)) + " and a " + std::string(kind_of(right)) + " are not compared");
}

FeelValue Evaluator::between(const Node& node) {
  const FeelValue what = value(expression_->children[node.first]);
  const FeelValue from = value(expression_->children[node.first + 1]);
  const FeelValue to = value(expression_->children[node.first + 2]);
  const auto above = compare_values(Comparison::GreaterOrEqual, what, from);
  const auto below = compare_values(Comparison::LessOrEqual, what, to);
  if (!above || !below) return problem("`between` compares values of different kinds");
  return FeelValue(*above && *below);
}

FeelValue Evaluator::interval(const Node& node) {
  FeelRange range;
  range.start = value(expression_->children[node.first]);
  range.end = value(expression_->children[node.first + 1]);
  range.start_included = (node.op & 1) != 0;
  range.end_included = (node.op & 2) != 0;
  if (range.start.is_null() || range.end.is_null()) return {};
  if (!compare(range.start, range.end)) return problem("the ends of a range are of different kinds, or have no order");
  return FeelValue::of(std::move(range));
}

// `(< 10)` as a value: a range without a start (OMG DMN 10.3.2.7).
FeelValue Evaluator::test_value(const Node& node) {
  FeelRange range;
  range.written_with_ends = false;
  FeelValue end = value(expression_->children[node.first]);
  switch (static_cast<Comparison>(node.op)) {
    case Comparison::Equal:
    case Comparison::NotEqual:
      range.form = static_cast<Comparison>(node.op) == Comparison::Equal ? FeelRange::Form::Equal : FeelRange::Form::NotEqual;
      range.start = std::move(end);
      break;
    case Comparison::Less:
    case Comparison::LessOrEqual:
      range.end_included = static_cast<Comparison>(node.op) == Comparison::LessOrEqual;
      range.end = std::move(end);
      break;
    case Comparison::Greater:
    case Comparison::GreaterOrEqual:
      range.start_included = static_cast<Comparison>(node.op) == Comparison::GreaterOrEqual;
      range.start = std::move(end);
      break;
  }
  if (range.form == FeelRange::Form::Interval && range.start.is_null() && range.end.is_null()) return {};
  return FeelValue::of(std::move(range));
}

FeelValue Evaluator::in(const Node& node) {
  const FeelValue what = value(expression_->children[node.first]);
  return value_of(test(expression_->children[node.first + 1], what));
}

std::optional<bool> Evaluator::any_test(const Node& tests, const FeelValue& input) {
  bool is_open = false;
  for (const std::uint32_t child : expression_->children_of(tests)) {
    const auto holds = test(child, input);
    if (holds == true) return true;
    is_open = is_open || !holds;
  }
  if (is_open) return std::nullopt;
  return false;
}

}  // namespace kitgap
