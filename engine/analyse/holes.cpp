#include "analyse/holes.h"

#include <algorithm>
#include <limits>
#include <numeric>
#include <unordered_map>

namespace kitgap {
namespace {

constexpr std::uint64_t kMostSteps = 400'000'000;  // some seconds
constexpr std::size_t kMergeable = 2'000;          // merging is quadratic

// A decision diagram of what is left: node 0 is nothing, node 1 is everything, every other node splits one column
// into ranges of cells with what is left below each. Equal nodes are one.
struct Branch {
  CellRange range;
  std::uint32_t below;
  friend bool operator==(const Branch&, const Branch&) = default;
};
struct Split {
  std::uint32_t depth = 0;
  std::vector<Branch> branches;
  std::uint64_t paths = 0;  // boxes below
  friend bool operator==(const Split& a, const Split& b) { return a.depth == b.depth && a.branches == b.branches; }
};
constexpr std::uint32_t kNothing = 0;
constexpr std::uint32_t kEverything = 1;

using Rows = std::vector<std::uint32_t>;

std::uint64_t hash_of_words(std::uint64_t seed, std::uint64_t word) {
  seed ^= word + 0x9E3779B97F4A7C15ULL + (seed << 6) + (seed >> 2);
  return seed * 0xBF58476D1CE4E5B9ULL;
}

class Search {
 public:
  Search(const Grid& grid, const Box& within, bool first_only)
      : grid_(grid), within_(within), first_only_(first_only), tail_(grid.row_count()) {
    order_columns();
    splits_.resize(2);
    splits_[kEverything].paths = 1;
    stamps_.resize(grid.columns.size());
    for (std::size_t column = 0; column < grid.columns.size(); ++column) {
      stamps_[column].assign(grid.columns[column].set_count(), {0, 0});
    }
  }

  std::uint32_t run(Rows rows) {
    std::erase_if(rows, [&](std::uint32_t row) { return !meets_within(row); });
    for (const std::uint32_t row : rows) tail_[row] = tail_of(row);
    // The most general first, so that a row that covers all the rest is met early.
    std::stable_sort(rows.begin(), rows.end(), [&](auto a, auto b) { return tail_[a] < tail_[b]; });
    if (grid_.columns.empty()) return rows.empty() ? kEverything : kNothing;
    for (const Cells& cells : within_) {
      if (cells.empty()) return kNothing;
    }
    return descend(0, rows);
  }

  bool gave_up() const { return steps_ > kMostSteps; }
  std::uint64_t paths(std::uint32_t node) const { return splits_[node].paths; }

  void boxes(std::uint32_t node, std::size_t depth, Box& box, std::vector<Box>& out, std::size_t limit) const {
    if (node == kNothing || out.size() >= limit) return;
    if (node == kEverything) {
      for (; depth < columns_.size(); ++depth) box[columns_[depth]] = within_[columns_[depth]];
      out.push_back(box);
      return;
    }
    const std::uint32_t column = columns_[depth];
    const Split& split = splits_[node];
    for (std::size_t at = 0; at < split.branches.size(); ++at) {
      const Branch& branch = split.branches[at];
      box[column] = {branch.range};
      if (!grid_.columns[column].is_ordered) {
        // Cells of a column without an order are named together wherever the same is left below them.
        const auto same = [&](const Branch& other) { return other.below == branch.below; };
        if (std::any_of(split.branches.begin(), split.branches.begin() + static_cast<std::ptrdiff_t>(at), same)) continue;
        for (std::size_t later = at + 1; later < split.branches.size(); ++later) {
          if (same(split.branches[later])) box[column] = united(box[column], Cells{split.branches[later].range});
        }
      }
      boxes(branch.below, depth + 1, box, out, limit);
    }
  }

 private:
  struct Segments {
    std::vector<CellRange> ranges;
    std::vector<std::uint32_t> group;  // per segment: those that the same rows cover share a number
    std::vector<Rows> rows;            // per group
    std::vector<bool> is_covered;      // per group: one row covers all that remains
  };

  // Columns with few cells first: their splits are shared by most rows. Small tables keep their own order, which
  // reads best.
  void order_columns() {
    columns_.resize(grid_.columns.size());
    std::iota(columns_.begin(), columns_.end(), 0U);
    constexpr std::size_t kSmall = 200;
    if (grid_.row_count() > kSmall) {
      std::stable_sort(columns_.begin(), columns_.end(), [&](auto a, auto b) {
        return grid_.columns[a].cell_count < grid_.columns[b].cell_count;
      });
      // The one that splits rows best among the small ones first.
      const auto few = std::partition_point(columns_.begin(), columns_.end(),
                                            [&](auto column) { return grid_.columns[column].cell_count <= 256; });
      std::reverse(columns_.begin(), few);
    }
  }

