#pragma once

#include <cstdint>
#include <memory>
#include <utility>
#include <vector>

#include "need/recall.h"

namespace kitgap {

// One way in which all that is unknown may turn out, as far as it was asked. What is asked and still open is split:
// the first answer is taken now, the others are explored after. Only what matters to an answer is ever split.
class Completion {
 public:
  // Work whose results other work asks for: says which of its results this completion comes to, by number.
  class Worker {
   public:
    virtual std::uint32_t result_of(Asked asked) = 0;

   protected:
    ~Worker() = default;
  };

  explicit Completion(Recall& recall) : recall_(&recall), table_(recall.lend()), sets_(recall.knowledge().sets()) {}
  ~Completion();
  Completion(const Completion&) = delete;
  Completion& operator=(const Completion&) = delete;
  // For the next way: the last decision is another one. What was answered before it stays answered.
  void go_on_with_last_decision();
  // Nothing is answered; decisions stay.
  void start_over();
  // `figures` answers what is asked of figures, `covers` of covers and flows. Each must outlive the questions.
  void set_figures(Worker* figures) { figures_ = figures; }
  void set_covers(Worker* covers) { covers_ = covers; }

  bool holds(ConditionId condition);
  // The fact's value; splits a set of values into each of them.
  FactValue value(FactId fact);
  // One of `options` ways, always the same for the same unknown within a completion.
  std::size_t choose(Unknown unknown, std::size_t options);

  // Something was taken together that should have been split further.
  void mark_inexact();

  const FactSets& sets() const { return sets_; }
  // What was chosen, in the order in which it was.
  std::vector<std::pair<Question, std::uint32_t>> choices() const;
  // False when something had to be taken as open that could not be split exactly.
  bool is_exact() const { return is_exact_; }
  const Knowledge& knowledge() const { return recall_->knowledge(); }
  Recall& recall() const { return *recall_; }

  struct Decision {
    std::vector<std::size_t> options;  // those that some car allows
    std::size_t taken = 0;             // index into options
  };
  // What was taken so far; a completion made with them goes the same way again.
  const std::vector<Decision>& decisions() const { return decisions_; }
  Completion(Recall& recall, std::vector<Decision> decisions) : Completion(recall) { decisions_ = std::move(decisions); }

  // Asks whatever the question is; the answer as a number.
  std::uint32_t answer(Question question) { return is_replied(question) ? reply(question) : ask(question); }
  std::uint32_t reply(Question question) const { return table_->replies[question]; }
  // Whether this completion has answered it. Who listens hears that it was asked.
  bool is_replied(Question question) {
    std::vector<std::uint32_t>& replies = table_->replies;
    if (replies.size() <= question) replies.resize(recall_->question_count() + 8, Recall::Replies::kNone);
    if (listening_ > 0) heard_.push_back(question);
    return replies[question] != Recall::Replies::kNone;
  }
  void reply_with(Question question, std::uint32_t reply);
  // Where the questions begin that are asked from now on.
  std::size_t start_listening();
  // What was asked since, each question once in the order in which it was first asked.
  std::vector<Question> heard_since(std::size_t from);
  // Work around this work hears nothing of it, for it asks for the result, or all of it.
  void stop_listening(std::size_t from, bool passes_on) {
    --listening_;
    if (!passes_on || listening_ == 0) heard_.resize(from);
  }

 private:
  friend class Explorer;
  bool holds_test(const Condition::Test& test);
  bool holds_residue(const Condition::Residue& residue);
  Recall::Division divide(FactId fact, const ValueSet& values, bool is_decided);
  bool split(FactId fact, const Recall::Division& division);
  void narrow(FactId fact, ValueSet values);
  void settle(FactId fact);
  std::uint32_t ask(Question question);
  std::size_t decide(std::vector<std::size_t> options);
  std::uint32_t choose(Question question);
  bool allows(FactId fact, const ValueSet& values);

  // How things stood when the question was answered.
  struct Replied {
    Question question;
    std::size_t decisions;  // taken until then
    std::size_t narrowed;
    bool is_exact;
  };
  void take_back(std::size_t replied);

  Recall* recall_;
  std::unique_ptr<Recall::Replies> table_;
  Worker* figures_ = nullptr;
  Worker* covers_ = nullptr;
  FactSets sets_;
  std::vector<std::pair<FactId, ValueSet>> narrowed_;  // and the set before
  std::vector<Replied> replied_;
  std::vector<Question> heard_;
  std::size_t listening_ = 0;
  std::vector<Decision> decisions_;
  std::size_t next_decision_ = 0;
  bool is_exact_ = true;
};

// Past this many completions of one group of lines, sound bounds are given instead.
inline constexpr std::size_t kMaxCompletions = 100'000;
// Nor past this many decisions in all of them: hundreds of rows without a quantity are as many decisions each time.
inline constexpr std::size_t kMaxDecisions = 10'000'000;

// Runs `work` once for each completion that it can tell apart. `work` must ask the same in the same order for the
// same answers. False when there are more than `limit`; the completions seen until then are a part of all.
class Explorer {
 public:
  explicit Explorer(Recall& recall, std::size_t limit = kMaxCompletions) : recall_(recall), limit_(limit) {}

  template <class Work>
  bool explore(Work work) {
    Completion completion(recall_);
    std::vector<Completion::Decision>& decisions = completion.decisions_;
    std::size_t decided = 0;
    for (std::size_t count = 0; count < limit_ && decided < kMaxDecisions; ++count) {
      completion.go_on_with_last_decision();
      work(completion);
      decided += decisions.size();
      while (!decisions.empty() && decisions.back().taken + 1 == decisions.back().options.size()) decisions.pop_back();
      if (decisions.empty()) return true;
      ++decisions.back().taken;
    }
    return false;
  }

 private:
  Recall& recall_;
  std::size_t limit_;
};

}  // namespace kitgap
