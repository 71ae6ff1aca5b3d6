#include "match/sweep_groups.h"

#include <algorithm>
#include <array>

namespace kitgap {
namespace {

constexpr std::size_t kGroupsPerSelection = 32;  // on average, so that making it pays
constexpr std::size_t kGroupsPerTask = 16;       // where all rows are looked at

// The cells of a column's places by a table, where they lie close together.
class CellTable {
 public:
  CellTable(const SweepIndex& index, std::size_t number, const CarPlaces& places, std::size_t begin, std::size_t end)
      : index_(index), number_(number) {
    const auto [lo, hi] = std::minmax_element(places.place.begin() + static_cast<std::ptrdiff_t>(begin),
                                              places.place.begin() + static_cast<std::ptrdiff_t>(end));
    std::int64_t span = 0;
    if (__builtin_sub_overflow(*hi, *lo, &span) || span > 4'096) return;
    first_ = *lo;
    for (std::int64_t place = *lo; place <= *hi; ++place) cells_.push_back(static_cast<std::uint8_t>(index.cell(number, place)));
  }
  std::uint8_t at(std::int64_t place) const {
    return cells_.empty() ? static_cast<std::uint8_t>(index_.cell(number_, place)) : cells_[static_cast<std::size_t>(place - first_)];
  }

 private:
  const SweepIndex& index_;
  std::size_t number_;
  std::int64_t first_ = 0;
  std::vector<std::uint8_t> cells_;
};

}  // namespace

CarGroups::CarGroups(const SweepIndex& index, const PlacedCars& cars, std::size_t begin, std::size_t end)
    : columns_(index.vector_columns().size()), begin_(begin) {
  for (std::size_t car = begin; car < end; ++car) {
    (cars.has_unknown(car) ? unknown_ : order_).push_back(static_cast<std::uint32_t>(car));
  }
  if (order_.empty()) return;
  for (std::size_t number = 0; number < columns_; ++number) {
    const CarPlaces& places = cars.columns[index.vector_columns()[number]];
    const CellTable table(index, number, places, begin, end);
    std::vector<std::uint8_t>& cells = cells_.emplace_back(end - begin);
    for (std::size_t car = begin; car < end; ++car) cells[car - begin] = table.at(places.place[car]);
  }
  // Counting sorts from the last column to the first; each keeps the order of the one before.
  for (std::size_t number = columns_; number-- > 0;) {
    std::array<std::uint32_t, 257> place{};
    for (const std::uint32_t car : order_) ++place[cells_[number][car - begin_] + 1U];
    for (std::size_t cell = 0; cell < 256; ++cell) place[cell + 1] += place[cell];
    std::vector<std::uint32_t> sorted(order_.size());
    for (const std::uint32_t car : order_) sorted[place[cells_[number][car - begin_]]++] = car;
    order_ = std::move(sorted);
  }
  cut_groups();
}

void CarGroups::cut_groups() {
  // Per group the first column in which it differs from the one before.
  std::vector<std::size_t> differ_first;
  for (std::size_t at = 0; at < order_.size(); ++at) {
    std::size_t same = 0;
    while (at > 0 && same < columns_ && cells_[same][order_[at] - begin_] == cells_[same][order_[at - 1] - begin_]) ++same;
    if (at > 0 && same == columns_) continue;
    if (at > 0) first_car_.push_back(at);
    differ_first.push_back(same);
    for (std::size_t number = 0; number < columns_; ++number) group_cells_.push_back(cells_[number][order_[at] - begin_]);
  }
  first_car_.push_back(order_.size());
  cut_tasks(differ_first);
}

void CarGroups::cut_tasks(const std::vector<std::size_t>& differ_first) {
  const std::size_t groups = differ_first.size();
  while (depth_ < columns_) {
    const auto selections = 1 + std::count_if(differ_first.begin() + 1, differ_first.end(), [&](std::size_t column) { return column <= depth_; });
    if (static_cast<std::size_t>(selections) * kGroupsPerSelection > groups) break;
    ++depth_;
  }
  for (std::size_t group = 1; group < groups; ++group) {
    const bool begins = depth_ == 0 ? group % kGroupsPerTask == 0 : differ_first[group] < depth_;
    if (begins) first_group_.push_back(group);
  }
  first_group_.push_back(groups);
}

std::span<const std::uint32_t> CarGroups::unknown_cars(std::size_t task) const {
  const std::size_t first = (task + 1 - first_group_.size()) * kUnknownTask;
  return std::span(unknown_).subspan(first, std::min(kUnknownTask, unknown_.size() - first));
}

}  // namespace kitgap
