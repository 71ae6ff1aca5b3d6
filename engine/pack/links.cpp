#include "pack/links.h"

#include <re2/re2.h>
#include <re2/set.h>

#include <algorithm>
#include <map>
#include <set>

#include "text/codes.h"

namespace kitgap {
namespace {

struct Edge {
  std::string from;
  std::string to;
  RowPlace place;
  std::string from_as_typed = {};  // where it is compared in another spelling
  std::string to_as_typed = {};
};

// Rings among the edges: each is reported once, at the row that closes it, with its path.
class RingFinder {
 public:
  RingFinder(const std::vector<Edge>& edges, const Rules& rules, Diagnostics& diagnostics, std::string_view words)
      : rules_(rules), diagnostics_(diagnostics), words_(words) {
    for (const Edge& edge : edges) {
      below_[edge.from].push_back(&edge);
      typed_.try_emplace(edge.from, edge.from_as_typed.empty() ? edge.from : edge.from_as_typed);
      typed_.try_emplace(edge.to, edge.to_as_typed.empty() ? edge.to : edge.to_as_typed);
    }
  }

  void find() {
    for (const auto& [node, edges] : below_) {
      if (!done_.contains(node)) walk(node);
    }
  }

 private:
  // Depth-first with a stack of its own: a chain of any length is followed without recursion.
  void walk(const std::string& start) {
    struct Frame {
      std::string node;
      std::size_t next = 0;
    };
    std::vector<Frame> path{{start}};
    std::set<std::string> on_path{start};
    while (!path.empty()) {
      Frame& frame = path.back();
      const auto found = below_.find(frame.node);
      if (found == below_.end() || frame.next == found->second.size()) {
        done_.insert(frame.node);
        on_path.erase(frame.node);
        path.pop_back();
        continue;
      }
      const Edge& edge = *found->second[frame.next++];
      if (on_path.contains(edge.to)) {
        std::string names;
        bool inside = false;
        for (const Frame& step : path) {
          inside = inside || step.node == edge.to;
          if (inside) names += "`" + typed_[step.node] + "` -> ";
        }
        report(edge, names + "`" + typed_[edge.to] + "`");
      } else if (!done_.contains(edge.to)) {
        on_path.insert(edge.to);
        path.push_back({edge.to});
      }
    }
  }

  void report(const Edge& edge, const std::string& path) {
    if (!said_.insert(path).second) return;  // a second row that closes the same ring
    const TableInfo& info = rules_.tables[edge.place.table];
    diagnostics_.add({.code = code::kCycle, .span = info.table.span(edge.place.row, 0),
                      .says = std::string(words_) + ": " + path, .expected = "a chain with an end"});
  }

  const Rules& rules_;
  Diagnostics& diagnostics_;
  std::string_view words_;
  std::map<std::string, std::vector<const Edge*>> below_;
  std::map<std::string, std::string> typed_;
  std::set<std::string> done_;
  std::set<std::string> said_;
};

std::string name_of(const Rules& rules, OfferId offer) {
  const OfferKey& key = rules.offer_keys[offer.index];
  return key.supplier + " " + key.part_number;
}

// Parsing tells whether a pattern is one; only what repeats or is long can be too large, which compiling tells.
void check_aliases(const Rules& rules, Diagnostics& diagnostics) {
  constexpr std::size_t kSurelySmall = 200;
  re2::RE2::Options options;
  options.set_log_errors(false);
  options.set_max_mem(1 << 20);
  re2::RE2::Set set(options, re2::RE2::ANCHOR_BOTH);
  for (const PartRow& row : rules.parts) {
    if (row.aliases.empty()) continue;
    std::string error;
    if (row.aliases.size() > kSurelySmall || row.aliases.find('{') != std::string::npos) error = re2::RE2(row.aliases, options).error();
    else set.Add(row.aliases, &error);
    if (error.empty()) continue;
    const TableInfo& info = rules.tables[row.place.table];
    diagnostics.add({.code = code::kInvalidPattern, .span = info.table.span(row.place.row, *info.table.find_column("aliases")),
                     .says = "`" + row.aliases + "` is no pattern: " + error, .expected = "a RE2 pattern, such as `door (card|panel)s?`"});
  }
}

}  // namespace

void check_links(const Rules& rules, Diagnostics& diagnostics) {
  std::vector<Edge> kits;
  for (const ContentsRow& row : rules.contents) {
    if (row.inner) kits.push_back({name_of(rules, row.offer), name_of(rules, *row.inner), row.place});
  }
  RingFinder(kits, rules, diagnostics, "a kit contains itself").find();
  std::vector<Edge> replaced;
  for (const ReplacesRow& row : rules.replaces) {
    // A row under conditions may be one of several that never meet on one car; those are followed car by car.
    if (row.kind != ReplaceKind::Replaces || row.both_ways || row.condition.index != 0) continue;
    const auto name = [](const std::string& typed, const std::optional<PartId>& part) {
      return part ? typed : normalised_part_number(typed);
    };
    replaced.push_back({name(row.from, row.from_part), name(row.to, row.to_part), row.place, row.from, row.to});
  }
  RingFinder(replaced, rules, diagnostics, "a number is replaced in a ring").find();
  check_aliases(rules, diagnostics);
  std::set<std::string> properties;
  for (const PropertyColumn& column : rules.property_columns) properties.insert(column.name);
  for (const LimitRow& row : rules.limits) {
    if (properties.contains(row.property)) continue;
    const TableInfo& info = rules.tables[row.place.table];
    diagnostics.add({.code = code::kUnknownName,
                     .span = info.table.span(row.place.row, *info.table.find_column("property")),
                     .says = "`" + row.property + "` is no property of any part",
                     .expected = "a property column of a `parts` table",
                     .suggestion = nearest(row.property, {properties.begin(), properties.end()})});
  }
}

}  // namespace kitgap
