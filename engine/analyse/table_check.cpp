#include "analyse/table_check.h"

#include <algorithm>
#include <numeric>

#include "analyse/holes.h"
#include "analyse/overlaps.h"

namespace kitgap {
namespace {

using Rows = std::vector<std::uint32_t>;

constexpr std::size_t kMostCandidates = 2'000;  // rows looked through for the smallest set that hides one

bool same(const FeelValue& a, const std::string& a_text, const FeelValue& b, const std::string& b_text) {
  if (a_text == b_text) return true;
  if (a.is_null() || b.is_null()) return false;  // no constants: only the text can tell
  return equal(a, b).value_or(false);
}

class TableCheck {
 public:
  explicit TableCheck(const BareTable& table) : table_(table), grid_(grid_of(table, columns_)) {}

  TableFindings run() {
    for (std::uint32_t row = 0; row < table_.rules.size(); ++row) {
      if (grid_.never_applies(row)) {
        findings_.never_apply.push_back(row + 1);
      } else {
        rows_.push_back(row);
      }
    }
    find_holes();
    find_overlaps();
    find_hidden();
    find_merges();
    return std::move(findings_);
  }

 private:
  TableFindings::Region region(const Box& box) const {
    TableFindings::Region result;
    for (std::size_t column = 0; column < box.size(); ++column) {
      result.box.push_back(columns_[column].values(box[column]));
      result.witness.push_back(*result.box.back().witness());
    }
    return result;
  }

  void find_holes() {
    if (grid_.columns.empty()) return;
    const Holes holes = uncovered(grid_, rows_, everything(grid_));
    for (const Box& box : holes.boxes) findings_.holes.push_back(region(box));
    findings_.hole_count = holes.truncated ? std::max<std::uint64_t>(holes.count, holes.boxes.size()) : holes.boxes.size();
    findings_.truncated |= holes.truncated;
  }

  bool same_output(std::uint32_t a, std::uint32_t b) const {
    const auto& first = table_.rules[a];
    const auto& second = table_.rules[b];
    if (first.out.size() != second.out.size()) return false;
    for (std::size_t at = 0; at < first.out.size(); ++at) {
      if (!same(first.out[at], first.out_text[at], second.out[at], second.out_text[at])) return false;
    }
    return true;
  }

  Box common_box(std::uint32_t a, std::uint32_t b) const {
    Box box;
    for (std::size_t column = 0; column < grid_.columns.size(); ++column) {
      box.push_back(common(grid_.cells(a, column), grid_.cells(b, column)));
    }
    return box;
  }

  void find_overlaps() {
    if (grid_.columns.empty()) return;
    std::vector<std::pair<std::uint32_t, std::uint32_t>> pairs;
    findings_.overlap_count = count_overlaps(grid_);
    const bool too_many = findings_.overlap_count > kMaxOverlaps;
    // Of too many, those that clash are worth listing.
    std::uint64_t looked_at = 0;
    constexpr std::uint64_t kMostLookedAt = 20'000'000;
    for_each_overlap(grid_, [&](std::uint32_t a, std::uint32_t b) {
      if (!too_many || !same_output(a, b)) pairs.emplace_back(a, b);
      return pairs.size() < kMaxOverlaps && ++looked_at < kMostLookedAt;
    });
    std::sort(pairs.begin(), pairs.end());
    findings_.truncated |= pairs.size() < findings_.overlap_count;
    for (const auto& [a, b] : pairs) {
      findings_.overlaps.push_back({a + 1, b + 1, region(common_box(a, b)), same_output(a, b)});
    }
  }

  // Place in the order of the allowed values, per output; what is not among them comes last.
  std::vector<std::size_t> priority(std::uint32_t row) const {
    std::vector<std::size_t> result;
    const auto& rule = table_.rules[row];
    for (std::size_t at = 0; at < rule.out.size() && at < table_.outputs.size(); ++at) {
      const auto& allowed = table_.outputs[at].allowed;
      const auto place = std::find_if(allowed.begin(), allowed.end(), [&](const FeelValue& value) {
        return equal(value, rule.out[at]).value_or(false);
      });
      result.push_back(static_cast<std::size_t>(place - allowed.begin()));
    }
    return result;
  }

  void find_hidden() {
    const bool by_order = table_.hit_policy == "F";
    const bool by_priority = table_.hit_policy == "P";
    if ((!by_order && !by_priority) || grid_.columns.empty()) return;
    std::vector<std::vector<std::size_t>> priorities;
    for (std::uint32_t row = 0; row < table_.rules.size(); ++row) priorities.push_back(priority(row));
    for (const std::uint32_t row : rows_) {
      const Box box = box_of(grid_, row);
      Rows above;
      for (const std::uint32_t other : rows_) {
        const bool wins = by_order ? other < row : priorities[other] < priorities[row];
        if (wins && meets_box(other, box)) above.push_back(other);
      }
      if (above.empty() || !is_covered(grid_, above, box)) continue;
      Rows by = smallest_cover(above, box);
      for (std::uint32_t& other : by) ++other;
      findings_.hidden.push_back({row + 1, std::move(by)});
    }
  }

