#include "cover/answer.h"

#include <algorithm>
#include <iterator>
#include <span>

#include "cover/spare.h"
#include "need/clashes.h"

namespace kitgap {
namespace {

// What is gathered of one line over the completions.
struct Gathered {
  bool is_met = false;
  LineAnswer answer;
  std::optional<std::vector<Completion::Decision>> least_gap;  // the way to a completion with the least gap
  std::size_t leaves = 0;
  std::map<std::tuple<CoverPiece::From, std::uint32_t, std::uint32_t>, std::pair<Covered, std::size_t>> covered;
  // Most completions come to the same as some before.
  struct Met {
    const LineCover* cover;
    const LineFigure* figure;  // null for a small need
    std::size_t leaves;
  };
  std::vector<Met> met;
};

class Gatherer {
 public:
  Gatherer(const CoverModel& model, Problems& problems) : model_(model), problems_(problems), recall_(model.needs().knowledge()), gathered_(model.needs().lines().size()) {}

  Answer gather() {
    for (std::size_t index = 0; index < model_.components().size(); ++index) gather_component(index);
    finish_lines();
    gather_unneeded();
    answer_.spare = spare_.answers(model_.rules());
    answer_.fits = fits_of(model_, recall_);
    settle_status();
    add_checks(model_, answer_);
    add_cautions(model_, answer_);
    return std::move(answer_);
  }

 private:
  void gather_component(std::size_t index) {
    const Component& component = model_.components()[index];
    std::vector<std::uint32_t> left_here;  // what an item leaves is counted once, after the last of its groups
    std::ranges::copy_if(component.items, std::back_inserter(left_here), [&](std::uint32_t item) { return model_.components_of_item(item).back() == index; });
    Leaves leaves;
    GroupSpare spare(model_);
    constexpr std::size_t kKeptLeaves = 20'000;
    constexpr std::size_t kKeptChoices = 500'000;
    std::size_t kept_choices = 0;
    Explorer explorer(recall_);
    const bool is_whole = explorer.explore([&](Completion& completion) {
      if (worked_.is_full()) {
        for (const LineId line : component.lines) count_met(gathered_[line.index]);
        worked_.forget();
        completion.start_over();
      }
      Solver solver(model_, completion, problems_, worked_);
      Leaf leaf;
      for (const LineId line : component.lines) {
        const LineCover& cover = solver.cover(line);
        // A line that is not called for has no other figures to be asked.
        leaf.is_short.push_back(cover.gap().sign() > 0);
        gather_line(line, cover, solver);
      }
      spare.gather(left_here, solver);
      if (leaves.leaves.size() < kKeptLeaves && kept_choices < kKeptChoices) {
        leaf.sets = number_of(completion.sets(), leaves.sets);
        leaf.choices = completion.choices();
        kept_choices += leaf.choices.size();
        leaves.leaves.push_back(std::move(leaf));
      } else {
        leaves.is_cut = true;
      }
      if (completion.is_exact()) return;
      for (const LineId line : component.lines) gathered_[line.index].answer.is_exact = false;
    });
    for (const LineId line : component.lines) count_met(gathered_[line.index]);
    spare_.add(spare);
    if (!is_whole) {
      leaves.is_cut = true;
      bound_component(component);
    }
    waiting_questions_.emplace_back(index, std::move(leaves));
  }

  static std::size_t number_of(const FactSets& sets, std::vector<FactSets>& known) {
    // Completions that follow each other mostly differ in choices only.
    const auto same = std::find(known.rbegin(), known.rend(), sets);
    if (same != known.rend()) return static_cast<std::size_t>(known.rend() - same) - 1;
    known.push_back(sets);
    return known.size() - 1;
  }

