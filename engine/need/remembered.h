#pragma once

#include <deque>
#include <tuple>
#include <unordered_map>
#include <utility>
#include <vector>

#include "need/completion.h"
#include "value/internal_error.h"

namespace kitgap {

// Results of one kind of work, by key, each under the answers that it came from: a tree of questions per key. The
// work is done again only where a completion answers something otherwise than any before, and equal results of a key
// are one, so that work that asks for them is done once for all of them. `Result` has `==` and `hash_of(result)`.
template <class Result>
class Remembered {
 public:
  explicit Remembered(Asked::Kind kind) : kind_(kind) {}

  // What belongs to one completion: a new one for each.
  using Run = std::uint64_t;
  Run start_run() { return ++run_; }

  // The result for this completion; `work` must ask the same in the same order for the same answers, as all work over
  // completions. Asked for while it is being worked out (needs in a ring) it is empty.
  template <class Work>
  const Result& get(std::uint32_t key, Run run, Completion& completion, Work work) {
    if (key >= slots_.size()) slots_.resize(key + 1);
    if (slots_[key].run != run) find(key, run, completion, work);
    const Slot& slot = slots_[key];
    if (slot.number == 0) return nothing_;
    completion.hear(slot.question, slot.number);
    return results_[slot.result];
  }
  // Which of the key's results was got in this run, from 1; 0: none yet.
  std::uint32_t number_of(std::uint32_t key) const { return slots_[key].number; }

  // Too much is kept: between completions it is to be forgotten. Until then results stay where they are.
  bool is_full() const { return nodes_.size() > kMostNodes || results_.size() > kMostNodes; }
  void forget() { *this = Remembered(kind_, run_); }

 private:
  static constexpr std::size_t kMostNodes = 200'000;

  struct Slot {
    Run run = 0;                // that `number` and `result` are of
    std::uint32_t number = 0;
    std::uint32_t result = 0;   // index into results_
    std::uint32_t root = 0;     // node; 0: none yet
    std::uint32_t results = 0;  // different ones so far
    Question question = 0;      // that work around this asks
  };
  struct Node {
    bool has_question = false;
    bool has_result = false;
    Question question = 0;
    std::uint32_t number = 0;
    std::uint32_t result = 0;
    std::vector<std::uint32_t> branches;  // by answer: node, or 0
  };

  Remembered(Asked::Kind kind, Run run) : kind_(kind), run_(run) {}

  template <class Work>
  void find(std::uint32_t key, Run run, Completion& completion, Work work) {
    slots_[key].run = run;
    slots_[key].number = 0;
    const std::size_t from = completion.start_listening();
    std::uint32_t node = walk(slots_[key].root, completion);
    if (node == 0) {
      Result result = work();
      node = keep(key, completion, std::move(result), completion.stop_listening(from));
    } else {
      completion.drop_listening(from);
    }
    slots_[key].number = nodes_[node].number;
    slots_[key].result = nodes_[node].result;
  }

  // The node of a result that stands under what this completion answers, or 0.
  std::uint32_t walk(std::uint32_t at, Completion& completion) {
    while (at != 0 && !nodes_[at].has_result) {
      if (!nodes_[at].has_question) return 0;
      const std::uint32_t answer = completion.answer(nodes_[at].question);
      const std::vector<std::uint32_t>& branches = nodes_[at].branches;
      at = answer < branches.size() ? branches[answer] : 0;
    }
    return at;
  }

  std::uint32_t new_node() {
    nodes_.emplace_back();
    return static_cast<std::uint32_t>(nodes_.size() - 1);
  }

  std::uint32_t keep(std::uint32_t key, const Completion& completion, Result result, const std::vector<Question>& asked) {
    Slot& slot = slots_[key];
    if (slot.root == 0) {
      slot.root = new_node();
      slot.question = completion.recall().number_of(Asked{.kind = kind_, .unknown = {.first = key}});
    }
    std::uint32_t at = slot.root;
    for (const Question question : asked) {
      require(!nodes_[at].has_question || nodes_[at].question == question, "work asks the same for the same answers");
      nodes_[at].has_question = true;
      nodes_[at].question = question;
      const std::uint32_t answer = completion.reply(question);
      if (answer >= nodes_[at].branches.size()) nodes_[at].branches.resize(answer + 1, 0);
      std::uint32_t next = nodes_[at].branches[answer];
      if (next == 0) {
        next = new_node();
        nodes_[at].branches[answer] = next;
      }
      at = next;
    }
    nodes_[at].has_result = true;
    std::tie(nodes_[at].number, nodes_[at].result) = number(key, std::move(result));
    return at;
  }

  std::pair<std::uint32_t, std::uint32_t> number(std::uint32_t key, Result result) {
    const std::uint64_t hash = (hash_of(result) ^ key) * 0x9e3779b97f4a7c15U;
    const auto [begin, end] = known_.equal_range(hash);
    for (auto known = begin; known != end; ++known) {
      const auto [of, number, index] = known->second;
      if (of == key && results_[index] == result) return {number, index};
    }
    const auto index = static_cast<std::uint32_t>(results_.size());
    results_.push_back(std::move(result));
    known_.emplace(hash, std::tuple(key, ++slots_[key].results, index));
    return {slots_[key].results, index};
  }

  Asked::Kind kind_;
  Run run_ = 0;
  Result nothing_{};
  std::vector<Slot> slots_;   // by key
  std::deque<Node> nodes_{1};  // 0 stands for none
  std::deque<Result> results_;
  std::unordered_multimap<std::uint64_t, std::tuple<std::uint32_t, std::uint32_t, std::uint32_t>> known_;  // by hash: key, number, index
};

}  // namespace kitgap
