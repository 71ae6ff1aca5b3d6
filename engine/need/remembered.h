#pragma once

#include <deque>
#include <utility>
#include <vector>

#include "need/completion.h"
#include "value/internal_error.h"

namespace kitgap {

// Results of one kind of work, by key, each under the answers that it came from: a tree of questions per key. The
// work is done again only where a completion answers something otherwise than any before.
template <class Result>
class Remembered {
 public:
  struct Known {
    const Result* result = nullptr;  // stays where it is
    const std::vector<Question>* asked = nullptr;
  };

  // `work` must ask the same in the same order for the same answers, as all work over completions.
  template <class Work>
  Known get(std::uint32_t key, Completion& completion, Work work) {
    if (const auto known = walk(key, completion)) return *known;
    const std::size_t from = completion.start_listening();
    Result result = work();
    std::vector<Question> asked = completion.stop_listening(from);
    return keep(key, completion, std::move(result), std::move(asked));
  }

  // Forgets everything when it has become too much. Between completions only: until then results stay where they are.
  void trim() {
    constexpr std::size_t kMostNodes = 200'000;
    if (nodes_.size() <= kMostNodes && asked_ <= 4 * kMostNodes) return;
    *this = Remembered();
  }

 private:
  struct Node {
    bool has_question = false;
    Question question = 0;
    std::vector<std::pair<std::uint32_t, std::uint32_t>> branches;  // answer, node
    Known known;
  };

  std::optional<Known> walk(std::uint32_t key, Completion& completion) {
    if (key >= roots_.size()) return std::nullopt;
    std::uint32_t at = roots_[key];
    while (at != 0) {
      if (nodes_[at].known.result != nullptr) return nodes_[at].known;
      if (!nodes_[at].has_question) return std::nullopt;
      at = branch_of(at, completion.answer(nodes_[at].question));
    }
    return std::nullopt;
  }

  std::uint32_t branch_of(std::uint32_t at, std::uint32_t answer) const {
    for (const auto& [of, node] : nodes_[at].branches) {
      if (of == answer) return node;
    }
    return 0;
  }

  std::uint32_t new_node() {
    nodes_.emplace_back();
    return static_cast<std::uint32_t>(nodes_.size() - 1);
  }

  Known keep(std::uint32_t key, const Completion& completion, Result result, std::vector<Question> asked) {
    if (key >= roots_.size()) roots_.resize(key + 1, 0);
    if (roots_[key] == 0) roots_[key] = new_node();
    std::uint32_t at = roots_[key];
    for (const Question question : asked) {
      require(!nodes_[at].has_question || nodes_[at].question == question, "work asks the same for the same answers");
      nodes_[at].has_question = true;
      nodes_[at].question = question;
      const std::uint32_t answer = completion.reply(question);
      std::uint32_t next = branch_of(at, answer);
      if (next == 0) {
        next = new_node();
        nodes_[at].branches.emplace_back(answer, next);
      }
      at = next;
    }
    asked_ += asked.size();
    results_.push_back({std::move(result), std::move(asked)});
    return nodes_[at].known = {.result = &results_.back().first, .asked = &results_.back().second};
  }

  std::vector<std::uint32_t> roots_;  // by key; 0: none
  std::deque<Node> nodes_{1};         // 0 stands for none
  std::deque<std::pair<Result, std::vector<Question>>> results_;
  std::size_t asked_ = 0;  // questions that the results keep
};

}  // namespace kitgap
