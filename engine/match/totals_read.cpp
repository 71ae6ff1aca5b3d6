#include "match/totals_read.h"

#include "match/totals.h"
#include "text/codes.h"

namespace kitgap {
namespace {

constexpr std::size_t kPlainBytes = 24;

}  // namespace

std::optional<std::size_t> KitReader::column(CsvScan& scan, std::string_view name) {
  const auto found = scan.find_column(name);
  if (!found) {
    scan.report_at(0, scan.header().size(), code::kMissingColumn, "there is no column `" + std::string(name) + "`",
                   "a header row that names it");
  }
  return found;
}

std::uint32_t KitReader::named_item(CsvScan& scan, std::size_t column) {
  const std::string_view raw = scan.raw(column);
  // Short plain names are looked up as they stand.
  if (!raw.empty() && raw.size() <= kPlainBytes &&
      std::all_of(raw.begin(), raw.end(), [](char c) { return c > ' ' && c < 127 && c != '"' && c != '\''; })) {
    return items_.of_name(raw);
  }
  const auto text = scan.text(column, scratch_);
  if (!text) return kNothing;
  if (text->empty()) {
    scan.report(column, code::kMissingCell, "the cell is empty", "the name of an item");
    return kNothing;
  }
  return items_.of_name(*text);
}

std::uint32_t KitReader::long_quantity(CsvScan& scan, std::size_t column) {
  const auto text = scan.text(column, scratch_);
  if (!text) return kNothing;
  if (text->empty()) {
    scan.report(column, code::kMissingCell, "the cell is empty", "a quantity, such as `2` or `0.25`");
    return kNothing;
  }
  const bool negative = text->front() == '-';
  auto figure = ExactDecimal::parse(text->substr(negative ? 1 : 0), kMaxTotalDigits);
  if (!figure) {
    scan.report(column, code::kInvalidCell, "`" + std::string(text->substr(0, 40)) + "` is no quantity",
                "a decimal number, such as `2` or `0.25`");
    return kNothing;
  }
  if (negative && !figure->is_zero()) {
    scan.report(column, code::kNegativeQuantity, "the quantity `" + std::string(text->substr(0, 40)) +
                "` is negative", "a quantity of 0 or more");
    return kNothing;
  }
  figures_.push_back(std::move(*figure));
  return kIsLong | static_cast<std::uint32_t>(figures_.size() - 1);
}

bool KitReader::read_edges(const std::filesystem::path& path, KitEdges& edges) {
  auto scan = CsvScan::open(path, sources_, diagnostics_);
  if (!scan) return false;
  const auto parent = column(*scan, "parent");
  const auto child = column(*scan, "child");
  const auto count = column(*scan, "quantity");
  if (!parent || !child || !count) return false;
  const auto guess = static_cast<std::size_t>(std::min<std::uint64_t>(scan->file_bytes() / 8, 100'000'000));
  edges.children.reserve(guess);  // address space only, until it is filled
  edges.quantities.reserve(guess);
  while (scan->next_row()) {
    const std::uint32_t parent_id = item(*scan, *parent);
    const std::uint32_t child_id = item(*scan, *child);
    const std::uint32_t figure = quantity(*scan, *count);
    if (parent_id == kNothing || child_id == kNothing || figure == kNothing) continue;
    if (edges.runs.empty() || edges.runs.back().parent != parent_id) {
      edges.runs.push_back({parent_id, static_cast<std::uint32_t>(edges.children.size())});
    }
    edges.is_in_order &= child_id > parent_id;
    edges.children.push_back(child_id);
    edges.quantities.push_back(figure);
  }
  return !scan->failed();
}

bool KitReader::read_demand(const std::filesystem::path& path, KitDemand& demand) {
  auto scan = CsvScan::open(path, sources_, diagnostics_);
  if (!scan) return false;
  const auto name = column(*scan, "item");
  const auto count = column(*scan, "quantity");
  if (!name || !count) return false;
  while (scan->next_row()) {
    const std::uint32_t id = item(*scan, *name);
    const std::uint32_t figure = quantity(*scan, *count);
    if (id == kNothing || figure == kNothing) continue;
    demand.items.push_back(id);
    demand.quantities.push_back(figure);
  }
  return !scan->failed();
}

}  // namespace kitgap
