#include <algorithm>

#include "condition/condition.h"
#include "condition/evaluator.h"
#include "condition/truth.h"

// Whether a condition holds for a car of which only sets of values are known.
namespace kitgap {
namespace {

constexpr std::uint64_t kMaxTried = 50'000;  // combinations of values tried for one condition

// Whether the residue is true where every fact has one value.
bool is_true(const Condition::Residue& residue, const std::vector<FeelValue>& values) {
  const Expression& expression = *residue.expression;
  EvaluationReport report;
  if (expression.input != kNotInScope) return matches(residue.expression, values, values[expression.input], report) == true;
  return evaluate(residue.expression, values, nullptr, report).is_true();
}

struct Found {
  bool some_pass = false;
  bool some_fail = false;
  bool is_complete = true;  // all combinations were looked at
};

// Goes through the combinations of values of the facts that the residues read. One fact with too many values to list
// may be left over: its values are cut by what passes.
class Search {
 public:
  Search(const Condition& condition, const FactSets& sets, std::span<const Fact> facts)
      : condition_(condition), sets_(sets), facts_(facts), values_(facts.size()) {
    for (const auto& residue : condition.residues) unknown_.insert(unknown_.end(), residue.facts.begin(), residue.facts.end());
    std::sort(unknown_.begin(), unknown_.end());
    unknown_.erase(std::unique(unknown_.begin(), unknown_.end()), unknown_.end());
  }

  Found run() {
    std::uint64_t combinations = 1;
    std::stable_sort(unknown_.begin(), unknown_.end(), [&](FactId a, FactId b) { return size_of(a) < size_of(b); });
    std::size_t listed = unknown_.size();
    for (std::size_t index = 0; index < unknown_.size(); ++index) {
      const std::uint64_t size = size_of(unknown_[index]);
      if (size > kMaxTried || combinations * size > kMaxTried) {
        listed = index;
        break;
      }
      combinations *= size;
    }
    if (listed + 1 < unknown_.size()) return {true, true, false};
    listed_ = listed;
    try_from(0);
    return found_;
  }

 private:
  std::uint64_t size_of(FactId fact) const { return sets_[fact.index].size().value_or(~std::uint64_t{0}); }

  void try_from(std::size_t index) {
    if (found_.some_pass && found_.some_fail) return;
    if (index == listed_) return index == unknown_.size() ? try_one() : try_rest(unknown_[index]);
    const FactId fact = unknown_[index];
    for (const FactValue& value : sets_[fact.index].values()) {
      values_[fact.index] = feel_value_of(value, facts_[fact.index].domain.type);
      try_from(index + 1);
    }
  }

  void try_one() {
    const bool passes = std::all_of(condition_.residues.begin(), condition_.residues.end(),
                                    [&](const Condition::Residue& residue) { return is_true(residue, values_); });
    (passes ? found_.some_pass : found_.some_fail) = true;
  }

  void try_rest(FactId fact) {
    ValueSet passing = sets_[fact.index];
    for (const auto& residue : condition_.residues) {
      const KnownValue known = [&](std::uint32_t other) {
        return other == fact.index ? std::nullopt : std::optional(values_[other]);
      };
      const auto truth = truth_of(*residue.expression, residue.expression->root, fact, residue.expression->input, facts_, known);
      if (!truth) {
        found_ = {true, true, false};
        return;
      }
      passing = passing & truth->yes;
    }
    if (!passing.is_empty()) found_.some_pass = true;
    if (!(passing == sets_[fact.index])) found_.some_fail = true;
  }

  const Condition& condition_;
  const FactSets& sets_;
  std::span<const Fact> facts_;
  std::vector<FeelValue> values_;
  std::vector<FactId> unknown_;
  std::size_t listed_ = 0;
  Found found_;
};

}  // namespace

Ternary holds(const Condition& condition, const FactSets& sets, std::span<const Fact> facts) {
  bool all_pass = true;
  for (const Condition::Test& test : condition.tests) {
    const ValueSet& known = sets[test.fact.index];
    if (!test.values.meets(known)) return Ternary::No;
    all_pass = all_pass && test.values.contains(known);
  }
  if (condition.residues.empty()) return all_pass ? Ternary::Yes : Ternary::Open;
  // Whether it can hold at all: within what the tests leave. Whether it always does: over everything.
  FactSets left;
  if (!all_pass) {
    left = sets;
    for (const Condition::Test& test : condition.tests) left[test.fact.index] = sets[test.fact.index] & test.values;
  }
  const Found found = Search(condition, all_pass ? sets : left, facts).run();
  if (!found.is_complete) return Ternary::Open;
  if (!found.some_pass) return Ternary::No;
  return all_pass && !found.some_fail ? Ternary::Yes : Ternary::Open;
}

std::optional<ValueSet> values_that_pass(const Condition::Residue& residue, FactId fact, const FactSets& sets,
                                         std::span<const Fact> facts) {
  const KnownValue known = [&](std::uint32_t other) -> std::optional<FeelValue> {
    if (other == fact.index || !sets[other].is_single()) return std::nullopt;
    return feel_value_of(*sets[other].witness(), facts[other].domain.type);
  };
  const Expression& expression = *residue.expression;
  const auto truth = truth_of(expression, expression.root, fact, expression.input, facts, known);
  return truth ? std::optional(truth->yes) : std::nullopt;
}

}  // namespace kitgap
