#include "condition/eval_json.h"

#include "condition/evaluator.h"

namespace kitgap {
namespace {

// `{"date": "..."}` and its like; nothing for a context that only looks like one.
std::optional<FeelValue> typed_value(const std::string& kind, const std::string& text) {
  if (kind == "date") {
    if (const auto date = parse_date(text)) return FeelValue(*date);
  } else if (kind == "time") {
    if (auto time = parse_time(text)) return FeelValue(std::move(*time));
  } else if (kind == "date and time") {
    if (auto moment = parse_date_and_time(text)) return FeelValue(std::move(*moment));
  } else if (kind == "duration") {
    if (const auto months = parse_months_duration(text)) return FeelValue(*months);
    if (const auto time = parse_time_duration(text)) return FeelValue(*time);
  } else if (kind == "range") {
    SyntaxError error;
    EvaluationReport report;
    if (const auto tree = parse_expression(text, Scope{}, error)) {
      FeelValue value = evaluate(tree, {}, nullptr, report);
      if (value.range() != nullptr) return value;
    }
  }
  return std::nullopt;
}

void collect_keys(const Json& json, std::vector<std::string>& keys) {
  for (const auto& [key, value] : json.members) {
    keys.push_back(key);
    collect_keys(value, keys);
  }
  for (const Json& item : json.items) collect_keys(item, keys);
}

void write_typed(JsonWriter& json, std::string_view kind, const std::string& text) {
  json.begin_object().key(kind).string(text).end_object();
}

Scope names_in(const EvaluationScope& scope) {
  Scope names;
  names.names = NameView(scope.names);
  names.properties = NameView(scope.keys);
  return names;
}

std::string message_of(const SyntaxError& error, std::string_view source) {
  std::size_t column = 1;
  for (std::size_t at = 0; at < std::min(error.begin, source.size()); ++at) {
    if ((static_cast<unsigned char>(source[at]) & 0xC0) != 0x80) ++column;
  }
  std::string text = "column " + std::to_string(column) + ": " + error.says;
  return error.expected.empty() ? text : text + ", expected " + error.expected;
}

FeelValue evaluated(std::string_view expression, const EvaluationScope& scope, std::string& error, bool& can_be_read) {
  SyntaxError wrong;
  const auto tree = parse_expression(expression, names_in(scope), wrong);
  can_be_read = tree != nullptr;
  if (!tree) {
    error = message_of(wrong, expression);
    return {};
  }
  EvaluationReport report;
  FeelValue value = evaluate(tree, scope.values, nullptr, report);
  if (value.is_null()) error = report.problem;
  return value;
}

void begin_line(JsonWriter& json, const Json& item) {
  json.begin_object().key("id");
  const Json* id = item.find("id");
  if (id != nullptr) {
    json.value(*id);
  } else {
    json.null();
  }
}

void end_line(JsonWriter& json, const std::string& error, std::string& out) {
  if (!error.empty()) json.key("error").string(error);
  json.end_object();
  out += json.take();
}

}  // namespace

FeelValue feel_value_of(const Json& json) {
  switch (json.kind) {
    case Json::Kind::Null: return {};
    case Json::Kind::Boolean: return json.boolean;
    case Json::Kind::String: return json.text;
    case Json::Kind::Number: {
      const auto number = Decimal::parse(json.text);
      return number ? FeelValue(*number) : FeelValue();
    }
    case Json::Kind::Array: {
      FeelList items;
      for (const Json& item : json.items) items.push_back(feel_value_of(item));
      return FeelValue::of(std::move(items));
    }
    case Json::Kind::Object: break;
  }
  if (json.members.size() == 1 && json.members[0].second.is_string()) {
    if (auto value = typed_value(json.members[0].first, json.members[0].second.text)) return *value;
  }
  FeelContext entries;
  for (const auto& [key, value] : json.members) entries.emplace_back(key, feel_value_of(value));
  return FeelValue::of(std::move(entries));
}

void write_feel_value(JsonWriter& json, const FeelValue& value) {
  if (const bool* truth = value.as<bool>()) {
    json.boolean(*truth);
  } else if (const Decimal* number = value.as<Decimal>()) {
    json.number(number->to_text());
  } else if (const auto* text = value.as<std::string>()) {
    json.string(*text);
  } else if (const FeelList* items = value.list()) {
    json.begin_array();
    for (const FeelValue& item : *items) write_feel_value(json, item);
    json.end_array();
  } else if (const FeelContext* entries = value.context()) {
    json.begin_object();
    for (const auto& [key, entry] : *entries) {
      json.key(key);
      write_feel_value(json, entry);
    }
    json.end_object();
  } else if (value.range() != nullptr) {
    write_typed(json, "range", text_of(value));
  } else if (value.as<CalendarDate>() != nullptr) {
    write_typed(json, "date", text_of(value));
  } else if (value.as<ClockTime>() != nullptr) {
    write_typed(json, "time", text_of(value));
  } else if (value.as<DateAndTime>() != nullptr) {
    write_typed(json, "date and time", text_of(value));
  } else if (value.as<MonthsDuration>() != nullptr || value.as<TimeDuration>() != nullptr) {
    write_typed(json, "duration", text_of(value));
  } else {
    json.null();  // also a function, which JSON cannot say
  }
}

EvaluationScope scope_of(const Json* context) {
  EvaluationScope scope;
  if (context == nullptr) return scope;
  for (const auto& [name, value] : context->members) {
    scope.names.push_back(name);
    scope.values.push_back(feel_value_of(value));
    collect_keys(value, scope.keys);
  }
  return scope;
}

std::string eval_json(std::string_view expression, const Json* context, std::string& error, bool& can_be_read) {
  const FeelValue value = evaluated(expression, scope_of(context), error, can_be_read);
  JsonWriter json(JsonWriter::Layout::OneLine);
  write_feel_value(json, value);
  return json.take();
}

std::string eval_batch(const Json& cases) {
  std::string out;
  for (const Json& item : cases.items) {
    JsonWriter json(JsonWriter::Layout::OneLine);
    begin_line(json, item);
    const Json* expression = item.find("expr");
    std::string error;
    FeelValue value;
    if (expression == nullptr || !expression->is_string()) {
      error = "the case has no `expr`";
    } else {
      bool can_be_read = true;
      value = evaluated(expression->text, scope_of(item.find("context")), error, can_be_read);
    }
    json.key("value");
    write_feel_value(json, value);
    end_line(json, error, out);
  }
  return out;
}

// A test that comes out null is not met (OMG DMN 8.3.3); null itself is said only where the test is wrong.
std::string eval_tests(const Json& cases) {
  std::string out;
  for (const Json& item : cases.items) {
    JsonWriter json(JsonWriter::Layout::OneLine);
    begin_line(json, item);
    const Json* test = item.find("test");
    const Json* input = item.find("input");
    const EvaluationScope scope = scope_of(item.find("context"));
    std::string error;
    json.key("match");
    if (test == nullptr || !test->is_string()) {
      error = "the case has no `test`";
      json.null();
    } else {
      SyntaxError wrong;
      EvaluationReport report;
      const auto tests = parse_unary_tests(test->text, names_in(scope), wrong);
      const FeelValue value = input == nullptr ? FeelValue() : feel_value_of(*input);
      if (!tests) error = message_of(wrong, test->text);
      const auto truth = tests ? matches(tests, scope.values, value, report) : std::nullopt;
      if (report.gave_up) error = report.problem;
      if (!tests || report.gave_up) {
        json.null();
      } else {
        json.boolean(truth.value_or(false));
      }
    }
    end_line(json, error, out);
  }
  return out;
}

}  // namespace kitgap
