#include "analyse/years.h"

#include <algorithm>
#include <map>
#include <set>

#include "analyse/holes.h"
#include "analyse/years_order.h"
#include "analyse/years_profile.h"
#include "analyse/years_rows.h"

namespace kitgap {
namespace {

// More cells than this of one line along a further fact are not looked through: the change is then not placed.
constexpr std::size_t kMostCells = 200'000;

struct RawChange {
  FactId fact;
  ValueSet before, after;  // the cells on both sides
  Range was, now;
  std::vector<RowPlace> was_rows, now_rows;  // that speak on one side only
  std::vector<RowPlace> ties;                // rows that derive what those ask, and change there
  Box where;                                 // cells of the axes but the one it changes along
};

struct LineWork {
  YearsLeaves leaves;
  YearsAxes axes;
  std::vector<CellFigure> figures;
  std::vector<RawChange> changes;
};

bool is_ordered(const Rules& rules, FactId fact) {
  const FactType type = rules.facts[fact.index].domain.type;
  return type == FactType::Number || type == FactType::Date;
}

class YearsFinder {
 public:
  YearsFinder(const NeedModel& model, const YearsOptions& options)
      : model_(model), rules_(model.rules()), options_(options), profile_(model.knowledge()) {
    // The fact that figures run along comes last: its cells are then neighbours.
    axes_ = options.across;
    const auto ordered = std::ranges::find_if(axes_, [&](FactId fact) { return is_ordered(rules_, fact); });
    if (ordered != axes_.end()) {
      run_ = *ordered;
      axes_.erase(ordered);
    }
    others_ = axes_;
    if (run_) axes_.push_back(*run_);
  }

  Years run() {
    Years years;
    years.rules = &rules_;
    years.across = options_.across;
    for (const PackInfo& pack : rules_.packs) years.packs.push_back({pack.name, pack.version, pack.hash});
    for (const FactId fact : options_.across) years.spaces.push_back(model_.knowledge().sets()[fact.index]);
    for (std::uint32_t index = 0; index < rules_.facts.size(); ++index) {
      const ValueSet& set = model_.knowledge().sets()[index];
      if (set == rules_.fact_spaces[index]) continue;
      years.held.emplace_back(rules_.facts[index].name, set.to_unary_test());
    }
    for (std::uint32_t index = 0; index < model_.lines().size(); ++index) {
      const Line& line = model_.line(LineId{index});
      if (line.is_small || !line.is_in_work || !is_wanted(line)) continue;
      add_line(LineId{index}, years);
    }
    years.clashes.assign(clashes_.begin(), clashes_.end());
    std::ranges::sort(years.clashes, {}, [](const YearsRow& row) { return std::tie(row.pack, row.file, row.line, row.says); });
    years.orders = years_orders({.model = model_, .profile = profile_, .across = options_.across, .axes = axes_, .run = run_,
                                 .is_wanted = [&](const Line& line) { return is_wanted(line); },
                                 .leaves_of = [&](LineId line) -> const YearsLeaves& { return work_of(line).leaves; }});
    return years;
  }

 private:
  bool is_wanted(const Line& line) const {
    if (options_.only.empty()) return true;
    if (rules_.part_keys[line.part.index] == options_.only || rules_.part_keys[line.parent.index] == options_.only) return true;
    const auto position = rules_.positions.find(options_.only);
    return position && rules_.positions.is_within(line.position, *position);
  }

  void note_clashes(const Diagnostics& diagnostics) {
    for (const Diagnostic& diagnostic : diagnostics.sorted()) {
      const auto info = std::ranges::find_if(rules_.tables, [&](const TableInfo& table) { return table.table.source() == diagnostic.span.source; });
      if (info == rules_.tables.end()) continue;
      YearsRow row{.pack = rules_.packs[info->pack].name, .file = info->file, .line = diagnostic.span.line, .says = diagnostic.says, .source = {}};
      for (const FurtherSpan& further : diagnostic.further) row.says += "; the other row is in line " + std::to_string(further.span.line);
      if (std::ranges::find(clashes_, row) == clashes_.end()) clashes_.push_back(std::move(row));
    }
  }

