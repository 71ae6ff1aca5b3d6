#pragma once

#include <algorithm>
#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "match/csv_scan.h"
#include "match/exact_decimal.h"
#include "match/text_ids.h"
#include "text/diagnostics.h"

namespace kitgap {

using Figures = std::vector<ExactDecimal>;

// No item, no quantity: what is wrong was reported. Plain words are given back for speed: an optional of one has to be
// put together in memory, at three times the time of reading the cell.
inline constexpr std::uint32_t kNothing = ~std::uint32_t{0};

// A quantity in four bytes: a whole number, or with the top bit set an index into the long figures.
inline constexpr std::uint32_t kIsLong = std::uint32_t{1} << 31;

// Edges as read. A run is a stretch of edges of one parent; files usually come with one run a parent.
struct KitEdges {
  struct Run {
    std::uint32_t parent;
    std::uint32_t begin;
  };
  std::vector<Run> runs;
  std::vector<std::uint32_t> children;
  std::vector<std::uint32_t> quantities;
  bool is_in_order = true;  // every child has a greater number than its parent, as tables written from the top down have
};

struct KitDemand {
  std::vector<std::uint32_t> items;
  std::vector<std::uint32_t> quantities;
};

// The nodes of the graph and what they are called. A plain number that is small against the file stands for itself, so
// that great files are read without looking anything up; every other name is numbered as it comes, from `kNamed` on,
// until all are read.
class KitItems {
 public:
  static constexpr std::uint32_t kNamed = std::uint32_t{1} << 31;

  explicit KitItems(std::uint64_t file_bytes) : number_end_(static_cast<std::uint32_t>(std::min<std::uint64_t>(file_bytes / 4, kNamed))) {}
  bool is_own_node(std::uint32_t number) const { return number < number_end_; }
  std::uint32_t of_number(std::uint32_t number) {
    first_name_ = std::max(first_name_, number + 1);
    return number;
  }
  std::uint32_t of_name(std::string_view name) { return kNamed | names_.id_of(name); }

  // Names follow the greatest number.
  void settle(std::vector<std::uint32_t>& nodes) const {
    if (names_.size() == 0) return;
    for (std::uint32_t& node : nodes) node = settled(node);
  }
  std::uint32_t settled(std::uint32_t node) const { return node < kNamed ? node : first_name_ + (node - kNamed); }
  std::size_t node_count() const { return first_name_ + names_.size(); }
  std::string name(std::uint32_t node) const {
    return node < first_name_ ? std::to_string(node) : std::string(names_.text(node - first_name_));
  }

 private:
  std::uint32_t number_end_;
  std::uint32_t first_name_ = 0;
  TextIds names_;
};

// Reads edges and demand; what is wrong is reported with its place.
class KitReader {
 public:
  KitReader(KitItems& items, Figures& figures, Sources& sources, Diagnostics& diagnostics)
      : items_(items), figures_(figures), sources_(sources), diagnostics_(diagnostics) {}

  bool read_edges(const std::filesystem::path& path, KitEdges& edges);
  bool read_demand(const std::filesystem::path& path, KitDemand& demand);

 private:
  std::optional<std::size_t> column(CsvScan& scan, std::string_view name);
  // Plain numbers, the common case, are read in place.
  std::uint32_t item(CsvScan& scan, std::size_t column) {
    const std::string_view raw = scan.raw(column);
    const auto number = digits_of(raw);
    if (number && items_.is_own_node(*number) && (raw[0] != '0' || raw.size() == 1)) return items_.of_number(*number);
    return named_item(scan, column);
  }
  std::uint32_t quantity(CsvScan& scan, std::size_t column) {
    const auto number = digits_of(scan.raw(column));
    return number ? *number : long_quantity(scan, column);
  }
  std::uint32_t named_item(CsvScan& scan, std::size_t column);
  std::uint32_t long_quantity(CsvScan& scan, std::size_t column);

  KitItems& items_;
  Figures& figures_;
  Sources& sources_;
  Diagnostics& diagnostics_;
  std::string scratch_;
};

}  // namespace kitgap
