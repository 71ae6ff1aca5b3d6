#pragma once

#include <compare>
#include <cstdint>
#include <map>
#include <optional>
#include <vector>

#include "need/knowledge.h"

namespace kitgap {

// What may turn out in several ways beside the facts.
struct Unknown {
  enum class Kind : std::uint8_t { Fact, Practice, OldPart, Promise, Meaning, Quantity, Place, PairHand, Opaque };
  Kind kind = Kind::Opaque;
  std::uint32_t first = 0;   // by kind: fact; parent; line; offer; list line; ...
  std::uint32_t second = 0;  // part; sub-part; content; ...
  friend auto operator<=>(const Unknown&, const Unknown&) = default;
};

// One way in which all that is unknown may turn out, as far as it was asked. What is asked and still open is split:
// the first answer is taken now, the others are explored after. Only what matters to an answer is ever split.
class Completion {
 public:
  explicit Completion(const Knowledge& knowledge) : knowledge_(&knowledge), sets_(knowledge.sets()) {}

  bool holds(ConditionId condition);
  // The fact's value; splits a set of values into each of them.
  FactValue value(FactId fact);
  // One of `options` ways, always the same for the same unknown within a completion.
  std::size_t choose(Unknown unknown, std::size_t options);

  // Something was taken together that should have been split further.
  void mark_inexact() { is_exact_ = false; }

  const FactSets& sets() const { return sets_; }
  const std::map<Unknown, std::size_t>& choices() const { return choices_; }
  // False when something had to be taken as open that could not be split exactly.
  bool is_exact() const { return is_exact_; }
  const Knowledge& knowledge() const { return *knowledge_; }

  struct Decision {
    std::vector<std::size_t> options;  // those that some car allows
    std::size_t taken = 0;             // index into options
  };
  // What was taken so far; a completion made with them goes the same way again.
  const std::vector<Decision>& decisions() const { return decisions_; }
  Completion(const Knowledge& knowledge, std::vector<Decision> decisions) : Completion(knowledge) { decisions_ = std::move(decisions); }

 private:
  friend class Explorer;
  bool holds_test(const Condition::Test& test);
  bool holds_residue(const Condition::Residue& residue);
  bool split(FactId fact, const ValueSet& values);
  std::size_t decide(const std::vector<std::size_t>& options);
  bool allows(FactId fact, const ValueSet& values) const;

  const Knowledge* knowledge_;
  FactSets sets_;
  std::map<Unknown, std::size_t> choices_;
  std::map<std::uint32_t, bool> known_conditions_;
  std::vector<Decision> decisions_;
  std::size_t next_decision_ = 0;
  std::uint32_t opaque_ = 0;
  bool is_exact_ = true;
};

// Past this many completions of one group of lines, sound bounds are given instead.
inline constexpr std::size_t kMaxCompletions = 100'000;

// Runs `work` once for each completion that it can tell apart. `work` must ask the same in the same order for the
// same answers. False when there are more than `limit`; the completions seen until then are a part of all.
class Explorer {
 public:
  explicit Explorer(const Knowledge& knowledge, std::size_t limit = kMaxCompletions)
      : knowledge_(knowledge), limit_(limit) {}

  template <class Work>
  bool explore(Work work) {
    std::vector<Completion::Decision> decisions;
    for (std::size_t count = 0; count < limit_; ++count) {
      Completion completion(knowledge_);
      completion.decisions_ = std::move(decisions);
      work(completion);
      decisions = std::move(completion.decisions_);
      while (!decisions.empty() && decisions.back().taken + 1 == decisions.back().options.size()) decisions.pop_back();
      if (decisions.empty()) return true;
      ++decisions.back().taken;
    }
    return false;
  }

 private:
  const Knowledge& knowledge_;
  std::size_t limit_;
};

}  // namespace kitgap
