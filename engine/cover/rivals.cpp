#include <algorithm>

#include "cover/answer.h"

namespace kitgap {
namespace {

// Smaller sets than the one found by taking away are looked for among this many at most.
constexpr std::size_t kMaxTried = 2'000;

// The next choice of `size` indices below `count`, in order; false after the last.
bool next_choice(std::vector<std::size_t>& chosen, std::size_t count) {
  for (std::size_t at = chosen.size(); at-- > 0;) {
    if (chosen[at] + (chosen.size() - at) < count) {
      ++chosen[at];
      for (std::size_t after = at + 1; after < chosen.size(); ++after) chosen[after] = chosen[after - 1] + 1;
      return true;
    }
  }
  return false;
}

}  // namespace

std::optional<Rivals> rivals_of(const CoverModel& model, Solver& solver, LineId line, const Fraction& gap) {
  const Component& component = model.components()[model.component_of(line)];
  std::vector<LineId> rivals{line};
  if (solver.gap_among(line, rivals) != gap) {
    rivals.clear();
    for (const LineId other : component.lines) {
      if (other == line || !solver.need(other).is_zero()) rivals.push_back(other);
    }
    // Take away, last lines first, whatever the gap does not hang on.
    for (std::size_t at = rivals.size(); at-- > 0;) {
      if (rivals[at] == line) continue;
      std::vector<LineId> fewer = rivals;
      fewer.erase(fewer.begin() + static_cast<std::ptrdiff_t>(at));
      if (solver.gap_among(line, fewer) == gap) rivals = std::move(fewer);
    }
    // That set is irreducible, not yet the smallest: try all smaller ones, as far as there are few.
    std::vector<LineId> others;
    for (const LineId other : component.lines) {
      if (other != line && !solver.need(other).is_zero()) others.push_back(other);
    }
    std::size_t tried = 0;
    for (std::size_t size = 1; size + 1 < rivals.size(); ++size) {
      std::vector<std::size_t> chosen(size);
      for (std::size_t at = 0; at < size; ++at) chosen[at] = at;
      bool is_found = false;
      do {
        if (++tried > kMaxTried) break;
        std::vector<LineId> candidate{line};
        for (const std::size_t at : chosen) candidate.push_back(others[at]);
        std::ranges::sort(candidate);
        if (solver.gap_among(line, candidate) == gap) {
          rivals = std::move(candidate);
          is_found = true;
          break;
        }
      } while (next_choice(chosen, others.size()));
      if (is_found || tried > kMaxTried) break;
    }
  }
  Rivals result{.needs = rivals, .given = solver.given_to(rivals), .wanted = {}, .from_above = {}, .pieces = {}, .others_lack = {}};
  for (const LineId rival : rivals) {
    result.wanted += solver.need(rival);
    result.from_above += solver.covered_from_above(rival);
    if (rival != line) result.others_lack += solver.gap_among(rival, rivals);
  }
  for (const Solver::Given& given : result.given) result.pieces += given.pieces;
  return result;
}

}  // namespace kitgap
