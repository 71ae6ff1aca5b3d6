#include <algorithm>
#include <unordered_map>
#include <utility>

#include "cover/answer.h"

namespace kitgap {
namespace {

// More pieces of a fact's values than this are not told apart when asking what an answer would settle.
constexpr std::size_t kMaxCells = 200;

// The finest pieces of `whole` that the sets tell apart.
std::vector<ValueSet> cells_of(const ValueSet& whole, const std::vector<ValueSet>& sets) {
  std::vector<ValueSet> cells{whole};
  for (const ValueSet& set : sets) {
    std::vector<ValueSet> finer;
    for (const ValueSet& cell : cells) {
      for (ValueSet piece : {cell & set, cell - set}) {
        if (!piece.is_empty()) finer.push_back(std::move(piece));
      }
    }
    cells = std::move(finer);
    if (cells.size() > kMaxCells) break;
  }
  return cells;
}

class Questioner {
 public:
  Questioner(const CoverModel& model, const Component& component, const Recall& recall, const Leaves& leaves, Answer& answer)
      : model_(model), knowledge_(model.needs().knowledge()), component_(component), recall_(recall), sets_(leaves.sets), leaves_(leaves.leaves), is_cut_(leaves.is_cut), answer_(answer) {}

  void ask() {
    for (std::size_t line = 0; line < component_.lines.size(); ++line) {
      const LineAnswer* answer = answer_.find(component_.lines[line]);
      if (answer != nullptr && answer->status == Status::ToSettle) open_.push_back(line);
    }
    if (open_.empty()) return;
    // Where all completions leave the facts the same, no fact makes a difference.
    if (sets_.size() > 1) {
      for (const FactId fact : knowledge_.unknown()) ask_fact(fact);
    }
    ask_choices();
    if (is_cut_) ask_unvaried();
  }

 private:
  void ask_fact(FactId fact) {
    std::vector<ValueSet> sets;
    for (const FactSets& here : sets_) {
      if (std::ranges::find(sets, here[fact.index]) == sets.end()) sets.push_back(here[fact.index]);
    }
    const bool is_asked = sets.size() > 1 || sets.front() != knowledge_.sets()[fact.index];
    if (!is_asked && !knowledge_.is_linked(fact)) return;
    if (knowledge_.is_linked(fact)) {
      // Facts derived from this one are cut where the derivations cut it.
      for (const FactRow& row : model_.rules().fact_rows) {
        for (const Condition::Test& test : model_.rules().condition(row.condition).tests) {
          if (test.fact == fact) sets.push_back(test.values);
        }
      }
    }
    const std::vector<ValueSet> cells = cells_of(knowledge_.sets()[fact.index], sets);
    if (cells.size() < 2) return;
    std::vector<std::vector<std::size_t>> leaves_of_cell;
    for (const ValueSet& cell : cells) {
      std::vector<bool> is_possible;
      for (const FactSets& here : sets_) {
        ValueSet narrowed = here[fact.index] & cell;
        if (narrowed.is_empty() || narrowed == here[fact.index] || !knowledge_.is_linked(fact)) {
          is_possible.push_back(!narrowed.is_empty());
          continue;
        }
        FactSets sets_here = here;
        sets_here[fact.index] = std::move(narrowed);
        is_possible.push_back(knowledge_.is_consistent(sets_here));
      }
      std::vector<std::size_t> compatible;
      for (std::size_t leaf = 0; leaf < leaves_.size(); ++leaf) {
        if (is_possible[leaves_[leaf].sets]) compatible.push_back(leaf);
      }
      leaves_of_cell.push_back(std::move(compatible));
    }
    add({.kind = Unknown::Kind::Fact, .first = fact.index}, leaves_of_cell);
  }