  void gather_line(LineId id, const LineCover& cover, Solver& solver) {
    Gathered& gathered = gathered_[id.index];
    const LineFigure* figure = model_.needs().line(id).is_small ? nullptr : &solver.figure(id);
    const auto known = std::ranges::find_if(gathered.met, [&](const Gathered::Met& met) { return met.cover == &cover && met.figure == figure; });
    if (known != gathered.met.end()) {
      ++known->leaves;
      return;
    }
    gathered.met.push_back({&cover, figure, 1});
    LineAnswer& answer = gathered.answer;
    const bool is_first = !gathered.is_met;
    gathered.is_met = true;
    answer.line = id;
    const bool has_less_gap = is_first || cover.gap() < answer.gap.lo;
    answer.need.widen(cover.need, is_first);
    answer.have.widen(cover.have, is_first);
    answer.gap.widen(cover.gap(), is_first);
    if (has_less_gap) gathered.least_gap = solver.completion().decisions();
    Fraction in_hand, on_order, planned, from_old, by_work;
    for (const CoverPiece& piece : cover.pieces) {
      if (piece.from == CoverPiece::From::Work) by_work += piece.quantity;
      if (piece.from == CoverPiece::From::Old || piece.from == CoverPiece::From::OldAssembly) {
        from_old += piece.quantity;
        answer.has_old_in_some = true;
      }
      if (piece.from == CoverPiece::From::Item || piece.from == CoverPiece::From::Bundle) {
        const SupplySource source = model_.supplies().lines[model_.supplies().items[piece.item].line].source;
        (source == SupplySource::Stock ? in_hand : source == SupplySource::Order ? on_order : planned) += piece.quantity;
      }
      answer.has_stand_in = answer.has_stand_in || piece.is_stand_in;
    }
    const auto least = [&](Fraction& kept, const Fraction& now) { kept = is_first ? now : std::min(kept, now); };
    least(answer.in_hand, in_hand);
    least(answer.on_order, on_order);
    least(answer.planned, planned);
    least(answer.from_old, from_old);
    least(answer.by_work, by_work);
    gather_reasons(answer, cover.need, figure, is_first);
  }

  static void count_met(Gathered& gathered) {
    for (const Gathered::Met& met : gathered.met) gather_covered(gathered, *met.cover, met.leaves);
    gathered.met.clear();
  }

  static void gather_covered(Gathered& gathered, const LineCover& cover, std::size_t leaves) {
    std::map<std::tuple<CoverPiece::From, std::uint32_t, std::uint32_t>, Covered> here;
    for (const CoverPiece& piece : cover.pieces) {
      Covered& entry = here[{piece.from, piece.item, piece.old_line.index}];
      entry.from = piece.from;
      entry.item = piece.item;
      entry.old_line = piece.old_line;
      entry.is_stand_in = entry.is_stand_in || piece.is_stand_in;
      entry.quantity.lo += piece.quantity;
    }
    for (auto& [key, entry] : here) {
      auto [known, is_new] = gathered.covered.try_emplace(key, entry, 0);
      auto& [covered, met] = known->second;
      const Fraction now = entry.quantity.lo;
      if (is_new) covered.quantity = {now, now};
      covered.quantity.lo = std::min(covered.quantity.lo, now);
      covered.quantity.hi = std::max(covered.quantity.hi, now);
      met += leaves;
    }
    gathered.leaves += leaves;
  }

  static void gather_reasons(LineAnswer& answer, const Fraction& need, const LineFigure* of_line, bool is_first) {
    if (is_first) answer.basis = Basis::CountedInShell;
    if (of_line == nullptr) {
      answer.basis = std::max(answer.basis, Basis::Estimate);
      return;
    }
    const LineFigure& figure = *of_line;
    // A row that leaves nothing of the need on some cars is a reason too; one that has no parent there is not.
    if (need.is_zero() && !figure.per_parent.is_zero()) return;
    if (!need.is_zero()) {
      answer.stops = answer.stops || figure.stops;
      answer.basis = std::max(answer.basis, figure.basis);
    }
    if (figure.table_differs) answer.table_figure = figure.table_figure;
    for (const Contribution& contribution : figure.because) {
      if (std::ranges::find(answer.because, contribution) == answer.because.end()) answer.because.push_back(contribution);
    }
  }

