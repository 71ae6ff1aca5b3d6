#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "match/sweep_index.h"
#include "match/sweep_sums.h"

namespace kitgap {

// The cars [begin, end) put together by the cells of the vector columns, and cut into tasks: cars alike in the first
// few columns share a selection of the rows, those alike in all a group. Cars with unknown facts stand in tasks of
// their own.
class CarGroups {
 public:
  CarGroups(const SweepIndex& index, const PlacedCars& cars, std::size_t begin, std::size_t end);
  std::size_t task_count() const { return first_group_.size() - 1 + (unknown_.size() + kUnknownTask - 1) / kUnknownTask; }
  bool is_unknown(std::size_t task) const { return task + 1 >= first_group_.size(); }
  std::span<const std::uint32_t> unknown_cars(std::size_t task) const;
  std::size_t first_group(std::size_t task) const { return first_group_[task]; }
  std::span<const std::uint32_t> cars(std::size_t group) const {
    return std::span(order_).subspan(first_car_[group], first_car_[group + 1] - first_car_[group]);
  }
  std::span<const std::uint32_t> first_cells(std::size_t task) const { return cells_of(first_group_[task]).first(depth_); }
  std::span<const std::uint32_t> other_cells(std::size_t group) const { return cells_of(group).subspan(depth_); }

 private:
  static constexpr std::size_t kUnknownTask = 16;
  std::span<const std::uint32_t> cells_of(std::size_t group) const {
    return std::span(group_cells_).subspan(group * columns_, columns_);
  }
  void sort_cars(const SweepIndex& index, const PlacedCars& cars);
  void cut_groups();
  void cut_tasks(const std::vector<std::size_t>& differ_first);

  std::size_t columns_ = 0;
  std::size_t begin_ = 0;
  std::size_t depth_ = 0;  // columns that a task's cars have in common
  std::vector<std::vector<std::uint8_t>> cells_;  // per column, per car from `begin` on
  std::vector<std::uint32_t> order_;              // known cars
  std::vector<std::uint32_t> unknown_;
  std::vector<std::size_t> first_car_{0};
  std::vector<std::uint32_t> group_cells_;
  std::vector<std::size_t> first_group_{0};
};

}  // namespace kitgap
