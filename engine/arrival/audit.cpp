#include "arrival/audit.h"

#include <algorithm>

namespace kitgap {
namespace {

// What an order line should bring of one part for one hand or place.
struct Expected {
  std::uint32_t supply_line = 0;
  std::string number;  // normalised
  PartId part;
  Hand hand = Hand::None;
  std::vector<PositionId> leaves;
  ArrivalLine line;
  Fraction to_fill;  // of the most that may come, what no row has counted yet
};

class Auditor {
 public:
  Auditor(const NeedModel& needs, const Supplies& supplies, bool is_part)
      : needs_(needs), rules_(needs.rules()), supplies_(supplies), is_part_(is_part) {}

  ArrivalAudit audit(const std::vector<CountedRow>& counts) {
    for (const SupplyItem& item : supplies_.items) expect(item);
    for (std::size_t index = 0; index < counts.size(); ++index) {
      row_ = index;
      CountedRow row = counts[index];
      if (row.set_aside.empty() && row.weighing) weigh(row);
      if (row.set_aside.empty()) count(row);
      else if (!row.is_silent) audit_.set_aside.push_back(std::move(row));
    }
    for (Expected& expected : expected_) {
      finish(expected);
      audit_.lines.push_back(std::move(expected.line));
    }
    for (ArrivalLine& line : unexpected_) {
      audit_.takings.push_back({.line = audit_.lines.size(), .row = line.counts_row, .counted = *line.counted, .damaged = line.damaged});
      audit_.lines.push_back(std::move(line));
    }
    check_stated();
    return std::move(audit_);
  }

 private:
  void expect(const SupplyItem& item) {
    // The offer sells what it sells, whatever car it is for; only contents that depend on the car are open.
    const Ternary comes = item.meaning == 0 ? kitgap::comes(item, needs_) : Ternary::No;
    if (comes == Ternary::No || item.is_quantity_unknown || item.in_pair_reading == std::optional(false)) return;
    const SupplyLine& line = supplies_.lines[item.line];
    const std::string number = normalised_part_number(supplies_.read(line).part_number);
    auto known = std::ranges::find_if(expected_, [&](const Expected& expected) {
      return expected.supply_line == item.line && expected.part == item.part && expected.hand == item.hand && expected.leaves == item.leaves;
    });
    if (known == expected_.end()) {
      Expected expected;
      expected.supply_line = item.line;
      expected.number = number;
      expected.part = item.part;
      expected.hand = item.hand;
      expected.leaves = item.leaves;
      expected.line.order_line = supplies_.read(line).line;
      expected.line.part_number = supplies_.read(line).part_number;
      expected.line.part = rules_.part_keys[item.part.index];
      expected.line.place = place_word(item, rules_);
      expected.line.position = item.leaves.size() == 1 ? rules_.positions.path(item.leaves.front()) : std::string(hand_word(item.hand));
      add_terms(expected.line, line);
      expected.line.unit = std::string(word_of(needs_.part_row(item.part).unit));
      known = expected_.insert(expected_.end(), std::move(expected));
    }
    known->line.expected.hi += item.quantity;
    known->to_fill += item.quantity;
    if (comes == Ternary::Yes) known->line.expected.lo += item.quantity;
  }

  // Who sold it, and how long it can go back.
  void add_terms(ArrivalLine& line, const SupplyLine& supply) const {
    line.supplier = supplies_.read(supply).supplier;
    if (supply.meanings.size() != 1 || !supply.meanings.front().offer) return;
    const OfferId offer = *supply.meanings.front().offer;
    line.supplier = rules_.offer_keys[offer.index].supplier;
    for (const SupplierRow& row : rules_.suppliers) {
      if (row.supplier == line.supplier && row.return_days) line.return_days = row.return_days;
    }
    for (const std::uint32_t index : supplies_.rows_of(offer).rows) {
      const OfferRow& row = rules_.offers[index];
      if (row.return_days) line.return_days = row.return_days;
      if (row.returnable) line.is_returnable = *row.returnable;
    }
  }

  // The lines that a row can be of: at its place, and of the same number elsewhere.
  void match(const CountedRow& row, std::vector<Expected*>& matching, std::vector<Expected*>& elsewhere) {
    const std::string number = normalised_part_number(row.part_number);
    for (Expected& expected : expected_) {
      if (!number.empty() && expected.number != number) continue;
      if (!row.part.empty() && expected.line.part != row.part) continue;
      (is_same_place(expected, row) ? matching : elsewhere).push_back(&expected);
    }
  }