  bool meets_within(std::uint32_t row) const {
    for (std::size_t column = 0; column < within_.size(); ++column) {
      if (!meet(grid_.cells(row, column), within_[column])) return false;
    }
    return true;
  }

  // The depth from which on the row covers all of `within`.
  std::uint32_t tail_of(std::uint32_t row) const {
    std::size_t depth = columns_.size();
    while (depth > 0 && covers(grid_.cells(row, columns_[depth - 1]), within_[columns_[depth - 1]])) --depth;
    return static_cast<std::uint32_t>(depth);
  }

  std::uint32_t descend(std::uint32_t depth, const Rows& rows) {
    if (rows.empty()) {
      found_ = true;
      return kEverything;
    }
    if (tail_[rows.front()] <= depth) return kNothing;
    steps_ += rows.size() + 1;
    if (gave_up() || (first_only_ && found_)) return kNothing;
    const std::uint64_t key = key_of(depth, rows);
    if (const auto known = seen_.find(key); known != seen_.end()) {
      for (const auto& [known_rows, node] : known->second) {
        if (known_rows == rows) return node;
      }
    }
    const std::uint32_t node = split(depth, rows);
    if (rows.size() <= kRemembered && !gave_up()) seen_[key].emplace_back(rows, node);
    return node;
  }

  std::uint32_t split(std::uint32_t depth, const Rows& rows) {
    const Segments segments = segments_of(depth, rows);
    std::vector<std::uint32_t> below(segments.rows.size());
    std::vector<bool> is_done(below.size(), false);
    for (const std::uint32_t group : segments.group) {
      if (is_done[group] || segments.is_covered[group]) continue;
      is_done[group] = true;
      below[group] = descend(depth + 1, segments.rows[group]);
    }
    Split result;
    result.depth = depth;
    for (std::size_t at = 0; at < segments.ranges.size(); ++at) {
      const std::uint32_t node = below[segments.group[at]];
      if (node == kNothing) continue;
      auto& branches = result.branches;
      const CellRange range = segments.ranges[at];
      if (!branches.empty() && branches.back().below == node && branches.back().range.hi + 1 == range.lo) {
        branches.back().range.hi = range.hi;
      } else {
        branches.push_back({range, node});
      }
    }
    return unique(std::move(result));
  }

  std::uint32_t unique(Split split) {
    if (split.branches.empty()) return kNothing;
    const Cells& all = within_[columns_[split.depth]];
    const bool is_whole = split.branches.size() == all.size() &&
                          std::equal(all.begin(), all.end(), split.branches.begin(), [&](const auto& range, const auto& branch) {
                            return branch.range == range && branch.below == kEverything;
                          });
    if (is_whole) return kEverything;
    std::uint64_t key = split.depth;
    for (const Branch& branch : split.branches) {
      key = hash_of_words(key, (std::uint64_t{branch.range.lo} << 32 | branch.range.hi) ^ (std::uint64_t{branch.below} * 0x9E37));
      const std::uint64_t more = splits_[branch.below].paths;
      split.paths = split.paths > std::numeric_limits<std::uint64_t>::max() - more ? ~std::uint64_t{0} : split.paths + more;
    }
    auto& same_key = by_key_[key];
    for (const std::uint32_t node : same_key) {
      if (splits_[node] == split) return node;
    }
    splits_.push_back(std::move(split));
    same_key.push_back(static_cast<std::uint32_t>(splits_.size() - 1));
    return same_key.back();
  }

  std::uint64_t key_of(std::uint32_t depth, const Rows& rows) const {
    std::uint64_t key = depth;
    for (const std::uint32_t row : rows) key = hash_of_words(key, row);
    return key;
  }

