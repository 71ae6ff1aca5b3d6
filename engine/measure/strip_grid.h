#pragma once

#include <chrono>
#include <cstdint>
#include <optional>
#include <vector>

namespace kitgap::strip {

// The job on a whole-number grid: every size divided by the largest step that fits into all of them.
using Step = std::int64_t;

inline constexpr Step kMaxGrid = Step{1} << 24;  // widths and heights; then every area fits into 63 bits
inline constexpr Step kMaxSums = 200'000;        // past this, sums of sizes are not listed: all count as reachable

// Panels of one size. `way` 0 is as given, 1 turned.
struct Kind {
  Step width = 0;
  Step height = 0;
  int count = 0;
  Step across(int way) const { return way == 0 ? width : height; }
  Step along(int way) const { return way == 0 ? height : width; }
};

struct StripGrid {
  Step width = 0;
  bool may_turn = false;
  std::vector<Kind> kinds;
  int ways(const Kind& kind) const { return may_turn && kind.width != kind.height ? 2 : 1; }
  bool fits(const Kind& kind, int way) const { return kind.across(way) <= width; }
  int pieces() const;
  Step area() const;
};

struct Placement {
  int kind = 0;
  int way = 0;
  Step x = 0;
  Step y = 0;
};

struct Layout {
  Step length = 0;
  std::vector<Placement> pieces;
};

// Which sums of given sizes can be reached, up to a limit.
class Sums {
 public:
  explicit Sums(Step limit);
  // One more size that may be used once. False when nothing new came of it.
  bool add(Step size);
  // The largest reachable sum that is at most `most`.
  Step best(Step most) const;
  bool reaches(Step sum) const { return best(sum) == sum; }

 private:
  Step limit_;
  bool all_ = false;
  std::vector<std::uint64_t> words_;
};

// Counts steps, so that a search ends at the same place on every machine; a clock only where asked for.
class Effort {
 public:
  Effort(std::int64_t steps, std::optional<double> seconds);
  // False when the search must end.
  bool spend(std::int64_t steps = 1);
  bool is_over() const { return over_; }
  std::int64_t left() const { return left_; }
  // A share of at most `steps` with the same clock; what it did not spend comes back. Gives what was spent.
  Effort part(std::int64_t steps) const;
  std::int64_t take_back(const Effort& part);

 private:
  std::int64_t left_;
  std::int64_t given_ = 0;
  std::int64_t until_clock_ = 0;
  std::optional<std::chrono::steady_clock::time_point> end_;
  bool over_ = false;
};

// The top of what is laid, as level stretches from left to right; neighbours differ in `y`.
struct Stretch {
  Step x = 0;
  Step y = 0;
  Step width = 0;
  friend bool operator==(const Stretch&, const Stretch&) = default;
};

class Skyline {
 public:
  Skyline() = default;
  explicit Skyline(Step width) : stretches_{{0, 0, width}} {}
  const std::vector<Stretch>& stretches() const { return stretches_; }
  // A stretch lower than both neighbours: the one with the least room above it, up to `length`; ties to the left.
  std::size_t tightest_gap(Step length) const;
  // The lowest; ties to the left.
  std::size_t lowest_gap() const;
  Step left_wall(std::size_t gap, Step length) const { return gap == 0 ? length : stretches_[gap - 1].y; }
  Step right_wall(std::size_t gap, Step length) const {
    return gap + 1 == stretches_.size() ? length : stretches_[gap + 1].y;
  }
  // Raises the stretch of `width` that starts `offset` into the gap up to `y`.
  void raise(std::size_t gap, Step offset, Step width, Step y);

 private:
  std::vector<Stretch> stretches_;
};

// What no roll can beat, from areas, the tallest panel, panels too wide to lie side by side, and dual feasible functions on the widths.
Step least_length(const StripGrid& grid);
// The shortest length of at least `from` that is a sum of panel lengths; every best plan has such a length.
Step next_length(const StripGrid& grid, Step from, Step most);

// The best of some quick rules: the lowest gap, the piece that fits it best. Always succeeds.
Layout quick_layout(const StripGrid& grid);
// Looks for a layout of at most `length`, keeping the `breadth` best beginnings. `variant` changes how beginnings are judged.
std::optional<Layout> beam_layout(const StripGrid& grid, Step length, std::size_t breadth, int variant, Effort& effort);

enum class Answer { Found, None, GaveUp };
struct ExactAnswer {
  Answer answer = Answer::GaveUp;
  Layout layout;
};
// Every layout of at most `length` up to pushing panels down and left: `None` is a proof that there is none.
ExactAnswer exact_layout(const StripGrid& grid, Step length, Effort& effort);

}  // namespace kitgap::strip
