#include "analyse/overlaps.h"

#include <algorithm>
#include <bit>
#include <numeric>
#include <span>

#include "match/sweep_kernels.h"

namespace kitgap {
namespace {

using Words = std::vector<std::uint64_t>;

constexpr std::uint32_t kMostVectors = 1'024;  // different sets of a column that get a bit vector each
constexpr std::uint64_t kMostVectorBytes = std::uint64_t{1} << 28;

// The rows in the order in which one column's intervals begin: of two rows the later overlaps the earlier there
// exactly if it begins before the earlier ends. So that column costs a look-up a row; the others are bit vectors.
class Pairs {
 public:
  explicit Pairs(const Grid& grid) : grid_(grid) {
    for (std::uint32_t row = 0; row < grid.row_count(); ++row) {
      if (!grid.never_applies(row)) order_.push_back(row);
    }
    words_ = (order_.size() + 63) / 64;
    sort_rows();
    Scratch scratch;
    for (std::uint32_t column = 0; column < grid.columns.size(); ++column) {
      if (column == sorted_) continue;
      if (has_vectors(column)) {
        vectors_.push_back({column, vectors_of(column, scratch)});
      } else {
        listed_.push_back(column);
      }
    }
  }

  // `word(i, at, bits)` for each earlier row i and each word of later rows that overlap it; stops on false.
  template <class Word>
  void run(const Word& word) const {
    std::vector<const std::uint64_t*> masks(vectors_.size());
    for (std::size_t i = 0; i < order_.size(); ++i) {
      for (std::size_t at = 0; at < vectors_.size(); ++at) {
        masks[at] = vectors_[at].words.data() + grid_.set_of(order_[i], vectors_[at].column) * words_;
      }
      const std::size_t end = sorted_ == kNone ? order_.size() : end_[i];
      for (std::size_t at = (i + 1) / 64; at * 64 < end; ++at) {
        std::uint64_t bits = ~std::uint64_t{0};
        if (at == (i + 1) / 64) bits <<= (i + 1) % 64;
        if (end - at * 64 < 64) bits &= (std::uint64_t{1} << (end - at * 64)) - 1;
        for (const std::uint64_t* mask : masks) bits &= mask[at];
        if (bits != 0 && !(listed_.empty() && is_simple_)) bits = checked(i, at, bits);
        if (bits != 0 && !word(i, at, bits)) return;
      }
    }
  }
  std::uint32_t row(std::size_t place) const { return order_[place]; }

  std::uint64_t count() const {
    std::uint64_t pairs = 0;
    if (!listed_.empty() || !is_simple_) {
      run([&](std::size_t, std::size_t, std::uint64_t bits) {
        pairs += static_cast<std::uint64_t>(std::popcount(bits));
        return true;
      });
      return pairs;
    }
    std::vector<const std::uint64_t*> masks(vectors_.size());
    for (std::size_t i = 0; i < order_.size(); ++i) {
      const std::size_t end = sorted_ == kNone ? order_.size() : end_[i];
      if (end <= i + 1) continue;
      const std::size_t first = (i + 1) / 64;
      for (std::size_t at = 0; at < vectors_.size(); ++at) {
        masks[at] = vectors_[at].words.data() + grid_.set_of(order_[i], vectors_[at].column) * words_ + first;
      }
      const std::uint64_t tail = end % 64 == 0 ? ~std::uint64_t{0} : (std::uint64_t{1} << end % 64) - 1;
      pairs += kernels_.common(masks.data(), masks.size(), (end + 63) / 64 - first, ~std::uint64_t{0} << (i + 1) % 64, tail);
    }
    return pairs;
  }

 private:
  struct Vectors {
    std::uint32_t column;
    Words words;  // `words_` for each set of the column: the rows whose set meets it
  };
  // One memory for what is put together on the way, column after column.
  struct Scratch {
    Words having;   // per set its own rows
    Words in_cell;  // per cell the rows whose set holds it
  };
  static constexpr std::uint32_t kNone = ~std::uint32_t{0};

