#include "measure/strip_grid.h"

#include <algorithm>
#include <bit>

namespace kitgap::strip {

int StripGrid::pieces() const {
  int sum = 0;
  for (const Kind& kind : kinds) sum += kind.count;
  return sum;
}

Step StripGrid::area() const {
  Step sum = 0;
  for (const Kind& kind : kinds) sum += kind.width * kind.height * kind.count;
  return sum;
}

Sums::Sums(Step limit) : limit_(limit), all_(limit > kMaxSums) {
  if (all_) return;
  words_.assign(static_cast<std::size_t>(limit / 64 + 1), 0);
  words_[0] = 1;
}

bool Sums::add(Step size) {
  if (all_ || size > limit_) return false;
  const auto words = static_cast<std::size_t>(size / 64);
  const auto bits = static_cast<unsigned>(size % 64);
  bool is_new = false;
  for (std::size_t i = words_.size(); i-- > words;) {
    std::uint64_t moved = words_[i - words] << bits;
    if (bits != 0 && i > words) moved |= words_[i - words - 1] >> (64 - bits);
    is_new = is_new || (moved & ~words_[i]) != 0;
    words_[i] |= moved;
  }
  return is_new;
}

Step Sums::best(Step most) const {
  if (all_ || most < 0) return most;
  most = std::min(most, limit_);
  auto word = static_cast<std::size_t>(most / 64);
  const auto bit = static_cast<unsigned>(most % 64);
  std::uint64_t below = words_[word] & (bit == 63 ? ~std::uint64_t{0} : (std::uint64_t{1} << (bit + 1)) - 1);
  while (below == 0) below = words_[--word];  // 0 is always reached
  return static_cast<Step>(word) * 64 + 63 - std::countl_zero(below);
}

Effort::Effort(std::int64_t steps, std::optional<double> seconds) : left_(steps) {
  if (seconds) {
    end_ = std::chrono::steady_clock::now() +
           std::chrono::duration_cast<std::chrono::steady_clock::duration>(std::chrono::duration<double>(*seconds));
  }
}

bool Effort::spend(std::int64_t steps) {
  if (over_) return false;
  left_ -= steps;
  if (left_ <= 0) over_ = true;
  if (end_ && (until_clock_ -= steps) <= 0) {
    until_clock_ = 2'000;
    if (std::chrono::steady_clock::now() >= *end_) over_ = true;
  }
  return !over_;
}

Effort Effort::part(std::int64_t steps) const {
  Effort part = *this;
  part.left_ = part.given_ = std::min(steps, left_);
  return part;
}

std::int64_t Effort::take_back(const Effort& part) {
  const std::int64_t spent = part.given_ - part.left_;
  left_ -= spent;
  over_ = left_ <= 0 || (part.over_ && part.left_ > 0);
  return spent;
}

std::size_t Skyline::tightest_gap(Step length) const {
  std::size_t tightest = stretches_.size();
  Step least = 0;
  for (std::size_t i = 0; i < stretches_.size(); ++i) {
    const Stretch& here = stretches_[i];
    if (left_wall(i, length) < here.y || right_wall(i, length) < here.y) continue;
    const Step room = here.width * (length - here.y);
    if (room == 0) continue;
    if (tightest == stretches_.size() || room < least) {
      tightest = i;
      least = room;
    }
  }
  return tightest == stretches_.size() ? lowest_gap() : tightest;
}

std::size_t Skyline::lowest_gap() const {
  const auto lowest = std::min_element(stretches_.begin(), stretches_.end(),
                                       [](const Stretch& a, const Stretch& b) { return a.y < b.y; });
  return static_cast<std::size_t>(lowest - stretches_.begin());
}

void Skyline::raise(std::size_t gap, Step offset, Step width, Step y) {
  const Stretch old = stretches_[gap];
  std::vector<Stretch> next;
  next.reserve(stretches_.size() + 2);
  const auto push = [&](Step x, Step top, Step wide) {
    if (wide == 0) return;
    if (!next.empty() && next.back().y == top) {
      next.back().width += wide;
    } else {
      next.push_back({x, top, wide});
    }
  };
  for (std::size_t i = 0; i < stretches_.size(); ++i) {
    if (i != gap) {
      push(stretches_[i].x, stretches_[i].y, stretches_[i].width);
      continue;
    }
    push(old.x, old.y, offset);
    push(old.x + offset, y, width);
    push(old.x + offset + width, old.y, old.width - offset - width);
  }
  stretches_ = std::move(next);
}

}  // namespace kitgap::strip
