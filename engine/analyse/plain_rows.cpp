#include "analyse/plain_rows.h"

#include <algorithm>
#include <array>
#include <chrono>
#include <numeric>

#include "analyse/holes.h"
#include "analyse/overlaps.h"
#include "match/sweep_table.h"
#include "text/codes.h"
#include "text/file.h"
#include "value/value_set.h"

namespace kitgap {
namespace {

using Clock = std::chrono::steady_clock;

double seconds_since(Clock::time_point begin) { return std::chrono::duration<double>(Clock::now() - begin).count(); }

// One column's places cut into the cells that its rows can tell apart, below and above all named ones included: rows may
// meet there too.
class PlaceCells {
 public:
  explicit PlaceCells(const SweepColumn& column) : column_(column) {
    for (const PlaceRange& range : column.ranges) {
      if (range.lo != kFirstPlace) cuts_.push_back(range.lo);
      if (range.hi != kLastPlace) cuts_.push_back(range.hi + 1);
    }
    // Words lie from 0 up to their number; what lies beyond is every other word.
    if (column.type == SweepType::Text) cuts_.insert(cuts_.end(), {std::int64_t{0}, static_cast<std::int64_t>(column.words.size())});
    std::ranges::sort(cuts_);
    cuts_.erase(std::unique(cuts_.begin(), cuts_.end()), cuts_.end());
  }

  GridColumn grid_column() const {
    GridColumn cells;
    cells.is_ordered = column_.type != SweepType::Text;
    cells.cell_count = static_cast<std::uint32_t>(cuts_.size() + 1);
    cells.first = {0};
    cells.ranges.clear();
    cells.ranges.reserve(column_.ranges.size());
    cells.first.reserve(column_.set_count() + 1);
    for (std::uint32_t set = 0; set < column_.set_count(); ++set) {
      for (const PlaceRange& range : column_.set(set)) {
        const CellRange found{cell(range.lo), cell(range.hi)};
        if (range.lo <= range.hi) cells.ranges.push_back(found);
      }
      cells.first.push_back(static_cast<std::uint32_t>(cells.ranges.size()));
    }
    return cells;
  }

  // All cells between the first and the last that rows name; every cell where they name none.
  CellRange named() const {
    if (cuts_.size() < 2) return {0, static_cast<std::uint32_t>(cuts_.size())};
    return {1, static_cast<std::uint32_t>(cuts_.size() - 1)};
  }

  std::string tests(std::span<const CellRange> cells) const {
    std::string text;
    for (const CellRange& range : cells) {
      const std::optional<std::int64_t> lo = range.lo == 0 ? std::nullopt : std::optional(cuts_[range.lo - 1]);
      const std::optional<std::int64_t> hi = range.hi == cuts_.size() ? std::nullopt : std::optional(cuts_[range.hi] - 1);
      if (!lo && !hi) return "-";
      const std::string test = column_.type == SweepType::Text ? words(lo.value_or(0), *hi) : interval(lo, hi);
      text += (text.empty() ? "" : ", ") + test;
    }
    return text;
  }

 private:
  std::uint32_t cell(std::int64_t place) const {
    return static_cast<std::uint32_t>(std::upper_bound(cuts_.begin(), cuts_.end(), place) - cuts_.begin());
  }

  std::string words(std::int64_t lo, std::int64_t hi) const {
    std::string text;
    for (std::int64_t word = lo; word <= hi; ++word) {
      text += (text.empty() ? "" : ", ") + literal_of(FactValue(column_.words[static_cast<std::size_t>(word)]), FactType::Text);
    }
    return text;
  }

  std::string interval(std::optional<std::int64_t> lo, std::optional<std::int64_t> hi) const {
    if (!lo) return "<= " + end(*hi).first;
    if (!hi) return ">= " + end(*lo).first;
    const auto [first, first_in] = end(*lo, true);
    const auto [last, last_in] = end(*hi, false);
    if (first_in && last_in && first == last) return first;
    return (first_in ? "[" : "(") + first + ".." + last + (last_in ? "]" : ")");
  }

