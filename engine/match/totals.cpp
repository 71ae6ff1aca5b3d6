#include "match/totals.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <unordered_map>
#include <utility>

#include "match/csv_scan.h"
#include "match/exact_decimal.h"
#include "match/text_ids.h"
#include "text/codes.h"
#include "text/csv.h"

namespace kitgap {
namespace {

using Whole = unsigned __int128;
using Figures = std::vector<ExactDecimal>;

// A quantity in four bytes: a whole number, or with the top bit set an index into the long figures.
constexpr std::uint32_t kIsLong = std::uint32_t{1} << 31;
constexpr std::size_t kPlainBytes = 24;

// Edges as read. A run is a stretch of edges of one parent; files usually come with one run a parent.
struct Edges {
  struct Run {
    std::uint32_t parent;
    std::uint32_t begin;
  };
  std::vector<Run> runs;
  std::vector<std::uint32_t> children;
  std::vector<std::uint32_t> quantities;
};

struct Demand {
  std::vector<std::uint32_t> items;
  std::vector<std::uint32_t> quantities;
};

// Edges by parent: node n's lie at begin[n] up to end[n].
struct Adjacency {
  std::vector<std::uint32_t> begin;
  std::vector<std::uint32_t> end;
  std::vector<std::uint32_t> children;
  std::vector<std::uint32_t> quantities;
  std::uint32_t nodes() const { return static_cast<std::uint32_t>(begin.size()); }
  bool is_parent(std::uint32_t node) const { return begin[node] != end[node]; }
};

class Reader {
 public:
  Reader(TextIds& items, Figures& figures, Sources& sources, Diagnostics& diagnostics)
      : items_(items), figures_(figures), sources_(sources), diagnostics_(diagnostics) {}

  bool read_edges(const std::filesystem::path& path, Edges& edges);
  bool read_demand(const std::filesystem::path& path, Demand& demand);

 private:
  std::optional<std::size_t> column(CsvScan& scan, std::string_view name);
  std::optional<std::uint32_t> item(CsvScan& scan, std::size_t column);
  std::optional<std::uint32_t> quantity(CsvScan& scan, std::size_t column);
  std::optional<std::uint32_t> long_quantity(CsvScan& scan, std::size_t column);