  // Cuts a column's cells where the rows' sets begin and end, and hands each stretch the rows that cover it.
  Segments segments_of(std::uint32_t depth, const Rows& rows) {
    const std::uint32_t column = columns_[depth];
    const GridColumn& cells = grid_.columns[column];
    ++stamp_;
    std::vector<std::uint32_t> sets;  // the different ones
    std::vector<std::uint32_t> cuts;
    const auto add_cuts = [&](std::span<const CellRange> ranges) {
      for (const CellRange& range : ranges) {
        cuts.push_back(range.lo);
        cuts.push_back(range.hi + 1);
      }
    };
    auto& stamps = stamps_[column];
    for (const std::uint32_t row : rows) {
      const std::uint32_t set = grid_.set_of(row, column);
      if (stamps[set].stamp == stamp_) continue;
      stamps[set] = {stamp_, static_cast<std::uint32_t>(sets.size())};
      sets.push_back(set);
      add_cuts(cells.set(set));
    }
    add_cuts(within_[column]);
    std::sort(cuts.begin(), cuts.end());
    cuts.erase(std::unique(cuts.begin(), cuts.end()), cuts.end());
    Segments result;
    std::size_t in = 0;
    for (std::size_t at = 0; at + 1 < cuts.size(); ++at) {
      while (in < within_[column].size() && within_[column][in].hi < cuts[at]) ++in;
      if (in == within_[column].size() || within_[column][in].lo > cuts[at]) continue;
      result.ranges.push_back({cuts[at], cuts[at + 1] - 1});
    }
    if (depth + 1 == columns_.size()) {
      last_column(column, sets, result);
    } else {
      distribute(depth, column, rows, sets, result);
    }
    return result;
  }

  // First segment that begins at `cell` or later.
  static std::size_t segment_at(const Segments& segments, std::uint32_t cell) {
    return static_cast<std::size_t>(std::lower_bound(segments.ranges.begin(), segments.ranges.end(), cell,
                                                     [](const CellRange& range, std::uint32_t lo) { return range.lo < lo; }) -
                                    segments.ranges.begin());
  }

  // In the last column only whether anything covers a segment counts.
  void last_column(std::uint32_t column, const std::vector<std::uint32_t>& sets, Segments& segments) const {
    std::vector<std::int32_t> change(segments.ranges.size() + 1, 0);
    for (const std::uint32_t set : sets) {
      for (const CellRange& range : grid_.columns[column].set(set)) {
        ++change[segment_at(segments, range.lo)];
        --change[segment_at(segments, range.hi + 1)];
      }
    }
    segments.group.resize(segments.ranges.size());
    segments.rows.resize(2);
    segments.is_covered = {true, false};
    std::int32_t covering = 0;
    for (std::size_t at = 0; at < segments.ranges.size(); ++at) {
      covering += change[at];
      segments.group[at] = covering > 0 ? 0 : 1;
    }
  }

  void distribute(std::uint32_t depth, std::uint32_t column, const Rows& rows, const std::vector<std::uint32_t>& sets,
                  Segments& segments) {
    std::vector<std::vector<CellRange>> covered(sets.size());  // per set the segments that it covers
    std::vector<std::uint64_t> signature(segments.ranges.size(), 0);
    for (std::size_t number = 0; number < sets.size(); ++number) {
      const std::uint64_t mark = hash_of_words(0x5851F42D4C957F2DULL, sets[number]);
      for (const CellRange& range : grid_.columns[column].set(sets[number])) {
        const auto lo = static_cast<std::uint32_t>(segment_at(segments, range.lo));
        const auto hi = static_cast<std::uint32_t>(segment_at(segments, range.hi + 1));
        if (lo == hi) continue;
        covered[number].push_back({lo, hi - 1});
        steps_ += hi - lo;
        for (std::uint32_t at = lo; at < hi; ++at) signature[at] += mark;
      }
    }
    std::unordered_map<std::uint64_t, std::uint32_t> number_of;
    std::vector<std::uint32_t> first_of;
    segments.group.resize(signature.size());
    for (std::uint32_t at = 0; at < signature.size(); ++at) {
      const auto [place, is_new] = number_of.emplace(signature[at], static_cast<std::uint32_t>(first_of.size()));
      if (is_new) first_of.push_back(at);
      segments.group[at] = place->second;
    }
    if (!note_groups(covered, first_of, segments)) {
      // Two different sums of marks were equal: each segment stands alone then.
      first_of.resize(signature.size());
      std::iota(first_of.begin(), first_of.end(), 0U);
      segments.group = first_of;
      note_groups(covered, first_of, segments);
    }
    hand_out(depth, column, rows, segments);
  }

