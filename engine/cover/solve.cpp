#include "cover/solve.h"

#include <algorithm>
#include <array>
#include <cstddef>

#include "value/internal_error.h"

namespace kitgap {
namespace {

// Levels of the cost, in the order in which they decide.
constexpr std::uint32_t kStopsShort = 0;
constexpr std::uint32_t kShort = 1;
constexpr std::uint32_t kStandIns = 2;
constexpr std::uint32_t kOldPieces = 3;
constexpr std::uint32_t kExactPlaces = 4;
constexpr std::uint32_t kStatedHands = 5;
constexpr std::uint32_t kFirstLine = 6;

// More ways than this to spread pieces of unstated place over the car are not listed one by one.
constexpr std::size_t kMaxSpreads = 2'000;

// The number of ways to put `pieces` alike into `places`, or nothing past the bound.
std::optional<std::size_t> spreads_of(std::size_t pieces, std::size_t places) {
  std::size_t ways = 1;
  for (std::size_t place = 1; place < places; ++place) {
    ways = ways * (pieces + place) / place;
    if (ways > kMaxSpreads) return std::nullopt;
  }
  return ways;
}

// The spread of that number, in an order of its own.
std::vector<std::size_t> spread_at(std::size_t index, std::size_t pieces, std::size_t places) {
  std::vector<std::size_t> counts(places, 0);
  for (std::size_t place = 0; place + 1 < places; ++place) {
    for (std::size_t count = pieces + 1; count-- > 0;) {
      const std::size_t ways = spreads_of(pieces - count, places - place - 1).value_or(0);
      if (index < ways) {
        counts[place] = count;
        pieces -= count;
        break;
      }
      index -= ways;
    }
  }
  counts.back() = pieces;
  return counts;
}

void add_cost(LexicalCost& cost, std::uint32_t level, const Fraction& amount) {
  if (amount.is_zero()) return;
  if (cost.empty() || cost.back().first < level) {
    cost.emplace_back(level, amount);
    return;
  }
  const auto at = std::ranges::lower_bound(cost, level, {}, [](const auto& entry) { return entry.first; });
  if (at != cost.end() && at->first == level) at->second += amount;
  else cost.insert(at, {level, amount});
}

}  // namespace

bool Solver::is_there(std::uint32_t index) {
  const SupplyItem& item = model_.supplies().items[index];
  const SupplyLine& line = model_.supplies().lines[item.line];
  bool there = true;
  if (line.meanings.size() > 1) {
    there = completion_.choose({.kind = Unknown::Kind::Meaning, .first = item.line}, line.meanings.size()) == item.meaning;
  }
  for (const Guard& guard : item.guards) there = there && stands(guard, completion_);
  if (there && item.in_pair_reading) {
    there = (completion_.choose({.kind = Unknown::Kind::PairHand, .first = item.line}, 2) == 1) == *item.in_pair_reading;
  }
  return there;
}

Fraction Solver::quantity(std::uint32_t index) {
  const SupplyItem& item = model_.supplies().items[index];
  if (!is_there(index)) return 0;
  if (!item.is_quantity_unknown) return item.quantity;
  const auto is_enough = [&](std::uint32_t of) {
    return completion_.choose({.kind = Unknown::Kind::Quantity, .first = model_.supplies().items[of].line}, 2) != 0;
  };
  for (const std::uint32_t before : model_.unknown_before(index)) {
    if (is_enough(before)) return 0;
  }
  return is_enough(index) ? enough() : Fraction(0);
}

Fraction Solver::old_quantity(LineId id) {
  const OldPieces& old = model_.old_pieces(id);
  if (old.kind == OldPieces::Kind::None) return 0;
  const Line& line = model_.needs().line(id);
  const auto looks = [&] { return completion_.choose({.kind = Unknown::Kind::OldPart, .first = id.index}, 2) == 1; };
  if (old.kind == OldPieces::Kind::Recorded) {
    Fraction there = line.count.usable;
    if (!line.count.not_looked_at.is_zero() && looks()) there += line.count.not_looked_at;
    return there;
  }
  const LineFigure& figure = needs_.figure(id);
  if (figure.need.is_zero()) return 0;
  bool may_be_there = old.is_must && figure.old == OldUse::Must;
  for (const ConditionId condition : old.only_if) may_be_there = may_be_there || completion_.holds(condition);
  return may_be_there && looks() ? figure.need : Fraction(0);
}

Fraction Solver::need(LineId id) { return model_.needs().line(id).is_small ? small_need(id) : needs_.need(id); }

// For each piece moved over: what moving it uses up. A piece that stays on its old assembly is not moved.
Fraction Solver::small_need(LineId id) {
  const Line& small = model_.needs().line(id);
  const Rules& rules = model_.rules();
  Fraction sum;
  for (const MoveOverRow& row : rules.move_over) {
    if (row.sub_part != small.parent) continue;
    const auto takes = std::ranges::find(row.takes, small.part, &Takes::part);
    if (takes == row.takes.end()) continue;
    const auto moved_line = model_.needs().find(row.assembly, small.position, row.sub_part);
    if (!moved_line || !completion_.holds(row.condition)) continue;
    Fraction moved;
    for (const CoverPiece& piece : cover(*moved_line).pieces) {
      if (piece.from == CoverPiece::From::Old) moved += piece.quantity;
    }
    Fraction stays;
    if (row.assembly != Rules::kCar) {
      for (const LineId above : model_.needs().lines_of(row.assembly, small.position)) {
        for (const Units& units : units_at(above)) {
          if (!units.item) stays += units.count * needs_.figure(*moved_line).per_parent;
        }
      }
    }
    if (moved > stays) sum += (moved - stays) * takes->quantity;
  }
  return model_.needs().part_row(small.part).unit == Unit::Each ? sum.ceil() : sum;
}

Fraction Solver::used_before(std::uint32_t item, std::size_t component, const std::function<bool(LineId)>& is_meant) {
  Fraction used;
  for (const std::size_t other : model_.components_of_item(item)) {
    if (other == component) break;
    for (const ArcFlow& flow : flows(other)) {
      const CoverArc& arc = model_.components()[other].arcs[flow.arc];
      if (arc.item == item && (!is_meant || is_meant(arc.line))) used += flow.quantity;
    }
  }
  return used;
}

Fraction Solver::old_used_before(LineId old_line, std::size_t index) {
  const Component& here = model_.components()[index];
  Fraction used;
  if (here.kind != Component::Kind::Assemblies) return used;
  for (const std::size_t other : model_.assemblies_with_old(old_line)) {
    const Component& component = model_.components()[other];
    if (component.level >= here.level) continue;
    for (const ArcFlow& flow : flows(other)) {
      const CoverArc& arc = component.arcs[flow.arc];
      if (!arc.item && arc.old_line == old_line) used += flow.quantity;
    }
  }
  return used;
}

Fraction Solver::left_over(std::uint32_t index) {
  const SupplyItem& item = model_.supplies().items[index];
  if (item.is_quantity_unknown) return 0;
  return quantity(index) - used_before(index, model_.components().size());
}

// Where the car calls for what the item could cover, on whatever level: the places, or for parts that fit by hand the
// hands, that its pieces may turn out to be for.
std::vector<PositionId> Solver::places_of(std::uint32_t item, bool by_hand) {
  const Positions& positions = model_.rules().positions;
  std::vector<PositionId> places;
  for (const std::size_t index : model_.components_of_item(item)) {
    for (const CoverArc& arc : model_.components()[index].arcs) {
      if (arc.item != item) continue;
      const PositionId place = model_.needs().line(arc.line).position;
      const auto is_same = [&](PositionId known) { return by_hand ? positions.hand(known) == positions.hand(place) : known == place; };
      if ((by_hand && positions.hand(place) == Hand::None) || std::ranges::any_of(places, is_same)) continue;
      if (!need(arc.line).is_zero()) places.push_back(place);
    }
  }
  return places;
}

// The pieces of each supply as nodes of their own where their place has to be taken as one of several. The choice is
// one for the item: each level takes what is for its places, less what a level above used there.
void Solver::split_by_place(Node node, std::size_t component, std::vector<Node>& nodes) {
  const std::uint32_t index = *node.item;
  const SupplyItem& item = model_.supplies().items[index];
  const Positions& positions = model_.rules().positions;
  const bool by_hand = model_.needs().part_row(item.part).fits == Fits::ByHand;
  const std::vector<PositionId> places = places_of(index, by_hand);
  if (places.size() <= 1) {
    node.quantity -= used_before(index, component);
    if (node.quantity.sign() > 0) nodes.push_back(std::move(node));
    return;
  }
  const auto pieces = node.quantity.to_integer();
  const auto ways = pieces && !item.is_quantity_unknown ? spreads_of(static_cast<std::size_t>(*pieces), places.size()) : std::nullopt;
  const Unknown unknown{.kind = Unknown::Kind::Place, .first = item.line, .second = index};
  std::vector<std::size_t> counts(places.size(), 0);
  if (ways) {
    counts = spread_at(completion_.choose(unknown, *ways), static_cast<std::size_t>(*pieces), places.size());
  } else {
    completion_.mark_inexact();
  }
  const std::size_t all_at = ways ? 0 : completion_.choose(unknown, places.size());
  for (std::size_t place = 0; place < places.size(); ++place) {
    Node part = node;
    part.quantity = ways ? Fraction(static_cast<std::int64_t>(counts[place])) : place == all_at ? node.quantity : Fraction(0);
    if (part.quantity.is_zero()) continue;
    const auto is_here = [&](LineId line) {
      const PositionId at = model_.needs().line(line).position;
      return by_hand ? positions.hand(at) == positions.hand(places[place]) : at == places[place];
    };
    part.quantity -= used_before(index, component, is_here);
    if (part.quantity.sign() <= 0) continue;
    if (by_hand) part.hand = positions.hand(places[place]);
    else part.leaves = {places[place]};
    part.is_place_settled = true;
    nodes.push_back(std::move(part));
  }
}

std::vector<Solver::Node> Solver::nodes_of(const Component& component, std::size_t index) {
  std::vector<Node> nodes;
  for (const std::uint32_t item : component.items) {
    const Fraction pieces = quantity(item);
    if (pieces.is_zero()) continue;
    const SupplyItem& supply = model_.supplies().items[item];
    Node node{.item = item, .old_line = {}, .leaves = supply.leaves, .hand = supply.hand,
              .is_place_settled = !supply.is_place_open, .quantity = pieces, .rank = 0};
    if (supply.is_place_open) {
      split_by_place(std::move(node), index, nodes);
      continue;
    }
    node.quantity -= used_before(item, index);
    if (node.quantity.sign() > 0) nodes.push_back(std::move(node));
  }
  for (const LineId old : component.old_lines) {
    const Fraction pieces = old_quantity(old) - old_used_before(old, index);
    if (pieces.sign() <= 0) continue;
    const PositionId at = model_.needs().line(old).position;
    nodes.push_back({.item = {}, .old_line = old, .leaves = {at}, .hand = model_.rules().positions.hand(at), .quantity = pieces, .rank = 0});
  }
  for (std::uint32_t rank = 0; rank < nodes.size(); ++rank) nodes[rank].rank = rank;
  return nodes;
}

const Flows& Solver::flows(std::size_t component) {
  return worked_.flows.get(static_cast<std::uint32_t>(component), completion_, [&] { return solve(component); });
}

std::uint32_t Solver::result_of(Asked asked) {
  const std::uint32_t key = asked.unknown.first;
  if (asked.kind == Asked::Kind::Flows) return worked_.flows.number_of(key, completion_, [&] { return solve(key); });
  return worked_.covers.number_of(key, completion_, [&] { return work_out(LineId{key}); });
}

LexicalCost Solver::gains(const CoverArc& arc) {
  LexicalCost cost;
  add_gains({.item = arc.item, .old_line = arc.old_line, .count = 1, .is_stand_in = arc.is_stand_in}, arc.line, cost, 0);
  return cost;
}

void Solver::add_gains(const Units& unit, LineId line, LexicalCost& cost, int depth) {
  const Line& assembly = model_.needs().line(line);
  if (depth > 32) return;
  for (const LineId child : model_.needs().children_of(assembly.part, assembly.position)) {
    if (model_.needs().line(child).is_small || !model_.needs().line(child).is_in_work) continue;
    const Brought gives = brought(unit, line, child);
    const Fraction pieces = gives.by_bundle + gives.by_work + gives.from_old;
    if (pieces.is_zero()) continue;
    if (needs_.figure(child).stops) add_cost(cost, kStopsShort, -pieces);
    add_cost(cost, kShort, -pieces);
    add_cost(cost, kOldPieces, gives.from_old);
    add_cost(cost, kFirstLine + child.index, -pieces);
    if (gives.by_bundle.sign() > 0) {
      LexicalCost nested;
      add_gains(unit, child, nested, depth + 1);
      for (const auto& [level, amount] : nested) add_cost(cost, level, amount * gives.by_bundle);
    }
  }
}

// What each line of the component still wants of loose pieces; with `only`, the others want nothing.
std::vector<Fraction> Solver::wanted_of(const Component& component, const std::vector<LineId>* only) {
  std::vector<Fraction> wanted(component.lines.size());
  for (std::size_t line = 0; line < component.lines.size(); ++line) {
    if (only != nullptr && !std::ranges::binary_search(*only, component.lines[line])) continue;
    wanted[line] = need(component.lines[line]) - covered_from_above(component.lines[line]);
  }
  return wanted;
}

// Arcs that some node may really take in this completion.
std::vector<Solver::Candidate> Solver::candidates_of(const Component& component, const std::vector<Node>& nodes, const std::vector<Fraction>& wanted) {
  const Positions& positions = model_.rules().positions;
  // A list of many rows has an arc and a node for each: those that belong together are found, not tried.
  const auto key_of = [](const std::optional<std::uint32_t>& item, LineId old_line) {
    return item ? std::uint64_t{1} << 32 | *item : std::uint64_t{old_line.index};
  };
  std::vector<std::pair<std::uint64_t, std::uint32_t>> by_supply;
  for (std::uint32_t node = 0; node < nodes.size(); ++node) by_supply.emplace_back(key_of(nodes[node].item, nodes[node].old_line), node);
  std::ranges::sort(by_supply);
  std::vector<Candidate> candidates;
  for (std::uint32_t arc_index = 0; arc_index < component.arcs.size(); ++arc_index) {
    const CoverArc& arc = component.arcs[arc_index];
    const auto line = static_cast<std::uint32_t>(std::ranges::lower_bound(component.lines, arc.line) - component.lines.begin());
    if (wanted[line].sign() <= 0) continue;
    const bool is_old = !arc.item;
    const OldUse old = model_.needs().line(arc.line).is_small ? OldUse::May : needs_.figure(arc.line).old;
    if (is_old ? old == OldUse::MustNot : old == OldUse::Must) continue;
    const auto applies = [&](ConditionId condition) { return completion_.holds(condition); };
    if (!arc.by_replacing.empty() && std::ranges::none_of(arc.by_replacing, applies)) continue;
    const PartId part = arc.item ? model_.supplies().items[*arc.item].part : model_.needs().line(arc.old_line).part;
    const Fits fits = model_.needs().part_row(part).fits;
    const std::uint64_t key = key_of(arc.item, arc.old_line);
    for (auto at = std::ranges::lower_bound(by_supply, std::pair(key, std::uint32_t{0})); at != by_supply.end() && at->first == key; ++at) {
      const Node& supply = nodes[at->second];
      if (may_go(positions, fits, supply.leaves, supply.hand, !supply.is_place_settled, model_.needs().line(arc.line).position)) {
        candidates.push_back({arc_index, at->second, line});
      }
    }
  }
  return candidates;
}

Flows Solver::solve(std::size_t index, const std::vector<LineId>* only) {
  const Component& component = model_.components()[index];
  const std::vector<Node> nodes = nodes_of(component, index);
  if (nodes.empty()) return {};
  const Positions& positions = model_.rules().positions;
  const auto line_count = static_cast<std::uint32_t>(model_.needs().lines().size());
  const std::vector<Fraction> wanted = wanted_of(component, only);
  const std::vector<Candidate> candidates = candidates_of(component, nodes, wanted);
  if (candidates.empty()) return {};
  std::vector<std::uint32_t> ways_of_node(nodes.size(), 0);
  for (const Candidate& candidate : candidates) ++ways_of_node[candidate.node];
  // Where nothing is to be chosen no bundle is asked: every node has one way to go and there is room for all, or
  // every line has one node to take from and that node has enough for all its lines.
  std::vector<Fraction> asked(component.lines.size());
  std::vector<Fraction> called(nodes.size());
  std::vector<std::uint32_t> ways_of_line(component.lines.size(), 0);
  for (const Candidate& candidate : candidates) {
    asked[candidate.line] += nodes[candidate.node].quantity;
    called[candidate.node] += wanted[candidate.line];
    ++ways_of_line[candidate.line];
  }
  bool all_have_room = true;
  bool all_are_enough = true;
  for (const Candidate& candidate : candidates) {
    all_have_room = all_have_room && ways_of_node[candidate.node] == 1 && asked[candidate.line] <= wanted[candidate.line];
    all_are_enough = all_are_enough && ways_of_line[candidate.line] == 1 && called[candidate.node] <= nodes[candidate.node].quantity;
  }
  // Candidates come arc by arc.
  Flows flows;
  const auto send = [&](std::uint32_t arc, const Fraction& amount) {
    if (amount.sign() <= 0) return;
    if (!flows.empty() && flows.back().arc == arc) flows.back().quantity += amount;
    else flows.push_back({arc, amount});
  };
  if (all_have_room || all_are_enough) {
    for (const Candidate& candidate : candidates) send(candidate.arc, all_have_room ? nodes[candidate.node].quantity : wanted[candidate.line]);
  } else {
    std::vector<Fraction> supplies;
    supplies.reserve(nodes.size());
    for (const Node& node : nodes) supplies.push_back(node.quantity);
    std::array<std::byte, 8192> first_room;
    std::pmr::monotonic_buffer_resource room(first_room.data(), first_room.size());
    std::vector<AssignArc> arcs;
    arcs.reserve(candidates.size());
    for (const Candidate& candidate : candidates) {
      const CoverArc& arc = component.arcs[candidate.arc];
      const Node& node = nodes[candidate.node];
      const PositionId position = model_.needs().line(arc.line).position;
      AssignArc assigned{.supply = candidate.node, .need = candidate.line, .cost = LexicalCost(&room)};
      assigned.cost.reserve(8);
      const bool stops = model_.needs().line(arc.line).is_small || needs_.figure(arc.line).stops;
      if (stops) add_cost(assigned.cost, kStopsShort, Fraction(-1));
      add_cost(assigned.cost, kShort, Fraction(-1));
      if (arc.is_stand_in) add_cost(assigned.cost, kStandIns, Fraction(1));
      if (!arc.item) add_cost(assigned.cost, kOldPieces, Fraction(1));
      if (std::ranges::find(node.leaves, position) != node.leaves.end()) add_cost(assigned.cost, kExactPlaces, Fraction(-1));
      if (node.hand != Hand::None && node.hand == positions.hand(position)) add_cost(assigned.cost, kStatedHands, Fraction(-1));
      add_cost(assigned.cost, kFirstLine + arc.line.index, Fraction(-1));
      if (component.kind == Component::Kind::Assemblies) {
        const std::uint32_t number = component.first_arc + candidate.arc;
        const LexicalCost& below = worked_.gains.get(number, completion_, [&] { return gains(arc); });
        for (const auto& [level, amount] : below) add_cost(assigned.cost, level, amount);
      }
      add_cost(assigned.cost, kFirstLine + line_count + node.rank, Fraction(-1));
      // Between equals, the earlier line takes the earlier supply.
      const std::int64_t pairing = static_cast<std::int64_t>(candidate.line) * node.rank;
      add_cost(assigned.cost, kFirstLine + line_count + static_cast<std::uint32_t>(nodes.size()), Fraction(-pairing));
      arcs.push_back(std::move(assigned));
    }
    const std::vector<Fraction> flow = assign(supplies, wanted, arcs);
    for (std::size_t arc = 0; arc < arcs.size(); ++arc) send(candidates[arc].arc, flow[arc]);
  }
  return flows;
}

Fraction Solver::gap_among(LineId line, const std::vector<LineId>& rivals) {
  const std::size_t index = model_.component_of(line);
  Fraction gap = need(line) - covered_from_above(line);
  for (const ArcFlow& flow : solve(index, &rivals)) {
    if (model_.components()[index].arcs[flow.arc].line == line) gap -= flow.quantity;
  }
  return gap;
}

std::vector<Solver::Given> Solver::given_to(const std::vector<LineId>& lines) {
  const std::size_t index = model_.component_of(lines.front());
  const Component& component = model_.components()[index];
  const std::vector<Node> nodes = nodes_of(component, index);
  std::vector<bool> serves(nodes.size(), false);
  for (const Candidate& candidate : candidates_of(component, nodes, wanted_of(component, &lines))) serves[candidate.node] = true;
  std::vector<Given> given;
  for (std::size_t node = 0; node < nodes.size(); ++node) {
    if (!serves[node]) continue;
    const auto known = std::ranges::find_if(given, [&](const Given& of) { return of.item == nodes[node].item && of.old_line == nodes[node].old_line; });
    if (known != given.end()) known->pieces += nodes[node].quantity;
    else given.push_back({.item = nodes[node].item, .old_line = nodes[node].old_line, .pieces = nodes[node].quantity});
  }
  return given;
}

}  // namespace kitgap
