#include "analyse/years_profile.h"

#include <algorithm>
#include <map>

#include "analyse/holes.h"

namespace kitgap {

std::vector<std::pair<FactId, ValueSet>> narrowed_of(const Completion& completion, const Knowledge& knowledge) {
  std::vector<std::pair<FactId, ValueSet>> narrowed;
  for (std::uint32_t index = 0; index < completion.sets().size(); ++index) {
    if (completion.sets()[index] != knowledge.sets()[index]) narrowed.emplace_back(FactId{index}, completion.sets()[index]);
  }
  return narrowed;
}

const LineFigure* find_figure(const NeedModel& model, Needs& needs, LineId id) {
  const Line& line = model.line(id);
  if (line.parent != Rules::kCar && needs.units_at(line.parent, line.position).is_zero()) return nullptr;
  return &needs.figure(id);
}

Grid grid_of(std::optional<FactId> run, const YearsAxes& axes) {
  Grid grid;
  for (std::size_t axis = 0; axis < axes.facts.size(); ++axis) {
    if (run == axes.facts[axis]) continue;
    GridColumn& column = grid.columns.emplace_back();
    column.cell_count = static_cast<std::uint32_t>(axes.cells[axis].size());
    const FactType type = axes.cells[axis].front().domain().type;
    column.is_ordered = type == FactType::Number || type == FactType::Date;
  }
  return grid;
}

std::vector<ValueSet> values_of(const std::vector<FactId>& across, std::optional<FactId> run, const YearsAxes& axes, const Box& box,
                                const ValueSet& of_run) {
  std::vector<ValueSet> values;
  for (const FactId fact : across) {
    if (run == fact) {
      values.push_back(of_run);
      continue;
    }
    const auto axis = static_cast<std::size_t>(std::ranges::find(axes.facts, fact) - axes.facts.begin());
    std::optional<ValueSet> set;
    for (const CellRange& range : box[axis]) {
      for (std::uint32_t cell = range.lo; cell <= range.hi; ++cell) set = set ? *set | axes.cells[axis][cell] : axes.cells[axis][cell];
    }
    values.push_back(*set);
  }
  return values;
}

std::vector<MergedCell> merged_cells(const std::vector<FactId>& across, std::optional<FactId> run, const YearsAxes& axes,
                                     const std::vector<std::optional<std::size_t>>& numbers) {
  using Runs = std::vector<std::pair<CellRange, std::size_t>>;
  const std::size_t length = run ? axes.cells.back().size() : 1;
  std::vector<std::pair<Runs, std::vector<Box>>> groups;  // in the order in which they are first met
  std::map<Runs, std::size_t> known;
  for (std::size_t first = 0; first < numbers.size(); first += length) {
    Runs runs;
    for (std::uint32_t at = 0; at < length; ++at) {
      if (!numbers[first + at]) continue;
      const std::size_t number = *numbers[first + at];
      if (!runs.empty() && runs.back().second == number && runs.back().first.hi + 1 == at) runs.back().first.hi = at;
      else runs.push_back({{at, at}, number});
    }
    if (runs.empty()) continue;
    Box box;
    std::size_t choice = first / length;
    for (std::size_t axis = axes.facts.size() - (run ? 1 : 0); axis-- > 0;) {
      const auto cell = static_cast<std::uint32_t>(choice % axes.cells[axis].size());
      box.insert(box.begin(), Cells{{cell, cell}});
      choice /= axes.cells[axis].size();
    }
    const auto [place, is_new] = known.try_emplace(runs, groups.size());
    if (is_new) groups.push_back({runs, {}});
    groups[place->second].second.push_back(std::move(box));
  }
  const Grid grid = grid_of(run, axes);
  std::vector<MergedCell> merged;
  for (auto& [runs, boxes] : groups) {
    merge_boxes(grid, boxes);
    std::ranges::sort(boxes);
    for (const Box& box : boxes) {
      for (const auto& [range, number] : runs) {
        ValueSet of_run;
        if (run) {
          of_run = axes.cells.back()[range.lo];
          for (std::uint32_t cell = range.lo + 1; cell <= range.hi; ++cell) of_run = of_run | axes.cells.back()[cell];
        }
        merged.push_back({values_of(across, run, axes, box, of_run), number});
      }
    }
  }
  return merged;
}

std::size_t YearsAxes::size() const {
  std::size_t size = 1;
  for (const auto& axis : cells) size *= axis.size();
  return size;
}

YearsAxes YearsProfile::axes(const std::vector<FactId>& facts, const std::vector<const YearsLeaves*>& all) const {
  const Rules& rules = knowledge_.rules();
  YearsAxes axes{.facts = facts, .cells = {}};
  for (const FactId fact : facts) {
    std::vector<ValueSet> sets;
    const auto add = [&](const ValueSet& set) {
      if (std::ranges::find(sets, set) == sets.end()) sets.push_back(set);
    };
    for (const FactRow& row : rules.fact_rows) {
      if (row.fact == fact) add(row.values);
      for (const Condition::Test& test : rules.condition(row.condition).tests) {
        if (test.fact == fact) add(test.values);
      }
    }
    for (const YearsLeaves* leaves : all) {
      for (const YearsLeaf& leaf : leaves->leaves) {
        for (const auto& [narrowed, set] : leaf.narrowed) {
          if (narrowed == fact) add(set);
        }
      }
    }
    const ColumnCells cells(knowledge_.sets()[fact.index], sets);
    std::vector<ValueSet>& axis = axes.cells.emplace_back();
    for (std::uint32_t cell = 0; cell < cells.column().cell_count; ++cell) axis.push_back(cells.values(Cells{{cell, cell}}));
  }
  return axes;
}

bool YearsProfile::is_possible(const std::vector<std::pair<FactId, ValueSet>>& narrowed) {
  std::string key;
  for (const auto& [fact, set] : narrowed) {
    if (set.is_empty()) return false;
    if (knowledge_.is_linked(fact)) key += std::to_string(fact.index) + ":" + set.to_unary_test() + "\x1f";
  }
  if (key.empty()) return true;
  const auto [place, is_new] = known_.try_emplace(std::move(key), true);
  if (is_new) {
    FactSets sets = knowledge_.sets();
    for (const auto& [fact, set] : narrowed) sets[fact.index] = set;
    place->second = knowledge_.is_consistent(sets);
  }
  return place->second;
}

void YearsProfile::lay(const YearsAxes& axes, const YearsLeaf& leaf, std::size_t axis, std::size_t cell,
                       std::vector<std::pair<FactId, ValueSet>>& narrowed, std::vector<CellFigure>& out) {
  if (axis == axes.facts.size()) {
    if (!is_possible(narrowed)) return;
    CellFigure& figure = out[cell];
    figure.need.lo = figure.is_possible ? std::min(figure.need.lo, leaf.need) : leaf.need;
    figure.need.hi = figure.is_possible ? std::max(figure.need.hi, leaf.need) : leaf.need;
    figure.is_possible = true;
    for (const RowPlace place : leaf.because) {
      const auto at = std::ranges::lower_bound(figure.because, place);
      if (at == figure.because.end() || *at != place) figure.because.insert(at, place);
    }
    return;
  }
  const auto known = std::ranges::find(narrowed, axes.facts[axis], &std::pair<FactId, ValueSet>::first);
  const bool is_known = known != narrowed.end();
  const auto place = static_cast<std::size_t>(known - narrowed.begin());
  const ValueSet before = is_known ? known->second : knowledge_.sets()[axes.facts[axis].index];
  for (std::size_t at = 0; at < axes.cells[axis].size(); ++at) {
    const ValueSet values = before & axes.cells[axis][at];
    if (values.is_empty()) continue;
    if (is_known) narrowed[place].second = values;
    else narrowed.emplace_back(axes.facts[axis], values);
    lay(axes, leaf, axis + 1, cell * axes.cells[axis].size() + at, narrowed, out);
    if (!is_known) narrowed.pop_back();
  }
  if (is_known) narrowed[place].second = before;
}

std::vector<CellFigure> YearsProfile::figures(const YearsAxes& axes, const YearsLeaves& leaves) {
  std::vector<CellFigure> out(axes.size());
  for (const YearsLeaf& leaf : leaves.leaves) {
    std::vector<std::pair<FactId, ValueSet>> narrowed = leaf.narrowed;
    lay(axes, leaf, 0, 0, narrowed, out);
  }
  return out;
}

}  // namespace kitgap
