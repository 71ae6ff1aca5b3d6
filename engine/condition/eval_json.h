#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "condition/feel_value.h"
#include "text/json.h"

namespace kitgap {

// Values of the expression language as JSON (FORMATS, `kitgap eval`): numbers digit for digit, and
// `{"date": "1970-03-01"}`, `{"time"}`, `{"date and time"}`, `{"duration"}`, `{"range": "[1..3]"}`.
FeelValue feel_value_of(const Json& json);
void write_feel_value(JsonWriter& json, const FeelValue& value);

// The names and values of a context: what an expression may name.
struct EvaluationScope {
  std::vector<std::string> names;
  std::vector<FeelValue> values;
  std::vector<std::string> keys;  // of all contexts inside, at any depth
};
// `context` may be null. Objects only.
EvaluationScope scope_of(const Json* context);

// One line of JSON: the value. `error` is filled where the value is null for a reason; `can_be_read` is false where
// the expression is no expression at all.
std::string eval_json(std::string_view expression, const Json* context, std::string& error, bool& can_be_read);
// A JSON line per case of `[{"id", "expr", "context"}]`, or of `[{"id", "test", "input", "context"}]`. A case that is
// none is a line with its error; nothing is thrown.
std::string eval_batch(const Json& cases);
std::string eval_tests(const Json& cases);

}  // namespace kitgap