  TextIds& items_;
  Figures& figures_;
  Sources& sources_;
  Diagnostics& diagnostics_;
  std::string scratch_;
};

std::optional<std::size_t> Reader::column(CsvScan& scan, std::string_view name) {
  const auto found = scan.find_column(name);
  if (!found) {
    scan.report_at(0, scan.header().size(), code::kMissingColumn, "there is no column `" + std::string(name) + "`",
                   "a header row that names it");
  }
  return found;
}

std::optional<std::uint32_t> Reader::item(CsvScan& scan, std::size_t column) {
  const std::string_view raw = scan.raw(column);
  // Plain numbers and short plain names, the common cases, are looked up as they stand.
  if (const auto number = digits_of(raw); number && *number < TextIds::kNumbers && (raw[0] != '0' || raw.size() == 1)) {
    return items_.id_of_number(*number, raw);
  }
  if (!raw.empty() && raw.size() <= kPlainBytes &&
      std::all_of(raw.begin(), raw.end(), [](char c) { return c > ' ' && c < 127 && c != '"' && c != '\''; })) {
    return items_.id_of(raw);
  }
  const auto text = scan.text(column, scratch_);
  if (!text) return std::nullopt;
  if (text->empty()) {
    scan.report(column, code::kMissingCell, "the cell is empty", "the name of an item");
    return std::nullopt;
  }
  return items_.id_of(*text);
}

std::optional<std::uint32_t> Reader::quantity(CsvScan& scan, std::size_t column) {
  const std::string_view raw = scan.raw(column);
  const auto number = digits_of(raw);
  return number ? number : long_quantity(scan, column);
}

std::optional<std::uint32_t> Reader::long_quantity(CsvScan& scan, std::size_t column) {
  const auto text = scan.text(column, scratch_);
  if (!text) return std::nullopt;
  if (text->empty()) {
    scan.report(column, code::kMissingCell, "the cell is empty", "a quantity, such as `2` or `0.25`");
    return std::nullopt;
  }
  const bool negative = text->front() == '-';
  auto figure = ExactDecimal::parse(text->substr(negative ? 1 : 0), kMaxTotalDigits);
  if (!figure) {
    scan.report(column, code::kInvalidCell, "`" + std::string(text->substr(0, 40)) + "` is no quantity",
                "a decimal number, such as `2` or `0.25`");
    return std::nullopt;
  }
  if (negative && !figure->is_zero()) {
    scan.report(column, code::kNegativeQuantity, "the quantity `" + std::string(text->substr(0, 40)) +
                "` is negative", "a quantity of 0 or more");
    return std::nullopt;
  }
  figures_.push_back(std::move(*figure));
  return kIsLong | static_cast<std::uint32_t>(figures_.size() - 1);
}

bool Reader::read_edges(const std::filesystem::path& path, Edges& edges) {
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
    const auto parent_id = item(*scan, *parent);
    const auto child_id = item(*scan, *child);
    const auto figure = quantity(*scan, *count);
    if (!parent_id || !child_id || !figure) continue;
    if (edges.runs.empty() || edges.runs.back().parent != *parent_id) {
      edges.runs.push_back({*parent_id, static_cast<std::uint32_t>(edges.children.size())});
    }
    edges.children.push_back(*child_id);
    edges.quantities.push_back(*figure);
  }
  return !scan->failed();
}

bool Reader::read_demand(const std::filesystem::path& path, Demand& demand) {
  auto scan = CsvScan::open(path, sources_, diagnostics_);
  if (!scan) return false;
  const auto name = column(*scan, "item");
  const auto count = column(*scan, "quantity");
  if (!name || !count) return false;
  while (scan->next_row()) {
    const auto id = item(*scan, *name);
    const auto figure = quantity(*scan, *count);
    if (!id || !figure) continue;
    demand.items.push_back(*id);
    demand.quantities.push_back(*figure);
  }
  return !scan->failed();
}

// Where every parent has one run the edges lie right already; else its runs are brought together.
Adjacency by_parent(Edges edges, std::size_t nodes) {
  Adjacency graph;
  graph.begin.assign(nodes, 0);
  graph.end.assign(nodes, 0);
  const auto run_end = [&](std::size_t run) {
    return run + 1 < edges.runs.size() ? edges.runs[run + 1].begin : static_cast<std::uint32_t>(edges.children.size());
  };
  bool one_run_each = true;
  for (std::size_t run = 0; run < edges.runs.size(); ++run) {
    const std::uint32_t parent = edges.runs[run].parent;
    one_run_each &= graph.begin[parent] == graph.end[parent];
    graph.begin[parent] = edges.runs[run].begin;
    graph.end[parent] = run_end(run);
  }
  if (one_run_each) {
    graph.children = std::move(edges.children);
    graph.quantities = std::move(edges.quantities);
    return graph;
  }
  std::vector<std::uint32_t> next(nodes + 1, 0);
  for (std::size_t run = 0; run < edges.runs.size(); ++run) {
    next[edges.runs[run].parent + 1] += run_end(run) - edges.runs[run].begin;
  }
  for (std::size_t node = 0; node < nodes; ++node) next[node + 1] += next[node];
  graph.begin.assign(next.begin(), next.end() - 1);
  graph.end.assign(next.begin() + 1, next.end());
  graph.children.resize(edges.children.size());
  graph.quantities.resize(edges.children.size());
  for (std::size_t run = 0; run < edges.runs.size(); ++run) {
    std::uint32_t& at = next[edges.runs[run].parent];
    for (std::uint32_t edge = edges.runs[run].begin; edge < run_end(run); ++edge, ++at) {
      graph.children[at] = edges.children[edge];
      graph.quantities[at] = edges.quantities[edge];
    }
  }
  return graph;
}

template <class Number>
struct Totals {
  std::vector<Number> of;            // per item
  std::vector<std::uint32_t> order;  // parents before their children; what lies on and below cycles is left out
  bool overflow = false;
};

// Parents first (Kahn, Communications of the ACM 5, 1962, from memory), each passing its total on to its children.
// `Number` is an unsigned whole type.
template <class Number>
Totals<Number> whole_totals(const Adjacency& graph, const Demand& demand) {
  struct Node {
    Number total = 0;
    std::uint32_t waiting = 0;
  };
  std::vector<Node> nodes(graph.nodes());
  Totals<Number> result;
  for (std::size_t row = 0; row < demand.items.size(); ++row) {
    Number& total = nodes[demand.items[row]].total;
    result.overflow |= __builtin_add_overflow(total, Number{demand.quantities[row]}, &total);
  }
  for (const std::uint32_t child : graph.children) ++nodes[child].waiting;
  result.order.reserve(graph.nodes());
  for (std::uint32_t node = 0; node < graph.nodes(); ++node) {
    if (nodes[node].waiting == 0) result.order.push_back(node);
  }
  for (std::size_t done = 0; done < result.order.size(); ++done) {
    const std::uint32_t parent = result.order[done];
    const Number taken = nodes[parent].total;
    for (std::uint32_t edge = graph.begin[parent]; edge < graph.end[parent]; ++edge) {
      Node& child = nodes[graph.children[edge]];
      Number product = 0;
      result.overflow |= __builtin_mul_overflow(taken, Number{graph.quantities[edge]}, &product);
      result.overflow |= __builtin_add_overflow(child.total, product, &child.total);
      if (--child.waiting == 0) result.order.push_back(graph.children[edge]);
    }
  }
  result.of.reserve(graph.nodes());
  for (const Node& node : nodes) result.of.push_back(node.total);
  return result;
}

// Nothing, and the node in `refused`, when a total grows past the digits that are allowed.
std::optional<Figures> long_totals(const Adjacency& graph, const Demand& demand,
                                   const std::vector<std::uint32_t>& order, const Figures& figures,
                                   std::uint32_t& refused) {
  const auto figure_of = [&](std::uint32_t quantity) {
    return (quantity & kIsLong) != 0 ? figures[quantity & ~kIsLong] : ExactDecimal{quantity, 0};
  };
  Figures totals(graph.nodes());
  const ExactDecimal one{1, 0};
  for (std::size_t row = 0; row < demand.items.size(); ++row) {
    totals[demand.items[row]].add_product(figure_of(demand.quantities[row]), one);
  }
  for (const std::uint32_t node : order) {
    if (totals[node].is_zero()) continue;
    refused = node;
    if (totals[node].digits() > kMaxTotalDigits) return std::nullopt;
    if (!graph.is_parent(node)) continue;
    // Taken out of the table, so that only the totals still to be asked for take memory.
    const ExactDecimal taken = std::exchange(totals[node], {});
    for (std::uint32_t edge = graph.begin[node]; edge < graph.end[node]; ++edge) {
      totals[graph.children[edge]].add_product(taken, figure_of(graph.quantities[edge]));
    }
  }
  return totals;
}

void append_number(std::string& out, Whole value) {
  std::array<char, 40> digits;
  char* at = digits.data() + digits.size();
  do {
    *--at = static_cast<char>('0' + static_cast<int>(value % 10));
    value /= 10;
  } while (value != 0);
  out.append(at, static_cast<std::size_t>(digits.data() + digits.size() - at));
}

void append_number(std::string& out, std::uint64_t value) {
  std::array<char, 24> digits;
  const auto end = std::to_chars(digits.data(), digits.data() + digits.size(), value).ptr;
  out.append(digits.data(), static_cast<std::size_t>(end - digits.data()));
}

void append_number(std::string& out, const ExactDecimal& value) { out += value.to_text(); }

// The text's first eight bytes as a number in byte order.
std::uint64_t leading_bytes(std::string_view text) {
  std::uint64_t key = 0;
  for (std::size_t at = 0; at < 8; ++at) {
    key = key << 8 | (at < text.size() ? static_cast<unsigned char>(text[at]) : 0);
  }
  return key;
}

// The items without children, in byte order.
std::vector<std::uint32_t> last_pieces(const Adjacency& graph, const TextIds& items) {
  struct Leaf {
    std::uint64_t key;
    std::uint32_t item;
  };
  std::vector<Leaf> leaves;
  for (std::uint32_t node = 0; node < graph.nodes(); ++node) {
    if (!graph.is_parent(node)) leaves.push_back({leading_bytes(items.text(node)), node});
  }
  std::sort(leaves.begin(), leaves.end(), [&](const Leaf& a, const Leaf& b) {
    return a.key != b.key ? a.key < b.key : items.text(a.item) < items.text(b.item);
  });
  std::vector<std::uint32_t> sorted;
  sorted.reserve(leaves.size());
  for (const Leaf& leaf : leaves) sorted.push_back(leaf.item);
  return sorted;
}

template <class Number>
std::string csv_of(const std::vector<Number>& totals, const std::vector<std::uint32_t>& pieces, const TextIds& items) {
  std::string out = "item,total\n";
  out.reserve(pieces.size() * 24 + out.size());
  for (const std::uint32_t piece : pieces) {
    append_csv_cell(out, items.text(piece));
    out.push_back(',');
    append_number(out, totals[piece]);
    out.push_back('\n');
  }
  return out;
}

// In the order of the ring where the group is a plain one, else by name.
std::string cycle_in_words(const std::vector<std::uint32_t>& group, const Adjacency& graph, const TextIds& items) {
  const std::unordered_map<std::uint32_t, std::uint32_t> members = [&] {
    std::unordered_map<std::uint32_t, std::uint32_t> next;
    for (const std::uint32_t node : group) next.emplace(node, node);
    return next;
  }();
  const auto first = *std::min_element(group.begin(), group.end(), [&](std::uint32_t a, std::uint32_t b) {
    return items.text(a) < items.text(b);
  });
  std::string ring;
  std::size_t length = 0;
  std::uint32_t node = first;
  do {
    ring += "`" + std::string(items.text(node)) + "` -> ";
    std::optional<std::uint32_t> next;
    for (std::uint32_t edge = graph.begin[node]; edge < graph.end[node]; ++edge) {
      const std::uint32_t child = graph.children[edge];
      if (!members.contains(child) || child == next) continue;
      if (next) length = group.size();  // two ways on: no plain ring
      next = child;
    }
    node = *next;
  } while (node != first && ++length < group.size());
  if (node == first && length + 1 == group.size()) return ring + "`" + std::string(items.text(first)) + "`";
  std::vector<std::string_view> names;
  for (const std::uint32_t member : group) names.push_back(items.text(member));
  std::sort(names.begin(), names.end());
  std::string list;
  for (const std::string_view name : names) list += (list.empty() ? "`" : ", `") + std::string(name) + "`";
  return list + " (each is part of each)";
}

void report_cycles(const Adjacency& graph, const TextIds& items, const std::filesystem::path& path, Sources& sources,
                   Diagnostics& diagnostics) {
  const SourceId source = sources.add(path.string(), "");
  std::vector<std::string> said;
  for (const auto& group : cycles_of(graph.begin, graph.end, graph.children)) said.push_back(cycle_in_words(group, graph, items));
  std::sort(said.begin(), said.end());
  for (std::string& cycle : said) {
    diagnostics.add({.code = code::kCycle,
                     .span = {.source = source},
                     .says = "a cycle: " + std::move(cycle),
                     .expected = "no item that takes itself, straight or through others"});
  }
}

}  // namespace

