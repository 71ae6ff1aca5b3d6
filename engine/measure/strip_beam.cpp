#include <algorithm>
#include <random>
#include <unordered_set>

#include "measure/strip_grid.h"

namespace kitgap::strip {
namespace {

// How well a piece sits in a gap: flush with both walls best, then level with a wall, then wide.
Step fit_of(const Stretch& gap, Step left, Step right, Step across, Step along) {
  Step fit = 0;
  if (across == gap.width) fit += 4;
  if (gap.y + along == left) fit += 2;
  if (gap.y + along == right) fit += across == gap.width ? 2 : 0;
  return fit;
}

// Ways to choose among pieces that sit equally well.
enum class Prefer { Wide, Long, Large };

Layout quick_by(const StripGrid& grid, Prefer prefer) {
  Layout layout;
  Skyline skyline(grid.width);
  std::vector<Kind> left = grid.kinds;
  const Step none = Step{1} << 40;
  for (int to_lay = grid.pieces(); to_lay > 0;) {
    const std::size_t gap = skyline.lowest_gap();
    const Stretch here = skyline.stretches()[gap];
    const Step left_wall = skyline.left_wall(gap, none), right_wall = skyline.right_wall(gap, none);
    std::optional<Placement> chosen;
    std::pair<Step, Step> best{-1, -1};
    for (std::size_t k = 0; k < left.size(); ++k) {
      for (int way = 0; left[k].count > 0 && way < grid.ways(left[k]); ++way) {
        const Step across = left[k].across(way), along = left[k].along(way);
        if (across > here.width) continue;
        const Step size = prefer == Prefer::Wide ? across : prefer == Prefer::Long ? along : across * along;
        const std::pair value{fit_of(here, left_wall, right_wall, across, along), size};
        if (value <= best) continue;
        best = value;
        chosen = Placement{static_cast<int>(k), way, here.x, here.y};
      }
    }
    if (!chosen) {
      skyline.raise(gap, 0, here.width, std::min(left_wall, right_wall));
      continue;
    }
    Kind& kind = left[static_cast<std::size_t>(chosen->kind)];
    --kind.count;
    --to_lay;
    const Step across = kind.across(chosen->way);
    // Beside the higher wall, so that the steps of the skyline stay few.
    const Step offset = left_wall >= right_wall ? 0 : here.width - across;
    chosen->x += offset;
    skyline.raise(gap, offset, across, here.y + kind.along(chosen->way));
    layout.length = std::max(layout.length, here.y + kind.along(chosen->way));
    layout.pieces.push_back(*chosen);
  }
  return layout;
}

// A beginning of a layout: some pieces laid, the rest to come.
struct Beginning {
  Skyline skyline;
  std::vector<std::uint16_t> left;  // per kind
  Step waste = 0;                   // area under the skyline that no piece covers
  Step laid = 0;                    // area of the pieces laid
  std::uint32_t record = 0;
  std::uint64_t hash = 0;
};

struct Record {
  std::uint32_t before = 0;
  Placement placement;
};

// A piece that may come next, not laid yet: most are thrown away.
struct Candidate {
  std::uint32_t from = 0;  // index into the level
  std::uint32_t gap = 0;
  Placement placement;
  std::uint64_t hash = 0;
  double score = 0;
};

std::uint64_t mixed(std::uint64_t x) {
  x ^= x >> 33;
  x *= 0xff51afd7ed558ccdULL;
  x ^= x >> 33;
  x *= 0xc4ceb9fe1a85ec53ULL;
  return x ^ (x >> 33);
}

std::uint64_t hash_of(Step x, Step y, Step width) {
  return mixed(mixed(mixed(static_cast<std::uint64_t>(x) + 1) + static_cast<std::uint64_t>(y)) + static_cast<std::uint64_t>(width));
}

std::uint64_t hash_of(std::size_t kind) { return mixed(static_cast<std::uint64_t>(kind) + 0x9e3779b97f4a7c15ULL); }

// What raising part of a gap, at its left end, to `top` makes of the skyline: how many stretches, and its hash.
struct Change {
  std::ptrdiff_t stretches = 0;
  std::uint64_t hash = 0;
};

Change change_of(const Skyline& skyline, std::size_t gap, Step width, Step top) {
  const auto& all = skyline.stretches();
  const Stretch here = all[gap];
  Change change{.stretches = -1, .hash = 0 - hash_of(here.x, here.y, here.width)};
  Stretch raised{here.x, top, width};
  const auto swallow = [&](const Stretch& neighbour) {
    change.hash -= hash_of(neighbour.x, neighbour.y, neighbour.width);
    --change.stretches;
    raised.x = std::min(raised.x, neighbour.x);
    raised.width += neighbour.width;
  };
  if (gap > 0 && all[gap - 1].y == top) swallow(all[gap - 1]);
  if (width < here.width) {
    change.hash += hash_of(here.x + width, here.y, here.width - width);
    ++change.stretches;
  } else if (gap + 1 < all.size() && all[gap + 1].y == top) {
    swallow(all[gap + 1]);
  }
  change.hash += hash_of(raised.x, raised.y, raised.width);
  ++change.stretches;
  return change;
}

class Beam {
 public:
  Beam(const StripGrid& grid, Step length, std::size_t breadth, int variant, Effort& effort)
      : grid_(grid), length_(length), breadth_(breadth), by_area_(variant % 2 == 0 ? 1.0 : 0.3), by_room_(variant % 4 < 2),
        effort_(effort), random_(static_cast<std::uint64_t>(variant) + 1), spare_(length * grid.width - grid.area()) {}

