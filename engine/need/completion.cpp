#include "need/completion.h"

#include <algorithm>

#include "value/internal_error.h"

namespace kitgap {

Completion::~Completion() {
  take_back(0);
  recall_->take_back(std::move(table_));
}

std::size_t Completion::decide(std::vector<std::size_t> options) {
  if (next_decision_ == decisions_.size()) {
    require(!options.empty(), "some way is open for everything that is asked");
    decisions_.push_back({.options = std::move(options), .taken = 0});
  }
  const Decision& decision = decisions_[next_decision_++];
  return decision.options[decision.taken];
}

// A question that was under way when the last decision was taken is asked again, and takes those before it again.
void Completion::go_on_with_last_decision() {
  std::size_t kept = replied_.size();
  while (kept > 0 && replied_[kept - 1].decisions >= decisions_.size()) --kept;
  take_back(kept);
}

void Completion::start_over() { take_back(0); }

void Completion::take_back(std::size_t kept) {
  for (std::size_t at = kept; at < replied_.size(); ++at) table_->replies[replied_[at].question] = Recall::Replies::kNone;
  replied_.resize(kept);
  const std::size_t narrowed = kept == 0 ? 0 : replied_.back().narrowed;
  for (; narrowed_.size() > narrowed; narrowed_.pop_back()) sets_[narrowed_.back().first.index] = std::move(narrowed_.back().second);
  heard_.clear();
  next_decision_ = kept == 0 ? 0 : replied_.back().decisions;
  is_exact_ = kept == 0 || replied_.back().is_exact;
}

void Completion::narrow(FactId fact, ValueSet values) { narrowed_.emplace_back(fact, std::exchange(sets_[fact.index], std::move(values))); }

void Completion::reply_with(Question question, std::uint32_t reply) {
  std::uint32_t& known = table_->replies[question];
  if (known != Recall::Replies::kNone) return;
  known = reply;
  replied_.push_back({.question = question, .decisions = next_decision_, .narrowed = narrowed_.size(), .is_exact = is_exact_});
}

bool Completion::allows(FactId fact, const ValueSet& values) {
  if (!knowledge().is_linked(fact)) return true;
  ValueSet whole = std::exchange(sets_[fact.index], values);
  const bool is_possible = knowledge().is_consistent(sets_);
  sets_[fact.index] = std::move(whole);
  return is_possible;
}

// What was decided in the run before is known to be possible: only new divisions are looked into.
Recall::Division Completion::divide(FactId fact, const ValueSet& values, bool is_decided) {
  Recall::Division division{.passing = sets_[fact.index] & values, .failing = sets_[fact.index] - values, .options = {}};
  if (division.passing.is_empty() || division.failing.is_empty() || is_decided) return division;
  if (allows(fact, division.passing)) division.options.push_back(0);
  if (allows(fact, division.failing)) division.options.push_back(1);
  if (division.options.empty()) division.options.push_back(0);
  return division;
}

// Whether the fact's value is one of those that pass; narrows the fact to those it then still may have.
bool Completion::split(FactId fact, const Recall::Division& division) {
  if (division.passing.is_empty()) return false;
  if (division.failing.is_empty()) return true;
  const bool passes = decide(division.options) == 0;
  narrow(fact, passes ? division.passing : division.failing);
  return passes;
}

bool Completion::holds_test(const Condition::Test& test) {
  if (!narrowed_.empty()) return split(test.fact, divide(test.fact, test.values, next_decision_ < decisions_.size()));
  std::optional<Recall::Division>& known = recall_->first_division(test);
  if (!known) known = divide(test.fact, test.values, false);
  return split(test.fact, *known);
}

bool Completion::holds_residue(const Condition::Residue& residue) {
  const std::vector<Fact>& facts = knowledge().rules().facts;
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
      if (const auto values = values_that_pass(residue, fact, sets_, facts)) return split(fact, divide(fact, *values, next_decision_ < decisions_.size()));
    }
    constexpr std::uint64_t kListed = 10'000;
    if (!open || fewest > kListed) {
      // Several facts without end, related: neither listing nor cutting settles it. Both ways are kept.
      is_exact_ = false;
      return decide({0, 1}) == 0;
    }
    settle(*open);
  }
}

