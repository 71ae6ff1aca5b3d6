#include <algorithm>
#include <deque>

#include "need/needs.h"
#include "value/internal_error.h"

namespace kitgap {
namespace {

std::uint64_t key_of(PartId part, PositionId position) {
  return static_cast<std::uint64_t>(part.index) << 32 | position.index;
}

std::uint64_t key_of(PartId parent, PositionId position, PartId part) {
  // 24 bits for a part, 16 for a position: far past any table, and checked where lines are made.
  return static_cast<std::uint64_t>(parent.index) << 40 | static_cast<std::uint64_t>(position.index) << 24 | part.index;
}

const std::vector<LineId> kNoLines;

}  // namespace

NeedModel NeedModel::of(const Knowledge& knowledge, const Car& car, const Found& found) {
  NeedModel model;
  model.knowledge_ = &knowledge;
  require(model.rules().part_keys.size() < (1u << 24) && model.rules().positions.size() < (1u << 16),
          "parts and positions fit the key of a line");
  model.find_part_rows();
  model.grow(found);
  model.find_practices();
  model.settle_levels();
  model.settle_work(car);
  return model;
}

void NeedModel::find_practices() {
  for (const Line& line : lines_) {
    for (const std::uint32_t row : line.rows) {
      const std::uint32_t practice = rules().needs[row].practice;
      if (practice == 0) continue;
      std::vector<std::uint32_t>& known = practices_[{line.parent, line.part}];
      const auto at = std::ranges::lower_bound(known, rules().practices[practice], {}, [&](std::uint32_t of) { return rules().practices[of]; });
      if (at == known.end() || *at != practice) known.insert(at, practice);
    }
  }
}

const std::vector<std::uint32_t>& NeedModel::practices_of(PartId parent, PartId part) const {
  static const std::vector<std::uint32_t> kNone;
  const auto known = practices_.find({parent, part});
  return known == practices_.end() ? kNone : known->second;
}

void NeedModel::find_part_rows() {
  const Rules& rules = this->rules();
  part_rows_.assign(rules.part_keys.size(), nullptr);
  std::vector<bool> can_apply(rules.part_keys.size(), false);
  for (const PartRow& row : rules.parts) {
    const bool applies = holds(rules.condition(row.condition), knowledge_->sets(), rules.facts) != Ternary::No;
    const PartRow*& best = part_rows_[row.part.index];
    const bool is_better = best == nullptr || (applies && (!can_apply[row.part.index] || rules.layer(row.place) > rules.layer(best->place)));
    if (!is_better) continue;
    best = &row;
    can_apply[row.part.index] = applies;
  }
  undescribed_.resize(rules.part_keys.size());
  for (std::uint32_t index = 0; index < part_rows_.size(); ++index) {
    if (part_rows_[index] != nullptr) continue;
    undescribed_[index].part = PartId{index};
    undescribed_[index].name = rules.part_keys[index];
    part_rows_[index] = &undescribed_[index];
  }
  is_assembly_.assign(rules.part_keys.size(), false);
  for (std::uint32_t index = 0; index < part_rows_.size(); ++index) is_assembly_[index] = part_rows_[index]->kind == PartKind::Assembly;
  for (const NeedRow& row : rules.needs) is_assembly_[row.parent.index] = true;
  is_assembly_[Rules::kCar.index] = false;
}

// From the car down: a row whose conditions can hold makes a line at each leaf it selects.
void NeedModel::grow(const Found& found) {
  const Rules& rules = this->rules();
  std::vector<Ternary> can_hold;
  for (const Condition& condition : rules.conditions) can_hold.push_back(holds(condition, knowledge_->sets(), rules.facts));
  std::vector<std::vector<std::uint32_t>> needs_of(rules.part_keys.size());
  for (std::uint32_t index = 0; index < rules.needs.size(); ++index) {
    const NeedRow& row = rules.needs[index];
    if (can_hold[row.condition.index] != Ternary::No) needs_of[row.parent.index].push_back(index);
  }
  std::vector<std::vector<std::uint32_t>> consumes_of(rules.part_keys.size());
  for (std::uint32_t index = 0; index < rules.consumes.size(); ++index) {
    const ConsumesRow& row = rules.consumes[index];
    if (can_hold[row.condition.index] != Ternary::No) consumes_of[row.assembly.index].push_back(index);
  }
  std::deque<std::pair<PartId, PositionId>> waiting;
  std::unordered_map<std::uint64_t, bool> is_met;
  const auto line_at = [&](PartId parent, PositionId position, PartId part) -> Line& {
    const auto [entry, is_new] = by_key_.try_emplace(key_of(parent, position, part), LineId{static_cast<std::uint32_t>(lines_.size())});
    if (is_new) {
      lines_.push_back({.parent = parent, .position = position, .part = part, .rows = {}, .consumes = {}, .count = {}});
      if (is_met.try_emplace(key_of(part, position), true).second) waiting.emplace_back(part, position);
    }
    return lines_[entry->second.index];
  };
  const auto grow_below = [&](PartId parent, std::optional<PositionId> parent_position) {
    for (const std::uint32_t index : needs_of[parent.index]) {
      const NeedRow& row = rules.needs[index];
      const std::vector<PositionId>& at = rules.places_of(row.at);
      if (!parent_position) {
        if (at.empty()) line_at(parent, Positions::kCar, row.part).rows.push_back(index);
        for (const PositionId leaf : at) line_at(parent, leaf, row.part).rows.push_back(index);
      } else if (at.empty() || std::ranges::find(at, *parent_position) != at.end()) {
        line_at(parent, *parent_position, row.part).rows.push_back(index);
      }
    }
    if (parent_position) {
      for (const std::uint32_t index : consumes_of[parent.index]) {
        line_at(parent, *parent_position, rules.consumes[index].part).consumes.push_back(index);
      }
    }
    for (const FoundRecord& record : found.records) {
      if (record.parent != parent || record.counted_in == CountedIn::NotSaid) continue;
      for (const PositionId leaf : record.leaves) {
        if (!parent_position || leaf == *parent_position) line_at(parent, leaf, record.part);
      }
    }
  };
  grow_below(Rules::kCar, std::nullopt);
  while (!waiting.empty()) {
    const auto [part, position] = waiting.front();
    waiting.pop_front();
    grow_below(part, position);
  }
  grow_small_needs(can_hold);
  // Sorted by position, parent and part; ids follow.
  std::ranges::sort(lines_, [&](const Line& a, const Line& b) {
    if (a.position != b.position) return rules.positions.path(a.position) < rules.positions.path(b.position);
    if (a.parent != b.parent) return rules.part_keys[a.parent.index] < rules.part_keys[b.parent.index];
    return rules.part_keys[a.part.index] < rules.part_keys[b.part.index];
  });
  by_key_.clear();
  for (std::uint32_t index = 0; index < lines_.size(); ++index) {
    Line& line = lines_[index];
    by_key_[key_of(line.parent, line.position, line.part)] = LineId{index};
    by_part_[key_of(line.part, line.position)].push_back(LineId{index});
    if (line.parent != Rules::kCar) by_parent_[key_of(line.parent, line.position)].push_back(LineId{index});
    std::ranges::stable_sort(line.rows, [&](std::uint32_t a, std::uint32_t b) {
      return rules.layer(rules.needs[a].place) < rules.layer(rules.needs[b].place);
    });
    std::ranges::stable_sort(line.consumes, [&](std::uint32_t a, std::uint32_t b) {
      return rules.layer(rules.consumes[a].place) > rules.layer(rules.consumes[b].place);
    });
    if (!found.records.empty()) line.count = count_of(found, line.parent, line.position, line.part);
  }
}

// What moving a piece over uses up (tabs, glue) is a line of its own below the piece.
void NeedModel::grow_small_needs(const std::vector<Ternary>& can_hold) {
  for (const MoveOverRow& row : rules().move_over) {
    if (row.takes.empty() || can_hold[row.condition.index] == Ternary::No) continue;
    const std::size_t grown = lines_.size();
    for (std::size_t index = 0; index < grown; ++index) {
      if (lines_[index].parent != row.assembly || lines_[index].part != row.sub_part) continue;
      const PositionId position = lines_[index].position;
      for (const Takes& takes : row.takes) {
        const auto [entry, is_new] = by_key_.try_emplace(key_of(row.sub_part, position, takes.part), LineId{static_cast<std::uint32_t>(lines_.size())});
        if (!is_new) continue;
        lines_.push_back({.parent = row.sub_part, .position = position, .part = takes.part, .is_small = true, .rows = {}, .consumes = {}, .count = {}});
      }
    }
  }
}

std::optional<LineId> NeedModel::find(PartId parent, PositionId position, PartId part) const {
  const auto found = by_key_.find(key_of(parent, position, part));
  if (found == by_key_.end()) return std::nullopt;
  return found->second;
}

const std::vector<LineId>& NeedModel::lines_of(PartId part, PositionId position) const {
  const auto found = by_part_.find(key_of(part, position));
  return found == by_part_.end() ? kNoLines : found->second;
}

const std::vector<LineId>& NeedModel::children_of(PartId part, PositionId position) const {
  const auto found = by_parent_.find(key_of(part, position));
  return found == by_parent_.end() ? kNoLines : found->second;
}

// Longest ways by relaxation; a ring of rows that never hold together would run on, so the rounds are bounded.
void NeedModel::settle_levels() {
  constexpr std::uint32_t kDeepest = 64;
  bool changed = true;
  for (std::uint32_t round = 0; changed && round < kDeepest; ++round) {
    changed = false;
    for (const Line& line : lines_) {
      for (const LineId child : children_of(line.part, line.position)) {
        std::uint32_t& level = lines_[child.index].level;
        if (level < line.level + 1 && line.level < kDeepest) {
          level = line.level + 1;
          changed = true;
        }
      }
    }
  }
}

// A line is in the work if it, or an assembly above it, is named by part, area or position.
void NeedModel::settle_work(const Car& car) {
  if (car.work.empty()) return;
  const Rules& rules = this->rules();
  std::vector<LineId> reached;
  for (std::uint32_t index = 0; index < lines_.size(); ++index) {
    Line& line = lines_[index];
    const auto names_line = [&](const std::string& word) {
      if (word == rules.part_keys[line.part.index] || word == part_row(line.part).area) return true;
      const auto position = rules.positions.find(word);
      return position && rules.positions.is_within(line.position, *position);
    };
    line.is_named_in_work = std::ranges::any_of(car.work, names_line);
    line.is_in_work = line.is_named_in_work;
    if (line.is_in_work) reached.push_back(LineId{index});
  }
  while (!reached.empty()) {
    const Line line = lines_[reached.back().index];
    reached.pop_back();
    for (const LineId child : children_of(line.part, line.position)) {
      if (lines_[child.index].is_in_work) continue;
      lines_[child.index].is_in_work = true;
      reached.push_back(child);
    }
  }
}

bool NeedModel::is_sub_part(PartId assembly, PartId part) const {
  std::vector<PartId> waiting{assembly};
  std::vector<bool> met(part_rows_.size(), false);
  while (!waiting.empty()) {
    const PartId parent = waiting.back();
    waiting.pop_back();
    const auto reach = [&](PartId above, PartId below) {
      if (above != parent || met[below.index]) return;
      met[below.index] = true;
      waiting.push_back(below);
    };
    // By the tables, also where the car does not call for the assembly; and by what was counted.
    for (const NeedRow& row : rules().needs) reach(row.parent, row.part);
    for (const ConsumesRow& row : rules().consumes) reach(row.assembly, row.part);
    for (const Line& line : lines_) reach(line.parent, line.part);
  }
  return met[part.index];
}

std::string NeedModel::id_of(LineId id) const {
  const Line& line = this->line(id);
  return rules().positions.path(line.position) + "/" + rules().part_keys[line.parent.index] + "/" + rules().part_keys[line.part.index];
}

std::vector<std::string> NeedModel::path_of(LineId id) const {
  std::vector<std::string> path;
  for (std::size_t step = 0; step < 64; ++step) {
    const Line& line = this->line(id);
    path.push_back(rules().part_keys[line.part.index]);
    if (line.parent == Rules::kCar) break;
    const std::vector<LineId>& above = lines_of(line.parent, line.position);
    if (above.empty()) break;
    id = above.front();
  }
  path.emplace_back("car");
  std::ranges::reverse(path);
  return path;
}

}  // namespace kitgap
