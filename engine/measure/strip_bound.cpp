#include <algorithm>
#include <set>

#include "measure/strip_grid.h"

namespace kitgap::strip {
namespace {

Step divide_up(Step a, Step b) { return (a + b - 1) / b; }

// The least that one piece can weigh over the ways it may lie.
template <class Weigh>
__int128 least_weight(const StripGrid& grid, const Kind& kind, Weigh weigh) {
  __int128 least = -1;
  for (int way = 0; way < grid.ways(kind); ++way) {
    if (!grid.fits(kind, way)) continue;
    const __int128 weight = weigh(kind.across(way), kind.along(way));
    if (least < 0 || weight < least) least = weight;
  }
  return std::max<__int128>(least, 0);
}

// A dual feasible function f on widths: widths that fit side by side into the roll have values that sum to at most f(roll). So
// the sum of f(width) * height over all panels is at most f(roll) * length. (Fekete and Schepers 2004; the proof is that
// each cross-cut of the roll meets panels that fit side by side.)
template <class Weigh>
Step bound_by(const StripGrid& grid, __int128 of_roll, Weigh weigh) {
  if (of_roll <= 0) return 0;
  __int128 sum = 0;
  for (const Kind& kind : grid.kinds) {
    sum += kind.count * least_weight(grid, kind, [&](Step across, Step along) { return weigh(across) * along; });
  }
  return static_cast<Step>((sum + of_roll - 1) / of_roll);
}

// u(k): x is worth floor((k + 1) x / W) of k, and exactly x where (k + 1) x / W is whole.
Step bound_by_steps(const StripGrid& grid, Step k) {
  const Step roll = grid.width;
  return bound_by(grid, static_cast<__int128>(roll) * k, [&](Step x) -> __int128 {
    const __int128 scaled = static_cast<__int128>(k + 1) * x;
    return scaled % roll == 0 ? static_cast<__int128>(x) * k : (scaled / roll) * roll;
  });
}

// Panels narrower than `small` count nothing, those wider than the roll less `small` count as the roll.
Step bound_by_wide(const StripGrid& grid, Step small) {
  return bound_by(grid, grid.width, [&](Step x) -> __int128 {
    if (x > grid.width - small) return grid.width;
    return x < small ? 0 : x;
  });
}

// Of panels at least `small` wide at most floor(W / small) lie side by side; those over half the roll count by what they leave.
Step bound_by_count(const StripGrid& grid, Step small) {
  const Step most = grid.width / small;
  return bound_by(grid, 2 * static_cast<__int128>(most), [&](Step x) -> __int128 {
    if (2 * x > grid.width) return 2 * (static_cast<__int128>(most) - (grid.width - x) / small);
    if (2 * x == grid.width) return most;
    return x < small ? 0 : 2 * (x / small);
  });
}

}  // namespace

Step least_length(const StripGrid& grid) {
  Step bound = divide_up(grid.area(), grid.width);
  std::set<Step> widths;
  for (const Kind& kind : grid.kinds) {
    bound = std::max(bound, static_cast<Step>(least_weight(grid, kind, [](Step, Step along) { return along; })));
    for (int way = 0; way < grid.ways(kind); ++way) {
      if (grid.fits(kind, way)) widths.insert(kind.across(way));
    }
  }
  for (Step k = 1; k <= 100; ++k) bound = std::max(bound, bound_by_steps(grid, k));
  for (const Step width : widths) {
    if (2 * width > grid.width) {
      bound = std::max(bound, bound_by_wide(grid, grid.width - width + 1));
      continue;
    }
    bound = std::max({bound, bound_by_wide(grid, width), bound_by_count(grid, width)});
  }
  return bound;
}

Step next_length(const StripGrid& grid, Step from, Step most) {
  Sums sums(most);
  for (const Kind& kind : grid.kinds) {
    for (int i = 0; i < kind.count; ++i) {
      bool is_new = false;
      for (int way = 0; way < grid.ways(kind); ++way) {
        if (grid.fits(kind, way)) is_new = sums.add(kind.along(way)) || is_new;
      }
      if (!is_new) break;
    }
  }
  for (Step length = from; length < most; ++length) {
    if (sums.reaches(length)) return length;
  }
  return most;
}

}  // namespace kitgap::strip
