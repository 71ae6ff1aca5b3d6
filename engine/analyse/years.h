#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "need/needs.h"

namespace kitgap {

// What the cars that the tables speak of call for, and where it changes: per model year and body style, or across
// whatever facts are asked for. All in words and figures: the faces print this and work out nothing.

// A row that a figure or a change hangs on.
struct YearsRow {
  std::string pack, file;
  std::uint32_t line = 0;
  std::string says;    // `11 to each door-panel at rear.left, for model year [1969..1970]`
  std::string source;
  friend bool operator==(const YearsRow&, const YearsRow&) = default;
};

// Cars that a line does not tell apart: a set of values per fact across, and the least and greatest that one of them
// may call for. Cars that the `facts` tables rule out are in no cell.
struct YearsCell {
  std::vector<ValueSet> values;  // by `Years::across`
  Range need;
  friend bool operator==(const YearsCell&, const YearsCell&) = default;
};

// Where a figure becomes another one.
struct YearsChange {
  FactId fact;                   // `model year`; or another number or date, such as a chassis serial
  FactValue at;                  // the first value with the new figure
  std::vector<ValueSet> where;   // by `Years::across`; that of `fact` itself is everything it can be
  Range was, now;
  std::vector<YearsRow> because;      // rows that speak from there on and did not before, and those that tie the facts
  std::vector<YearsRow> was_because;  // rows that speak no more
  std::vector<std::string> follows;   // ids of lines above it that change there
  std::optional<FactId> mirrors;      // a change of this fact, listed beside, within one of the two years is all it is
  friend bool operator==(const YearsChange&, const YearsChange&) = default;
};

struct YearsLine {
  std::string id;  // `rear.left/door-panel/panel-clip`
  std::string part, part_name, position, parent, parent_name, unit;
  PartKind kind = PartKind::Piece;
  bool is_exact = true;
  std::vector<YearsCell> cells;
  std::vector<YearsChange> changes;
  std::vector<YearsRow> because;       // all rows that any of its figures comes from
  std::vector<std::string> hangs_on;   // facts not across that its figures hang on
  std::optional<Range> same;           // the one figure of every car; then there are no changes
};

// One way to buy what the cars of a cell call for.
struct YearsOffer {
  std::string supplier, part_number;
  Fraction pack_size = 1;       // pieces of the item in one pack
  Range packs;                  // whole ones
  std::optional<Fraction> price;  // of one pack
  std::string currency;
  bool is_open = false;         // whether it fits hangs on facts that are not known
  friend bool operator==(const YearsOffer&, const YearsOffer&) = default;
};

struct YearsOrderCell {
  std::vector<ValueSet> values;
  Range quantity;                  // pieces, or the part's unit, for one whole car
  std::vector<YearsOffer> offers;  // those that fit first, then by price
  friend bool operator==(const YearsOrderCell&, const YearsOrderCell&) = default;
};

// What one car takes of a part over all its places, as it would be bought: by hand or place where the part is bound
// to it. Openings and holes, and pieces that only the old car can give, are not bought.
struct YearsOrder {
  std::string part, part_name, unit;
  std::string place;  // empty, a hand or a position
  bool is_exact = true;
  std::vector<YearsOrderCell> cells;
  std::vector<std::string> kits;  // `supplier number`: kits that hold the part
  bool is_same = false;           // one cell for every car
};

struct Years {
  struct Pack {
    std::string name, version, hash;
  };
  std::vector<Pack> packs;
  const Rules* rules = nullptr;                           // must outlive this
  std::vector<FactId> across;
  std::vector<std::pair<std::string, std::string>> held;  // facts that are the same for all cars looked at, with their tests
  std::vector<YearsRow> clashes;                          // rows that contradict another for some of the cars
  std::vector<YearsLine> lines;                           // by position, parent and part
  std::vector<YearsOrder> orders;                         // by part and place
  // A set of `across[at]` as a person types it; `-` where it is everything looked at.
  std::string test_of(std::size_t at, const ValueSet& values) const;
  std::vector<ValueSet> spaces;  // by `across`: all that is looked at
};

struct YearsOptions {
  std::vector<FactId> across;       // at least one
  std::string only;                 // a position or a part; empty: everything
};

// Exact without trying each car: each line's figure is worked out once for each completion that its rows can tell
// apart, and laid on the cells into which they cut the facts across. `model` is that of a car of which nothing is
// known but what all cars looked at share.
[[nodiscard]] Years years_of(const NeedModel& model, const YearsOptions& options);

}  // namespace kitgap
