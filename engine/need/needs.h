#pragma once

#include <map>
#include <memory>
#include <optional>
#include <set>
#include <span>
#include <string>
#include <unordered_map>
#include <vector>

#include "need/completion.h"
#include "need/found.h"
#include "need/remembered.h"
#include "pack/rules.h"

namespace kitgap {

using LineId = Id<struct LineTag>;

// A part that the car may call for at a place, for one kind of parent.
struct Line {
  PartId parent;
  PositionId position;
  PartId part;
  std::uint32_t level = 1;           // the longest way from the car
  bool is_in_work = true;
  bool is_named_in_work = true;      // itself, whatever its parents are
  bool is_small = false;             // made by moving pieces over; its figure comes from `cover`
  std::vector<std::uint32_t> rows;      // NeedRow indices that can apply, by layer, then order
  std::vector<std::uint32_t> consumes;  // ConsumesRow indices likewise
  CountOfLine count;
};

// Why a figure is what it is, recorded when it was decided.
struct Contribution {
  RowPlace place;
  std::uint32_t practice = 0;
  std::vector<RowPlace> overrides;  // rows below with another figure
  bool is_consumes = false;
  friend bool operator==(const Contribution&, const Contribution&) = default;
};

// What one line calls for in one completion.
struct LineFigure {
  Fraction per_parent;
  Fraction need;
  Basis basis = Basis::Table;
  bool stops = true;
  OldUse old = OldUse::May;
  std::vector<Contribution> because;
  bool table_differs = false;     // a count stands over a table figure that is another
  std::optional<Fraction> table_figure;
  friend bool operator==(const LineFigure&, const LineFigure&) = default;
};
std::size_t hash_of(const LineFigure& figure);

// Every line that some car within what is known can have, and the static ways between them. Lines are sorted by
// position, parent and part in byte order.
class NeedModel {
 public:
  static NeedModel of(const Knowledge& knowledge, const Car& car, const Found& found);

  const Knowledge& knowledge() const { return *knowledge_; }
  const Rules& rules() const { return knowledge_->rules(); }
  const std::vector<Line>& lines() const { return lines_; }
  const Line& line(LineId id) const { return lines_[id.index]; }
  std::optional<LineId> find(PartId parent, PositionId position, PartId part) const;
  // Lines that call for this part at this position, whatever their parent.
  const std::vector<LineId>& lines_of(PartId part, PositionId position) const;
  // Lines whose parent is this part at this position.
  const std::vector<LineId>& children_of(PartId part, PositionId position) const;
  // The row of `parts` that describes the part on this car: the highest layer's that can apply.
  const PartRow& part_row(PartId part) const { return *part_rows_[part.index]; }
  // The rival practices that any row for this parent and part names, in byte order of their words.
  const std::vector<std::uint32_t>& practices_of(PartId parent, PartId part) const;
  bool is_assembly(PartId part) const { return is_assembly_[part.index]; }
  // Whether `part` is somewhere below `assembly`.
  bool is_sub_part(PartId assembly, PartId part) const;
  std::string id_of(LineId line) const;  // `rear.left/door-panel/panel-clip`
  std::vector<std::string> path_of(LineId line) const;  // from the car down, one way

 private:
  void find_part_rows();
  void grow(const Found& found);
  void find_practices();
  void grow_small_needs(const std::vector<Ternary>& can_hold);
  void settle_levels();
  void settle_work(const Car& car);

  const Knowledge* knowledge_ = nullptr;
  std::vector<Line> lines_;
  std::unordered_map<std::uint64_t, LineId> by_key_;
  std::unordered_map<std::uint64_t, std::vector<LineId>> by_part_;
  std::unordered_map<std::uint64_t, std::vector<LineId>> by_parent_;
  std::map<std::pair<PartId, PartId>, std::vector<std::uint32_t>> practices_;
  std::vector<const PartRow*> part_rows_;
  std::vector<PartRow> undescribed_;
  std::vector<bool> is_assembly_;
};

// What is wrong with the tables for this car, each thing reported once however many completions meet it.
class Problems {
 public:
  explicit Problems(Diagnostics& diagnostics) : diagnostics_(diagnostics) {}
  void add(RowPlace place, Diagnostic diagnostic) {
    if (seen_.emplace(place, diagnostic.says).second) diagnostics_.add(std::move(diagnostic));
  }
  bool any() const { return !seen_.empty(); }

 private:
  Diagnostics& diagnostics_;
  std::set<std::pair<RowPlace, std::string>> seen_;
};

// The figures of one completion, worked out when asked. What is wrong with the tables for this car (two rows of a
// layer that differ, a negative or cyclic need, a figure without exact decimal) is reported to `problems`.
class Needs : private Completion::Worker {
 public:
  // `remembered` is shared by the completions of one car.
  Needs(const NeedModel& model, Completion& completion, Problems& problems, Remembered<LineFigure>& remembered)
      : model_(model), completion_(completion), problems_(problems), remembered_(remembered) {
    completion.set_figures(this);
  }
  Needs(const Needs&) = delete;
  Needs& operator=(const Needs&) = delete;

  const LineFigure& figure(LineId line);
  Fraction need(LineId line) { return figure(line).need; }
  Fraction units_at(PartId part, PositionId position);  // how many of the part all lines there call for

 private:
  std::uint32_t result_of(Asked asked) override;
  LineFigure work_out(LineId line);
  void report_ring(LineId line);
  Fraction parents_of(LineId line);
  std::optional<Fraction> figure_of(FigureId figure, RowPlace place, LineId line);
  std::optional<Fraction> consumed(const ConsumesRow& row, LineId line);
  void apply_layer(std::span<const std::uint32_t> rows, LineId line, LineFigure& figure);
  std::uint32_t chosen_practice(const Line& line, std::span<const std::uint32_t> known_here);
  std::optional<std::uint32_t> chosen_set(std::span<const std::uint32_t> sets, LineId line);
  void report(std::string_view code, RowPlace place, std::string_view column, std::string says, std::string expected,
              std::vector<FurtherSpan> further = {});

  const NeedModel& model_;
  Completion& completion_;
  Problems& problems_;
  Remembered<LineFigure>& remembered_;
  std::vector<LineId> in_progress_;
  bool is_replaced_ = false;  // the layer being applied lies under one that replaces it, or under a count
};

// A figure as a reader sees it: `9 each`, `1.37 m`.
std::string figure_text(const Fraction& figure, Unit unit);

}  // namespace kitgap