  void weigh(CountedRow& row) {
    std::vector<Expected*> matching;
    std::vector<Expected*> elsewhere;
    match(row, matching, elsewhere);
    Fraction expected;
    for (const Expected* one : matching) expected += one->to_fill;
    const auto whole = expected.to_integer();
    const auto count = count_by_weight(*row.weighing);
    if (!whole || !count || (verdict_on(count, *whole) == WeightVerdict::CountByHand) ||
        (count->lo != count->hi && verdict_on(count, *whole) == WeightVerdict::Short)) {
      row.set_aside = says_of(count, whole.value_or(0));
      if (count && whole && verdict_on(count, *whole) == WeightVerdict::Short) row.set_aside += ": count by hand how many";
      return;
    }
    row.counted = count->lo;
    row.note += (row.note.empty() ? "" : "; ") + says_of(count, *whole);
    if (row.damaged > row.counted) row.set_aside = row.damaged.to_text() + " damaged is no part of the count";
  }

  bool is_same_place(const Expected& expected, const CountedRow& row) const {
    if (row.hand != Hand::None && expected.hand != Hand::None) return row.hand == expected.hand;
    if (!row.leaves.empty() && !expected.leaves.empty()) {
      return std::ranges::any_of(row.leaves, [&](PositionId leaf) { return std::ranges::find(expected.leaves, leaf) != expected.leaves.end(); });
    }
    return true;
  }

  // Rows without a place fill what was ordered in its order; the rest is over on the last.
  void count(const CountedRow& row) {
    std::vector<Expected*> matching;
    std::vector<Expected*> elsewhere;
    match(row, matching, elsewhere);
    if (matching.empty() && elsewhere.empty()) return add_unexpected(row);
    if (matching.empty()) {
      Expected& other = *elsewhere.front();
      other.line.wrong += row.counted;
      other.line.counted = other.line.counted.value_or(Fraction(0));
      audit_.takings.push_back({.line = index_of(other), .row = row_, .counted = row.counted, .damaged = row.damaged, .is_wrong = true});
      other.line.says = row.counted.to_text() + " came for the " + (row.hand == Hand::None ? "wrong place" : std::string(hand_word(row.hand))) + ", ordered for the " +
                        (other.line.position.empty() ? "car" : other.line.position);
      return;
    }
    Fraction left = row.counted;
    Fraction damaged = row.damaged;
    for (std::size_t at = 0; at < matching.size(); ++at) {
      Expected& expected = *matching[at];
      const bool is_last = at + 1 == matching.size();
      const Fraction taken = is_last ? left : std::min(left, expected.to_fill);
      expected.line.counted = expected.line.counted.value_or(Fraction(0)) + taken;
      expected.to_fill = taken < expected.to_fill ? expected.to_fill - taken : Fraction(0);
      const Fraction broken = is_last ? damaged : std::min(damaged, taken);
      expected.line.damaged += broken;
      if (taken.sign() > 0 || (is_last && row.counted.is_zero())) {
        audit_.takings.push_back({.line = index_of(expected), .row = row_, .counted = taken, .damaged = broken});
      }
      left -= taken;
      damaged -= broken;
    }
  }

  std::size_t index_of(const Expected& expected) const { return static_cast<std::size_t>(&expected - expected_.data()); }

  void add_unexpected(const CountedRow& row) {
    ArrivalLine line;
    line.counts_row = row_;
    line.part_number = row.part_number;
    line.part = row.part;
    line.counted = row.counted;
    line.damaged = row.damaged;
    line.over = row.counted;
    line.says = "not ordered: " + row.counted.to_text() + " came";
    unexpected_.push_back(std::move(line));
  }

  void finish(Expected& expected) const {
    ArrivalLine& line = expected.line;
    const Fraction counted = line.counted.value_or(Fraction(0));
    if (counted > line.expected.hi) line.over = counted - line.expected.hi;
    if (counted < line.expected.lo && (line.counted || !is_part_)) line.lacking = line.expected.lo - counted;
    std::string says = line.says;
    const auto say = [&](const std::string& text) { says += (says.empty() ? "" : "; ") + text; };
    if (!line.counted) say(is_part_ ? "not counted: still on its way" : "nobody counted it: count it, or none came");
    else if (line.lacking.sign() > 0) say(line.lacking.to_text() + " short");
    if (line.over.sign() > 0) say(line.over.to_text() + " over");
    if (line.damaged.sign() > 0) say(line.damaged.to_text() + " damaged");
    if (says.empty() && !line.expected.is_exact_value()) say("within what may come");
    line.says = says.empty() ? "right" : says;
  }

