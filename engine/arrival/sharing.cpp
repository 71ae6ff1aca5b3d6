#include "arrival/sharing.h"

#include <algorithm>

namespace kitgap {

void SharedSupplies::take(const CoverModel& model, const Answer& answer) {
  const Supplies& supplies = model.supplies();
  const auto key_of = [&](const SupplyItem& item) {
    const SupplyLine& line = supplies.lines[item.line];
    return Key(supplies.lists[line.file].file, supplies.read(line).line, model.rules().part_keys[item.part.index], place_word(item, model.rules()));
  };
  for (const LineAnswer& line : answer.lines) {
    for (const Covered& covered : line.covered_by) {
      if (covered.from != CoverPiece::From::Item) continue;
      const SupplyItem& item = supplies.items[covered.item];
      if (supplies.lines[item.line].source != SupplySource::List) used_[key_of(item)] += covered.quantity.hi;
    }
  }
}

std::vector<ReadList> SharedSupplies::left_of(const NeedModel& needs, const Supplies& opened) const {
  std::vector<ReadList> lists = opened.lists;
  const auto uses_line = [&](const SupplyLine& line) {
    return std::ranges::any_of(used_, [&](const auto& use) {
      return std::get<0>(use.first) == opened.lists[line.file].file && std::get<1>(use.first) == opened.read(line).line;
    });
  };
  // Every piece of a touched line is named, as the next car would open it.
  for (const SupplyItem& item : opened.items) {
    const SupplyLine& line = opened.lines[item.line];
    if (line.source == SupplySource::List || item.is_quantity_unknown || !uses_line(line)) continue;
    if (opened.read(line).pieces || item.in_pair_reading == std::optional(false) || comes(item, needs) == Ternary::No) continue;
    auto& pieces = lists[line.file].lines[line.row].pieces;
    if (!pieces) pieces.emplace();
    pieces->push_back({needs.rules().part_keys[item.part.index], place_word(item, needs.rules()), item.quantity});
  }
  for (const auto& [key, quantity] : used_) {
    const auto& [file, number, part, place] = key;
    Fraction taken = quantity;
    for (ReadList& list : lists) {
      if (list.file != file) continue;
      for (ReadLine& line : list.lines) {
        if (line.line != number || !line.pieces) continue;
        for (PieceCount& count : *line.pieces) {
          if (count.part != part || count.place != place) continue;
          const Fraction now = std::min(taken, count.pieces);
          count.pieces -= now;
          taken -= now;
        }
      }
    }
  }
  return lists;
}

}  // namespace kitgap
