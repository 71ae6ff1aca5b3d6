#pragma once

#include <boost/container/small_vector.hpp>
#include <deque>
#include <optional>
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
  // With a kind, work around this asks for the result, as a question of that kind. Without, it asks what this asks: that
  // is cheaper where little work asks for it, and each of its results is told apart anyhow.
  explicit Remembered(std::optional<Asked::Kind> kind = std::nullopt) : kind_(kind) {}

  // The result for this completion; `work` must ask the same in the same order for the same answers, as all work over
  // completions. Asked for while it is being worked out (needs in a ring) it is empty.
  template <class Work>
  const Result& get(std::uint32_t key, Completion& completion, Work work) {
    const std::uint32_t number = number_of(key, completion, work);
    return number == 0 ? nothing_ : *slots_[key].results[number - 1];
  }
  // Which of the key's results it is, from 1; 0: it is being worked out.
  template <class Work>
  std::uint32_t number_of(std::uint32_t key, Completion& completion, Work work) {
    if (key >= slots_.size()) slots_.resize(key + 1);
    if (slots_[key].is_being_found) return 0;
    if (slots_[key].root == 0) slots_[key].root = new_node();
    if (const std::uint32_t number = number_in_all(key); number != 0) return number;
    if (const auto question = slots_[key].question; question && completion.is_replied(*question)) return completion.reply(*question);
    const std::uint32_t number = find(key, completion, work);
    if (!kind_ || number_in_all(key) != 0) return number;
    if (!slots_[key].question) slots_[key].question = completion.recall().new_question(Asked{.kind = *kind_, .unknown = {.first = key}});
    const Question question = *slots_[key].question;
    if (!completion.is_replied(question)) completion.reply_with(question, number);
    return number;
  }

  // Too much is kept: between completions it is to be forgotten. Until then results stay where they are.
  bool is_full() const { return nodes_.size() > kMostNodes || results_.size() > kMostNodes; }
  // A completion that was answered from here must start over.
  void forget() {
    for (Slot& slot : slots_) {
      slot.root = 0;
      slot.results.clear();
    }
    nodes_.assign(1, {});
    results_.clear();
    by_hash_.clear();
  }

 private:
  static constexpr std::size_t kMostNodes = 200'000;
  static constexpr std::size_t kFewResults = 8;

  struct Slot {
    std::uint32_t root = 0;  // node; 0: never asked
    std::optional<Question> question;  // that work around this asks, where not all completions answer it alike
    bool is_being_found = false;
    std::vector<const Result*> results;  // the different ones so far
  };
  // What to ask next, or a result.
  struct Node {
    bool has_question = false;
    Question question = 0;
    std::uint32_t number = 0;             // of the result, from 1; 0: none here
    boost::container::small_vector<std::uint32_t, 4> branches;  // by answer: node, or 0
  };

  template <class Work>
  std::uint32_t find(std::uint32_t key, Completion& completion, Work& work) {
    slots_[key].is_being_found = true;
    const std::size_t from = completion.start_listening();
    std::uint32_t number = walk(slots_[key].root, completion);
    if (number == 0) {
      Result result = work();
      number = keep(key, completion, std::move(result), completion.heard_since(from));
    }
    completion.stop_listening(from, !kind_);
    slots_[key].is_being_found = false;
    return number;
  }

  // The number of the result that stands under what this completion answers, or 0.
  std::uint32_t walk(std::uint32_t at, Completion& completion) {
    while (at != 0 && nodes_[at].has_question) {
      const std::uint32_t answer = completion.answer(nodes_[at].question);
      const auto& branches = nodes_[at].branches;  // an answer may have made nodes
      at = answer < branches.size() ? branches[answer] : 0;
    }
    return nodes_[at].number;
  }

  // The number of what comes out alike in every completion, for the work asked nothing; else 0. It is no question then.
  std::uint32_t number_in_all(std::uint32_t key) const {
    const Node& root = nodes_[slots_[key].root];
    return root.has_question ? 0 : root.number;
  }

  std::uint32_t new_node() {
    nodes_.emplace_back();
    return static_cast<std::uint32_t>(nodes_.size() - 1);
  }

  std::uint32_t keep(std::uint32_t key, const Completion& completion, Result result, const std::vector<Question>& asked) {
    std::uint32_t at = slots_[key].root;
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
    return nodes_[at].number = number(key, std::move(result));
  }

  // Most keys come to few results: past a handful they are found by hash.
  std::uint32_t number(std::uint32_t key, Result result) {
    std::vector<const Result*>& results = slots_[key].results;
    const auto hash_for = [key](const Result& of) { return (hash_of(of) ^ key) * 0x9e3779b97f4a7c15U; };
    if (results.size() < kFewResults) {
      for (std::size_t known = 0; known < results.size(); ++known) {
        if (*results[known] == result) return static_cast<std::uint32_t>(known + 1);
      }
    } else {
      const auto [begin, end] = by_hash_.equal_range(hash_for(result));
      for (auto known = begin; known != end; ++known) {
        const auto [of, number] = known->second;
        if (of == key && *results[number - 1] == result) return number;
      }
    }
    results_.push_back(std::move(result));
    results.push_back(&results_.back());
    const auto count = static_cast<std::uint32_t>(results.size());
    for (std::uint32_t number = count == kFewResults ? 1 : count; count >= kFewResults && number <= count; ++number) {
      by_hash_.emplace(hash_for(*results[number - 1]), std::pair(key, number));
    }
    return count;
  }

  std::optional<Asked::Kind> kind_;
  Result nothing_{};
  std::vector<Slot> slots_;     // by key
  std::vector<Node> nodes_{1};  // 0 stands for none
  std::deque<Result> results_;
  std::unordered_multimap<std::uint64_t, std::pair<std::uint32_t, std::uint32_t>> by_hash_;  // key, number; of keys with many
};

}  // namespace kitgap
