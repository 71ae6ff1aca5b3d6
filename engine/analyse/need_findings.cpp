#include <algorithm>
#include <map>
#include <numeric>
#include <set>
#include <tuple>

#include "analyse/holes.h"
#include "analyse/pack_findings.h"

namespace kitgap {
namespace {

// A need's key at one leaf: rows of one key compete.
using LeafKey = std::tuple<PartId, PartId, PositionId>;

std::string key_in_words(const Rules& rules, const LeafKey& key) {
  const auto [parent, part, leaf] = key;
  std::string words = "`" + rules.part_keys[part.index] + "`";
  if (parent != Rules::kCar) words += " of `" + rules.part_keys[parent.index] + "`";
  if (leaf != Positions::kCar) words += " at " + rules.positions.path(leaf);
  return words;
}

std::string figure_in_words(const Rules& rules, const NeedRow& need) {
  const Figure& figure = rules.figures[need.quantity.index];
  if (figure.quantity.constant) return (*figure.quantity.constant * figure.scale).to_text();
  return rules.cell_of(need.place, "quantity");
}

bool differ(const Rules& rules, const NeedRow& a, const NeedRow& b) {
  if (a.quantity == b.quantity) return false;
  const Figure& first = rules.figures[a.quantity.index];
  const Figure& second = rules.figures[b.quantity.index];
  if (!first.quantity.constant || !second.quantity.constant) return true;
  return *first.quantity.constant * first.scale != *second.quantity.constant * second.scale;
}

// Rows of rival practices are both held; a row with a practice word and one without are no rivals.
bool are_rivals(const NeedRow& a, const NeedRow& b) {
  return a.practice != 0 && b.practice != 0 && a.practice != b.practice;
}

class NeedFindings {
 public:
  explicit NeedFindings(const Rules& rules) : rules_(rules) {
    for (std::uint32_t number = 0; number < rules.needs.size(); ++number) {
      const NeedRow& need = rules.needs[number];
      const auto& places = rules.places_of(need.at);
      if (places.empty()) {
        by_key_[{need.parent, need.part, Positions::kCar}].push_back(number);
      } else {
        for (const PositionId leaf : places) by_key_[{need.parent, need.part, leaf}].push_back(number);
      }
    }
  }

  void find(std::vector<Finding>& out) {
    for (const auto& [key, numbers] : by_key_) {
      if (numbers.size() < 2) continue;
      std::vector<ConditionId> conditions;
      for (const std::uint32_t number : numbers) conditions.push_back(rules_.needs[number].condition);
      const FactGrid grid(rules_, conditions);
      contradictions(key, numbers, grid, out);
      gaps(key, numbers, grid, out);
      hidden(key, numbers, grid, out);
    }
  }

 private:
  std::uint32_t layer(std::uint32_t number) const { return rules_.layer(rules_.needs[number].place); }

  // Rows of a higher layer that set or drop the key replace all below them.
  std::vector<std::uint32_t> above(const std::vector<std::uint32_t>& numbers, const FactGrid& grid, std::uint32_t than) const {
    std::vector<std::uint32_t> rows;
    for (std::uint32_t row = 0; row < numbers.size(); ++row) {
      const Effect effect = rules_.needs[numbers[row]].effect;
      const bool replaces = effect == Effect::Sets || effect == Effect::Drops;
      if (replaces && grid.is_exact(row) && layer(numbers[row]) > than) rows.push_back(row);
    }
    return rows;
  }

  void contradictions(const LeafKey& key, const std::vector<std::uint32_t>& numbers, const FactGrid& grid,
                      std::vector<Finding>& out) {
    for (std::size_t a = 0; a < numbers.size(); ++a) {
      for (std::size_t b = a + 1; b < numbers.size(); ++b) {
        const NeedRow& first = rules_.needs[numbers[a]];
        const NeedRow& second = rules_.needs[numbers[b]];
        if (first.effect != Effect::Sets || second.effect != Effect::Sets || layer(numbers[a]) != layer(numbers[b]) ||
            !differ(rules_, first, second) || are_rivals(first, second) || !grid.is_exact(a) || !grid.is_exact(b)) {
          continue;
        }
        const auto box = grid.common_box(a, b);
        if (!box) continue;
        auto replacing = above(numbers, grid, layer(numbers[a]));
        replacing.insert(replacing.end(), grid.impossible().begin(), grid.impossible().end());
        const auto open = uncovered(grid.grid(), replacing, *box, 1);
        if (open.boxes.empty() || !said_.insert({first.place, second.place}).second) continue;
        const std::string where = grid.in_words(rules_, open.boxes.front());
        out.push_back({.code = "contradiction",
                       .says = "Two rows give " + key_in_words(rules_, key) + " different quantities, " +
                               figure_in_words(rules_, first) + " and " + figure_in_words(rules_, second) +
                               ", and both apply to " + where + ".",
                       .rows = {first.place, second.place},
                       .witness = grid.witness(open.boxes.front()),
                       .repair = "Narrow one of the two so that they no longer meet at " + where +
                                 ", name rival practices in both, or move the right one to a pack that stands above."});
      }
    }
  }

