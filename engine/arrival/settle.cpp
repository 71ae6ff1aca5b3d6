#include "arrival/settle.h"

#include <algorithm>
#include <map>

namespace kitgap {
namespace {

using Pieces = std::vector<PieceCount>;

PieceCount& count_for(Pieces& pieces, const std::string& part, const std::string& place) {
  const auto known = std::ranges::find_if(pieces, [&](const PieceCount& count) { return count.part == part && count.place == place; });
  return known != pieces.end() ? *known : pieces.emplace_back(PieceCount{part, place, 0});
}

// What each line was to bring. Of a doubtful pair the reading that an arrival is counted by: one of each hand.
std::map<std::size_t, Pieces> ordered_of(const NeedModel& needs, const Supplies& opened, std::size_t file) {
  std::map<std::size_t, Pieces> ordered;
  for (const SupplyItem& item : opened.items) {
    const SupplyLine& line = opened.lines[item.line];
    if (line.file != file || item.in_pair_reading == std::optional(false) || item.is_quantity_unknown) continue;
    if (comes(item, needs) == Ternary::No) continue;
    count_for(ordered[line.row], needs.rules().part_keys[item.part.index], place_word(item, needs.rules())).pieces += item.quantity;
  }
  return ordered;
}

// `quantity` pieces of one part, or so many kits of several, in place of what the line was to bring.
void scale(Pieces& pieces, const Fraction& quantity, const Fraction& ordered) {
  const bool is_one_part = std::ranges::all_of(pieces, [&](const PieceCount& count) { return count.part == pieces.front().part; });
  if (!is_one_part) {
    for (PieceCount& count : pieces) count.pieces = ordered.is_zero() ? Fraction(0) : count.pieces * quantity / ordered;
    return;
  }
  Fraction left = quantity;
  for (PieceCount& count : pieces) {
    const Fraction taken = &count == &pieces.back() ? left : std::min(left, count.pieces);
    left -= taken;
    count.pieces = taken;
  }
}

}  // namespace

Settled settle(const NeedModel& needs, const Supplies& opened, std::size_t file, const std::vector<Delivery>& deliveries,
               const std::vector<StillToCome>& still_to_come) {
  Settled settled;
  settled.order = opened.lists[file];
  settled.stock.kind = ListKind::Stock;
  settled.stock.file = "arrived";
  const auto ordered = ordered_of(needs, opened, file);
  std::map<std::size_t, Pieces> left;
  const auto of_row = [&](std::size_t row) -> Pieces& {
    const auto known = ordered.find(row);
    return left.try_emplace(row, known == ordered.end() ? Pieces{} : known->second).first->second;
  };
  for (const Delivery& delivery : deliveries) {
    Pieces& pieces = of_row(delivery.row);
    PieceCount& count = count_for(pieces, delivery.part, delivery.place);
    count.pieces = std::max(Fraction(0), count.pieces - delivery.counted);
    if (delivery.usable.sign() <= 0) continue;
    ReadLine line = settled.order.lines[delivery.row];
    line.bag = delivery.bag;
    line.line = delivery.number;
    line.due = {};
    line.quantity.spare = 0;
    line.pieces = Pieces{{delivery.part, delivery.place, delivery.usable}};
    settled.stock.lines.push_back(std::move(line));
  }
  for (const StillToCome& said : still_to_come) {
    Pieces& pieces = of_row(said.row);
    const auto known = ordered.find(said.row);
    if (known == ordered.end()) continue;
    pieces = known->second;
    scale(pieces, said.quantity, settled.order.lines[said.row].quantity.amount);
  }
  for (auto& [row, pieces] : left) settled.order.lines[row].pieces = std::move(pieces);
  settled.stock.used = settled.stock.lines.size();
  return settled;
}

}  // namespace kitgap