  // The value at a place, and whether the place is the value: of a column with decimals every second is a gap.
  std::pair<std::string, bool> end(std::int64_t place, bool is_lower = true) const {
    const FactType type = column_.type == SweepType::Date ? FactType::Date : FactType::Number;
    if (column_.is_whole) return {literal_of(FactValue(Fraction(place)), type), true};
    const bool is_value = place % 2 != 0;
    const std::int64_t value = is_value ? place / 2 : is_lower ? place / 2 - 1 : place / 2;
    return {literal_of(FactValue(column_.named.value(static_cast<std::size_t>(value))), type), is_value};
  }

  const SweepColumn& column_;
  std::vector<std::int64_t> cuts_;
};

// Facts without cars: what a column is, its cells say. False when one that is wanted is no column.
bool name_facts(SweepCars& facts, const std::vector<std::string>& header, const std::vector<std::string>& wanted,
                const std::filesystem::path& path, Sources& sources, Diagnostics& diagnostics) {
  static constexpr auto kNone = std::to_array<std::string_view>({"", "item", "count", "source", "note"});
  facts.facts.clear();
  for (const std::string& name : header) {
    const bool is_wanted = wanted.empty() ? std::ranges::find(kNone, name) == kNone.end() : std::ranges::find(wanted, name) != wanted.end();
    if (is_wanted && facts.find(name) == nullptr) facts.facts.emplace_back(name);
  }
  bool has_all = true;
  for (const std::string& name : wanted) {
    if (facts.find(name) != nullptr) continue;
    has_all = false;
    diagnostics.add({.code = code::kMissingColumn,
                     .span = {.source = sources.add(path.string(), "")},
                     .says = "there is no column `" + name + "`",
                     .expected = "columns of the table",
                     .suggestion = nearest(name, header)});
  }
  return has_all;
}

}  // namespace

std::optional<PlainRowsFindings> check_plain_rows(const std::filesystem::path& path, const PlainRowsQuestion& question,
                                                  Sources& sources, Diagnostics& diagnostics) {
  const auto began = Clock::now();
  SweepCars facts;
  const auto table = read_sweep_table(path, facts, sources, diagnostics, [&](const std::vector<std::string>& header) {
    return name_facts(facts, header, question.facts, path, sources, diagnostics);
  });
  if (!table) return std::nullopt;
  PlainRowsFindings findings;
  findings.rows = table->row_items.size();
  std::vector<PlaceCells> columns(table->columns.begin(), table->columns.end());
  Grid grid;
  for (const PlaceCells& column : columns) grid.columns.push_back(column.grid_column());
  grid.sets.resize(findings.rows * columns.size());
  for (std::size_t column = 0; column < columns.size(); ++column) {
    const auto& sets = table->columns[column].row_sets;
    for (std::size_t row = 0; row < findings.rows; ++row) grid.sets[row * columns.size() + column] = sets[row];
  }
  findings.load_seconds = seconds_since(began);
  if (columns.empty()) return findings;
  for (std::size_t row = 0; row < findings.rows; ++row) findings.never_apply += grid.never_applies(row);
  if (question.wants_overlaps) {
    const auto counted = Clock::now();
    findings.overlaps = count_overlaps(grid);
    findings.overlap_seconds = seconds_since(counted);
  }
  if (!question.wants_holes) return findings;
  const auto searched = Clock::now();
  Box within;
  for (std::size_t column = 0; column < columns.size(); ++column) {
    within.push_back({columns[column].named()});
    findings.within.emplace_back(table->columns[column].name, columns[column].tests(within.back()));
  }
  std::vector<std::uint32_t> rows(findings.rows);
  std::iota(rows.begin(), rows.end(), 0U);
  std::erase_if(rows, [&](std::uint32_t row) { return grid.never_applies(row); });
  const Holes holes = uncovered(grid, rows, within);
  findings.is_cut_short = holes.truncated;
  findings.holes = holes.truncated ? std::max<std::uint64_t>(holes.count, holes.boxes.size()) : holes.boxes.size();
  for (const Box& box : holes.boxes) {
    PlainRowsFindings::Tests& tests = findings.boxes.emplace_back();
    for (std::size_t column = 0; column < box.size(); ++column) {
      if (box[column] != within[column]) tests.emplace_back(table->columns[column].name, columns[column].tests(box[column]));
    }
  }
  findings.hole_seconds = seconds_since(searched);
  return findings;
}

}  // namespace kitgap