  void sort_rows() {
    std::uint32_t most = 0;
    for (std::uint32_t column = 0; column < grid_.columns.size(); ++column) {
      if (!grid_.columns[column].is_ordered || grid_.columns[column].set_count() <= most) continue;
      most = grid_.columns[column].set_count();
      sorted_ = column;
    }
    if (sorted_ == kNone) return;
    const auto first = [&](std::uint32_t row) { return grid_.cells(row, sorted_).front().lo; };
    // A counting sort: cells are small numbers.
    std::vector<std::uint32_t> place(grid_.columns[sorted_].cell_count + 1, 0);
    for (const std::uint32_t row : order_) ++place[first(row) + 1];
    std::partial_sum(place.begin(), place.end(), place.begin());
    std::vector<std::uint32_t> sorted(order_.size());
    for (const std::uint32_t row : order_) sorted[place[first(row)]++] = row;
    order_ = std::move(sorted);
    std::vector<std::uint32_t> begins;
    for (const std::uint32_t row : order_) {
      begins.push_back(first(row));
      if (grid_.cells(row, sorted_).size() > 1) is_simple_ = false;  // then the hull only narrows
    }
    for (const std::uint32_t row : order_) {
      const std::uint32_t last = grid_.cells(row, sorted_).back().hi;
      end_.push_back(static_cast<std::uint32_t>(std::upper_bound(begins.begin(), begins.end(), last) - begins.begin()));
    }
  }

  bool has_vectors(std::uint32_t column) const {
    const std::uint64_t sets = grid_.columns[column].set_count();
    return sets <= kMostVectors && sets * words_ * 8 <= kMostVectorBytes;
  }

  // For each set of the column the rows whose set meets it: put together from the rows of each cell where there are fewer
  // cells than sets, else from the rows of each set.
  Words vectors_of(std::uint32_t column, Scratch& scratch) const {
    const GridColumn& cells = grid_.columns[column];
    const std::uint32_t sets = cells.set_count();
    Words& having = scratch.having;
    having.assign(sets * words_, 0);
    for (std::size_t place = 0; place < order_.size(); ++place) {
      having[grid_.set_of(order_[place], column) * words_ + place / 64] |= std::uint64_t{1} << (place % 64);
    }
    Words vectors;
    if (cells.cell_count >= sets) {
      gather(vectors, sets, having, sets, [&](std::uint32_t a, std::uint32_t b) { return meet(cells.set(a), cells.set(b)); });
      return vectors;
    }
    const auto holds = [&](std::uint32_t set, std::uint32_t cell) {
      const CellRange one{cell, cell};
      return meet(cells.set(set), std::span(&one, 1));
    };
    gather(scratch.in_cell, cells.cell_count, having, sets, [&](std::uint32_t cell, std::uint32_t set) { return holds(set, cell); });
    gather(vectors, sets, scratch.in_cell, cells.cell_count, holds);
    return vectors;
  }

  // Per vector to be made the union of those that belong to it.
  template <class Belongs>
  void gather(Words& result, std::uint32_t count, const Words& from, std::uint32_t from_count, const Belongs& belongs) const {
    result.assign(count * words_, 0);
    for (std::uint32_t to = 0; to < count; ++to) {
      std::uint64_t* sum = result.data() + to * words_;
      for (std::uint32_t part = 0; part < from_count; ++part) {
        if (belongs(to, part)) kernels_.unite(sum, from.data() + part * words_, words_);
      }
    }
  }

  std::uint64_t checked(std::size_t i, std::size_t at, std::uint64_t bits) const {
    std::uint64_t kept = bits;
    for (std::uint64_t rest = bits; rest != 0; rest &= rest - 1) {
      const std::uint32_t other = order_[at * 64 + static_cast<std::size_t>(std::countr_zero(rest))];
      const auto meets_in = [&](std::uint32_t column) {
        return meet(grid_.cells(order_[i], column), grid_.cells(other, column));
      };
      const bool all = std::all_of(listed_.begin(), listed_.end(), meets_in) && (is_simple_ || meets_in(sorted_));
      if (!all) kept &= ~(rest & -rest);
    }
    return kept;
  }

  const Grid& grid_;
  const SweepKernels& kernels_ = sweep_kernels();
  std::vector<std::uint32_t> order_;
  std::size_t words_ = 0;
  std::uint32_t sorted_ = kNone;
  bool is_simple_ = true;
  std::vector<std::uint32_t> end_;
  std::vector<Vectors> vectors_;
  std::vector<std::uint32_t> listed_;  // columns looked at pair by pair
};

}  // namespace

std::uint64_t count_overlaps(const Grid& grid) { return Pairs(grid).count(); }

void for_each_overlap(const Grid& grid, const std::function<bool(std::uint32_t, std::uint32_t)>& visit) {
  const Pairs pairs(grid);
  pairs.run([&](std::size_t i, std::size_t at, std::uint64_t bits) {
    for (; bits != 0; bits &= bits - 1) {
      const std::uint32_t a = pairs.row(i);
      const std::uint32_t b = pairs.row(at * 64 + static_cast<std::size_t>(std::countr_zero(bits)));
      if (!visit(std::min(a, b), std::max(a, b))) return false;
    }
    return true;
  });
}

}  // namespace kitgap