  // Neighbours in one ordered fact that agree on all others, with nothing said between them.
  void gaps(const LeafKey& key, const std::vector<std::uint32_t>& numbers, const FactGrid& grid, std::vector<Finding>& out) {
    std::vector<std::uint32_t> all(numbers.size());
    std::iota(all.begin(), all.end(), 0U);
    for (std::size_t column = 0; column < grid.column_count(); ++column) {
      if (!grid.grid().columns[column].is_ordered) continue;
      for (std::size_t a = 0; a < numbers.size(); ++a) {
        for (std::size_t b = 0; b < numbers.size(); ++b) {
          const auto box = between(grid, column, a, b);
          if (!box || rules_.needs[numbers[a]].effect != Effect::Sets || rules_.needs[numbers[b]].effect != Effect::Sets) continue;
          const auto holes = uncovered(grid.grid(), all, *box, 1);
          // Only where nothing at all is said between: what is covered in part has rows of its own to show it.
          if (holes.boxes.size() != 1 || holes.boxes.front() != *box) continue;
          const auto cars = uncovered(grid.grid(), grid.impossible(), *box, 1);
          if (cars.boxes.empty()) continue;
          const RowPlace first = rules_.needs[numbers[a]].place;
          const RowPlace second = rules_.needs[numbers[b]].place;
          if (!said_gap_.insert({first, second}).second) continue;
          const std::string where = grid.in_words(rules_, *box);
          out.push_back({.code = "gap-between",
                         .says = "The rows for " + key_in_words(rules_, key) + " leave out " + where +
                                 ": one ends before it, one begins after it, and no row speaks of what lies between.",
                         .rows = {first, second},
                         .witness = grid.witness(cars.boxes.front()),
                         .repair = "Stretch one of the two over the gap, or add a row for it. If such a car has none, "
                                   "say so with a row of quantity 0."});
        }
      }
    }
  }

  std::optional<Box> between(const FactGrid& grid, std::size_t column, std::size_t a, std::size_t b) const {
    if (a == b) return std::nullopt;
    const auto first = grid.grid().cells(a, column);
    const auto second = grid.grid().cells(b, column);
    if (first.empty() || second.empty() || first.back().hi + 1 >= second.front().lo) return std::nullopt;
    Box box;
    for (std::size_t other = 0; other < grid.column_count(); ++other) {
      if (other == column) {
        box.push_back({{first.back().hi + 1, second.front().lo - 1}});
        continue;
      }
      const auto x = grid.grid().cells(a, other);
      const auto y = grid.grid().cells(b, other);
      if (!std::equal(x.begin(), x.end(), y.begin(), y.end()) || x.empty()) return std::nullopt;
      box.emplace_back(x.begin(), x.end());
    }
    return box;
  }

  // A row is hidden when at each of its leaves higher layers replace it for every car.
  void hidden(const LeafKey&, const std::vector<std::uint32_t>& numbers, const FactGrid& grid, std::vector<Finding>&) {
    for (std::size_t row = 0; row < numbers.size(); ++row) {
      const auto higher = above(numbers, grid, layer(numbers[row]));
      const bool covered = !higher.empty() && !grid.grid().never_applies(row) &&
                           is_covered(grid.grid(), higher, box_of(grid.grid(), row));
      ++leaves_[numbers[row]];
      if (!covered) continue;
      ++hidden_leaves_[numbers[row]];
      for (const std::uint32_t other : higher) hiders_[numbers[row]].insert(rules_.needs[numbers[other]].place);
    }
  }

 public:
  void find_hidden(std::vector<Finding>& out) const {
    for (const auto& [number, count] : hidden_leaves_) {
      if (count != leaves_.at(number)) continue;
      const NeedRow& need = rules_.needs[number];
      if (std::max<std::size_t>(1, rules_.places_of(need.at).size()) != count) continue;
      Finding finding{.code = "hidden-by-layer",
                      .says = "The row for `" + rules_.part_keys[need.part.index] + "` is never heard: rows of a higher layer "
                              "set or drop it for every car it speaks of.",
                      .rows = {need.place},
                      .witness = {},
                      .repair = "Leave it if the pack is also used alone; otherwise take it out."};
      for (const RowPlace place : hiders_.at(number)) finding.rows.push_back(place);
      out.push_back(std::move(finding));
    }
  }

 private:
  const Rules& rules_;
  std::map<LeafKey, std::vector<std::uint32_t>> by_key_;
  std::set<std::pair<RowPlace, RowPlace>> said_;
  std::set<std::pair<RowPlace, RowPlace>> said_gap_;
  std::map<std::uint32_t, std::size_t> leaves_;
  std::map<std::uint32_t, std::size_t> hidden_leaves_;
  std::map<std::uint32_t, std::set<RowPlace>> hiders_;
};

}  // namespace

void find_need_findings(const Rules& rules, std::vector<Finding>& out) {
  NeedFindings findings(rules);
  findings.find(out);
  findings.find_hidden(out);
}

}  // namespace kitgap
