#include "purchase/car_pieces.h"

#include <algorithm>

#include "need/completion.h"
#include "supply/substitutions.h"
#include "text/csv.h"

namespace kitgap {
namespace {

constexpr int kMostDepth = 8;  // kits in kits
constexpr std::size_t kMostCompletions = 64;

// One pack of the offer, as a row of a list.
ReadList one_pack(const OfferKey& key) {
  std::string csv = "part number,supplier,quantity\n";
  append_csv_cell(csv, key.part_number);
  csv += ',';
  append_csv_cell(csv, key.supplier);
  csv += ",1\n";
  Sources sources;
  Diagnostics ignored;
  auto list = read_list(sources.add("offer", csv), ListKind::List, {}, sources, ignored);
  return list ? std::move(*list) : ReadList{};
}

}  // namespace

CarPieces::CarPieces(const NeedModel& needs, const std::vector<ReadList>& lists, const std::map<LineId, Fraction>& gaps, bool assume_open)
    : needs_(needs), rules_(needs.rules()), lists_(lists), gaps_(gaps), assume_open_(assume_open), supplies_(Supplies::of(needs, lists)) {
  for (const auto& [line, gap] : gaps) parts_.insert(needs.line(line).part);
  const auto substitutions = substitutions_of(rules_);
  for (const Substitution& other : substitutions) {
    if (parts_.contains(other.wanted)) parts_.insert(other.covers);
  }
}

std::vector<OfferId> CarPieces::offers() const {
  std::vector<OfferId> found;
  for (std::uint32_t offer = 0; offer < rules_.offer_keys.size(); ++offer) {
    if (could_serve(OfferId{offer}, 0)) found.push_back(OfferId{offer});
  }
  return found;
}

bool CarPieces::could_serve(OfferId offer, int depth) const {
  for (const std::uint32_t row : supplies_.rows_of(offer).rows) {
    const auto& part = rules_.offers[row].part;
    if (part && parts_.contains(*part)) return true;
  }
  for (const std::uint32_t row : supplies_.contents_of(offer).rows) {
    const ContentsRow& content = rules_.contents[row];
    if (content.part && parts_.contains(*content.part)) return true;
    if (content.inner && depth < kMostDepth && could_serve(*content.inner, depth + 1)) return true;
  }
  return false;
}

OfferOnCar CarPieces::look(OfferId offer) const {
  OfferOnCar out;
  const Supplies probe = Supplies::of(needs_, {one_pack(rules_.offer_keys[offer.index])});
  const CoverModel cover(needs_, probe);
  add_arcs(probe, cover, out);
  for (const OfferOnCar::Piece& piece : out.pieces) {
    if (!needs_.is_assembly(piece.part)) continue;
    out.assemblies.insert(piece.lines.begin(), piece.lines.end());
  }
  if (!out.assemblies.empty()) add_bundles(offer, out);
  return out;
}

void CarPieces::add_arcs(const Supplies& probe, const CoverModel& cover, OfferOnCar& out) const {
  std::map<std::uint32_t, OfferOnCar::Piece> pieces;
  std::map<std::uint32_t, std::set<PositionId>> places;  // where pieces could go at all
  for (const Component& component : cover.components()) {
    for (const CoverArc& arc : component.arcs) {
      if (arc.item) places[*arc.item].insert(needs_.line(arc.line).position);
    }
  }
  for (const Component& component : cover.components()) {
    for (const CoverArc& arc : component.arcs) {
      if (!arc.item || !gaps_.contains(arc.line)) continue;
      const Ternary may = may_go(cover, arc, places[*arc.item].size() > 1);
      out.is_open = out.is_open || may == Ternary::Open;
      if (may == Ternary::No || (may == Ternary::Open && !assume_open_)) continue;
      OfferOnCar::Piece& piece = pieces[*arc.item];
      piece.lines.insert(arc.line);
      if (arc.is_stand_in) piece.stands_in.insert(arc.line);
    }
  }
  std::map<std::string, int> seen;
  for (std::uint32_t item = 0; item < probe.items.size(); ++item) {
    const SupplyItem& supply = probe.items[item];
    std::string key = rules_.part_keys[supply.part.index] + "|" + place_word(supply, rules_);
    key += "|" + std::to_string(seen[key]++);
    const auto found = pieces.find(item);
    if (found == pieces.end()) continue;
    found->second.key = std::move(key);
    found->second.part = supply.part;
    found->second.quantity = supply.quantity;
    out.pieces.push_back(std::move(found->second));
  }
}

// Whether the pieces may go there whenever the line wants any; open: only if something turns out so.
Ternary CarPieces::may_go(const CoverModel& cover, const CoverArc& arc, bool has_several_places) const {
  bool always = true;
  bool ever = false;
  Diagnostics ignored;
  Recall recall(needs_.knowledge());
  Worked worked;
  const SupplyItem& item = cover.supplies().items[*arc.item];
  const bool all = Explorer(recall, kMostCompletions).explore([&](Completion& completion) {
    Problems problems(ignored);
    Solver solver(cover, completion, problems, worked);
    if (solver.need(arc.line).sign() <= 0) return;
    const auto holds = [&](ConditionId condition) { return completion.holds(condition); };
    const bool replaces = arc.by_replacing.empty() || std::ranges::any_of(arc.by_replacing, holds);
    const bool may = replaces && solver.is_there(*arc.item) && solver.figure(arc.line).old != OldUse::Must;
    always = always && may;
    ever = ever || may;
  });
  if (!ever) return Ternary::No;
  return always && all && !(item.is_place_open && has_several_places) && !item.is_quantity_unknown ? Ternary::Yes : Ternary::Open;
}

// An assembly brings its sub-parts for its own place only, and what it promises counts: the cover knows.
void CarPieces::add_bundles(OfferId offer, OfferOnCar& out) const {
  std::vector<ReadList> lists = lists_;
  lists.push_back(one_pack(rules_.offer_keys[offer.index]));
  const Supplies supplies = Supplies::of(needs_, std::move(lists));
  const CoverModel cover(needs_, supplies);
  std::set<LineId> own;
  for (const OfferOnCar::Piece& piece : out.pieces) own.insert(piece.lines.begin(), piece.lines.end());
  for (const auto& [line, gap] : gaps_) {
    const PartId part = needs_.line(line).part;
    const auto is_below = [&](LineId assembly) {
      return needs_.line(assembly).position == needs_.line(line).position && needs_.is_sub_part(needs_.line(assembly).part, part);
    };
    if (own.contains(line) || std::ranges::none_of(out.assemblies, is_below)) continue;
    const std::optional<Fraction> left = greatest_gap(cover, line);
    if (left && *left < gap) out.with_assembly[line] = gap - *left;
  }
}

// The greatest gap that is left over all that may turn out; nothing when that is too much to look through.
std::optional<Fraction> CarPieces::greatest_gap(const CoverModel& cover, LineId line) const {
  Fraction greatest;
  Diagnostics ignored;
  Recall recall(needs_.knowledge());
  Worked worked;
  const bool all = Explorer(recall, kMostCompletions).explore([&](Completion& completion) {
    Problems problems(ignored);
    greatest = std::max(greatest, Solver(cover, completion, problems, worked).cover(line).gap());
  });
  return all ? std::optional(greatest) : std::nullopt;
}

}  // namespace kitgap
