#pragma once

#include <optional>
#include <string>
#include <unordered_map>
#include <vector>

#include "match/grid.h"
#include "need/needs.h"

namespace kitgap {

// One completion of what a figure hangs on: the facts it narrows, what the figure then is and why.
struct YearsLeaf {
  std::vector<std::pair<FactId, ValueSet>> narrowed;
  Fraction need;
  std::vector<RowPlace> because;
};
struct YearsLeaves {
  std::vector<YearsLeaf> leaves;
  bool is_exact = true;
};

// Facts cut into the cells that leaves and derivations can tell apart.
struct YearsAxes {
  std::vector<FactId> facts;
  std::vector<std::vector<ValueSet>> cells;  // by fact; in order where the fact is ordered
  std::size_t size() const;                  // of the product
};

// What the cars of one cell may call for.
struct CellFigure {
  bool is_possible = false;
  Range need;
  std::vector<RowPlace> because;  // sorted
};

// The facts that a completion knows more of than was known at first.
std::vector<std::pair<FactId, ValueSet>> narrowed_of(const Completion& completion, const Knowledge& knowledge);

// The line's figure; nothing where no parent calls for it, whose rows are then not asked (a size may be lacking there).
const LineFigure* find_figure(const NeedModel& model, Needs& needs, LineId line);

// Cells of equal figures named together: as runs along the last axis where that is the run, and joined over the other
// axes where the runs are the same. `numbers` says by cell which figure it has; cells without one are left out.
struct MergedCell {
  std::vector<ValueSet> values;  // by `across`
  std::size_t number = 0;
};
std::vector<MergedCell> merged_cells(const std::vector<FactId>& across, std::optional<FactId> run, const YearsAxes& axes,
                                     const std::vector<std::optional<std::size_t>>& numbers);
// The box as sets of values by `across`: cells of the axes but the run's, and a set of the run.
std::vector<ValueSet> values_of(const std::vector<FactId>& across, std::optional<FactId> run, const YearsAxes& axes, const Box& box,
                                const ValueSet& of_run);
// A column per axis but the run's, for merging boxes.
Grid grid_of(std::optional<FactId> run, const YearsAxes& axes);

class YearsProfile {
 public:
  explicit YearsProfile(const Knowledge& knowledge) : knowledge_(knowledge) {}

  YearsAxes axes(const std::vector<FactId>& facts, const std::vector<const YearsLeaves*>& all) const;
  // By cell, the last axis running fastest. A cell is possible when some car of it agrees with the derivations.
  std::vector<CellFigure> figures(const YearsAxes& axes, const YearsLeaves& leaves);
  // Whether some car has these values.
  bool is_possible(const std::vector<std::pair<FactId, ValueSet>>& narrowed);

 private:
  void lay(const YearsAxes& axes, const YearsLeaf& leaf, std::size_t axis, std::size_t cell,
           std::vector<std::pair<FactId, ValueSet>>& narrowed, std::vector<CellFigure>& out);

  const Knowledge& knowledge_;
  std::unordered_map<std::string, bool> known_;
};

}  // namespace kitgap
