#include <algorithm>

#include "cover/answer.h"

namespace kitgap {
namespace {

class Checker {
 public:
  Checker(const CoverModel& model, Answer& answer) : model_(model), rules_(model.rules()), answer_(answer) {}

  void check() {
    check_pieces();
    check_pairings();
    check_holes();
    add_limit_checks(model_, answer_);
    check_replaced();
    check_hands();
    std::ranges::stable_sort(answer_.checks, {}, [&](const Check& check) {
      return std::tuple(check.kind, rules_.part_keys[check.part.index],
                        check.position ? rules_.positions.path(*check.position) : std::string());
    });
  }

 private:
  bool may_hold(ConditionId condition) const {
    return holds(rules_.condition(condition), model_.needs().knowledge().sets(), rules_.facts) != Ternary::No;
  }

  std::string name_of(PartId part) const { return "`" + rules_.part_keys[part.index] + "`"; }

  std::string number_of(OfferId offer) const { return "`" + rules_.offer_keys[offer.index].part_number + "`"; }

  // Pieces that the contents list against the count that the supplier states.
  void check_pieces() {
    std::vector<OfferId> done;
    for (std::uint32_t index = 0; index < model_.supplies().lines.size(); ++index) {
      for (const Meaning& meaning : model_.supplies().lines[index].meanings) {
        if (!meaning.offer || std::ranges::find(done, *meaning.offer) != done.end()) continue;
        done.push_back(*meaning.offer);
        check_offer_pieces(*meaning.offer, index, 0);
      }
    }
  }

  // Pieces of one pack, as its contents list them; nothing where they list none.
  std::optional<Fraction> listed_pieces(OfferId offer, int depth) const {
    const Supplies::OfferRows& contents = model_.supplies().contents_of(offer);
    std::optional<Fraction> sum;
    for (const std::uint32_t row_index : contents.rows) {
      const ContentsRow& row = rules_.contents[row_index];
      if (!may_hold(row.condition)) continue;
      Fraction pieces = row.quantity;
      if (row.inner && depth < 16) {
        const auto inner = listed_pieces(*row.inner, depth + 1);
        const Supplies::OfferRows& rows = model_.supplies().rows_of(*row.inner);
        pieces = pieces * (inner ? *inner : rows.rows.empty() ? Fraction(1) : rules_.offers[rows.rows.front()].pack_size);
      }
      sum = sum.value_or(Fraction(0)) + pieces;
    }
    return sum;
  }

  void check_offer_pieces(OfferId offer, std::uint32_t supply_line, int depth) {
    const Supplies::OfferRows& rows = model_.supplies().rows_of(offer);
    for (const std::uint32_t row_index : rows.rows) {
      const OfferRow& row = rules_.offers[row_index];
      if (!may_hold(row.condition) || !row.stated_pieces) continue;
      const auto listed = listed_pieces(offer, 0);
      if (!listed || *listed == *row.stated_pieces) continue;
      const bool is_short = *listed < *row.stated_pieces;
      const Fraction difference = is_short ? *row.stated_pieces - *listed : *listed - *row.stated_pieces;
      PartId part = row.part.value_or(Rules::kCar);
      add({.kind = CheckKind::Pieces, .severity = Severity::Warning, .part = part, .position = {},
           .says = number_of(offer) + " is stated to hold " + row.stated_pieces->to_text() + " pieces, its contents list " + listed->to_text() +
                   ": " + difference.to_text() + (is_short ? " too few" : " too many") + "; count it when it comes, and ask before paying",
           .source = std::string(rules_.source_of(row.place)), .lines = {}, .supply_lines = {supply_line}});
    }
    if (depth >= 16) return;
    for (const std::uint32_t row_index : model_.supplies().contents_of(offer).rows) {
      if (const auto inner = rules_.contents[row_index].inner) check_offer_pieces(*inner, supply_line, depth + 1);
    }
  }

  // Nothing while a need is open: lines that exclude each other must not be summed.
  std::optional<Fraction> need_at(PartId part, std::optional<PositionId> position, std::vector<LineId>& lines) const {
    Fraction sum;
    for (const LineAnswer& line : answer_.lines) {
      const Line& of = model_.needs().line(line.line);
      if (of.part != part || (position && of.position != *position)) continue;
      if (!line.need.is_exact_value()) return std::nullopt;
      sum += line.need.hi;
      lines.push_back(line.line);
    }
    return sum;
  }

