#include "need/clashes.h"

#include <algorithm>
#include <limits>
#include <utility>

#include "text/codes.h"

namespace kitgap {
std::span<const std::string_view> key_columns(TableKind kind) {
  static constexpr auto kSuppliers = std::to_array<std::string_view>({"supplier"});
  static constexpr auto kFacts = std::to_array<std::string_view>({"fact"});
  static constexpr auto kParts = std::to_array<std::string_view>({"part"});
  static constexpr auto kOffers = std::to_array<std::string_view>({"supplier", "part number"});
  static constexpr auto kContents = std::to_array<std::string_view>({"supplier", "part number", "part", "inner number", "position"});
  static constexpr auto kWithout = std::to_array<std::string_view>({"supplier", "part number", "assembly", "sub-part"});
  static constexpr auto kReplaces = std::to_array<std::string_view>({"from", "to"});
  static constexpr auto kMoveOver = std::to_array<std::string_view>({"assembly", "sub-part"});
  static constexpr auto kPairings = std::to_array<std::string_view>({"part", "other part"});
  static constexpr auto kLimits = std::to_array<std::string_view>({"part", "property"});
  static constexpr auto kSizes = std::to_array<std::string_view>({"part", "position"});
  static constexpr auto kConsumes = std::to_array<std::string_view>({"assembly", "part"});
  static constexpr auto kSteps = std::to_array<std::string_view>({"step"});
  switch (kind) {
    case TableKind::Suppliers: return kSuppliers;
    case TableKind::Facts: return kFacts;
    case TableKind::Parts: return kParts;
    case TableKind::Offers: return kOffers;
    case TableKind::Contents: return kContents;
    case TableKind::SuppliedWithout: return kWithout;
    case TableKind::Replaces: return kReplaces;
    case TableKind::MoveOver: return kMoveOver;
    case TableKind::Pairings: return kPairings;
    case TableKind::Limits: return kLimits;
    case TableKind::Sizes: return kSizes;
    case TableKind::Consumes: return kConsumes;
    case TableKind::Steps: return kSteps;
    case TableKind::Needs:
    case TableKind::Cautions: return {};
  }
  return {};
}

namespace {

struct Keyed {
  RowPlace place;
  ConditionId condition;
};

class ClashFinder {
 public:
  ClashFinder(const Knowledge& knowledge, Problems& problems) : knowledge_(knowledge), rules_(knowledge.rules()), problems_(problems) {}

  template <class Row>
  void look_at(const std::vector<Row>& rows) {
    std::unordered_map<std::string, std::vector<Keyed>> by_key;
    by_key.reserve(rows.size());
    std::string key;
    std::vector<std::optional<std::size_t>> columns;  // of the key, in the table of the row before
    std::uint32_t table = std::numeric_limits<std::uint32_t>::max();
    for (const Row& row : rows) {
      const TableInfo& info = rules_.tables[row.place.table];
      if (std::exchange(table, row.place.table) != row.place.table) {
        columns.clear();
        for (const std::string_view column : key_columns(info.kind)) columns.push_back(info.table.find_column(column));
      }
      key.clear();
      for (const auto& column : columns) {
        if (column) key += info.table.cell(row.place.row, *column);
        key += '\x1f';
      }
      by_key[key].push_back({row.place, row.condition});
    }
    for (const auto& [cells, same] : by_key) {
      for (std::size_t later = 1; later < same.size(); ++later) {
        for (std::size_t earlier = 0; earlier < later; ++earlier) compare(same, same[earlier], same[later]);
      }
    }
  }

 private:
  void compare(const std::vector<Keyed>& same, const Keyed& a, const Keyed& b) {
    const std::uint32_t layer = rules_.layer(a.place);
    if (layer != rules_.layer(b.place)) return;
    const auto column = differing_column(a.place, b.place);
    if (!column || !can_meet(a.condition, b.condition)) return;
    const bool is_replaced = std::ranges::any_of(same, [&](const Keyed& above) {
      return rules_.layer(above.place) > layer && holds(rules_.condition(above.condition), knowledge_.sets(), rules_.facts) == Ternary::Yes;
    });
    if (is_replaced) return;
    const TableInfo& info = rules_.tables[b.place.table];
    const TableInfo& other = rules_.tables[a.place.table];
    problems_.add(b.place, {.code = code::kContradiction,
                            .span = info.table.span(b.place.row, info.table.find_column(*column).value_or(0)),
                            .says = "two rows of one key say different things in `" + *column + "`, `" + rules_.cell_of(b.place, *column) + "` and `" +
                                    rules_.cell_of(a.place, *column) + "`",
                            .expected = "one row for a car within a layer",
                            .further = {{.span = other.table.span(a.place.row, other.table.find_column(*column).value_or(0)),
                                         .says = "the other row; both can apply to this car"}}});
  }

  // The first column, conditions and sources apart, in which the rows differ.
  std::optional<std::string> differing_column(RowPlace a, RowPlace b) const {
    const TableInfo& info = rules_.tables[a.table];
    for (const ColumnWord& word : word_of(info.kind).columns) {
      const std::string column(word.name);
      if (rules_.cell_of(a, column) != rules_.cell_of(b, column)) return column;
    }
    return std::nullopt;
  }

  bool can_meet(ConditionId a, ConditionId b) const {
    FactSets sets = knowledge_.sets();
    for (const ConditionId id : {a, b}) {
      if (holds(rules_.condition(id), sets, rules_.facts) == Ternary::No) return false;
      for (const Condition::Test& test : rules_.condition(id).tests) {
        sets[test.fact.index] = sets[test.fact.index] & test.values;
        if (sets[test.fact.index].is_empty()) return false;
      }
    }
    return knowledge_.is_consistent(sets);
  }

  const Knowledge& knowledge_;
  const Rules& rules_;
  Problems& problems_;
};

}  // namespace

void report_clashes(const Knowledge& knowledge, Problems& problems) {
  const Rules& rules = knowledge.rules();
  ClashFinder finder(knowledge, problems);
  finder.look_at(rules.suppliers);
  finder.look_at(rules.fact_rows);
  finder.look_at(rules.parts);
  finder.look_at(rules.offers);
  finder.look_at(rules.contents);
  finder.look_at(rules.supplied_without);
  finder.look_at(rules.replaces);
  finder.look_at(rules.move_over);
  finder.look_at(rules.pairings);
  finder.look_at(rules.limits);
  finder.look_at(rules.sizes);
  finder.look_at(rules.consumes);
  finder.look_at(rules.steps);
}

}  // namespace kitgap
