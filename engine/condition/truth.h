#pragma once

#include <optional>
#include <span>
#include <string_view>

#include "condition/condition.h"
#include "condition/syntax.h"

namespace kitgap {

// For which values of one fact a statement is true and for which it is false; for the others it is null.
struct Truth {
  ValueSet yes;
  ValueSet no;
};

// Gives the value of another fact, or nothing when it is not known.
using KnownValue = std::function<std::optional<FeelValue>(std::uint32_t fact)>;

// The statement at `node` as sets of values of `fact`, exactly, where all other facts it reads are known. Nothing
// when it has no such form. `input` is the fact that `?` and plain tests are about, or kNotInScope.
std::optional<Truth> truth_of(const Expression& expression, std::uint32_t node, FactId fact, std::uint32_t input,
                              std::span<const Fact> facts, const KnownValue& known);

// A fact's value as the language knows it, and back (a date is a day of the calendar there).
FeelValue feel_value_of(const FactValue& value, FactType type);
std::optional<FactValue> fact_value_of(const FeelValue& value, FactType type);

// Unary tests that read nothing but their input, as a set: for tables apart from any pack. Nothing when they are
// wrong or have no such form.
std::optional<ValueSet> set_of_unary_tests(std::string_view text, const FactDomain& domain);

}  // namespace kitgap