  // Both ways: clips without seals, seals without clips, and half pairs. Those of holes are told by `check_holes`.
  void check_pairings() {
    const auto is_hole = [&](PartId part) { return model_.needs().part_row(part).kind == PartKind::Hole; };
    for (const PairingRow& row : rules_.pairings) {
      if (!may_hold(row.condition) || (!row.per_car && (is_hole(row.part) || is_hole(row.other)))) continue;
      std::vector<std::optional<PositionId>> places;
      if (row.per_car) {
        places.emplace_back(std::nullopt);
      } else {
        for (const LineAnswer& line : answer_.lines) {
          const Line& of = model_.needs().line(line.line);
          if ((of.part == row.part || of.part == row.other) && std::ranges::find(places, std::optional(of.position)) == places.end()) {
            places.emplace_back(of.position);
          }
        }
      }
      for (const auto& place : places) check_pairing(row, place);
    }
  }

  void check_pairing(const PairingRow& row, std::optional<PositionId> place) {
    std::vector<LineId> lines;
    const std::optional<Fraction> first_need = need_at(row.part, place, lines);
    const std::optional<Fraction> second_need = need_at(row.other, place, lines);
    check_pairing_supply(row, place);
    if (!first_need || !second_need) return;
    const Fraction first = *first_need;
    const Fraction second = *second_need;
    const Fraction wanted = first * row.ratio;
    const std::string where = place ? " at " + rules_.positions.path(*place) : std::string(" on the car");
    if (second != wanted && !(first.is_zero() && second.is_zero())) {
      const std::string says = name_of(row.part) + " " + first.to_text() + " and " + name_of(row.other) + " " + second.to_text() + where + ": " +
                               (second < wanted ? (wanted - second).to_text() + " " + name_of(row.other) + " too few" : (second - wanted).to_text() + " " + name_of(row.other) + " too many") +
                               " for " + row.ratio.to_text() + " to one";
      add({.kind = CheckKind::Pairing, .severity = Severity::Warning, .part = row.part, .position = place, .says = says,
           .source = std::string(rules_.source_of(row.place)), .lines = lines, .supply_lines = {}});
    }
  }

  // What is on the list of one without the other.
  void check_pairing_supply(const PairingRow& row, std::optional<PositionId> place) {
    if (place) return;
    const auto pieces = [&](PartId part) {
      Fraction sum;
      for (const SupplyItem& item : model_.supplies().items) {
        if (item.part == part && !item.is_quantity_unknown) sum += item.quantity;
      }
      return sum;
    };
    const Fraction first = pieces(row.part);
    const Fraction second = pieces(row.other);
    if (first.is_zero() == second.is_zero()) return;
    const PartId there = first.is_zero() ? row.other : row.part;
    const PartId lacking = first.is_zero() ? row.part : row.other;
    add({.kind = CheckKind::Pairing, .severity = Severity::Note, .part = row.part, .position = {},
         .says = name_of(there) + " is among your parts (" + (first.is_zero() ? second : first).to_text() + ") but no " + name_of(lacking) + " to go with it",
         .source = std::string(rules_.source_of(row.place)), .lines = {}, .supply_lines = {}});
  }

  // Clips and seals of a place against the holes counted or called for there.
  void check_holes() {
    for (const LineAnswer& holes : answer_.lines) {
      const Line& hole = model_.needs().line(holes.line);
      if (model_.needs().part_row(hole.part).kind != PartKind::Hole) continue;
      for (const PairingRow& row : rules_.pairings) {
        if (row.part != hole.part && row.other != hole.part) continue;
        if (!may_hold(row.condition)) continue;
        const PartId other = row.part == hole.part ? row.other : row.part;
        std::vector<LineId> lines{holes.line};
        const std::optional<Fraction> called_for = need_at(other, hole.position, lines);
        if (!called_for || !holes.need.is_exact_value()) continue;
        const Fraction there = *called_for;
        const Fraction wanted = row.part == hole.part ? holes.need.hi * row.ratio : holes.need.hi / row.ratio;
        if (there == wanted) continue;
        add({.kind = CheckKind::Holes, .severity = Severity::Warning, .part = other, .position = hole.position,
             .says = holes.need.hi.to_text() + " " + name_of(hole.part) + " at " + rules_.positions.path(hole.position) + " want " + wanted.to_text() + " " +
                     name_of(other) + ", called for are " + there.to_text(),
             .source = std::string(rules_.source_of(row.place)), .lines = lines, .supply_lines = {}});
      }
    }
  }

