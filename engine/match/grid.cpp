#include "match/grid.h"

#include <algorithm>
#include <map>

namespace kitgap {

bool Grid::never_applies(std::size_t row) const {
  for (std::size_t column = 0; column < columns.size(); ++column) {
    if (cells(row, column).empty()) return true;
  }
  return false;
}

bool meet(std::span<const CellRange> a, std::span<const CellRange> b) {
  for (std::size_t left = 0, right = 0; left < a.size() && right < b.size();) {
    if (a[left].hi < b[right].lo) {
      ++left;
    } else if (b[right].hi < a[left].lo) {
      ++right;
    } else {
      return true;
    }
  }
  return false;
}

bool covers(std::span<const CellRange> a, std::span<const CellRange> b) {
  std::size_t at = 0;
  for (const CellRange& range : b) {
    while (at < a.size() && a[at].hi < range.lo) ++at;
    if (at == a.size() || a[at].lo > range.lo || a[at].hi < range.hi) return false;
  }
  return true;
}

Cells common(std::span<const CellRange> a, std::span<const CellRange> b) {
  Cells result;
  for (std::size_t left = 0, right = 0; left < a.size() && right < b.size();) {
    const std::uint32_t lo = std::max(a[left].lo, b[right].lo);
    const std::uint32_t hi = std::min(a[left].hi, b[right].hi);
    if (lo <= hi) result.push_back({lo, hi});
    if (a[left].hi < b[right].hi) {
      ++left;
    } else {
      ++right;
    }
  }
  return result;
}

Cells united(std::span<const CellRange> a, std::span<const CellRange> b) {
  Cells all(a.begin(), a.end());
  all.insert(all.end(), b.begin(), b.end());
  std::sort(all.begin(), all.end());
  Cells result;
  for (const CellRange& range : all) {
    if (!result.empty() && range.lo <= result.back().hi + 1) {
      result.back().hi = std::max(result.back().hi, range.hi);
    } else {
      result.push_back(range);
    }
  }
  return result;
}

bool ColumnCells::Cut::operator<(const Cut& other) const {
  if (side != other.side || side != 0) return side < other.side;
  const auto order = value <=> other.value;
  return order < 0 || (order == 0 && !after && other.after);
}

ColumnCells::ColumnCells(const ValueSet& within, std::span<const ValueSet> sets) : within_(within) {
  const FactDomain& domain = within.domain();
  is_whole_ = domain.type == FactType::Date || (domain.type == FactType::Number && domain.whole);
  if (domain.type == FactType::Date || domain.type == FactType::Number) {
    cut_numbers(sets);
  } else {
    column_.is_ordered = false;
    cut_values(sets);
  }
}

// Between whole numbers the cut after one is the cut before the next.
ColumnCells::Stretch ColumnCells::stretch_of(const ValueSet::Interval& interval) const {
  Stretch stretch;
  stretch.begin = interval.lo ? Cut{0, *interval.lo, !interval.lo_closed} : Cut{-1, 0, false};
  stretch.end = interval.hi ? Cut{0, *interval.hi, interval.hi_closed} : Cut{1, 0, false};
  if (is_whole_ && interval.hi) stretch.end = Cut{0, *interval.hi + 1, false};
  return stretch;
}

ValueSet::Interval ColumnCells::interval_of(const Cut& begin, const Cut& end) const {
  ValueSet::Interval interval;
  if (begin.side == 0) {
    interval.lo = begin.value;
    interval.lo_closed = !begin.after;
  }
  if (end.side == 0) {
    interval.hi = end.value;
    interval.hi_closed = end.after;
  }
  return interval;
}

void ColumnCells::add_set(const Cells& cells) {
  column_.ranges.insert(column_.ranges.end(), cells.begin(), cells.end());
  column_.first.push_back(static_cast<std::uint32_t>(column_.ranges.size()));
}

void ColumnCells::cut_numbers(std::span<const ValueSet> sets) {
  std::vector<Cut> cuts;
  std::vector<std::vector<Stretch>> wanted;
  wanted.reserve(sets.size());
  for (const ValueSet& set : sets) {
    auto& stretches = wanted.emplace_back();
    const ValueSet seen = set & within_;  // the loop refers into it
    for (const auto& interval : seen.intervals()) {
      stretches.push_back(stretch_of(interval));
      cuts.push_back(stretches.back().begin);
      cuts.push_back(stretches.back().end);
    }
  }
  std::sort(cuts.begin(), cuts.end());
  cuts.erase(std::unique(cuts.begin(), cuts.end()), cuts.end());
  for (const auto& interval : within_.intervals()) {
    Stretch rest = stretch_of(interval);
    for (auto cut = std::upper_bound(cuts.begin(), cuts.end(), rest.begin); cut != cuts.end() && *cut < rest.end; ++cut) {
      stretches_.push_back({rest.begin, *cut});
      rest.begin = *cut;
    }
    stretches_.push_back(rest);
  }
  column_.cell_count = static_cast<std::uint32_t>(stretches_.size());
  column_.ranges.clear();
  if (!stretches_.empty()) column_.ranges.push_back({0, column_.cell_count - 1});
  column_.first = {0, static_cast<std::uint32_t>(column_.ranges.size())};
  for (const auto& stretches : wanted) {
    Cells cells;
    for (const Stretch& stretch : stretches) {
      const auto lo = std::lower_bound(stretches_.begin(), stretches_.end(), stretch.begin,
                                       [](const Stretch& cell, const Cut& cut) { return cell.begin < cut; });
      const auto hi = std::upper_bound(stretches_.begin(), stretches_.end(), stretch.end,
                                       [](const Cut& cut, const Stretch& cell) { return cut < cell.end; });
      cells = united(cells, Cells{{static_cast<std::uint32_t>(lo - stretches_.begin()),
                                   static_cast<std::uint32_t>(hi - stretches_.begin()) - 1}});
    }
    add_set(cells);
  }
}

// Each value that is allowed or named is a cell; where any text may stand, all others together are one more.
void ColumnCells::cut_values(std::span<const ValueSet> sets) {
  const ValueSet all = ValueSet::all(within_.domain());
  const bool is_finite = within_.size().has_value();
  std::vector<FactValue> values = within_.values();
  if (!is_finite) {
    for (const ValueSet& set : sets) {
      const auto named = set.size() ? set.values() : (all - set).values();
      values.insert(values.end(), named.begin(), named.end());
    }
    std::sort(values.begin(), values.end());
    values.erase(std::unique(values.begin(), values.end()), values.end());
    std::erase_if(values, [&](const FactValue& value) { return !within_.contains(value); });
  }
  std::map<FactValue, std::uint32_t> cell_of;
  ValueSet rest = within_;
  for (const FactValue& value : values) {
    cell_of.emplace(value, static_cast<std::uint32_t>(cells_.size()));
    cells_.push_back(ValueSet::of(within_.domain(), value));
  }
  if (!is_finite) {
    for (const ValueSet& cell : cells_) rest = rest - cell;
    cells_.push_back(rest);
  }
  column_.cell_count = static_cast<std::uint32_t>(cells_.size());
  column_.ranges.clear();
  if (!cells_.empty()) column_.ranges.push_back({0, column_.cell_count - 1});
  column_.first = {0, static_cast<std::uint32_t>(column_.ranges.size())};
  for (const ValueSet& set : sets) {
    const bool names_all = set.size().has_value();
    std::vector<bool> has(cells_.size(), !names_all);
    for (const FactValue& value : names_all ? set.values() : (all - set).values()) {
      const auto found = cell_of.find(value);
      if (found != cell_of.end()) has[found->second] = names_all;
    }
    Cells cells;
    for (std::uint32_t cell = 0; cell < has.size(); ++cell) {
      if (!has[cell]) continue;
      if (!cells.empty() && cells.back().hi + 1 == cell) {
        cells.back().hi = cell;
      } else {
        cells.push_back({cell, cell});
      }
    }
    add_set(cells);
  }
}

ValueSet ColumnCells::values(std::span<const CellRange> cells) const {
  ValueSet result = ValueSet::none(within_.domain());
  for (const CellRange& range : cells) {
    if (column_.is_ordered) {
      // The stretches of a range may lie apart where the allowed values do.
      result = result | (ValueSet::of(within_.domain(), interval_of(stretches_[range.lo].begin, stretches_[range.hi].end)) & within_);
      continue;
    }
    for (std::uint32_t cell = range.lo; cell <= range.hi; ++cell) result = result | cells_[cell];
  }
  return result;
}

FactValue ColumnCells::witness(std::uint32_t cell) const {
  const CellRange range{cell, cell};
  return *values(std::span(&range, 1)).witness();
}

}  // namespace kitgap
