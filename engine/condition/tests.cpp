#include <algorithm>

#include "condition/evaluator.h"

// Unary tests, loops and types.
namespace kitgap {
namespace {

// Nodes that say yes or no about something by themselves; others give a value that the input is compared with.
bool is_statement(const Node& node) {
  switch (node.kind) {
    case NodeKind::And:
    case NodeKind::Or:
    case NodeKind::Compare:
    case NodeKind::Between:
    case NodeKind::In:
    case NodeKind::InstanceOf:
    case NodeKind::Some:
    case NodeKind::Every: return true;
    default: return false;
  }
}

bool reads_input(const Expression& expression, const Node& node) {
  if (node.kind == NodeKind::Input) return true;
  for (const std::uint32_t child : expression.children_of(node)) {
    if (reads_input(expression, expression.nodes[child])) return true;
  }
  return false;
}

// Whether `input` is `value`, lies in it (a range) or stands in it (a list): OMG DMN 10.3.2.13, table 55.
std::optional<bool> is_in(const FeelValue& input, const FeelValue& value) {
  if (const FeelRange* range = value.range(); range != nullptr && input.range() == nullptr) return contains(*range, input);
  if (const FeelList* items = value.list()) {
    for (const FeelValue& item : *items) {
      const bool by_range = item.range() != nullptr && input.range() == nullptr;
      const auto found = by_range ? contains(*item.range(), input) : equal(input, item);
      if (found == true) return true;
    }
    return input.list() != nullptr && equal(input, value) == true;
  }
  return equal(input, value);
}

}  // namespace

std::optional<bool> Evaluator::test(std::uint32_t index, const FeelValue& input) {
  const Node& node = expression_->nodes[index];
  switch (node.kind) {
    case NodeKind::Any: return true;
    case NodeKind::Tests: return any_test(node, input);
    case NodeKind::NotTests: {
      const auto any = any_test(node, input);
      return any ? std::optional(!*any) : any;
    }
    case NodeKind::Test: {
      const FeelValue end = value(expression_->children[node.first]);
      const auto truth = compare_values(static_cast<Comparison>(node.op), input, end);
      if (!truth) problem("a " + std::string(kind_of(input)) + " and a " + std::string(kind_of(end)) + " are not compared");
      return truth;
    }
    default: break;
  }
  const FeelValue* outer = std::exchange(input_, &input);
  const FeelValue result = value(index);
  input_ = outer;
  const bool asks_input = expression_->reads_input && reads_input(*expression_, node);
  if (asks_input || (is_statement(node) && (result.is_true() || input.as<bool>() == nullptr))) {
    if (const bool* truth = result.as<bool>()) return *truth;
    if (asks_input || is_statement(node)) return std::nullopt;
  }
  if (result.is_null() && node.kind == NodeKind::Interval) return std::nullopt;
  const auto found = is_in(input, result);
  if (!found) problem("a " + std::string(kind_of(input)) + " and a " + std::string(kind_of(result)) + " are not compared");
  return found;
}

namespace {

// Where a whole number or a date stands among its like; nothing for other values.
std::optional<std::int64_t> step_of(const FeelValue& value) {
  if (const Decimal* number = value.as<Decimal>()) return number->to_integer();
  if (const auto* date = value.as<CalendarDate>()) return day_number_of(*date);
  return std::nullopt;
}

FeelValue value_at_step(std::int64_t step, bool is_date) {
  return is_date ? FeelValue(*date_of_day_number(step)) : FeelValue(Decimal(step));
}

}  // namespace

// The items that a loop runs over; false when it cannot.
bool Evaluator::items_of(const Iteration& iteration, const FeelValue& from, const FeelValue& to, FeelList& items) {
  if (iteration.to != kNotInScope) return steps_between(from, to, items);
  if (const FeelList* all = from.list()) {
    charge(all->size());
    items = *all;
    return true;
  }
  const FeelRange* range = from.range();
  if (range == nullptr) {
    if (from.is_null()) return problem("a loop over null"), false;
    items.push_back(from);
    return true;
  }
  const auto order = compare(range->start, range->end);
  if (!order || *order > 0 || !steps_between(range->start, range->end, items)) {
    return problem("a loop over a range that cannot be listed"), false;
  }
  if (!range->end_included) items.pop_back();
  if (!range->start_included && !items.empty()) items.erase(items.begin());
  return true;
}

// Up or down, both ends in.
bool Evaluator::steps_between(const FeelValue& from, const FeelValue& to, FeelList& items) {
  const auto low = step_of(from);
  const auto high = step_of(to);
  if (!low || !high || from.data().index() != to.data().index()) {
    return problem("a loop needs whole numbers or dates on both sides of `..`"), false;
  }
  const bool is_date = from.as<CalendarDate>() != nullptr;
  const std::int64_t last = high.value_or(0);
  const std::int64_t step = low.value_or(0) <= last ? 1 : -1;
  for (std::int64_t value = low.value_or(0);; value += step) {
    charge(1);
    items.push_back(value_at_step(value, is_date));
    if (value == last) return true;
  }
}

// Runs the loops from `level` on; each result goes to `results`. False when a list is none.
bool Evaluator::run_loop(const Node& node, std::size_t level, std::size_t part,
                         const std::shared_ptr<FeelList>& results) {
  const auto& iterations = expression_->iterations[node.data];
  const std::uint32_t* parts = expression_->children.data() + node.first;
  if (level == iterations.size()) {
    charge(1);
    const std::size_t outer = locals_.size();
    const bool wants_partial = node.kind == NodeKind::For &&
                               expression_->source.find("partial") != std::string::npos;
    if (wants_partial) {
      charge(results->size());
      locals_.push_back({"partial", FeelValue::of(*results), false});
    }
    results->push_back(value(parts[node.count - 1]));
    locals_.resize(outer);
    return true;
  }
  const Iteration& iteration = iterations[level];
  FeelList items;
  const FeelValue from = value(parts[part]);
  const bool has_end = iteration.to != kNotInScope;
  const FeelValue to = has_end ? value(parts[part + 1]) : FeelValue();
  if (!items_of(iteration, from, to, items)) return false;
  for (FeelValue& item : items) {
    locals_.push_back({iteration.variable, std::move(item), false});
    const bool ran = run_loop(node, level + 1, part + (has_end ? 2 : 1), results);
    locals_.pop_back();
    if (!ran) return false;
  }
  return true;
}

FeelValue Evaluator::loop(const Node& node) {
  const auto results = std::make_shared<FeelList>();
  if (!run_loop(node, 0, 0, results)) return {};
  return FeelValue::of(std::move(*results));
}

// `some` is the `or` of what it says of each, `every` the `and`; but what is no statement makes the whole null.
FeelValue Evaluator::quantified(const Node& node) {
  const auto results = std::make_shared<FeelList>();
  if (!run_loop(node, 0, 0, results)) return {};
  const bool decides = node.kind == NodeKind::Some;
  bool is_open = false;
  bool is_decided = false;
  for (const FeelValue& result : *results) {
    const bool* truth = result.as<bool>();
    if (truth == nullptr && !result.is_null()) return problem("what `satisfies` says is neither true nor false");
    is_open = is_open || truth == nullptr;
    is_decided = is_decided || (truth != nullptr && *truth == decides);
  }
  if (is_decided) return FeelValue(decides);
  return is_open ? problem("what `satisfies` says is null") : FeelValue(!decides);
}

FeelValue Evaluator::instance_of(const Node& node) {
  return FeelValue(is_instance(value(expression_->children[node.first]), expression_->types[node.data]));
}

bool is_instance(const FeelValue& value, const FeelType& type) {
  switch (type.kind) {
    case FeelType::Kind::Simple:
      if (type.name == "Any") return !value.is_null();
      if (type.name == "Null") return value.is_null();
      return kind_of(value) == type.name;
    case FeelType::Kind::List: {
      const FeelList* items = value.list();
      if (items == nullptr || type.inner.size() != 1) return false;
      return std::all_of(items->begin(), items->end(), [&](const FeelValue& item) {
        return item.is_null() || is_instance(item, type.inner[0]);
      });
    }
    case FeelType::Kind::Range: {
      const FeelRange* range = value.range();
      if (range == nullptr || type.inner.size() != 1) return false;
      return is_instance(range->start.is_null() ? range->end : range->start, type.inner[0]);
    }
    case FeelType::Kind::Context: {
      const FeelContext* entries = value.context();
      if (entries == nullptr) return false;
      for (std::size_t field = 0; field < type.fields.size(); ++field) {
        const FeelValue* entry = find_entry(*entries, type.fields[field]);
        if (entry == nullptr || (!entry->is_null() && !is_instance(*entry, type.inner[field]))) return false;
      }
      return true;
    }
    case FeelType::Kind::Function: return value.function() != nullptr;
  }
  return false;
}

}  // namespace kitgap
