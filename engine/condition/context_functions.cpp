#include <algorithm>

#include "condition/evaluator.h"

// OMG DMN 10.3.4.8.
namespace kitgap {
namespace {

using Arguments = std::span<const FeelValue>;

void put(FeelContext& context, const std::string& key, const FeelValue& value) {
  const auto place = std::find_if(context.begin(), context.end(), [&](const auto& entry) { return entry.first == key; });
  if (place == context.end()) {
    context.emplace_back(key, value);
  } else {
    place->second = value;
  }
}

FeelValue get_value(Evaluator& evaluator, Arguments arguments) {
  const FeelContext* entries = arguments[0].context();
  if (entries == nullptr) return evaluator.problem("`get value` needs a context");
  const FeelValue* found = nullptr;
  if (const auto* key = arguments[1].as<std::string>()) {
    found = find_entry(*entries, *key);
  } else if (const FeelList* keys = arguments[1].list()) {
    for (const FeelValue& step : *keys) {
      const auto* name = step.as<std::string>();
      found = entries != nullptr && name != nullptr ? find_entry(*entries, *name) : nullptr;
      if (found == nullptr) break;
      entries = found->context();
    }
  } else {
    return evaluator.problem("`get value` needs a key");
  }
  return found != nullptr ? *found : evaluator.problem("there is no such key");
}

FeelValue get_entries(Evaluator& evaluator, Arguments arguments) {
  const FeelContext* entries = arguments[0].context();
  if (entries == nullptr) return evaluator.problem("`get entries` needs a context");
  FeelList result;
  evaluator.charge(entries->size());
  for (const auto& [key, value] : *entries) result.push_back(FeelValue::of(FeelContext{{"key", key}, {"value", value}}));
  return FeelValue::of(std::move(result));
}

FeelValue context_of(Evaluator& evaluator, Arguments arguments) {
  const FeelList single{arguments[0]};
  const FeelList& items = arguments[0].list() != nullptr ? *arguments[0].list() : single;
  FeelContext result;
  for (const FeelValue& item : items) {
    const FeelContext* entry = item.context();
    const FeelValue* key = entry != nullptr ? find_entry(*entry, "key") : nullptr;
    const FeelValue* value = entry != nullptr ? find_entry(*entry, "value") : nullptr;
    const auto* name = key != nullptr ? key->as<std::string>() : nullptr;
    if (name == nullptr || value == nullptr) return evaluator.problem("`context` needs entries with a key and a value");
    if (find_entry(result, *name) != nullptr) return evaluator.problem("a key stands twice");
    evaluator.charge(1 + result.size() / 8);
    result.emplace_back(*name, *value);
  }
  return FeelValue::of(std::move(result));
}

FeelValue put_along(Evaluator& evaluator, const FeelValue& context, std::span<const FeelValue> keys, const FeelValue& value) {
  const FeelContext* entries = context.context();
  const auto* key = keys.front().as<std::string>();
  if (entries == nullptr || key == nullptr) return evaluator.problem("`context put` needs a context and keys");
  FeelContext result = *entries;
  evaluator.charge(result.size());
  if (keys.size() == 1) {
    put(result, *key, value);
    return FeelValue::of(std::move(result));
  }
  if (keys.size() > kMaxNesting) return evaluator.problem("`context put` has too many keys");
  const FeelValue* next = find_entry(result, *key);
  const FeelValue inner = put_along(evaluator, next != nullptr ? *next : FeelValue(), keys.subspan(1), value);
  if (inner.is_null()) return inner;
  put(result, *key, inner);
  return FeelValue::of(std::move(result));
}

FeelValue context_put(Evaluator& evaluator, Arguments arguments) {
  return put_along(evaluator, arguments[0], arguments.subspan(1, 1), arguments[2]);
}

FeelValue context_put_along(Evaluator& evaluator, Arguments arguments) {
  const FeelList* keys = arguments[1].list();
  if (keys == nullptr) return context_put(evaluator, arguments);
  if (keys->empty()) return evaluator.problem("`context put` needs a key");
  return put_along(evaluator, arguments[0], *keys, arguments[2]);
}

FeelValue context_merge(Evaluator& evaluator, Arguments arguments) {
  const FeelList single{arguments[0]};
  const FeelList& items = arguments[0].list() != nullptr ? *arguments[0].list() : single;
  FeelContext result;
  for (const FeelValue& item : items) {
    const FeelContext* entries = item.context();
    if (entries == nullptr) return evaluator.problem("`context merge` needs contexts");
    for (const auto& [key, value] : *entries) {
      evaluator.charge(1 + result.size() / 8);
      put(result, key, value);
    }
  }
  return FeelValue::of(std::move(result));
}

}  // namespace

std::span<const BuiltIn> context_functions() {
  static constexpr auto kFunctions = std::to_array<BuiltIn>({
      {"get value", "m,key", get_value},
      {"get entries", "m", get_entries},
      {"context", "entries", context_of},
      {"context put", "context,keys,value", context_put_along},  // also for a key, when called by place
      {"context put", "context,key,value", context_put},
      {"context merge", "contexts", context_merge},
  });
  return kFunctions;
}

}  // namespace kitgap
