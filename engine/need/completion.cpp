#include "need/completion.h"

#include <algorithm>

#include "value/internal_error.h"

namespace kitgap {

std::size_t Completion::decide(const std::vector<std::size_t>& options) {
  if (next_decision_ == decisions_.size()) {
    require(!options.empty(), "some way is open for everything that is asked");
    decisions_.push_back({.options = options, .taken = 0});
  }
  const Decision& decision = decisions_[next_decision_++];
  return decision.options[decision.taken];
}

bool Completion::allows(FactId fact, const ValueSet& values) const {
  if (values.is_empty()) return false;
  if (!knowledge_->is_linked(fact)) return true;
  FactSets narrowed = sets_;
  narrowed[fact.index] = values;
  return knowledge_->is_consistent(narrowed);
}

// Whether the fact's value is one of `values`; narrows the fact to those it then still may have.
bool Completion::split(FactId fact, const ValueSet& values) {
  const ValueSet passing = sets_[fact.index] & values;
  if (passing.is_empty()) return false;
  const ValueSet failing = sets_[fact.index] - values;
  if (failing.is_empty()) return true;
  std::vector<std::size_t> options;
  // What was decided in the run before is known to be possible: only new splits are looked into.
  if (next_decision_ == decisions_.size()) {
    if (allows(fact, passing)) options.push_back(0);
    if (allows(fact, failing)) options.push_back(1);
    if (options.empty()) options.push_back(0);
  }
  const bool passes = decide(options) == 0;
  sets_[fact.index] = passes ? passing : failing;
  return passes;
}

bool Completion::holds_test(const Condition::Test& test) { return split(test.fact, test.values); }

bool Completion::holds_residue(const Condition::Residue& residue) {
  const std::vector<Fact>& facts = knowledge_->rules().facts;
  while (true) {
    std::optional<FactId> open;
    std::uint64_t fewest = 0;
    std::size_t unknown = 0;
    for (const FactId fact : residue.facts) {
      const auto size = sets_[fact.index].size();
      if (size == 1) continue;
      ++unknown;
      if (size && (!open || *size < fewest)) {
        open = fact;
        fewest = *size;
      }
    }
    if (unknown <= 1) {
      const auto last = std::ranges::find_if(residue.facts, [&](FactId fact) { return !sets_[fact.index].is_single(); });
      const FactId fact = last == residue.facts.end() ? residue.facts.front() : *last;
      if (const auto values = values_that_pass(residue, fact, sets_, facts)) return split(fact, *values);
    }
    constexpr std::uint64_t kListed = 10'000;
    if (!open || fewest > kListed) {
      // Several facts without end, related: neither listing nor cutting settles it. Both ways are kept.
      is_exact_ = false;
      return decide({0, 1}) == 0;
    }
    value(*open);
  }
}

bool Completion::holds(ConditionId id) {
  if (id.index == 0) return true;
  if (const auto known = known_conditions_.find(id.index); known != known_conditions_.end()) return known->second;
  const Condition& condition = knowledge_->rules().condition(id);
  bool result = true;
  for (const Condition::Test& test : condition.tests) {
    if (!result) break;
    result = holds_test(test);
  }
  for (const Condition::Residue& residue : condition.residues) {
    if (!result) break;
    result = holds_residue(residue);
  }
  known_conditions_[id.index] = result;
  return result;
}

FactValue Completion::value(FactId fact) {
  ValueSet& set = sets_[fact.index];
  if (!set.is_single()) {
    const auto size = set.size();
    if (!size || *size > 10'000) {
      is_exact_ = false;
      set = ValueSet::of(knowledge_->rules().facts[fact.index].domain, *set.witness());
    } else {
      const std::vector<FactValue> values = set.values();
      std::vector<std::size_t> options;
      for (std::size_t index = 0; index < values.size(); ++index) {
        if (allows(fact, ValueSet::of(knowledge_->rules().facts[fact.index].domain, values[index]))) options.push_back(index);
      }
      if (options.empty()) options.push_back(0);
      set = ValueSet::of(knowledge_->rules().facts[fact.index].domain, values[decide(options)]);
    }
  }
  return *set.witness();
}

std::size_t Completion::choose(Unknown unknown, std::size_t options) {
  if (const auto known = choices_.find(unknown); known != choices_.end()) return known->second;
  std::vector<std::size_t> all(options);
  for (std::size_t index = 0; index < options; ++index) all[index] = index;
  const std::size_t taken = decide(all);
  choices_[unknown] = taken;
  return taken;
}

}  // namespace kitgap
