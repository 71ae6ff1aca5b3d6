#include "purchase/pack_sizes.h"

#include <algorithm>
#include <limits>
#include <queue>
#include <tuple>

namespace kitgap {
namespace {

constexpr std::int64_t kMostRemainders = 4'000'000;
constexpr std::size_t kMostLabels = 8'000'000;

// Packs other than the best, in total: a way to reach a remainder.
struct Label {
  Wide loss = 0;            // what they cost above the best price per piece, times the best pack's pieces
  std::int64_t pieces = 0;
  std::uint32_t before = 0;  // label it came from
  std::uint32_t size = 0;    // pack added
};

struct Later {
  const std::vector<Label>* labels;
  bool operator()(std::uint32_t a, std::uint32_t b) const {
    const Label& x = (*labels)[a];
    const Label& y = (*labels)[b];
    return std::tie(x.loss, x.pieces, a) > std::tie(y.loss, y.pieces, b);
  }
};

// Lower price per piece, then fewer pieces.
std::size_t best_size(std::span<const PackSize> sizes) {
  std::size_t best = 0;
  for (std::size_t at = 1; at < sizes.size(); ++at) {
    const Wide here = Wide{sizes[at].price} * sizes[best].pieces;
    const Wide there = Wide{sizes[best].price} * sizes[at].pieces;
    if (here < there || (here == there && sizes[at].pieces < sizes[best].pieces)) best = at;
  }
  return best;
}

}  // namespace

// Some least solution has fewer packs of other sizes than the best pack has pieces: of any so many packs a part holds a
// multiple of that number, and whole best packs hold the same for no more. So only the remainder of their sum matters,
// and of two ways to a remainder one that is no dearer and no larger is as good.
std::optional<std::vector<std::int64_t>> cheapest_pack_sizes(std::span<const PackSize> sizes, std::int64_t least) {
  std::vector<std::int64_t> packs(sizes.size());
  if (least <= 0) return packs;
  const std::size_t best = best_size(sizes);
  const PackSize unit = sizes[best];
  if (unit.pieces > kMostRemainders) return std::nullopt;
  std::vector<Label> labels = {Label{}};
  std::vector<std::int64_t> fewest(static_cast<std::size_t>(unit.pieces), std::numeric_limits<std::int64_t>::max());
  std::priority_queue<std::uint32_t, std::vector<std::uint32_t>, Later> open(Later{&labels});
  open.push(0);
  const auto best_packs = [&](const Label& label) {
    return std::max<std::int64_t>(0, (least - label.pieces + unit.pieces - 1) / unit.pieces);
  };
  std::optional<std::tuple<Wide, std::int64_t, std::uint32_t>> found;  // cost times unit.pieces, pieces, label
  while (!open.empty()) {
    const std::uint32_t id = open.top();
    open.pop();
    const Label label = labels[id];
    // All later labels lose at least as much, so none can be cheaper.
    if (found && Wide{unit.price} * least + label.loss > std::get<0>(*found)) break;
    auto& seen = fewest[static_cast<std::size_t>(label.pieces % unit.pieces)];
    if (label.pieces >= seen) continue;
    seen = label.pieces;
    const std::int64_t pieces = label.pieces + best_packs(label) * unit.pieces;
    const std::tuple candidate(Wide{unit.price} * pieces + label.loss, pieces, id);
    if (!found || candidate < *found) found = candidate;
    if (label.pieces >= least) continue;
    for (std::size_t size = 0; size < sizes.size(); ++size) {
      if (size == best || sizes[size].pieces <= 0) continue;
      const Wide loss = Wide{sizes[size].price} * unit.pieces - Wide{unit.price} * sizes[size].pieces;
      if (labels.size() >= kMostLabels) return std::nullopt;
      labels.push_back({label.loss + loss, label.pieces + sizes[size].pieces, id, static_cast<std::uint32_t>(size)});
      open.push(static_cast<std::uint32_t>(labels.size() - 1));
    }
  }
  std::uint32_t at = std::get<2>(*found);
  packs[best] = best_packs(labels[at]);
  for (; at != 0; at = labels[at].before) ++packs[labels[at].size];
  return packs;
}

}  // namespace kitgap
