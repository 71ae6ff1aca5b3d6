#include "purchase/pseudocost.h"

#include <algorithm>
#include <cmath>

namespace kitgap {
namespace {

constexpr double kFractional = 1e-6;
constexpr int kReliable = 2;     // probes before the average is believed
constexpr int kMostProbes = 6;  // per node

double product(double down, double up) { return std::max(down, 1e-6) * std::max(up, 1e-6); }

}  // namespace

double Pseudocosts::estimate(const Average& average) const {
  if (average.count > 0) return average.sum / average.count;
  return any_.count > 0 ? any_.sum / any_.count : 1.0;
}

double Pseudocosts::score(std::int32_t column, double fraction) const {
  const auto at = static_cast<std::size_t>(column);
  return product(estimate(down_[at]) * fraction, estimate(up_[at]) * (1 - fraction));
}

double Pseudocosts::probe_score(const Candidate& candidate, double value, const ProgramBounds& bounds, double room,
                                const Probe& probe) {
  const auto at = static_cast<std::size_t>(candidate.column);
  const auto below = static_cast<std::int64_t>(std::floor(value));
  const double down = std::min(room, std::max(0.0, probe(candidate.column, bounds.lower[at], below)));
  const double up = std::min(room, std::max(0.0, probe(candidate.column, below + 1, bounds.upper[at])));
  down_[at].add(down / candidate.fraction);
  up_[at].add(up / (1 - candidate.fraction));
  any_.add((down + up) / 2);
  return product(down, up);
}

BranchChoice Pseudocosts::choose(const std::vector<double>& values, const ProgramBounds& bounds,
                                 const std::vector<std::uint8_t>& rank, double room, int depth, const Probe& probe) {
  std::vector<Candidate> candidates;
  int highest = -1;
  for (std::size_t column = 0; column < values.size(); ++column) {
    const double fraction = values[column] - std::floor(values[column]);
    if (fraction < kFractional || fraction > 1 - kFractional || bounds.lower[column] >= bounds.upper[column]) continue;
    if (rank[column] < highest) continue;
    if (rank[column] > highest) candidates.clear();
    highest = rank[column];
    const auto id = static_cast<std::int32_t>(column);
    candidates.push_back({id, fraction, score(id, fraction)});
  }
  if (candidates.empty()) return {};
  std::stable_sort(candidates.begin(), candidates.end(),
                   [](const Candidate& a, const Candidate& b) { return a.score > b.score; });
  const Candidate* best = nullptr;
  int probes = 0;
  double best_score = -1;
  const int most = depth > 12 ? kMostProbes / 2 : kMostProbes;
  for (Candidate& candidate : candidates) {
    const auto at = static_cast<std::size_t>(candidate.column);
    if (probes < most && std::min(down_[at].count, up_[at].count) < kReliable) {
      candidate.score = probe_score(candidate, values[at], bounds, room, probe);
      ++probes;
    }
    if (candidate.score > best_score) {
      best_score = candidate.score;
      best = &candidate;
    }
    if (probes >= most) break;
  }
  const double value = values[static_cast<std::size_t>(best->column)];
  return {best->column, static_cast<std::int64_t>(std::floor(value)), best->fraction > 0.5};
}

}  // namespace kitgap