  std::optional<Layout> run() {
    const int pieces = grid_.pieces();
    if (spare_ < 0) return std::nullopt;
    Beginning first{.skyline = Skyline(grid_.width), .left = {}};
    for (const Kind& kind : grid_.kinds) first.left.push_back(static_cast<std::uint16_t>(kind.count));
    records_.push_back({});
    std::vector<Beginning> level{std::move(first)};
    for (int laid = 0; laid < pieces; ++laid) {
      next_.clear();
      seen_.clear();
      for (std::size_t i = 0; i < level.size(); ++i) {
        if (!effort_.spend()) return std::nullopt;
        expand(level, i);
      }
      if (next_.empty()) return std::nullopt;
      keep_best();
      level = laid_from(level);
    }
    return layout_of(level.front());
  }

 private:
  // The waste that every completion has at least: in the row just above the gap, and in the columns above each stretch.
  bool can_be_finished(const Beginning& beginning, std::size_t gap, Sums& across) const {
    const Stretch& here = beginning.skyline.stretches()[gap];
    Sums along(length_);
    for (std::size_t k = 0; k < grid_.kinds.size(); ++k) {
      const Kind& kind = grid_.kinds[k];
      for (int i = 0; i < beginning.left[k]; ++i) {
        bool is_new = false;
        for (int way = 0; way < grid_.ways(kind); ++way) {
          if (!grid_.fits(kind, way)) continue;
          is_new = along.add(kind.along(way)) || is_new;
          if (here.y + kind.along(way) <= length_) is_new = across.add(kind.across(way)) || is_new;
        }
        if (!is_new) break;
      }
    }
    if (beginning.waste + here.width - across.best(here.width) > spare_) return false;
    Step columns = beginning.waste;
    for (const Stretch& stretch : beginning.skyline.stretches()) {
      const Step room = length_ - stretch.y;
      columns += stretch.width * (room - along.best(room));
    }
    return columns <= spare_;
  }

  void expand(std::vector<Beginning>& level, std::size_t index) {
    const Beginning& from = level[index];
    const std::size_t gap = by_room_ ? from.skyline.tightest_gap(length_) : from.skyline.lowest_gap();
    const Stretch here = from.skyline.stretches()[gap];
    Sums across(here.width);
    if (!can_be_finished(from, gap, across)) return;
    for (std::size_t k = 0; k < grid_.kinds.size(); ++k) {
      if (from.left[k] == 0) continue;
      for (int way = 0; way < grid_.ways(grid_.kinds[k]); ++way) propose(from, index, gap, k, way, across);
    }
    const Step wall = std::min(from.skyline.left_wall(gap, length_), from.skyline.right_wall(gap, length_));
    const Step waste = (wall - here.y) * here.width;
    if (wall <= here.y || from.waste + waste > spare_ || level.size() > 4 * breadth_ + 16) return;
    Beginning raised = from;
    raised.hash += change_of(from.skyline, gap, here.width, wall).hash;
    raised.skyline.raise(gap, 0, here.width, wall);
    raised.waste += waste;
    if (seen_.insert(raised.hash).second) level.push_back(std::move(raised));
  }