std::optional<std::string> totals_csv(const std::filesystem::path& edges_path,
                                      const std::filesystem::path& demand_path, Sources& sources,
                                      Diagnostics& diagnostics) {
  TextIds items;
  Figures figures;
  Edges edges;
  Demand demand;
  Reader reader(items, figures, sources, diagnostics);
  const bool edges_read = reader.read_edges(edges_path, edges);
  if (!reader.read_demand(demand_path, demand) || !edges_read) return std::nullopt;
  const Adjacency graph = by_parent(std::move(edges), items.size());
  auto totals = whole_totals<std::uint64_t>(graph, demand);
  if (totals.order.size() != items.size()) {
    report_cycles(graph, items, edges_path, sources, diagnostics);
    return std::nullopt;
  }
  const auto pieces = last_pieces(graph, items);
  if (figures.empty()) {
    if (!totals.overflow) return csv_of(totals.of, pieces, items);
    if (const auto wide = whole_totals<Whole>(graph, demand); !wide.overflow) return csv_of(wide.of, pieces, items);
  }
  std::uint32_t refused = 0;
  if (const auto exact = long_totals(graph, demand, totals.order, figures, refused)) return csv_of(*exact, pieces, items);
  diagnostics.add({.code = code::kAbsurdQuantity,
                   .span = {.source = sources.add(edges_path.string(), "")},
                   .says = "the total of `" + std::string(items.text(refused)) + "` has more than " +
                           std::to_string(kMaxTotalDigits) + " digits",
                   .expected = "quantities that a workshop could lay out"});
  return std::nullopt;
}

}  // namespace kitgap