  // Pieces that nothing calls for are spare as they are, where they fit.
  void gather_unneeded() {
    for (std::uint32_t item = 0; item < model_.supplies().items.size(); ++item) {
      if (!model_.components_of_item(item).empty()) continue;
      GroupSpare spare(model_);
      Explorer(recall_).explore([&](Completion& completion) {
        Solver solver(model_, completion, problems_, worked_);
        spare.gather(std::span(&item, 1), solver);
      });
      spare_.add(spare);
    }
  }

  // Too many completions: bounds that hold for all of them.
  void bound_component(const Component& component) {
    for (const LineId id : component.lines) {
      LineAnswer& answer = gathered_[id.index].answer;
      answer.is_exact = false;
      answer.need = bounded_need(id);
      // Nothing is sure to cover it on all of them, and what may could be all of it.
      for (auto& [key, entry] : gathered_[id.index].covered) entry.first.quantity = {Fraction(0), answer.need.hi};
      answer.have = {Fraction(0), answer.need.hi};
      answer.gap = {Fraction(0), answer.need.hi};
      answer.in_hand = answer.on_order = answer.planned = answer.from_old = answer.by_work = Fraction(0);
    }
    // Old pieces are named though no completion that was looked at moves them: what is not named is thrown away.
    std::map<LineId, const CoverArc*> goes_to;  // its own line where that is one of them
    for (const CoverArc& arc : component.arcs) {
      if (arc.item) continue;
      const CoverArc*& kept = goes_to[arc.old_line];
      if (kept == nullptr || arc.line == arc.old_line) kept = &arc;
    }
    for (const auto& [old_line, arc] : goes_to) {
      Gathered& gathered = gathered_[arc->line.index];
      const Range any{Fraction(0), gathered.answer.need.hi};
      gathered.answer.has_old_in_some = true;
      gathered.covered.try_emplace({CoverPiece::From::Old, 0, old_line.index},
                                   Covered{.from = CoverPiece::From::Old, .item = 0, .old_line = old_line, .is_stand_in = arc->is_stand_in, .quantity = any}, 0);
    }
  }

  // What is needed hangs on less than what covers it: often it can be told all the same, and why.
  Range bounded_need(LineId id) {
    if (model_.needs().line(id).is_small) return {Fraction(0), greatest_need(id, 0)};
    Range need;
    bool is_first = true;
    const bool is_whole = Explorer(recall_).explore([&](Completion& completion) {
      if (worked_.is_full()) {
        worked_.forget();
        completion.start_over();
      }
      Solver solver(model_, completion, problems_, worked_);
      const LineFigure& figure = solver.figure(id);
      need.widen(figure.need, is_first);
      gather_reasons(gathered_[id.index].answer, figure.need, &figure, false);
      is_first = false;
    });
    return is_whole ? need : Range{Fraction(0), greatest_need(id, 0)};
  }

  Fraction greatest_need(LineId id, int depth) {
    const Line& line = model_.needs().line(id);
    const Rules& rules = model_.rules();
    if (depth > 32) return Solver::enough();
    Fraction greatest;
    Fraction added;
    for (const std::uint32_t index : line.rows) {
      const auto& constant = rules.figures[rules.needs[index].quantity.index].quantity.constant;
      if (!constant && rules.needs[index].effect != Effect::Drops) return Solver::enough();
      if (rules.needs[index].effect == Effect::Sets) greatest = std::max(greatest, *constant);
      if (rules.needs[index].effect == Effect::Adds) added += *constant;
    }
    if (!line.consumes.empty() || line.is_small) return Solver::enough();
    greatest += added;
    if (line.count.in_shell || line.count.on_old_part) greatest = line.count.in_shell.value_or(line.count.on_old_part.value_or(Fraction(0)));
    if (line.parent == Rules::kCar) return greatest;
    Fraction parents;
    for (const LineId parent : model_.needs().lines_of(line.parent, line.position)) parents += greatest_need(parent, depth + 1);
    return std::min(greatest * parents, Solver::enough());
  }

