#include "need/knowledge.h"

#include <re2/re2.h>

#include <algorithm>
#include <utility>

#include "pack/fact_value.h"
#include "text/codes.h"

namespace kitgap {
namespace {

// Splitting a derivation further than this is given up for the safe answer: consistent.
constexpr std::size_t kConsistencyBudget = 20'000;

std::vector<FactId> facts_read(const Condition& condition) {
  std::vector<FactId> facts;
  for (const Condition::Test& test : condition.tests) facts.push_back(test.fact);
  for (const Condition::Residue& residue : condition.residues) facts.insert(facts.end(), residue.facts.begin(), residue.facts.end());
  return facts;
}

}  // namespace

std::optional<Knowledge> Knowledge::of(const Car& car, const Rules& rules, Diagnostics& diagnostics) {
  Knowledge knowledge;
  knowledge.rules_ = &rules;
  knowledge.sets_ = rules.fact_spaces;
  knowledge.linked_.assign(rules.facts.size(), false);
  for (const Car::Statement& statement : car.statements) {
    ValueSet& set = knowledge.sets_[statement.fact.index];
    set = set & statement.values;
  }
  if (!knowledge.apply_patterns(car, diagnostics)) return std::nullopt;
  knowledge.find_derivations();
  knowledge.settle_derivations();
  knowledge.narrow_to_derived();
  return knowledge;
}

std::vector<FactId> Knowledge::unknown() const {
  std::vector<FactId> facts;
  for (std::uint32_t index = 0; index < sets_.size(); ++index) {
    if (!sets_[index].is_single()) facts.push_back(FactId{index});
  }
  return facts;
}

// A known text is taken apart by its pattern; a group that is also stated and differs is a contradiction.
bool Knowledge::apply_patterns(const Car& car, Diagnostics& diagnostics) {
  bool is_right = true;
  for (const FactPattern& pattern : rules_->patterns) {
    const ValueSet& set = sets_[pattern.fact.index];
    if (!set.is_single()) continue;
    const std::string text = std::get<std::string>(*set.witness());
    std::vector<re2::StringPiece> groups(static_cast<std::size_t>(pattern.pattern->NumberOfCapturingGroups()) + 1);
    const auto statement = std::ranges::find(car.statements, pattern.fact, &Car::Statement::fact);
    const Span span = statement == car.statements.end() ? Span{} : statement->span;
    const Fact& fact = rules_->facts[pattern.fact.index];
    if (!pattern.pattern->Match(text, 0, text.size(), re2::RE2::ANCHOR_BOTH, groups.data(), static_cast<int>(groups.size()))) {
      diagnostics.add({.code = code::kUnknownValue, .span = span,
                       .says = "`" + text + "` does not have the form of the fact `" + fact.name + "`",
                       .expected = "the pattern `" + pattern.text + "`"});
      is_right = false;
      continue;
    }
    for (const auto& [group, part] : pattern.groups) {
      const re2::StringPiece& piece = groups[static_cast<std::size_t>(group)];
      if (piece.data() == nullptr) continue;  // an optional group that took no part
      const Fact& derived = rules_->facts[part.index];
      const auto value = parse_fact_value(std::string_view(piece.data(), piece.size()), derived.domain.type);
      if (!value || !rules_->fact_spaces[part.index].contains(*value)) {
        diagnostics.add({.code = code::kUnknownValue, .span = span,
                         .says = "`" + std::string(piece) + "` in `" + text + "` is no value of the fact `" + derived.name + "`",
                         .expected = rules_->fact_spaces[part.index].to_unary_test()});
        is_right = false;
        continue;
      }
      const ValueSet read = ValueSet::of(derived.domain, *value);
      ValueSet& known = sets_[part.index];
      if ((known & read).is_empty()) {
        contradictions_.push_back({.fact = part, .stated = known, .derived = read, .because = {}, .from = pattern.fact});
        known = known | read;
      } else {
        known = read;
      }
    }
  }
  return is_right;
}

void Knowledge::find_derivations() {
  std::vector<Derivation> found;
  for (const FactRow& row : rules_->fact_rows) {
    if (holds(rules_->condition(row.condition), rules_->fact_spaces, rules_->facts) == Ternary::No) continue;
    auto known = std::ranges::find(found, row.fact, &Derivation::fact);
    if (known == found.end()) known = found.insert(found.end(), Derivation{.fact = row.fact, .rows = {}});
    known->rows.push_back(&row);
  }
  for (Derivation& derivation : found) {
    std::ranges::stable_sort(derivation.rows, [&](const FactRow* a, const FactRow* b) {
      return rules_->layer(a->place) > rules_->layer(b->place);
    });
    linked_[derivation.fact.index] = true;
    for (const FactRow* row : derivation.rows) {
      for (const FactId fact : facts_read(rules_->condition(row->condition))) linked_[fact.index] = true;
    }
  }
  // A fact after those that its rows read, as far as they do not read each other in a ring.
  while (!found.empty()) {
    const auto is_free = [&](const Derivation& derivation) {
      for (const FactRow* row : derivation.rows) {
        for (const FactId fact : facts_read(rules_->condition(row->condition))) {
          if (fact != derivation.fact && std::ranges::find(found, fact, &Derivation::fact) != found.end()) return false;
        }
      }
      return true;
    };
    auto next = std::ranges::find_if(found, is_free);
    if (next == found.end()) next = found.begin();
    derivations_.push_back(std::move(*next));
    found.erase(next);
  }
  relaxed_.assign(derivations_.size(), false);
}

// A derivation that would leave no car at all is set aside: the answer ranges over the car as stated and as derived.
void Knowledge::settle_derivations() {
  const std::vector<bool> all_relaxed(derivations_.size(), true);
  relaxed_ = all_relaxed;
  for (std::size_t index = 0; index < derivations_.size(); ++index) {
    relaxed_[index] = false;
    if (is_consistent(sets_)) continue;
    relaxed_[index] = true;
    const Derivation& derivation = derivations_[index];
    const Fact& fact = rules_->facts[derivation.fact.index];
    FactContradiction contradiction{.fact = derivation.fact, .stated = sets_[derivation.fact.index],
                                    .derived = ValueSet::none(fact.domain), .because = {}, .from = {}};
    for (const FactRow* row : derivation.rows) {
      const Ternary holds_here = holds(rules_->condition(row->condition), sets_, rules_->facts);
      if (holds_here == Ternary::No) continue;
      contradiction.derived = contradiction.derived | row->values;
      contradiction.because.push_back(row->place);
      if (holds_here == Ternary::Yes) break;
    }
    sets_[derivation.fact.index] = sets_[derivation.fact.index] | contradiction.derived;
    contradictions_.push_back(std::move(contradiction));
  }
}

// What a derivation rules out for every car is known: the values of a derived fact that no completion has.
void Knowledge::narrow_to_derived() {
  for (std::size_t index = 0; index < derivations_.size(); ++index) {
    if (relaxed_[index]) continue;
    const Derivation& derivation = derivations_[index];
    ValueSet possible = ValueSet::none(rules_->facts[derivation.fact.index].domain);
    bool is_settled = false;
    for (const FactRow* row : derivation.rows) {
      const Ternary holds_here = holds(rules_->condition(row->condition), sets_, rules_->facts);
      if (holds_here == Ternary::No) continue;
      possible = possible | row->values;
      if (holds_here == Ternary::Yes) {
        is_settled = true;
        break;
      }
    }
    if (is_settled) sets_[derivation.fact.index] = sets_[derivation.fact.index] & possible;
  }
}

bool Knowledge::is_consistent(const FactSets& sets) const {
  std::size_t budget = kConsistencyBudget;
  FactSets narrowed = sets;
  return std::ranges::none_of(narrowed, &ValueSet::is_empty) && is_consistent_from(0, narrowed, budget);
}

namespace {

// Narrows sets one after the other, and gives them back as they were.
class Narrowing {
 public:
  explicit Narrowing(FactSets& sets) : sets_(sets) {}
  Narrowing(const Narrowing&) = delete;
  Narrowing& operator=(const Narrowing&) = delete;
  ~Narrowing() {
    while (!before_.empty()) undo();
  }
  // False when nothing is left of the set.
  bool narrow(FactId fact, ValueSet to) {
    before_.emplace_back(fact, std::exchange(sets_[fact.index], std::move(to)));
    return !sets_[fact.index].is_empty();
  }
  void undo() {
    sets_[before_.back().first.index] = std::move(before_.back().second);
    before_.pop_back();
  }

