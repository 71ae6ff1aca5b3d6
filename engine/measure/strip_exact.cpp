#include <algorithm>
#include <string>
#include <unordered_set>

#include "measure/strip_grid.h"

namespace kitgap::strip {
namespace {

constexpr std::size_t kMaxRemembered = 200'000;

// Fills the skyline's tightest gap (a stretch lower than both walls) in every way. In a layout whose panels are pushed down and
// left, the corner at the gap's left end is either (a) a panel's own corner; or (b) the gap's whole floor is empty, up to its
// lower wall; or (c) it is empty up to the left wall or higher, roofed by a panel that rests on that wall, and as far
// right as the first panel on the floor, whose left edge is a sum of widths. Nothing else is possible: what covers the corner from
// above must rest on something, and from the empty floor that can only be a wall.
class Exact {
 public:
  Exact(const StripGrid& grid, Step length, Effort& effort)
      : grid_(grid), length_(length), effort_(effort), spare_(length * grid.width - grid.area()), edges_(grid.width) {
    for (const Kind& kind : grid.kinds) {
      left_.push_back(kind.count);
      for (int i = 0; i < kind.count; ++i) {
        for (int way = 0; way < grid.ways(kind); ++way) edges_.add(kind.across(way));
      }
    }
    to_lay_ = grid.pieces();
  }

  ExactAnswer run() {
    ExactAnswer answer;
    answer.answer = spare_ < 0 ? Answer::None : search(Skyline(grid_.width), 0);
    if (answer.answer == Answer::Found) answer.layout = layout_;
    return answer;
  }

 private:
  Answer search(const Skyline& skyline, Step waste) {
    if (to_lay_ == 0) return finish();
    if (!effort_.spend()) return Answer::GaveUp;
    const std::size_t gap = skyline.tightest_gap(length_);
    const Stretch here = skyline.stretches()[gap];
    Sums across(here.width);
    if (!can_be_finished(skyline, here, waste, across)) return Answer::None;
    std::string key = key_of(skyline);
    if (dead_ends_.contains(key)) return Answer::None;
    Answer answer = lay_each(skyline, gap, waste, across);
    if (answer == Answer::None) answer = leave_floor(skyline, gap, waste);
    if (answer == Answer::None) answer = leave_corner(skyline, gap, waste);
    if (answer == Answer::None && dead_ends_.size() < kMaxRemembered) dead_ends_.insert(std::move(key));
    return answer;
  }

  Answer finish() {
    layout_.pieces = laid_;
    layout_.length = 0;
    for (const Placement& placement : laid_) {
      const Kind& kind = grid_.kinds[static_cast<std::size_t>(placement.kind)];
      layout_.length = std::max(layout_.length, placement.y + kind.along(placement.way));
    }
    return Answer::Found;
  }

  bool can_be_finished(const Skyline& skyline, const Stretch& here, Step waste, Sums& across) const {
    Sums along(length_);
    for (std::size_t k = 0; k < grid_.kinds.size(); ++k) {
      const Kind& kind = grid_.kinds[k];
      for (int i = 0; i < left_[k]; ++i) {
        bool is_new = false;
        for (int way = 0; way < grid_.ways(kind); ++way) {
          if (!grid_.fits(kind, way)) continue;
          is_new = along.add(kind.along(way)) || is_new;
          if (here.y + kind.along(way) <= length_) is_new = across.add(kind.across(way)) || is_new;
        }
        if (!is_new) break;
      }
    }
    if (waste + here.width - across.best(here.width) > spare_) return false;
    for (const Stretch& stretch : skyline.stretches()) {
      const Step room = length_ - stretch.y;
      waste += stretch.width * (room - along.best(room));
    }
    return waste <= spare_;
  }

  // (a), larger panels first.
  Answer lay_each(const Skyline& skyline, std::size_t gap, Step waste, const Sums& across) {
    const Stretch here = skyline.stretches()[gap];
    for (std::size_t k = grid_.kinds.size(); k-- > 0;) {
      const Kind& kind = grid_.kinds[k];
      for (int way = 0; left_[k] > 0 && way < grid_.ways(kind); ++way) {
        const Step wide = kind.across(way), top = here.y + kind.along(way);
        if (wide > here.width || top > length_) continue;
        const Step rest = here.width - wide;
        if (waste + rest - across.best(rest) > spare_) continue;
        const Answer answer = lay(skyline, gap, waste, k, way);
        if (answer != Answer::None) return answer;
      }
    }
    return Answer::None;
  }

  Answer lay(const Skyline& skyline, std::size_t gap, Step waste, std::size_t k, int way) {
    const Stretch here = skyline.stretches()[gap];
    const Kind& kind = grid_.kinds[k];
    Skyline next = skyline;
    next.raise(gap, 0, kind.across(way), here.y + kind.along(way));
    --left_[k];
    --to_lay_;
    laid_.push_back({static_cast<int>(k), way, here.x, here.y});
    const Answer answer = search(next, waste);
    ++left_[k];
    ++to_lay_;
    laid_.pop_back();
    return answer;
  }

  // (b)
  Answer leave_floor(const Skyline& skyline, std::size_t gap, Step waste) {
    const Stretch here = skyline.stretches()[gap];
    const Step wall = std::min(skyline.left_wall(gap, length_), skyline.right_wall(gap, length_));
    const Step more = (wall - here.y) * here.width;
    if (more == 0 || waste + more > spare_) return Answer::None;
    Skyline next = skyline;
    next.raise(gap, 0, here.width, wall);
    return search(next, waste + more);
  }

  // (c); at the roll's left edge there is no wall to rest on.
  Answer leave_corner(const Skyline& skyline, std::size_t gap, Step waste) {
    const Stretch here = skyline.stretches()[gap];
    const Step wall = skyline.left_wall(gap, length_);
    if (gap == 0 || wall <= here.y || wall >= length_) return Answer::None;
    for (Step wide = 1; wide < here.width; ++wide) {
      const Step more = wide * (wall - here.y);
      if (waste + more > spare_) break;
      if (!edges_.reaches(here.x + wide)) continue;
      Skyline next = skyline;
      next.raise(gap, 0, wide, wall);
      const Answer answer = search(next, waste + more);
      if (answer != Answer::None) return answer;
    }
    return Answer::None;
  }

  // All that decides whether a beginning can be finished; `waste` follows from it.
  std::string key_of(const Skyline& skyline) const {
    std::string key;
    const auto put = [&](Step value) { key.append(reinterpret_cast<const char*>(&value), sizeof value); };
    for (const Stretch& stretch : skyline.stretches()) {
      put(stretch.y);
      put(stretch.width);
    }
    for (const int count : left_) key.append(reinterpret_cast<const char*>(&count), 2);
    return key;
  }

  const StripGrid& grid_;
  Step length_;
  Effort& effort_;
  Step spare_;
  Sums edges_;
  std::vector<int> left_;
  int to_lay_ = 0;
  std::vector<Placement> laid_;
  Layout layout_;
  std::unordered_set<std::string> dead_ends_;
};

}  // namespace

ExactAnswer exact_layout(const StripGrid& grid, Step length, Effort& effort) { return Exact(grid, length, effort).run(); }

}  // namespace kitgap::strip
