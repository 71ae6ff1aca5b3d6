#pragma once

#include <doctest/doctest.h>

#include <span>
#include <string>
#include <utility>

#include "condition/eval_json.h"

namespace kitgap::test {

// One line of JSON without its end.
inline std::string without_end(std::string line) {
  while (!line.empty() && line.back() == '\n') line.pop_back();
  return line;
}

// What an expression comes to, as JSON; `unreadable` where it is none. What went wrong is put into `error`.
inline std::string evaluated(const std::string& expression, std::string& error) {
  bool can_be_read = true;
  std::string text = without_end(eval_json(expression, nullptr, error, can_be_read));
  return can_be_read ? text : "unreadable";
}

inline std::string evaluated(const std::string& expression) {
  std::string error;
  return evaluated(expression, error);
}

// Each expression and what it must come to.
inline void check_evaluated(std::span<const std::pair<const char*, const char*>> cases) {
  for (const auto& [expression, expected] : cases) {
    CAPTURE(std::string(expression));
    CHECK(evaluated(expression) == std::string(expected));
  }
}

}  // namespace kitgap::test