 private:
  FactSets& sets_;
  std::vector<std::pair<FactId, ValueSet>> before_;
};

}  // namespace

// Each derivation in turn: some row is the first that applies, or none applies. The sets are narrowed along the way
// and given back as they were.
bool Knowledge::is_consistent_from(std::size_t index, FactSets& sets, std::size_t& budget) const {
  if (index == derivations_.size()) return true;
  return relaxed_[index] ? is_consistent_from(index + 1, sets, budget) : some_row_from(index, 0, sets, budget);
}

// No row before `row_index` of the derivation applies.
bool Knowledge::some_row_from(std::size_t index, std::size_t row_index, FactSets& sets, std::size_t& budget) const {
  const Derivation& derivation = derivations_[index];
  Ternary applies = Ternary::No;
  for (; applies == Ternary::No; ++row_index) {
    if (budget == 0) return true;
    --budget;
    if (row_index == derivation.rows.size()) return is_consistent_from(index + 1, sets, budget);
    applies = holds(rules_->condition(derivation.rows[row_index]->condition), sets, rules_->facts);
  }
  const FactRow& row = *derivation.rows[row_index - 1];
  const Condition& condition = rules_->condition(row.condition);
  {
    Narrowing passing(sets);
    bool can_pass = true;
    for (const Condition::Test& test : condition.tests) can_pass = can_pass && passing.narrow(test.fact, sets[test.fact.index] & test.values);
    can_pass = can_pass && passing.narrow(row.fact, sets[row.fact.index] & row.values);
    if (can_pass && is_consistent_from(index + 1, sets, budget)) return true;
  }
  if (applies == Ternary::Yes) return false;
  if (!condition.residues.empty() && some_row_from(index, row_index, sets, budget)) return true;
  // The cars that fail: one piece per test, disjoint.
  Narrowing rest(sets);
  for (const Condition::Test& test : condition.tests) {
    const bool can_fail = rest.narrow(test.fact, sets[test.fact.index] - test.values);
    if (can_fail && some_row_from(index, row_index, sets, budget)) return true;
    rest.undo();
    if (!rest.narrow(test.fact, sets[test.fact.index] & test.values)) return false;
  }
  return false;
}

}  // namespace kitgap
