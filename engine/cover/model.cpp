#include "cover/model.h"

#include <algorithm>
#include <map>
#include <numeric>

#include "supply/substitutions.h"

namespace kitgap {
namespace {

class UnionFind {
 public:
  explicit UnionFind(std::size_t size) : above_(size) { std::iota(above_.begin(), above_.end(), 0); }
  std::size_t root(std::size_t node) {
    while (above_[node] != node) node = above_[node] = above_[above_[node]];
    return node;
  }
  void join(std::size_t a, std::size_t b) { above_[root(a)] = root(b); }

 private:
  std::vector<std::size_t> above_;
};

const CoverModel::Without kNothing;

struct Replacement {
  PartId covers;
  bool is_stand_in;
  std::vector<ConditionId> conditions;
};

// Per wanted part: what may be used instead. Replacing is followed down the chain; an allowed stand-in is one step.
std::map<PartId, std::vector<Replacement>> replacements_of(const Rules& rules, const FactSets& sets) {
  std::map<PartId, std::vector<Substitution>> direct;
  for (const Substitution& substitution : substitutions_of(rules)) {
    if (holds(rules.condition(substitution.row->condition), sets, rules.facts) == Ternary::No) continue;
    direct[substitution.wanted].push_back(substitution);
  }
  std::map<PartId, std::vector<Replacement>> result;
  for (const auto& [wanted, first] : direct) {
    std::vector<PartId> chain{wanted};
    for (std::size_t at = 0; at < chain.size(); ++at) {
      for (const Substitution& substitution : direct[chain[at]]) {
        if (substitution.is_stand_in && at != 0) continue;
        if (std::ranges::find(chain, substitution.covers) != chain.end()) continue;
        result[wanted].push_back({substitution.covers, substitution.is_stand_in, {substitution.row->condition}});
        if (!substitution.is_stand_in) chain.push_back(substitution.covers);
      }
    }
  }
  return result;
}

}  // namespace

bool may_go(const Positions& positions, Fits fits, std::span<const PositionId> leaves, Hand hand, bool is_place_open, PositionId position) {
  const Hand wanted = positions.hand(position);
  if (fits == Fits::Anywhere) return true;
  if (hand != Hand::None && wanted != Hand::None && hand != wanted) return false;
  if (fits == Fits::ByHand || (is_place_open && leaves.empty())) return true;
  return std::ranges::find(leaves, position) != leaves.end();
}

CoverModel::CoverModel(const NeedModel& needs, const Supplies& supplies) : needs_(needs), supplies_(supplies) {
  index_without();
  find_old_pieces();
  find_components();
  link_unknown_quantities();
}

void CoverModel::link_unknown_quantities() {
  const std::vector<SupplyItem>& items = supplies_.items;
  unknown_before_.resize(items.size());
  std::map<PartId, std::vector<std::uint32_t>> unknown_of_part;
  for (std::uint32_t at = 0; at < items.size(); ++at) {
    const SupplyItem& item = items[at];
    const SupplyLine& line = supplies_.lines[item.line];
    if (!item.is_quantity_unknown || item.in_pair_reading || line.meanings.size() > 1) continue;
    std::vector<std::uint32_t>& unknown = unknown_of_part[item.part];
    const auto does_the_same = [&](std::uint32_t other) {
      const SupplyItem& before = items[other];
      return before.line != item.line && supplies_.lines[before.line].source == line.source && before.leaves == item.leaves &&
             before.hand == item.hand && before.is_place_open == item.is_place_open && before.guards == item.guards && before.offer_row == item.offer_row &&
             before.kit_row == item.kit_row;
    };
    const auto before = std::find_if(unknown.rbegin(), unknown.rend(), does_the_same);
    if (before != unknown.rend() && unknown_before_[*before].size() < kLongestChain) {
      unknown_before_[at] = unknown_before_[*before];
      unknown_before_[at].push_back(*before);
    }
    unknown.push_back(at);
  }
}

void CoverModel::index_without() {
  const Rules& rules = this->rules();
  const auto settle = [&](auto& index) {
    for (auto& [key, without] : index) {
      std::ranges::stable_sort(without.rows, [&](std::uint32_t a, std::uint32_t b) {
        return rules.layer(rules.supplied_without[a].place) > rules.layer(rules.supplied_without[b].place);
      });
      for (const std::uint32_t row : without.rows) {
        Guard guard{.condition = rules.supplied_without[row].condition, .unless = {}};
        for (const std::uint32_t above : without.rows) {
          const bool is_above = rules.layer(rules.supplied_without[above].place) > rules.layer(rules.supplied_without[row].place);
          if (is_above && rules.supplied_without[above].supplier == rules.supplied_without[row].supplier) {
            guard.unless.push_back(rules.supplied_without[above].condition);
          }
        }
        without.guards.push_back(std::move(guard));
      }
    }
  };
  for (std::uint32_t index = 0; index < rules.supplied_without.size(); ++index) {
    const SuppliedWithoutRow& row = rules.supplied_without[index];
    if (holds(rules.condition(row.condition), needs_.knowledge().sets(), rules.facts) == Ternary::No) continue;
    if (row.offer) without_of_offer_[{*row.offer, row.sub_part}].rows.push_back(index);
    else without_of_assembly_[{*row.assembly, row.sub_part}].rows.push_back(index);
  }
  settle(without_of_offer_);
  settle(without_of_assembly_);
}

const CoverModel::Without& CoverModel::without(OfferId offer, PartId sub_part) const {
  const auto found = without_of_offer_.find({offer, sub_part});
  return found == without_of_offer_.end() ? kNothing : found->second;
}

const CoverModel::Without& CoverModel::without(PartId assembly, PartId sub_part) const {
  const auto found = without_of_assembly_.find({assembly, sub_part});
  return found == without_of_assembly_.end() ? kNothing : found->second;
}

// An old part that is not recorded is unknown where the need is `must`, or where a `supplied-without` row says to
// move it over: for its assembly at large, or for an offer of it that is here and may fit. Else there is none.
void CoverModel::find_old_pieces() {
  const Rules& rules = this->rules();
  old_.resize(needs_.lines().size());
  std::map<std::pair<PartId, PartId>, std::vector<ConditionId>> moved;
  const auto add_rows = [&](PartId assembly, PartId sub_part, const Without& without) {
    for (const std::uint32_t row : without.rows) {
      if (rules.supplied_without[row].remedy == Remedy::MoveOver) moved[{assembly, sub_part}].push_back(rules.supplied_without[row].condition);
    }
  };
  for (const auto& [key, without] : without_of_assembly_) add_rows(key.first, key.second, without);
  for (const SupplyItem& item : supplies_.items) {
    const bool may_fit = std::ranges::all_of(item.guards, [&](const Guard& guard) {
      return holds(rules.condition(guard.condition), needs_.knowledge().sets(), rules.facts) != Ternary::No;
    });
    if (!may_fit) continue;
    for (const auto row : {item.offer_row, item.kit_row}) {
      if (!row) continue;
      for (const auto& [key, without] : without_of_offer_) {
        if (key.first == rules.offers[*row].offer) add_rows(item.part, key.second, without);
      }
    }
  }
  for (std::uint32_t index = 0; index < old_.size(); ++index) {
    const Line& line = needs_.lines()[index];
    OldPieces& old = old_[index];
    if (line.is_small) continue;
    if (line.count.is_recorded_as_old) {
      old.kind = OldPieces::Kind::Recorded;
      continue;
    }
    const bool may_be_must = std::ranges::any_of(line.rows, [&](std::uint32_t row) { return rules.needs[row].old == OldUse::Must; });
    const auto found = moved.find({line.parent, line.part});
    if (found != moved.end()) old.only_if = found->second;
    old.is_must = may_be_must;
    if (may_be_must || found != moved.end()) old.kind = OldPieces::Kind::NotLookedAt;
  }
}

bool CoverModel::can_serve(const SupplyItem& item, const Line& line) const {
  return may_go(rules().positions, needs_.part_row(item.part).fits, item.leaves, item.hand, item.is_place_open, line.position);
}

void CoverModel::find_components() {
  const auto replacements = replacements_of(rules(), needs_.knowledge().sets());
  const std::size_t line_count = needs_.lines().size();
  std::map<PartId, std::vector<std::uint32_t>> items_of_part;
  for (std::uint32_t item = 0; item < supplies_.items.size(); ++item) items_of_part[supplies_.items[item].part].push_back(item);
  std::map<PartId, std::vector<LineId>> old_of_part;
  for (std::uint32_t line = 0; line < line_count; ++line) {
    if (old_[line].kind != OldPieces::Kind::None) old_of_part[needs_.lines()[line].part].push_back(LineId{line});
  }
  std::vector<CoverArc> arcs;
  const auto add_arcs = [&](LineId id, PartId covers, bool is_stand_in, const std::vector<ConditionId>& conditions) {
    const Line& line = needs_.line(id);
    if (const auto items = items_of_part.find(covers); items != items_of_part.end()) {
      for (const std::uint32_t item : items->second) {
        if (can_serve(supplies_.items[item], line)) arcs.push_back({id, item, {}, conditions, is_stand_in});
      }
    }
    if (line.is_small) return;
    if (const auto olds = old_of_part.find(covers); olds != old_of_part.end()) {
      for (const LineId old : olds->second) {
        const std::vector<PositionId> at{needs_.line(old).position};
        const Hand hand = rules().positions.hand(at.front());
        if (may_go(rules().positions, needs_.part_row(covers).fits, at, hand, false, line.position)) arcs.push_back({id, std::nullopt, old, conditions, is_stand_in});
      }
    }
  };
  for (std::uint32_t index = 0; index < line_count; ++index) {
    const Line& line = needs_.lines()[index];
    if (!line.is_in_work) continue;
    add_arcs(LineId{index}, line.part, false, {});
    if (const auto found = replacements.find(line.part); found != replacements.end()) {
      for (const Replacement& replacement : found->second) add_arcs(LineId{index}, replacement.covers, replacement.is_stand_in, replacement.conditions);
    }
  }
  // One union per class of lines: assemblies of one level, loose lines, small needs. Nodes: lines, items, old lines.
  std::map<std::pair<Component::Kind, std::uint32_t>, std::vector<LineId>> classes;
  const auto class_of = [&](const Line& line) {
    if (line.is_small) return std::pair(Component::Kind::Small, 0u);
    if (needs_.is_assembly(line.part)) return std::pair(Component::Kind::Assemblies, line.level);
    return std::pair(Component::Kind::Loose, 0u);
  };
  for (std::uint32_t index = 0; index < line_count; ++index) {
    if (needs_.lines()[index].is_in_work) classes[class_of(needs_.lines()[index])].push_back(LineId{index});
  }
  component_of_line_.assign(line_count, 0);
  components_of_item_.resize(supplies_.items.size());
  std::map<std::pair<Component::Kind, std::uint32_t>, std::vector<const CoverArc*>> arcs_of_class;
  for (const CoverArc& arc : arcs) arcs_of_class[class_of(needs_.line(arc.line))].push_back(&arc);
  const std::size_t items = supplies_.items.size();
  for (const auto& [class_key, class_lines] : classes) {
    const std::pair<Component::Kind, std::uint32_t> kind = class_key;
    UnionFind groups(line_count * 2 + items);
    const auto node_of = [&](const CoverArc& arc) { return arc.item ? line_count * 2 + *arc.item : line_count + arc.old_line.index; };
    for (const CoverArc* arc : arcs_of_class[kind]) groups.join(arc->line.index, node_of(*arc));
    std::map<std::size_t, std::size_t> component_of_root;
    const auto component_at = [&](std::size_t node) -> Component& {
      const auto [entry, is_new] = component_of_root.try_emplace(groups.root(node), components_.size());
      if (is_new) components_.push_back({.kind = kind.first, .level = kind.second, .lines = {}, .items = {}, .old_lines = {}, .arcs = {}, .first_arc = 0});
      return components_[entry->second];
    };
    for (const LineId line : class_lines) {
      component_at(line.index).lines.push_back(line);
      component_of_line_[line.index] = component_of_root[groups.root(line.index)];
    }
    for (const CoverArc* arc : arcs_of_class[kind]) {
      Component& component = component_at(arc->line.index);
      component.arcs.push_back(*arc);
      if (arc->item) component.items.push_back(*arc->item);
      else component.old_lines.push_back(arc->old_line);
    }
  }
  const auto rank_of = [&](std::uint32_t item) {
    const SupplyLine& line = supplies_.lines[supplies_.items[item].line];
    return std::tuple(line.source, line.file, line.row, item);
  };
  assemblies_with_old_.resize(line_count);
  std::uint32_t arc_count = 0;
  for (std::size_t index = 0; index < components_.size(); ++index) {
    Component& component = components_[index];
    component.first_arc = std::exchange(arc_count, arc_count + static_cast<std::uint32_t>(component.arcs.size()));
    std::ranges::sort(component.items, {}, rank_of);
    component.items.erase(std::unique(component.items.begin(), component.items.end()), component.items.end());
    std::ranges::sort(component.old_lines);
    component.old_lines.erase(std::unique(component.old_lines.begin(), component.old_lines.end()), component.old_lines.end());
    for (const std::uint32_t item : component.items) components_of_item_[item].push_back(index);
    if (component.kind != Component::Kind::Assemblies) continue;
    for (const LineId old : component.old_lines) assemblies_with_old_[old.index].push_back(index);
  }
  // Assemblies level by level, then loose pieces, then small needs.
  for (std::vector<std::size_t>& used_in : components_of_item_) {
    std::ranges::sort(used_in, [&](std::size_t a, std::size_t b) {
      return std::tuple(components_[a].kind, components_[a].level, a) < std::tuple(components_[b].kind, components_[b].level, b);
    });
  }
}

}  // namespace kitgap