  YearsLeaves leaves_of(LineId id) {
    YearsLeaves result;
    const Knowledge& knowledge = model_.knowledge();
    Diagnostics diagnostics;
    Problems problems(diagnostics);
    Recall recall(knowledge);
    Remembered<LineFigure> figures(Asked::Kind::Figure);
    const bool is_whole = Explorer(recall).explore([&](Completion& completion) {
      Needs needs(model_, completion, problems, figures);
      const LineFigure* figure = find_figure(model_, needs, id);
      YearsLeaf leaf{.narrowed = narrowed_of(completion, knowledge), .need = figure == nullptr ? Fraction(0) : figure->need, .because = {}};
      if (figure != nullptr) {
        for (const Contribution& contribution : figure->because) leaf.because.push_back(contribution.place);
      }
      result.is_exact = result.is_exact && completion.is_exact();
      result.leaves.push_back(std::move(leaf));
    });
    result.is_exact = result.is_exact && is_whole && !problems.any();
    note_clashes(diagnostics);
    return result;
  }

  const LineWork& work_of(LineId id) {
    if (const auto known = works_.find(id); known != works_.end()) return known->second;
    LineWork work;
    work.leaves = leaves_of(id);
    work.axes = profile_.axes(axes_, {&work.leaves});
    work.figures = profile_.figures(work.axes, work.leaves);
    if (run_) find_changes(work, work.axes, work.figures, *run_);
    for (const FactId fact : further_facts(work.leaves)) find_further_changes(work, fact);
    return works_.insert_or_assign(id, std::move(work)).first->second;
  }

  // Numbers and dates that are not across but decide: the line asks them, or what it asks is derived from them. One that
  // is itself derived is left to what it is derived from.
  std::vector<FactId> further_facts(const YearsLeaves& leaves) const {
    std::set<FactId> narrowed;
    for (const YearsLeaf& leaf : leaves.leaves) {
      for (const auto& [fact, set] : leaf.narrowed) narrowed.insert(fact);
    }
    const bool is_linked = std::ranges::any_of(narrowed, [&](FactId fact) { return model_.knowledge().is_linked(fact); });
    std::vector<FactId> facts;
    for (std::uint32_t index = 0; index < rules_.facts.size(); ++index) {
      const FactId fact{index};
      if (!is_ordered(rules_, fact) || std::ranges::find(axes_, fact) != axes_.end()) continue;
      if (model_.knowledge().sets()[index].is_single() || std::ranges::find(rules_.fact_rows, fact, &FactRow::fact) != rules_.fact_rows.end()) continue;
      if (narrowed.contains(fact) || (is_linked && model_.knowledge().is_linked(fact))) facts.push_back(fact);
    }
    return facts;
  }

  void find_further_changes(LineWork& work, FactId fact) {
    std::vector<FactId> along = others_;
    along.push_back(fact);
    const YearsAxes axes = profile_.axes(along, {&work.leaves});
    if (axes.size() * std::max<std::size_t>(1, work.leaves.leaves.size()) > kMostCells) {
      work.leaves.is_exact = false;
      return;
    }
    find_changes(work, axes, profile_.figures(axes, work.leaves), fact);
  }

  // Along the last axis, for each choice of the others. What only mirrors another model year is no change of its own.
  void find_changes(LineWork& work, const YearsAxes& axes, const std::vector<CellFigure>& figures, FactId along) {
    const std::vector<ValueSet>& run = axes.cells.back();
    for (std::size_t first = 0; first < figures.size(); first += run.size()) {
      std::optional<std::size_t> last;
      for (std::size_t at = 0; at < run.size(); ++at) {
        const CellFigure& now = figures[first + at];
        if (!now.is_possible) continue;
        const std::optional<std::size_t> before = last;
        last = at;
        if (!before || figures[first + *before].need == now.need) continue;
        if (along != run_ && run_ && mirrors_run(work, axes, first / run.size(), run[*before], run[at])) continue;
        add_change(work, axes, figures, first, *before, at);
      }
    }
  }

  bool mirrors_run(const LineWork& work, const YearsAxes& axes, std::size_t choice, const ValueSet& before, const ValueSet& after) {
    std::vector<std::pair<FactId, ValueSet>> narrowed;
    for (std::size_t axis = axes.facts.size() - 1; axis-- > 0;) {
      narrowed.emplace_back(axes.facts[axis], axes.cells[axis][choice % axes.cells[axis].size()]);
      choice /= axes.cells[axis].size();
    }
    narrowed.emplace_back(axes.facts.back(), before);
    narrowed.emplace_back(*run_, before);
    return std::ranges::none_of(work.axes.cells.back(), [&](const ValueSet& cell) {
      narrowed.back().second = cell;
      narrowed[narrowed.size() - 2].second = before;
      const bool was = profile_.is_possible(narrowed);
      narrowed[narrowed.size() - 2].second = after;
      return was && profile_.is_possible(narrowed);
    });
  }