  bool meets_box(std::uint32_t row, const Box& box) const {
    for (std::size_t column = 0; column < box.size(); ++column) {
      if (!meet(grid_.cells(row, column), box[column])) return false;
    }
    return true;
  }

  bool covers_box(std::uint32_t row, const Box& box) const {
    for (std::size_t column = 0; column < box.size(); ++column) {
      if (!covers(grid_.cells(row, column), box[column])) return false;
    }
    return true;
  }

  // One row where one will do; else rows of which none can be left out. `rows` cover the box.
  Rows smallest_cover(Rows rows, const Box& box) const {
    for (const std::uint32_t row : rows) {
      if (covers_box(row, box)) return {row};
    }
    if (rows.size() > kMostCandidates) return rows;
    Rows needed;
    while (!is_covered(grid_, needed, box)) {
      // The fewest of the first rows that cover it with those already needed: the last of them is needed too.
      std::size_t lo = 1;
      std::size_t hi = rows.size();
      while (lo < hi) {
        const std::size_t middle = (lo + hi) / 2;
        Rows some(rows.begin(), rows.begin() + static_cast<std::ptrdiff_t>(middle));
        some.insert(some.end(), needed.begin(), needed.end());
        if (is_covered(grid_, some, box)) {
          hi = middle;
        } else {
          lo = middle + 1;
        }
      }
      needed.push_back(rows[lo - 1]);
      rows.resize(lo - 1);
    }
    std::sort(needed.begin(), needed.end());
    return needed;
  }

  // Two rules of one output whose tests differ in one column are one rule with both tests there. Where every rule
  // that applies counts (C and its kin) only if no car meets both; where the order counts only if none stands between
  // that meets the later one.
  void find_merges() {
    constexpr std::size_t kMost = 2'000;
    if (rows_.size() > kMost) return;
    std::vector<bool> taken(table_.rules.size(), false);
    for (std::size_t at = 0; at < rows_.size(); ++at) {
      for (std::size_t later = at + 1; later < rows_.size() && !taken[rows_[at]]; ++later) {
        const std::uint32_t a = rows_[at];
        const std::uint32_t b = rows_[later];
        if (taken[b] || !same_output(a, b)) continue;
        const auto column = differing_column(a, b);
        if (!column || !may_merge(a, b)) continue;
        const Cells cells = united(grid_.cells(a, *column), grid_.cells(b, *column));
        findings_.merges.push_back({a + 1, b + 1, *column, columns_[*column].values(cells)});
        taken[a] = taken[b] = true;
      }
    }
  }

  std::optional<std::size_t> differing_column(std::uint32_t a, std::uint32_t b) const {
    std::optional<std::size_t> found;
    for (std::size_t column = 0; column < grid_.columns.size(); ++column) {
      if (grid_.set_of(a, column) == grid_.set_of(b, column)) continue;
      if (found) return std::nullopt;
      found = column;
    }
    return found;
  }

  bool may_merge(std::uint32_t a, std::uint32_t b) const {
    const std::string& policy = table_.hit_policy;
    if (policy == "A" || policy == "P") return true;
    if (policy == "F") {
      const Box box = box_of(grid_, b);
      return std::none_of(rows_.begin(), rows_.end(), [&](std::uint32_t row) {
        return row > a && row < b && meets_box(row, box) && !same_output(row, b);
      });
    }
    if (policy == "R" || policy == "O" || policy == "C") return false;  // lists have an order of their own
    for (std::size_t column = 0; column < grid_.columns.size(); ++column) {
      if (!meet(grid_.cells(a, column), grid_.cells(b, column))) return true;
    }
    return false;
  }

  const BareTable& table_;
  std::vector<ColumnCells> columns_;
  Grid grid_;
  Rows rows_;  // those that can apply
  TableFindings findings_;
};

}  // namespace

bool TableFindings::finds_wrong(const BareTable& table) const {
  const bool clash = std::any_of(overlaps.begin(), overlaps.end(), [&](const Overlap& overlap) {
    return table.hit_policy == "U" || (table.hit_policy == "A" && !overlap.same_output);
  });
  return !holes.empty() || !never_apply.empty() || !hidden.empty() || clash;
}

TableFindings check_table(const BareTable& table) { return TableCheck(table).run(); }

}  // namespace kitgap
