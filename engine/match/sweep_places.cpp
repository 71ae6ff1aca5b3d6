#include "match/sweep_places.h"

#include <algorithm>

namespace kitgap {

std::vector<PlaceRange> merged(std::vector<PlaceRange> ranges) {
  std::sort(ranges.begin(), ranges.end(), [](const auto& a, const auto& b) { return a.lo < b.lo; });
  std::vector<PlaceRange> result;
  for (const PlaceRange& range : ranges) {
    if (range.lo > range.hi) continue;
    if (!result.empty() && (result.back().hi == kLastPlace || range.lo <= result.back().hi + 1)) {
      result.back().hi = std::max(result.back().hi, range.hi);
    } else {
      result.push_back(range);
    }
  }
  return result;
}

std::vector<PlaceRange> complement(const std::vector<PlaceRange>& merged_ranges) {
  std::vector<PlaceRange> result;
  std::int64_t from = kFirstPlace;
  for (const PlaceRange& range : merged_ranges) {
    if (range.lo > from) result.push_back({from, range.lo - 1});
    if (range.hi == kLastPlace) return result;
    from = range.hi + 1;
  }
  result.push_back({from, kLastPlace});
  return result;
}

void NamedValues::sort() {
  std::sort(values_.begin(), values_.end(), [](const auto& a, const auto& b) { return a < b; });
  values_.erase(std::unique(values_.begin(), values_.end()), values_.end());
}

std::int64_t NamedValues::place(const Fraction& value) const {
  const auto at = std::lower_bound(values_.begin(), values_.end(), value, [](const auto& a, const auto& b) { return a < b; });
  return 2 * (at - values_.begin()) + (at != values_.end() && *at == value ? 1 : 0);
}

}  // namespace kitgap
