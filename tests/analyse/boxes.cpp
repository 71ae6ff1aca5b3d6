#include <doctest/doctest.h>

#include <functional>
#include <numeric>
#include <random>
#include <set>

#include "analyse/holes.h"
#include "analyse/overlaps.h"

using namespace kitgap;

namespace {

using Point = std::vector<std::uint32_t>;

std::uint32_t below(std::mt19937& random, std::uint32_t end) { return static_cast<std::uint32_t>(random() % end); }

Grid random_grid(std::mt19937& random, std::uint32_t most_rows) {
  Grid grid;
  const std::uint32_t columns = 1 + below(random, 4);
  for (std::uint32_t column = 0; column < columns; ++column) {
    GridColumn cells;
    cells.cell_count = 1 + below(random, 6);
    cells.is_ordered = random() % 2 == 0;
    cells.ranges = {{0, cells.cell_count - 1}};
    for (std::uint32_t set = below(random, 7); set > 0; --set) {
      Cells ranges;
      for (std::uint32_t part = 1 + below(random, 2) * below(random, 2); part > 0; --part) {
        const std::uint32_t lo = below(random, cells.cell_count);
        ranges = united(ranges, Cells{{lo, lo + below(random, cells.cell_count - lo)}});
      }
      if (random() % 30 == 0) ranges.clear();
      cells.ranges.insert(cells.ranges.end(), ranges.begin(), ranges.end());
      cells.first.push_back(static_cast<std::uint32_t>(cells.ranges.size()));
    }
    grid.columns.push_back(cells);
  }
  for (std::uint32_t row = below(random, most_rows + 1); row > 0; --row) {
    for (const GridColumn& column : grid.columns) grid.sets.push_back(below(random, column.set_count()));
  }
  return grid;
}

bool contains(std::span<const CellRange> cells, std::uint32_t cell) {
  return std::any_of(cells.begin(), cells.end(), [&](const CellRange& r) { return r.lo <= cell && cell <= r.hi; });
}

bool contains(const Box& box, const Point& point) {
  for (std::size_t column = 0; column < box.size(); ++column) {
    if (!contains(box[column], point[column])) return false;
  }
  return true;
}

void for_each_point(const Grid& grid, const std::function<void(const Point&)>& visit) {
  Point point(grid.columns.size(), 0);
  while (true) {
    visit(point);
    std::size_t column = 0;
    while (column < point.size() && ++point[column] == grid.columns[column].cell_count) point[column++] = 0;
    if (column == point.size()) return;
  }
}

std::vector<std::uint32_t> all_rows(const Grid& grid) {
  std::vector<std::uint32_t> rows(grid.row_count());
  std::iota(rows.begin(), rows.end(), 0U);
  return rows;
}

}  // namespace

TEST_CASE("holes: boxes are disjoint and exactly what no row covers, as counting every cell shows") {
  for (unsigned seed = 1; seed <= 4000; ++seed) {
    CAPTURE(seed);
    std::mt19937 random(seed);
    const Grid grid = random_grid(random, 10);
    Box within = everything(grid);
    if (seed % 3 == 0) {
      for (std::size_t column = 0; column < within.size(); ++column) {
        const auto cells = grid.columns[column].set(below(random, grid.columns[column].set_count()));
        within[column].assign(cells.begin(), cells.end());
      }
    }
    const Holes holes = uncovered(grid, all_rows(grid), within);
    REQUIRE(!holes.truncated);
    bool any = false;
    bool exact = true;
    for_each_point(grid, [&](const Point& point) {
      bool wanted = contains(within, point);
      for (std::uint32_t row = 0; row < grid.row_count(); ++row) wanted &= !contains(box_of(grid, row), point);
      const auto in = std::count_if(holes.boxes.begin(), holes.boxes.end(), [&](const Box& box) { return contains(box, point); });
      exact &= in == (wanted ? 1 : 0);
      any |= wanted;
    });
    CHECK(exact);
    CHECK(is_covered(grid, all_rows(grid), within) == !any);
    for (const Box& box : holes.boxes) {
      for (std::size_t column = 0; column < box.size(); ++column) {
        if (grid.columns[column].is_ordered && within[column].size() == 1) CHECK(box[column].size() == 1);
      }
    }
  }
}

TEST_CASE("holes: a grid of thin holes past the limit is cut short and says so, with the whole count") {
  Grid grid;
  GridColumn column;
  column.cell_count = 400;
  column.ranges = {{0, 399}};
  for (std::uint32_t cell = 0; cell < 400; cell += 2) {
    column.ranges.push_back({cell, cell});
    column.first.push_back(static_cast<std::uint32_t>(column.ranges.size()));
  }
  grid.columns = {column, column};
  for (std::uint32_t set = 1; set < column.set_count(); ++set) grid.sets.insert(grid.sets.end(), {set, 0U, 0U, set});
  const Holes holes = uncovered(grid, all_rows(grid), everything(grid));
  CHECK(holes.truncated);
  CHECK(holes.count == 200 * 200);
  CHECK(holes.boxes.size() == kMaxHoles);
}

TEST_CASE("overlaps: the pairs counted and listed are those that share a cell") {
  for (unsigned seed = 1; seed <= 3000; ++seed) {
    CAPTURE(seed);
    std::mt19937 random(seed);
    const Grid grid = random_grid(random, seed % 10 == 0 ? 150 : 12);
    std::set<std::pair<std::uint32_t, std::uint32_t>> expected;
    for (std::uint32_t a = 0; a < grid.row_count(); ++a) {
      for (std::uint32_t b = a + 1; b < grid.row_count(); ++b) {
        bool all = true;
        for (std::size_t column = 0; column < grid.columns.size(); ++column) {
          bool some = false;
          for (std::uint32_t cell = 0; cell < grid.columns[column].cell_count; ++cell) {
            some |= contains(grid.cells(a, column), cell) && contains(grid.cells(b, column), cell);
          }
          all &= some;
        }
        if (all) expected.insert({a, b});
      }
    }
    std::set<std::pair<std::uint32_t, std::uint32_t>> found;
    bool twice = false;
    for_each_overlap(grid, [&](std::uint32_t a, std::uint32_t b) {
      twice |= !found.insert({a, b}).second;
      return true;
    });
    CHECK(found == expected);
    CHECK_FALSE(twice);
    CHECK(count_overlaps(grid) == expected.size());
  }
}