  void check_replaced() {
    for (std::uint32_t index = 0; index < model_.supplies().lines.size(); ++index) {
      const SupplyLine& line = model_.supplies().lines[index];
      for (const Meaning& meaning : line.meanings) {
        if (meaning.replaced_by.empty()) continue;
        std::string chain = "`" + model_.supplies().read(line).part_number + "`";
        std::string change;
        for (const RowPlace place : meaning.replaced_by) {
          chain += " -> `" + rules_.cell_of(place, "to") + "`";
          if (const std::string says = rules_.cell_of(place, "change"); !says.empty()) change += "; " + says;
        }
        const auto& rows = model_.supplies().rows_of(*meaning.offer).rows;
        add({.kind = CheckKind::Replaced, .severity = Severity::Note,
             .part = rows.empty() ? Rules::kCar : rules_.offers[rows.front()].part.value_or(Rules::kCar), .position = {},
             .says = "a number was replaced: " + chain + change, .source = std::string(rules_.source_of(meaning.replaced_by.back())),
             .lines = {}, .supply_lines = {index}});
      }
    }
  }

  // A piece of the other hand lies spare while its need is not met; and hands that the offer and the list state differently.
  void check_hands() {
    for (const SpareAnswer& spare : answer_.spare) {
      if (spare.hand == Hand::None) continue;
      const Hand other = spare.hand == Hand::Left ? Hand::Right : Hand::Left;
      std::vector<LineId> lines;
      for (const LineAnswer& line : answer_.lines) {
        const Line& of = model_.needs().line(line.line);
        if (of.part == spare.part && rules_.positions.hand(of.position) == other && line.gap.hi.sign() > 0) lines.push_back(line.line);
      }
      if (lines.empty()) continue;
      const std::string_view word = spare.hand == Hand::Left ? "left" : "right";
      const std::string_view wanted = spare.hand == Hand::Left ? "right" : "left";
      add({.kind = CheckKind::Hands, .severity = Severity::Warning, .part = spare.part, .position = {},
           .says = spare.quantity.hi.to_text() + " " + std::string(word) + " " + name_of(spare.part) + " too many, and the " + std::string(wanted) + " one is not covered",
           .source = {}, .lines = lines, .supply_lines = {}});
    }
    for (const SupplyItem& item : model_.supplies().items) {
      if (!item.hand_clash) continue;
      add({.kind = CheckKind::Hands, .severity = Severity::Warning, .part = item.part, .position = {},
           .says = "the list says one hand and the offer the other: `" + model_.supplies().read(item).part_number + "` is for the " +
                   std::string(item.hand == Hand::Left ? "left" : "right"),
           .source = {}, .lines = {}, .supply_lines = {item.line}});
    }
  }

  void add(Check check) { answer_.checks.push_back(std::move(check)); }

  const CoverModel& model_;
  const Rules& rules_;
  Answer& answer_;
};

}  // namespace

void add_checks(const CoverModel& model, Answer& answer) { Checker(model, answer).check(); }

// A caution goes with the lines of its part and of the steps that fit it.
void add_cautions(const CoverModel& model, Answer& answer) {
  const Rules& rules = model.rules();
  for (std::uint32_t index = 0; index < rules.cautions.size(); ++index) {
    const CautionRow& row = rules.cautions[index];
    if (holds(rules.condition(row.condition), model.needs().knowledge().sets(), rules.facts) == Ternary::No) continue;
    std::vector<PartId> parts;
    if (row.part) parts.push_back(*row.part);
    for (const StepRow& step : rules.steps) {
      if (!row.step.empty() && step.step == row.step) parts.insert(parts.end(), step.fits.begin(), step.fits.end());
    }
    CautionAnswer caution{.row = index, .lines = {}};
    for (const LineAnswer& line : answer.lines) {
      if (std::ranges::find(parts, model.needs().line(line.line).part) != parts.end()) caution.lines.push_back(line.line);
    }
    bool is_among_supplies = false;
    for (const SupplyItem& item : model.supplies().items) is_among_supplies = is_among_supplies || std::ranges::find(parts, item.part) != parts.end();
    // A step that fits nothing goes with the work as a whole.
    const bool is_general = !row.step.empty() && parts.empty();
    if (!caution.lines.empty() || is_among_supplies || is_general) answer.cautions.push_back(std::move(caution));
  }
}

}  // namespace kitgap
