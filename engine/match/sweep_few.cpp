#include "match/sweep_few.h"

#include <algorithm>
#include <array>
#include <bit>
#include <charconv>
#include <vector>

#include "text/csv.h"

namespace kitgap {
namespace {

constexpr std::size_t kBlock = 4'096;  // rows; their marks stay in the first-level cache

// Per set of the column a bit for each car that it holds.
std::vector<std::uint8_t> passes_of(const SweepColumn& column, const CarPlaces& places, std::size_t begin, std::size_t end) {
  std::vector<std::uint8_t> passes(column.set_count(), 0);
  for (std::uint32_t set = 0; set < passes.size(); ++set) {
    for (std::size_t car = begin; car < end; ++car) {
      if (column.holds(set, places.place[car])) passes[set] = static_cast<std::uint8_t>(passes[set] | 1U << (car - begin));
    }
  }
  return passes;
}

// The sums by item of one car.
struct ItemSums {
  std::vector<std::int64_t> sum;
  std::vector<bool> is_met;
  std::vector<std::uint32_t> met;
  void add(std::uint32_t item, std::int64_t count) {
    sum[item] += count;
    if (is_met[item]) return;
    is_met[item] = true;
    met.push_back(item);
  }
};

}  // namespace

void run_few_cars(const SweepTable& table, const SweepCars& cars, const PlacedCars& placed, std::size_t begin,
                  std::size_t end, const SweepOptions& options, const std::function<void(std::string_view)>& write,
                  SweepSummary& summary) {
  std::vector<std::vector<std::uint8_t>> passes;
  for (std::size_t column = 0; column < table.columns.size(); ++column) {
    passes.push_back(passes_of(table.columns[column], placed.columns[column], begin, end));
  }
  std::vector<ItemSums> sums(end - begin);
  for (ItemSums& car : sums) {
    car.sum.resize(table.items.size());
    car.is_met.resize(table.items.size());
  }
  SweepSums all;
  std::array<std::uint8_t, kBlock> marks;
  for (std::size_t from = 0; from < table.row_items.size(); from += kBlock) {
    const std::size_t count = std::min(kBlock, table.row_items.size() - from);
    marks.fill(static_cast<std::uint8_t>((1U << (end - begin)) - 1));
    for (std::size_t column = 0; column < passes.size(); ++column) {
      const std::uint32_t* sets = table.columns[column].row_sets.data() + from;
      const std::uint8_t* pass = passes[column].data();
      for (std::size_t row = 0; row < count; ++row) marks[row] = marks[row] & pass[sets[row]];
    }
    for (std::size_t row = 0; row < count; ++row) {
      for (unsigned mark = marks[row]; mark != 0; mark &= mark - 1) {
        sums[static_cast<std::size_t>(std::countr_zero(mark))].add(table.row_items[from + row], table.row_counts[from + row]);
        ++all.matches;
      }
    }
  }
  if (!options.only_summary) write("car_id,item,total\n");
  for (std::size_t car = begin; car < end; ++car) {
    const ItemSums& of_car = sums[car - begin];
    std::string car_cell;
    append_csv_cell(car_cell, cars.ids.text(car));
    std::string text;
    const auto item_text = [&](std::size_t place) { return std::string(table.items.text(of_car.met[place])); };
    for (const std::uint32_t place : natural_order(of_car.met.size(), item_text)) {
      const std::uint32_t item = of_car.met[place];
      if (!all.add_total(of_car.sum[item], of_car.sum[item]) || options.only_summary) continue;
      text += car_cell;
      text.push_back(',');
      append_csv_cell(text, table.items.text(item));
      text.push_back(',');
      text += decimal_text(of_car.sum[item], table.count_places);
      text.push_back('\n');
    }
    write(text);
  }
  summary.cars = end - begin;
  summary.matches = all.matches;
  summary.pairs = all.pairs;
  summary.sum = decimal_text(all.lo, table.count_places);
  summary.sum_hi = summary.sum;
}

}  // namespace kitgap