  // Notes for each set the groups it covers. False when a set covers only some segments of a group.
  bool note_groups(const std::vector<std::vector<CellRange>>& covered, const std::vector<std::uint32_t>& first_of,
                   const Segments& segments) {
    std::vector<std::uint32_t> size(first_of.size(), 0);
    for (const std::uint32_t group : segments.group) ++size[group];
    std::vector<std::uint32_t> marked(first_of.size(), 0);
    groups_of_set_.assign(covered.size(), {});
    for (std::uint32_t set = 0; set < covered.size(); ++set) {
      std::size_t expected = 0;
      std::size_t found = 0;
      for (const CellRange& range : covered[set]) {
        found += range.hi - range.lo + 1;
        for (std::uint32_t at = range.lo; at <= range.hi; ++at) {
          const std::uint32_t group = segments.group[at];
          if (marked[group] == set + 1) continue;
          marked[group] = set + 1;
          expected += size[group];
          groups_of_set_[set].push_back(group);
        }
      }
      if (expected != found) return false;
    }
    return true;
  }

  // Gives each group the rows that cover it, until one covers all that remains.
  void hand_out(std::uint32_t depth, std::uint32_t column, const Rows& rows, Segments& segments) {
    std::size_t groups = 0;
    for (const std::uint32_t group : segments.group) groups = std::max<std::size_t>(groups, group + 1);
    segments.is_covered.assign(groups, false);
    segments.rows.resize(groups);
    for (const std::uint32_t row : rows) {
      const bool covers_rest = tail_[row] <= depth + 1;
      for (const std::uint32_t group : groups_of_set_[stamps_[column][grid_.set_of(row, column)].number]) {
        if (segments.is_covered[group]) continue;
        if (covers_rest) {
          segments.is_covered[group] = true;
        } else {
          segments.rows[group].push_back(row);
        }
      }
    }
  }

  struct Stamp {
    std::uint64_t stamp;
    std::uint32_t number;
  };
  static constexpr std::size_t kRemembered = 4'096;

  const Grid& grid_;
  const Box& within_;
  bool first_only_;
  bool found_ = false;
  std::vector<std::uint32_t> columns_;  // by depth
  std::vector<std::uint32_t> tail_;
  std::vector<Split> splits_;
  std::unordered_map<std::uint64_t, std::vector<std::uint32_t>> by_key_;
  std::unordered_map<std::uint64_t, std::vector<std::pair<Rows, std::uint32_t>>> seen_;
  std::vector<std::vector<Stamp>> stamps_;
  std::uint64_t stamp_ = 0;
  std::vector<std::vector<std::uint32_t>> groups_of_set_;
  std::uint64_t steps_ = 0;
};

}  // namespace

Box everything(const Grid& grid) {
  Box box;
  for (const GridColumn& column : grid.columns) {
    box.push_back(column.cell_count == 0 ? Cells{} : Cells{{0, column.cell_count - 1}});
  }
  return box;
}

Box box_of(const Grid& grid, std::size_t row) {
  Box box;
  for (std::size_t column = 0; column < grid.columns.size(); ++column) {
    const auto cells = grid.cells(row, column);
    box.emplace_back(cells.begin(), cells.end());
  }
  return box;
}

void merge_boxes(const Grid& grid, std::vector<Box>& boxes) {
  bool merged = boxes.size() <= kMergeable;
  while (merged) {
    merged = false;
    for (std::size_t first = 0; first < boxes.size(); ++first) {
      for (std::size_t second = first + 1; second < boxes.size(); ++second) {
        std::size_t differing = 0;
        std::size_t where = 0;
        for (std::size_t column = 0; column < boxes[first].size() && differing < 2; ++column) {
          if (boxes[first][column] == boxes[second][column]) continue;
          ++differing;
          where = column;
        }
        if (differing != 1) continue;
        Cells joined = united(boxes[first][where], boxes[second][where]);
        if (grid.columns[where].is_ordered && joined.size() > 1) continue;
        boxes[first][where] = std::move(joined);
        boxes.erase(boxes.begin() + static_cast<std::ptrdiff_t>(second));
        merged = true;
        --second;
      }
    }
  }
}

Holes uncovered(const Grid& grid, const std::vector<std::uint32_t>& rows, const Box& within, std::size_t limit) {
  Search search(grid, within, false);
  const std::uint32_t node = search.run(rows);
  Holes holes;
  holes.count = search.paths(node);
  Box box(grid.columns.size());
  search.boxes(node, 0, box, holes.boxes, limit);
  holes.truncated = holes.count > limit || search.gave_up();
  merge_boxes(grid, holes.boxes);
  std::sort(holes.boxes.begin(), holes.boxes.end());
  return holes;
}

bool is_covered(const Grid& grid, const std::vector<std::uint32_t>& rows, const Box& within) {
  Search search(grid, within, true);
  return search.run(rows) == kNothing && !search.gave_up();
}

}  // namespace kitgap
