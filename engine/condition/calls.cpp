#include <algorithm>
#include <map>

#include "condition/evaluator.h"

// How functions are found and their arguments laid out.
namespace kitgap {
namespace {

constexpr int kMaxCallDepth = 200;  // of nodes being worked out when a written function is called

struct Parameters {
  std::vector<std::string_view> names;
  std::size_t needed = 0;
  bool takes_more = false;  // the last one takes all further arguments
};

Parameters parameters_of(const BuiltIn& function) {
  Parameters result;
  std::string_view rest = function.parameters;
  while (!rest.empty()) {
    const std::size_t comma = std::min(rest.find(','), rest.size());
    std::string_view name = rest.substr(0, comma);
    rest.remove_prefix(std::min(comma + 1, rest.size()));
    if (name.ends_with("...")) {
      result.takes_more = true;
      name.remove_suffix(3);
    }
    if (name.ends_with("?")) {
      name.remove_suffix(1);
    } else {
      result.needed = result.names.size() + 1;
    }
    result.names.push_back(name);
  }
  return result;
}

struct Entry {
  const BuiltIn* function;
  Parameters parameters;
};

const std::multimap<std::string_view, Entry>& entries() {
  static const auto kEntries = [] {
    std::multimap<std::string_view, Entry> result;
    for (const auto table : {string_functions(), number_functions(), list_functions(), context_functions(),
                             range_functions(), temporal_functions()}) {
      for (const BuiltIn& function : table) result.emplace(function.name, Entry{&function, parameters_of(function)});
    }
    return result;
  }();
  return kEntries;
}

bool takes(const Parameters& parameters, std::size_t count) {
  return count >= parameters.needed && (parameters.takes_more || count <= parameters.names.size());
}

}  // namespace

std::vector<const BuiltIn*> find_functions(std::string_view name) {
  std::vector<const BuiltIn*> result;
  const auto [first, last] = entries().equal_range(name);
  for (auto entry = first; entry != last; ++entry) result.push_back(entry->second.function);
  return result;
}

FeelValue Evaluator::call(const Node& node) {
  const FeelValue callee = value(expression_->children[node.first]);
  std::vector<FeelValue> arguments;
  arguments.reserve(node.count);
  for (std::uint32_t index = 1; index < node.count; ++index) {
    arguments.push_back(value(expression_->children[node.first + index]));
  }
  const auto* function = callee.function();
  if (function == nullptr) return problem("a " + std::string(kind_of(callee)) + " is called like a function");
  if (node.kind == NodeKind::Call) return call(**function, arguments);
  const auto names = std::span(expression_->names).subspan(node.data, arguments.size());
  return call_by_name(**function, names, arguments);
}

FeelValue Evaluator::call(const FeelFunction& function, std::span<const FeelValue> arguments) {
  charge(1);
  if (function.expression == nullptr) {
    const auto [first, last] = entries().equal_range(function.name);
    for (auto entry = first; entry != last; ++entry) {
      if (takes(entry->second.parameters, arguments.size())) return entry->second.function->call(*this, arguments);
    }
    return problem("`" + function.name + "` does not take " + std::to_string(arguments.size()) + " arguments");
  }
  if (arguments.size() != function.parameters.size()) {
    return problem("a function of " + std::to_string(function.parameters.size()) + " parameters is given " +
                   std::to_string(arguments.size()));
  }
  if (depth_ >= kMaxCallDepth) throw Exhausted();
  charge(function.seen.size());
  auto outer_locals = std::exchange(locals_, {});
  auto outer_expression = std::exchange(expression_, function.expression);
  for (const auto& [name, seen] : function.seen) locals_.push_back({name, seen, false});
  for (std::size_t index = 0; index < arguments.size(); ++index) {
    locals_.push_back({function.parameters[index], arguments[index], false});
  }
  FeelValue result = value(function.body);
  locals_ = std::move(outer_locals);
  expression_ = std::move(outer_expression);
  return result;
}

FeelValue Evaluator::call_by_name(const FeelFunction& function, std::span<const std::string> names,
                                  std::span<const FeelValue> arguments) {
  const auto in_order = [&](const auto& parameters, std::size_t needed, std::vector<FeelValue>& ordered) {
    std::size_t given = 0;
    for (const std::string& name : names) {
      const auto place = std::find(parameters.begin(), parameters.end(), name);
      if (place == parameters.end()) return false;
      given = std::max(given, static_cast<std::size_t>(place - parameters.begin()) + 1);
    }
    ordered.assign(std::max(given, needed), FeelValue());
    for (std::size_t index = 0; index < names.size(); ++index) {
      const auto place = std::find(parameters.begin(), parameters.end(), names[index]);
      ordered[static_cast<std::size_t>(place - parameters.begin())] = arguments[index];
    }
    return true;
  };
  std::vector<FeelValue> ordered;
  if (function.expression != nullptr) {
    if (in_order(function.parameters, function.parameters.size(), ordered)) return call(function, ordered);
    return problem("an argument is named that the function does not have");
  }
  const auto [first, last] = entries().equal_range(function.name);
  for (auto entry = first; entry != last; ++entry) {
    const Parameters& parameters = entry->second.parameters;
    if (in_order(parameters.names, parameters.needed, ordered)) return entry->second.function->call(*this, ordered);
  }
  return problem("`" + function.name + "` has no arguments of these names");
}

}  // namespace kitgap