  void finish_lines() {
    answer_.lines.reserve(static_cast<std::size_t>(std::ranges::count_if(gathered_, &Gathered::is_met)));
    for (std::uint32_t index = 0; index < gathered_.size(); ++index) {
      Gathered& gathered = gathered_[index];
      LineAnswer& answer = gathered.answer;
      if (!gathered.is_met || answer.need.hi.is_zero()) continue;
      for (auto& [key, entry] : gathered.covered) {
        if (entry.second < gathered.leaves) entry.first.quantity.lo = 0;
        answer.covered_by.push_back(entry.first);
      }
      if (answer.gap.lo.sign() > 0 && answer.is_exact) {
        Completion completion(recall_, *gathered.least_gap);
        Solver solver(model_, completion, problems_, worked_);
        replay(solver, model_.components()[model_.component_of(answer.line)]);
        answer.rivals = rivals_of(model_, solver, answer.line, answer.gap.lo);
      }
      std::ranges::sort(answer.because, {}, &Contribution::place);
      answer_.lines.push_back(std::move(answer));
    }
  }

  // The same questions in the same order as when the completion was explored.
  static void replay(Solver& solver, const Component& component) {
    for (const LineId line : component.lines) solver.cover(line);
  }

  bool has_misfit(const LineAnswer& answer) const {
    const Line& line = model_.needs().line(answer.line);
    return std::ranges::any_of(model_.supplies().items, [&](const SupplyItem& item) {
      return item.part == line.part && model_.supplies().lines[item.line].source == SupplySource::List && fits_never(model_, item) &&
             may_go(model_.rules().positions, model_.needs().part_row(item.part).fits, item.leaves, item.hand, item.is_place_open, line.position);
    });
  }

  void settle_status() {
    for (LineAnswer& answer : answer_.lines) {
      if (answer.gap.hi.is_zero()) answer.status = answer.has_old_in_some ? Status::MoveOver : Status::Covered;
      else if (answer.gap.lo.is_zero()) answer.status = Status::ToSettle;
      else if (!answer.have.hi.is_zero()) answer.status = Status::Short;
      else answer.status = has_misfit(answer) ? Status::DoesNotFit : Status::Missing;
      answer.stops = (answer.stops || model_.needs().line(answer.line).is_small) && answer.gap.lo.sign() > 0;
      answer_.stops_work = answer_.stops_work || answer.stops;
    }
    for (LineAnswer& answer : answer_.lines) {
      const Line& line = model_.needs().line(answer.line);
      if (answer.status != Status::Missing || line.parent == Rules::kCar || model_.needs().part_row(line.part).kind == PartKind::Consumable) continue;
      for (const LineId above : model_.needs().lines_of(line.parent, line.position)) {
        const LineAnswer* parent = answer_.find(above);
        if (parent != nullptr && (parent->status == Status::Missing || parent->status == Status::DoesNotFit)) answer.folded_under = above;
      }
    }
    for (const auto& [component, leaves] : waiting_questions_) add_questions(model_, model_.components()[component], recall_, leaves, answer_);
    std::ranges::stable_sort(answer_.questions, [](const OpenQuestion& a, const OpenQuestion& b) {
      return std::tuple(b.settles, a.unknown) < std::tuple(a.settles, b.unknown);
    });
  }

  const CoverModel& model_;
  Problems& problems_;
  Recall recall_;
  Worked worked_;
  std::vector<Gathered> gathered_;
  SpareSum spare_;
  std::vector<std::pair<std::size_t, Leaves>> waiting_questions_;
  Answer answer_;
};

}  // namespace

const LineAnswer* Answer::find(LineId line) const {
  const auto found = std::ranges::lower_bound(lines, line, {}, &LineAnswer::line);
  return found != lines.end() && found->line == line ? &*found : nullptr;
}

Answer answer_of(const CoverModel& model, Problems& problems) {
  report_clashes(model.needs().knowledge(), problems);
  if (problems.any()) return {};
  return Gatherer(model, problems).gather();
}

}  // namespace kitgap
