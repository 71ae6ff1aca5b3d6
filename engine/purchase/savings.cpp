#include "purchase/savings.h"

#include <algorithm>

#include "need/completion.h"
#include "purchase/search.h"

namespace kitgap {
namespace {

constexpr std::size_t kMostQuestions = 12;  // of a car
constexpr std::size_t kMostAnswers = 12;
constexpr std::size_t kMostCompletions = 256;
constexpr std::int64_t kNodes = 200;

// What one line lacks in one way that things may turn out.
struct Outcome {
  FactSets sets;
  std::map<Unknown, std::size_t> choices;
  Fraction gap;
};

class CarQuestions {
 public:
  CarQuestions(const CarOfOrder& car, const CoverModel& cover) : car_(car), cover_(cover) {
    for (const LineAnswer& line : car.answer->lines) gaps_[line.line] = line.gap.hi;
  }

  const std::map<LineId, Fraction>& gaps() const { return gaps_; }

  // Per answer that can be told apart: what the lines that hang on the question would lack then.
  std::vector<std::map<LineId, Fraction>> answers(const OpenQuestion& question, const std::map<LineId, std::size_t>& in_order) {
    std::vector<LineId> lines;
    for (const LineId line : question.lines) {
      if (in_order.contains(line) && gaps_.at(line).sign() > 0) lines.push_back(line);
    }
    std::vector<std::map<LineId, Fraction>> answers;
    if (lines.empty()) return answers;
    if (question.unknown.kind == Unknown::Kind::Fact) {
      const FactId fact{question.unknown.first};
      for (const ValueSet& cell : cells_of(fact, lines)) {
        answers.push_back(gaps_if(lines, [&](const Outcome& outcome) { return !(outcome.sets[fact.index] & cell).is_empty(); }));
      }
      return answers;
    }
    for (std::size_t taken = 0; taken < kMostAnswers; ++taken) {
      bool any = false;
      answers.push_back(gaps_if(lines, [&](const Outcome& outcome) {
        const auto choice = outcome.choices.find(question.unknown);
        any = any || (choice != outcome.choices.end() && choice->second == taken);
        return choice == outcome.choices.end() || choice->second == taken;
      }));
      if (any) continue;
      answers.pop_back();
      break;
    }
    return answers;
  }

 private:
  std::vector<ValueSet> cells_of(FactId fact, const std::vector<LineId>& lines) {
    std::vector<ValueSet> cells{car_.needs->knowledge().sets()[fact.index]};
    for (const LineId line : lines) {
      for (const Outcome& outcome : outcomes_of(line)) {
        std::vector<ValueSet> finer;
        for (const ValueSet& cell : cells) {
          for (ValueSet piece : {cell & outcome.sets[fact.index], cell - outcome.sets[fact.index]}) {
            if (!piece.is_empty()) finer.push_back(std::move(piece));
          }
        }
        if (finer.size() > kMostAnswers) return cells;
        cells = std::move(finer);
      }
    }
    return cells;
  }

  template <class Fits>
  std::map<LineId, Fraction> gaps_if(const std::vector<LineId>& lines, Fits fits) {
    std::map<LineId, Fraction> gaps;
    for (const LineId line : lines) {
      Fraction greatest;
      for (const Outcome& outcome : outcomes_of(line)) {
        if (fits(outcome)) greatest = std::max(greatest, outcome.gap);
      }
      gaps[line] = outcomes_of(line).empty() ? gaps_.at(line) : std::min(greatest, gaps_.at(line));
    }
    return gaps;
  }

  // Empty when there are too many to look at.
  const std::vector<Outcome>& outcomes_of(LineId line) {
    const auto [found, is_new] = outcomes_.try_emplace(line);
    if (!is_new) return found->second;
    Diagnostics ignored;
    Recall recall(car_.needs->knowledge());
    Worked worked;
    std::vector<Outcome> outcomes;
    const bool all = Explorer(recall, kMostCompletions).explore([&](Completion& completion) {
      Problems problems(ignored);
      Fraction gap = Solver(cover_, completion, problems, worked).cover(line).gap();
      Outcome outcome{completion.sets(), {}, std::move(gap)};
      for (const auto& [asked, taken] : completion.choices()) outcome.choices.emplace(recall.asked(asked).unknown, taken);
      outcomes.push_back(std::move(outcome));
    });
    if (all) found->second = std::move(outcomes);
    return found->second;
  }

  const CarOfOrder& car_;
  const CoverModel& cover_;
  std::map<LineId, Fraction> gaps_;
  std::map<LineId, std::vector<Outcome>> outcomes_;
};

}  // namespace

std::vector<QuestionSaving> savings_of(const std::vector<CarOfOrder>& cars, const std::vector<const CoverModel*>& covers, const CarPurchase& purchase,
                                       const CarPurchaseOptions& options, const Plan& plan, const PlanOptions& plan_options) {
  std::vector<QuestionSaving> savings;
  if (plan.status != PlanStatus::Optimal || !plan.conflict.empty() || options.least) return savings;
  const SearchControl all(plan_options, 1);
  for (std::size_t car = 0; car < cars.size(); ++car) {
    CarQuestions questions(cars[car], *covers[car]);
    const auto& open = cars[car].answer->questions;
    for (std::size_t at = 0; at < std::min(open.size(), kMostQuestions) && !all.should_stop(); ++at) {
      QuestionSaving saving{car, at, Fraction(0), true};
      for (const auto& gaps : questions.answers(open[at], purchase.spot_of_line[car])) {
        const ScaledPurchase scaled = scale_purchase(with_gaps(purchase, car, questions.gaps(), gaps, options.confidence));
        SearchControl control(plan_options, scaled.money_scale);
        control.node_limit = kNodes;
        control.quiet = true;
        const SearchOutcome outcome = search_purchase(scaled, control);
        const Fraction saves = plan.total - Fraction::of(outcome.proven ? outcome.cost : outcome.bound, scaled.money_scale);
        if (saves <= saving.most) continue;
        saving.most = saves;
        saving.exact = outcome.proven;
      }
      if (saving.most.sign() > 0) savings.push_back(saving);
    }
  }
  std::ranges::stable_sort(savings, [](const auto& a, const auto& b) { return a.most > b.most; });
  return savings;
}

}  // namespace kitgap
