#include "match/totals.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <filesystem>
#include <numeric>
#include <unordered_map>
#include <utility>

#include "match/exact_decimal.h"
#include "match/totals_read.h"
#include "text/codes.h"
#include "text/csv.h"

namespace kitgap {
namespace {

using Whole = unsigned __int128;

// Edges by parent: node n's lie at begin[n] up to end[n].
struct Adjacency {
  std::vector<std::uint32_t> begin;
  std::vector<std::uint32_t> end;
  std::vector<std::uint32_t> children;
  std::vector<std::uint32_t> quantities;
  std::uint32_t nodes() const { return static_cast<std::uint32_t>(begin.size()); }
  bool is_parent(std::uint32_t node) const { return begin[node] != end[node]; }
};

// Where every parent has one run the edges lie right already; else its runs are brought together.
Adjacency by_parent(KitEdges edges, std::size_t nodes) {
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

// Parents before their children; what lies on and below cycles is left out.
std::vector<std::uint32_t> order_of(const Adjacency& graph, bool is_in_order) {
  std::vector<std::uint32_t> order;
  if (is_in_order) {
    order.resize(graph.nodes());
    std::iota(order.begin(), order.end(), 0U);
    return order;
  }
  order.reserve(graph.nodes());
  // Kahn, Communications of the ACM 5, 1962 (from memory).
  std::vector<std::uint32_t> waiting(graph.nodes());
  for (const std::uint32_t child : graph.children) ++waiting[child];
  for (std::uint32_t node = 0; node < graph.nodes(); ++node) {
    if (waiting[node] == 0) order.push_back(node);
  }
  for (std::size_t done = 0; done < order.size(); ++done) {
    for (std::uint32_t edge = graph.begin[order[done]]; edge < graph.end[order[done]]; ++edge) {
      if (--waiting[graph.children[edge]] == 0) order.push_back(graph.children[edge]);
    }
  }
  return order;
}

// Each node in its turn passes its total on to its children. `Number` is an unsigned whole type; nothing when a total
// does not fit it.
template <class Number>
std::optional<std::vector<Number>> whole_totals(const Adjacency& graph, const KitDemand& demand, const std::vector<std::uint32_t>& order) {
  std::vector<Number> totals(graph.nodes());
  bool overflow = false;
  for (std::size_t row = 0; row < demand.items.size(); ++row) {
    Number& total = totals[demand.items[row]];
    overflow |= __builtin_add_overflow(total, Number{demand.quantities[row]}, &total);
  }
  for (const std::uint32_t parent : order) {
    const Number taken = totals[parent];
    for (std::uint32_t edge = graph.begin[parent]; edge < graph.end[parent]; ++edge) {
      Number& total = totals[graph.children[edge]];
      Number product = 0;
      overflow |= __builtin_mul_overflow(taken, Number{graph.quantities[edge]}, &product);
      overflow |= __builtin_add_overflow(total, product, &total);
    }
  }
  return overflow ? std::nullopt : std::optional(std::move(totals));
}

// Nothing, and the node in `refused`, when a total grows past the digits that are allowed.
std::optional<Figures> long_totals(const Adjacency& graph, const KitDemand& demand,
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

struct Piece {
  std::uint64_t key;  // its name's first bytes
  std::uint32_t node;
};

// The items without children, in the byte order of their names.
std::vector<Piece> last_pieces(const Adjacency& graph, const KitDemand& demand, const KitItems& items) {
  std::vector<std::uint8_t> is_named(graph.nodes());  // a number that stands for itself may be none of the items
  for (const std::uint32_t child : graph.children) is_named[child] = 1;
  for (const std::uint32_t node : demand.items) is_named[node] = 1;
  std::vector<Piece> pieces;
  for (std::uint32_t node = 0; node < graph.nodes(); ++node) {
    if (is_named[node] != 0 && !graph.is_parent(node)) pieces.push_back({leading_bytes(items.name(node)), node});
  }
  std::sort(pieces.begin(), pieces.end(), [&](const Piece& a, const Piece& b) {
    return a.key != b.key ? a.key < b.key : items.name(a.node) < items.name(b.node);
  });
  return pieces;
}

template <class Number>
std::string csv_of(const std::vector<Number>& totals, const std::vector<Piece>& pieces, const KitItems& items) {
  std::string out = "item,total\n";
  out.reserve(pieces.size() * 24 + out.size());
  for (const Piece& piece : pieces) {
    append_csv_cell(out, items.name(piece.node));
    out.push_back(',');
    append_number(out, totals[piece.node]);
    out.push_back('\n');
  }
  return out;
}

// In the order of the ring where the group is a plain one, else by name.
std::string cycle_in_words(const std::vector<std::uint32_t>& group, const Adjacency& graph, const KitItems& items) {
  const std::unordered_map<std::uint32_t, std::uint32_t> members = [&] {
    std::unordered_map<std::uint32_t, std::uint32_t> next;
    for (const std::uint32_t node : group) next.emplace(node, node);
    return next;
  }();
  const auto first = *std::min_element(group.begin(), group.end(), [&](std::uint32_t a, std::uint32_t b) {
    return items.name(a) < items.name(b);
  });
  std::string ring;
  std::size_t length = 0;
  std::uint32_t node = first;
  do {
    ring += "`" + items.name(node) + "` -> ";
    std::optional<std::uint32_t> next;
    for (std::uint32_t edge = graph.begin[node]; edge < graph.end[node]; ++edge) {
      const std::uint32_t child = graph.children[edge];
      if (!members.contains(child) || child == next) continue;
      if (next) length = group.size();  // two ways on: no plain ring
      next = child;
    }
    node = *next;
  } while (node != first && ++length < group.size());
  if (node == first && length + 1 == group.size()) return ring + "`" + items.name(first) + "`";
  std::vector<std::string> names;
  for (const std::uint32_t member : group) names.push_back(items.name(member));
  std::sort(names.begin(), names.end());
  std::string list;
  for (const std::string& name : names) list += (list.empty() ? "`" : ", `") + name + "`";
  return list + " (each is part of each)";
}

void report_cycles(const Adjacency& graph, const KitItems& items, const std::filesystem::path& path, Sources& sources,
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
  std::error_code unknown;
  const auto bytes = std::filesystem::file_size(edges_path, unknown);
  KitItems items(unknown ? 0 : bytes);
  Figures figures;
  KitEdges edges;
  KitDemand demand;
  KitReader reader(items, figures, sources, diagnostics);
  const bool edges_read = reader.read_edges(edges_path, edges);
  if (!reader.read_demand(demand_path, demand) || !edges_read) return std::nullopt;
  items.settle(edges.children);
  items.settle(demand.items);
  for (KitEdges::Run& run : edges.runs) run.parent = items.settled(run.parent);
  const bool is_in_order = edges.is_in_order;
  const Adjacency graph = by_parent(std::move(edges), items.node_count());
  const auto order = order_of(graph, is_in_order);
  if (order.size() != graph.nodes()) {
    report_cycles(graph, items, edges_path, sources, diagnostics);
    return std::nullopt;
  }
  const auto pieces = last_pieces(graph, demand, items);
  if (figures.empty()) {
    if (const auto totals = whole_totals<std::uint64_t>(graph, demand, order)) return csv_of(*totals, pieces, items);
    if (const auto totals = whole_totals<Whole>(graph, demand, order)) return csv_of(*totals, pieces, items);
  }
  std::uint32_t refused = 0;
  if (const auto exact = long_totals(graph, demand, order, figures, refused)) return csv_of(*exact, pieces, items);
  diagnostics.add({.code = code::kAbsurdQuantity,
                   .span = {.source = sources.add(edges_path.string(), "")},
                   .says = "the total of `" + items.name(refused) + "` has more than " +
                           std::to_string(kMaxTotalDigits) + " digits",
                   .expected = "quantities that a workshop could lay out"});
  return std::nullopt;
}

}  // namespace kitgap