  void ask_choices() {
    struct Options {
      Question question;
      std::uint32_t count = 0;
    };
    std::map<Unknown, Options> options;
    std::unordered_map<Question, Options*> by_question;
    for (const Leaf& leaf : leaves_) {
      for (const auto& [question, taken] : leaf.choices) {
        Options*& known = by_question[question];
        if (known == nullptr) known = &options.try_emplace(recall_.asked(question).unknown, Options{.question = question}).first->second;
        known->count = std::max(known->count, taken + 1);
      }
    }
    for (const auto& [unknown, of] : options) {
      std::vector<std::vector<std::size_t>> leaves_of_answer(of.count);
      for (std::size_t leaf = 0; leaf < leaves_.size(); ++leaf) {
        const auto taken = std::ranges::find(leaves_[leaf].choices, of.question, [](const auto& choice) { return choice.first; });
        for (std::size_t answer = 0; answer < of.count; ++answer) {
          if (taken == leaves_[leaf].choices.end() || taken->second == answer) leaves_of_answer[answer].push_back(leaf);
        }
      }
      if (of.count == 1) unvaried_.push_back(unknown);
      add(unknown, leaves_of_answer);
    }
  }

  // What was decided first is the same in all completions that were looked at: a line that no other question names
  // may hang on any of it.
  void ask_unvaried() {
    std::vector<LineId> unnamed;
    for (const std::size_t line : open_) {
      const LineId id = component_.lines[line];
      const bool is_named = std::ranges::any_of(answer_.questions, [&](const OpenQuestion& question) { return std::ranges::find(question.lines, id) != question.lines.end(); });
      if (!is_named) unnamed.push_back(id);
    }
    if (unnamed.empty()) return;
    for (const Unknown& unknown : unvaried_) answer_.questions.push_back({.unknown = unknown, .lines = unnamed, .settles = 0});
  }

  // A line hangs on a question when its answers make a difference to it; it is settled when no answer leaves it open.
  void add(Unknown unknown, const std::vector<std::vector<std::size_t>>& leaves_of_answer) {
    OpenQuestion question{.unknown = unknown, .lines = {}, .settles = 0};
    for (const std::size_t line : open_) {
      bool leaves_open = false;
      bool can_be_short = false;
      bool can_be_covered = false;
      bool differs = false;
      for (const std::vector<std::size_t>& leaves : leaves_of_answer) {
        if (leaves.empty()) continue;  // no car answers so
        bool any_short = false;
        bool any_covered = false;
        for (const std::size_t leaf : leaves) (leaves_[leaf].is_short[line] ? any_short : any_covered) = true;
        leaves_open = leaves_open || (any_short && any_covered);
        differs = differs || (any_short != can_be_short && (can_be_short || can_be_covered)) || (any_covered != can_be_covered && (can_be_short || can_be_covered));
        can_be_short = can_be_short || any_short;
        can_be_covered = can_be_covered || any_covered;
      }
      if (!differs) continue;
      question.lines.push_back(component_.lines[line]);
      if (!leaves_open) ++question.settles;
    }
    if (question.lines.empty()) return;
    const auto known = std::ranges::find(answer_.questions, unknown, &OpenQuestion::unknown);
    if (known == answer_.questions.end()) {
      answer_.questions.push_back(std::move(question));
    } else {
      known->lines.insert(known->lines.end(), question.lines.begin(), question.lines.end());
      known->settles += question.settles;
    }
  }

  const CoverModel& model_;
  const Knowledge& knowledge_;
  const Component& component_;
  const Recall& recall_;
  const std::vector<FactSets>& sets_;
  const std::vector<Leaf>& leaves_;
  bool is_cut_;
  Answer& answer_;
  std::vector<std::size_t> open_;  // lines of the component that are to settle
  std::vector<Unknown> unvaried_;  // choices that all leaves take the same way
};

}  // namespace

void add_questions(const CoverModel& model, const Component& component, const Recall& recall, const Leaves& leaves, Answer& answer) {
  if (leaves.leaves.size() < 2) return;
  Questioner(model, component, recall, leaves, answer).ask();
}

}  // namespace kitgap