  void propose(const Beginning& from, std::size_t index, std::size_t gap, std::size_t k, int way, const Sums& sums) {
    const Kind& kind = grid_.kinds[k];
    const Stretch& here = from.skyline.stretches()[gap];
    const Step across = kind.across(way), along = kind.along(way);
    if (across > here.width || here.y + along > length_) return;
    const Step rest = here.width - across;
    if (from.waste + rest - sums.best(rest) > spare_) return;
    const Change change = change_of(from.skyline, gap, across, here.y + along);
    const std::uint64_t hash = from.hash + change.hash + hash_of(k);
    if (!seen_.insert(hash).second) return;
    const auto stretches = static_cast<double>(from.skyline.stretches().size()) + static_cast<double>(change.stretches);
    next_.push_back({static_cast<std::uint32_t>(index), static_cast<std::uint32_t>(gap),
                     {static_cast<int>(k), way, here.x, here.y}, hash,
                     score_of(stretches, from.laid + across * along, from.waste)});
  }

  // Few steps in the skyline, much area laid early (small pieces fill gaps later), a little chance. Where length is to spare,
  // waste is dear, or it is all used up at once; the weights are those that found most of some cut-up rectangles.
  double score_of(double stretches, Step laid, Step waste) {
    const double share = static_cast<double>(laid) / static_cast<double>(grid_.area());
    const double chance = static_cast<double>(random_() >> 11) * 0x1p-53;
    const double pieces_laid = share * grid_.pieces();
    if (spare_ == 0) return by_area_ * pieces_laid - stretches + 0.3 * chance;
    const double pieces_wasted = static_cast<double>(waste) / static_cast<double>(grid_.area()) * grid_.pieces();
    return 4 * by_area_ * pieces_laid - 15 * pieces_wasted - stretches + 0.3 * chance;
  }

  void keep_best() {
    const auto better = [](const Candidate& a, const Candidate& b) {
      return a.score != b.score ? a.score > b.score : a.hash < b.hash;
    };
    if (next_.size() <= breadth_) return;
    std::nth_element(next_.begin(), next_.begin() + static_cast<std::ptrdiff_t>(breadth_), next_.end(), better);
    next_.resize(breadth_);
  }

  std::vector<Beginning> laid_from(const std::vector<Beginning>& level) {
    std::vector<Beginning> laid;
    laid.reserve(next_.size() + 16);
    for (const Candidate& candidate : next_) {
      const auto k = static_cast<std::size_t>(candidate.placement.kind);
      const Kind& kind = grid_.kinds[k];
      Beginning next = level[candidate.from];
      next.skyline.raise(candidate.gap, 0, kind.across(candidate.placement.way),
                         candidate.placement.y + kind.along(candidate.placement.way));
      --next.left[k];
      next.laid += kind.width * kind.height;
      next.hash = candidate.hash;
      records_.push_back({next.record, candidate.placement});
      next.record = static_cast<std::uint32_t>(records_.size() - 1);
      laid.push_back(std::move(next));
    }
    return laid;
  }

  Layout layout_of(const Beginning& whole) const {
    Layout layout;
    for (std::uint32_t record = whole.record; record != 0; record = records_[record].before) {
      const Placement& placement = records_[record].placement;
      const Kind& kind = grid_.kinds[static_cast<std::size_t>(placement.kind)];
      layout.length = std::max(layout.length, placement.y + kind.along(placement.way));
      layout.pieces.push_back(placement);
    }
    return layout;
  }

  const StripGrid& grid_;
  Step length_;
  std::size_t breadth_;
  double by_area_;
  bool by_room_;
  Effort& effort_;
  std::mt19937_64 random_;
  Step spare_;
  std::vector<Record> records_;
  std::vector<Candidate> next_;
  std::unordered_set<std::uint64_t> seen_;  // a clash only loses a beginning, never makes a wrong layout
};

}  // namespace

Layout quick_layout(const StripGrid& grid) {
  Layout best;
  for (const Prefer prefer : {Prefer::Wide, Prefer::Long, Prefer::Large}) {
    Layout layout = quick_by(grid, prefer);
    if (best.pieces.empty() || layout.length < best.length) best = std::move(layout);
  }
  return best;
}

std::optional<Layout> beam_layout(const StripGrid& grid, Step length, std::size_t breadth, int variant, Effort& effort) {
  return Beam(grid, length, breadth, variant, effort).run();
}

}  // namespace kitgap::strip