  // Pieces that came, and that the contents list, against the count that the supplier states.
  void check_stated() {
    for (std::uint32_t index = 0; index < supplies_.lines.size(); ++index) {
      const SupplyLine& line = supplies_.lines[index];
      if (line.meanings.empty() || !line.meanings.front().offer) continue;
      const OfferId offer = *line.meanings.front().offer;
      for (const std::uint32_t row_index : supplies_.rows_of(offer).rows) {
        const OfferRow& row = rules_.offers[row_index];
        if (!row.stated_pieces) continue;
        Fraction listed;
        std::optional<Fraction> counted;
        for (const ArrivalLine& arrived : audit_.lines) {
          if (arrived.order_line != supplies_.read(line).line || arrived.part_number != supplies_.read(line).part_number) continue;
          listed += arrived.expected.hi;
          if (arrived.counted) counted = counted.value_or(Fraction(0)) + *arrived.counted;
        }
        const Fraction stated = *row.stated_pieces * supplies_.read(line).quantity.amount;
        const std::string number = "`" + rules_.offer_keys[offer.index].part_number + "`";
        if (!listed.is_zero() && listed != stated) {
          audit_.pieces.push_back(number + " is stated to hold " + stated.to_text() + " pieces in all, its contents list " + listed.to_text());
        }
        if (counted && *counted != stated) audit_.pieces.push_back(number + " is stated to hold " + stated.to_text() + " pieces in all, counted were " + counted->to_text());
        break;
      }
    }
  }

  const NeedModel& needs_;
  const Rules& rules_;
  const Supplies& supplies_;
  bool is_part_;
  std::vector<Expected> expected_;
  std::vector<ArrivalLine> unexpected_;
  std::size_t row_ = 0;  // of the counts
  ArrivalAudit audit_;
};

}  // namespace

bool ArrivalAudit::is_right() const {
  return pieces.empty() && set_aside.empty() && std::ranges::all_of(lines, &ArrivalLine::is_right);
}

ArrivalAudit audit_of(const NeedModel& needs, const Supplies& supplies, const std::vector<CountedRow>& counts, bool is_part) {
  return Auditor(needs, supplies, is_part).audit(counts);
}

std::vector<std::string> sampling_of(const ArrivalAudit& audit, const std::vector<CountedRow>& counts, const SamplingTables& tables,
                                     const Fraction& aql_percent) {
  std::vector<std::string> says;
  for (const Taking& taking : audit.takings) {
    const auto lot = taking.counted.to_integer();
    const CountedRow& row = counts[taking.row];
    if (!lot || (*lot < kLeastLotToSample && !row.looked_at)) continue;
    const auto plan = plan_for(tables, *lot, aql_percent);
    if (!plan) continue;
    const ArrivalLine& line = audit.lines[taking.line];
    std::string text = (line.part_number.empty() ? line.part : line.part_number) + ", " + std::to_string(*lot) + " pieces: ";
    const std::string terms = "accept with at most " + std::to_string(plan->accept) + " bad, refuse from " + std::to_string(plan->reject) + " on";
    if (plan->inspect_all) {
      text += "look at all of them";
    } else if (!row.looked_at) {
      text += "look at " + std::to_string(plan->sample_size) + ", taken from all over the lot; " + terms;
    } else if (*row.looked_at < Fraction(plan->sample_size)) {
      text += row.looked_at->to_text() + " looked at are too few: look at " + std::to_string(plan->sample_size) + "; " + terms;
    } else {
      const bool is_accepted = row.bad <= Fraction(plan->accept);
      text += row.bad.to_text() + " bad of " + row.looked_at->to_text() + " looked at: " + (is_accepted ? "accept the lot" : "refuse the lot, or look at every piece") + " (" + terms + ")";
    }
    says.push_back(text + "; single sampling, normal inspection, level II, code " + plan->plan_letter + ", AQL " + aql_percent.to_text() + " % (MIL-STD-105E, ISO 2859-1)");
  }
  return says;
}

}  // namespace kitgap