  void add_change(LineWork& work, const YearsAxes& axes, const std::vector<CellFigure>& figures, std::size_t first, std::size_t before,
                  std::size_t at) {
    const CellFigure& was = figures[first + before];
    const CellFigure& now = figures[first + at];
    RawChange change{.fact = axes.facts.back(), .before = axes.cells.back()[before], .after = axes.cells.back()[at],
                     .was = was.need, .now = now.need, .was_rows = {}, .now_rows = {}, .ties = {}, .where = {}};
    std::vector<RowPlace> all;
    std::ranges::set_union(was.because, now.because, std::back_inserter(all));
    change.ties = tying_rows(rules_, all, change.fact, change.before, change.after);
    std::ranges::set_difference(was.because, now.because, std::back_inserter(change.was_rows));
    std::ranges::set_difference(now.because, was.because, std::back_inserter(change.now_rows));
    std::size_t choice = first / axes.cells.back().size();
    for (std::size_t axis = axes.facts.size() - 1; axis-- > 0;) {
      const auto cell = static_cast<std::uint32_t>(choice % axes.cells[axis].size());
      change.where.insert(change.where.begin(), Cells{{cell, cell}});
      choice /= axes.cells[axis].size();
    }
    work.changes.push_back(std::move(change));
  }

  void add_line(LineId id, Years& years) {
    const LineWork& work = work_of(id);
    const Line& line = model_.line(id);
    YearsLine text{.id = model_.id_of(id),
                   .part = rules_.part_keys[line.part.index],
                   .part_name = model_.part_row(line.part).name,
                   .position = std::string(rules_.positions.path(line.position)),
                   .parent = rules_.part_keys[line.parent.index],
                   .parent_name = line.parent == Rules::kCar ? "car" : model_.part_row(line.parent).name,
                   .unit = std::string(word_of(model_.part_row(line.part).unit)),
                   .kind = model_.part_row(line.part).kind,
                   .is_exact = work.leaves.is_exact,
                   .cells = {}, .changes = {}, .because = {}, .hangs_on = {}, .same = {}};
    for (MergedCell& cell : merged_figures(work)) text.cells.push_back({.values = std::move(cell.values), .need = work.figures[cell.number].need});
    if (text.cells.empty() || std::ranges::all_of(text.cells, [](const YearsCell& cell) { return cell.need.hi.is_zero(); })) return;
    if (text.part_name.empty()) text.part_name = text.part;
    std::set<RowPlace> rows;
    bool is_range = false;
    for (const CellFigure& figure : work.figures) {
      rows.insert(figure.because.begin(), figure.because.end());
      is_range = is_range || (figure.is_possible && figure.need.lo != figure.need.hi);
    }
    for (const RowPlace place : rows) text.because.push_back(years_row(rules_, place));
    if (is_range) text.hangs_on = hangs_on(work.leaves);
    add_changes(id, work, text);
    const bool is_one = std::ranges::all_of(text.cells, [&](const YearsCell& cell) { return cell.need == text.cells.front().need; });
    if (is_one && text.changes.empty()) text.same = text.cells.front().need;
    years.lines.push_back(std::move(text));
  }

  // Cells of equal figures; a merged cell's number is that of a cell with its figure.
  std::vector<MergedCell> merged_figures(const LineWork& work) const {
    std::vector<std::optional<std::size_t>> numbers(work.figures.size());
    std::map<std::pair<Fraction, Fraction>, std::size_t> known;
    for (std::size_t cell = 0; cell < work.figures.size(); ++cell) {
      const CellFigure& figure = work.figures[cell];
      if (figure.is_possible) numbers[cell] = known.try_emplace({figure.need.lo, figure.need.hi}, cell).first->second;
    }
    return merged_cells(options_.across, run_, work.axes, numbers);
  }

  std::vector<std::string> hangs_on(const YearsLeaves& leaves) const {
    std::vector<std::string> names;
    for (std::uint32_t index = 0; index < rules_.facts.size(); ++index) {
      const FactId fact{index};
      if (std::ranges::find(axes_, fact) != axes_.end()) continue;
      const bool is_asked = std::ranges::any_of(leaves.leaves, [&](const YearsLeaf& leaf) {
        return std::ranges::find(leaf.narrowed, fact, &std::pair<FactId, ValueSet>::first) != leaf.narrowed.end();
      });
      if (is_asked) names.push_back(rules_.facts[index].name);
    }
    return names;
  }

