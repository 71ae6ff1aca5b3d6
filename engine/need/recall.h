#pragma once

#include <compare>
#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <unordered_map>
#include <vector>

#include "need/knowledge.h"

namespace kitgap {

// What may turn out in several ways beside the facts.
struct Unknown {
  enum class Kind : std::uint8_t { Fact, Practice, OldPart, Promise, Meaning, Quantity, Place, PairHand, Opaque };
  Kind kind = Kind::Opaque;
  std::uint32_t first = 0;   // by kind: fact; parent; line; offer; list line; ...
  std::uint32_t second = 0;  // part; sub-part; content; ...
  std::uint32_t third = 0;   // how often it was asked before, where one answer leaves the next open
  friend auto operator<=>(const Unknown&, const Unknown&) = default;
};

// Something that a piece of work asks of a completion and that is not the same in all of them. What other work came to
// is asked like a fact: of many ways in which an assembly may be covered, work below it tells few apart.
struct Asked {
  enum class Kind : std::uint8_t { Condition, Value, Choice, Inexact, Figure, Cover, Flows };
  Kind kind = Kind::Inexact;
  Unknown unknown;            // Condition: `first` is its index; Value: the fact's; Figure, Cover: the line's; Flows: the component's
  std::uint32_t options = 0;  // of a choice
  friend auto operator<=>(const Asked&, const Asked&) = default;
};

struct HashOfAsked {
  std::size_t operator()(const Asked& asked) const;
};

using Question = std::uint32_t;

// The questions that were put to any completion of one car, by number, so that what was worked out under some answers
// is found again under the same answers. `knowledge` must outlive it.
class Recall {
 public:
  explicit Recall(const Knowledge& knowledge);

  const Knowledge& knowledge() const { return *knowledge_; }
  // Yes or no where the condition comes out the same in every completion.
  Ternary always(ConditionId condition);
  Question number_of(const Asked& asked);
  Question number_of(ConditionId condition);
  // For who keeps the number: the same asked again would get another one.
  Question new_question(const Asked& asked);
  const Asked& asked(Question question) const { return asked_[question]; }
  std::size_t question_count() const { return asked_.size(); }
  // A fact's value as a number of its own.
  std::uint32_t number_of(FactId fact, const FactValue& value);

  // What a completion writes down by question. There are as many questions as lines and more: a table is lent to one
  // completion after the other, which clears what it wrote, so that a small group of lines costs little.
  struct Replies {
    static constexpr std::uint32_t kNone = 0xffffffff;
    std::vector<std::uint32_t> replies;           // by question; kNone: not asked
    std::vector<std::uint32_t> stop_of_question;  // by question: the last stop that met it
    std::uint32_t stops = 0;
  };
  // How a test divides what is known of its fact: which ways some car allows (0: it passes, 1: it fails).
  struct Division {
    ValueSet passing, failing;
    std::vector<std::size_t> options;
  };
  // The test's division while no fact is narrowed yet, as most completions meet it; to be filled in at its first use.
  // Tests stay where the rules have them.
  std::optional<Division>& first_division(const Condition::Test& test) { return first_divisions_[&test]; }

  std::unique_ptr<Replies> lend();
  void take_back(std::unique_ptr<Replies> cleared) { idle_.push_back(std::move(cleared)); }

 private:
  const Knowledge* knowledge_;
  std::vector<Asked> asked_;
  std::unordered_map<Asked, Question, HashOfAsked> numbers_;
  enum class Always : std::uint8_t { NotAsked, Yes, No, Open };
  std::vector<Always> always_;                         // by condition
  std::vector<Question> by_condition_;                 // by condition, from 1; 0: has no number yet
  std::map<FactId, std::vector<FactValue>> values_;
  std::vector<std::unique_ptr<Replies>> idle_;
  std::unordered_map<const Condition::Test*, std::optional<Division>> first_divisions_;
};

}  // namespace kitgap