bool Completion::holds(ConditionId id) {
  if (id.index == 0) return true;
  const Ternary always = recall_->always(id);
  if (always != Ternary::Open) return always == Ternary::Yes;
  const Question question = recall_->number_of(id);
  if (is_replied(question)) return reply(question) == 1;
  const Condition& condition = knowledge().rules().condition(id);
  bool result = true;
  for (const Condition::Test& test : condition.tests) {
    if (!result) break;
    result = holds_test(test);
  }
  for (const Condition::Residue& residue : condition.residues) {
    if (!result) break;
    result = holds_residue(residue);
  }
  reply_with(question, result ? 1 : 0);
  return result;
}

FactValue Completion::value(FactId fact) {
  if (!knowledge().sets()[fact.index].is_single()) {
    const Question question = recall_->number_of(Asked{.kind = Asked::Kind::Value, .unknown = {.first = fact.index}});
    if (!is_replied(question)) {
      settle(fact);
      reply_with(question, recall_->number_of(fact, *sets_[fact.index].witness()));
    }
  }
  return *sets_[fact.index].witness();
}

// Splits a set of values into each of them.
void Completion::settle(FactId fact) {
  const ValueSet set = sets_[fact.index];
  if (set.is_single()) return;
  const FactDomain& domain = knowledge().rules().facts[fact.index].domain;
  const auto size = set.size();
  if (!size || *size > 10'000) {
    is_exact_ = false;
    narrow(fact, ValueSet::of(domain, *set.witness()));
    return;
  }
  const std::vector<FactValue> values = set.values();
  std::vector<std::size_t> options;
  for (std::size_t index = 0; index < values.size(); ++index) {
    if (allows(fact, ValueSet::of(domain, values[index]))) options.push_back(index);
  }
  if (options.empty()) options.push_back(0);
  narrow(fact, ValueSet::of(domain, values[decide(options)]));
}

std::size_t Completion::choose(Unknown unknown, std::size_t options) {
  return choose(recall_->number_of(
      Asked{.kind = Asked::Kind::Choice, .unknown = unknown, .options = static_cast<std::uint32_t>(options)}));
}

std::uint32_t Completion::choose(Question question) {
  if (!is_replied(question)) {
    std::vector<std::size_t> all;
    if (next_decision_ == decisions_.size()) {
      all.resize(recall_->asked(question).options);
      for (std::size_t index = 0; index < all.size(); ++index) all[index] = index;
    }
    reply_with(question, static_cast<std::uint32_t>(decide(std::move(all))));
  }
  return reply(question);
}

void Completion::mark_inexact() {
  is_exact_ = false;
  const Question question = recall_->number_of(Asked{});
  if (!is_replied(question)) reply_with(question, 0);
}

std::vector<std::pair<Question, std::uint32_t>> Completion::choices() const {
  std::vector<std::pair<Question, std::uint32_t>> choices;
  choices.reserve(decisions_.size());
  for (const auto& [question, decisions, narrowed, is_exact] : replied_) {
    if (recall_->asked(question).kind == Asked::Kind::Choice) choices.emplace_back(question, reply(question));
  }
  return choices;
}

std::uint32_t Completion::ask(Question question) {
  const Asked asked = recall_->asked(question);
  switch (asked.kind) {
    case Asked::Kind::Condition: holds(ConditionId{asked.unknown.first}); break;
    case Asked::Kind::Value: value(FactId{asked.unknown.first}); break;
    case Asked::Kind::Choice: choose(question); break;
    case Asked::Kind::Inexact: mark_inexact(); break;
    case Asked::Kind::Figure: return figures_->result_of(asked);
    case Asked::Kind::Cover:
    case Asked::Kind::Flows: return covers_->result_of(asked);
  }
  return reply(question);
}

std::size_t Completion::start_listening() {
  ++listening_;
  return heard_.size();
}

std::vector<Question> Completion::heard_since(std::size_t from) {
  std::vector<std::uint32_t>& stop_of_question = table_->stop_of_question;
  if (stop_of_question.size() < table_->replies.size()) stop_of_question.resize(table_->replies.size(), 0);
  const std::uint32_t stop = ++table_->stops;
  std::vector<Question> asked;
  asked.reserve(heard_.size() - from);
  for (std::size_t at = from; at < heard_.size(); ++at) {
    if (std::exchange(stop_of_question[heard_[at]], stop) != stop) asked.push_back(heard_[at]);
  }
  return asked;
}

}  // namespace kitgap