  void add_changes(LineId id, const LineWork& work, YearsLine& text) {
    // Changes that say the same for several of the other facts' values are told once.
    std::vector<RawChange> changes;
    std::vector<std::vector<Box>> boxes;
    for (const RawChange& change : work.changes) {
      const auto same = std::ranges::find_if(changes, [&](const RawChange& other) {
        return other.fact == change.fact && other.before == change.before && other.after == change.after && other.was == change.was &&
               other.now == change.now && other.was_rows == change.was_rows && other.now_rows == change.now_rows && other.ties == change.ties;
      });
      if (same == changes.end()) {
        changes.push_back(change);
        boxes.push_back({change.where});
      } else {
        boxes[static_cast<std::size_t>(same - changes.begin())].push_back(change.where);
      }
    }
    const YearsAxes& axes = work.axes;
    const Grid grid = grid_of(run_, axes);
    for (std::size_t at = 0; at < changes.size(); ++at) {
      merge_boxes(grid, boxes[at]);
      std::ranges::sort(boxes[at]);
      for (const Box& box : boxes[at]) text.changes.push_back(change_of(id, axes, changes[at], box));
    }
  }

  YearsChange change_of(LineId id, const YearsAxes& axes, const RawChange& raw, const Box& box) {
    const ValueSet run = run_ ? model_.knowledge().sets()[run_->index] : ValueSet{};
    YearsChange change{.fact = raw.fact, .at = *raw.after.witness(), .where = values_of(options_.across, run_, axes, box, run), .was = raw.was, .now = raw.now,
                       .because = {}, .was_because = {}, .follows = {}, .mirrors = mirrored(id, raw)};
    for (const RowPlace place : raw.now_rows) change.because.push_back(years_row(rules_, place));
    for (const RowPlace place : raw.ties) change.because.push_back(years_row(rules_, place));
    for (const RowPlace place : raw.was_rows) change.was_because.push_back(years_row(rules_, place));
    const Line& line = model_.line(id);
    if (line.parent != Rules::kCar) {
      for (const LineId above : model_.lines_of(line.parent, line.position)) {
        const bool changes_too = std::ranges::any_of(work_of(above).changes, [&](const RawChange& other) {
          return other.fact == raw.fact && *other.after.witness() == *raw.after.witness();
        });
        if (changes_too) change.follows.push_back(model_.id_of(above));
      }
    }
    return change;
  }

  // A change of model year that no row makes, but a chassis serial within one of the two years.
  std::optional<FactId> mirrored(LineId id, const RawChange& raw) {
    if (raw.fact != run_ || !raw.ties.empty()) return std::nullopt;
    std::vector<RowPlace> rows = raw.was_rows;
    rows.insert(rows.end(), raw.now_rows.begin(), raw.now_rows.end());
    const auto asks_it = [&](RowPlace place) { return tells_apart(rules_, place, raw.fact, raw.before, raw.after); };
    if (std::ranges::any_of(rows, asks_it)) return std::nullopt;
    for (const RawChange& other : work_of(id).changes) {
      if (other.fact == raw.fact || other.where != raw.where) continue;
      const auto meet = [&](const ValueSet& fact, const ValueSet& run) { return profile_.is_possible({{other.fact, fact}, {raw.fact, run}}); };
      const bool within_before = meet(other.before, raw.before) && meet(other.after, raw.before);
      const bool within_after = meet(other.before, raw.after) && meet(other.after, raw.after);
      if (within_before || within_after) return other.fact;
    }
    return std::nullopt;
  }

  const NeedModel& model_;
  const Rules& rules_;
  const YearsOptions& options_;
  YearsProfile profile_;
  std::optional<FactId> run_;    // the fact whose runs are named together: the first number or date across
  std::vector<FactId> others_;
  std::vector<FactId> axes_;     // the others, then the run
  std::map<LineId, LineWork> works_;
  std::vector<YearsRow> clashes_;
};

}  // namespace

std::string Years::test_of(std::size_t at, const ValueSet& values) const {
  return values == spaces[at] ? "-" : values.to_unary_test();
}

Years years_of(const NeedModel& model, const YearsOptions& options) { return YearsFinder(model, options).run(); }

}  // namespace kitgap
