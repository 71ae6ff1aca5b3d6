#include "arrival/audit.h"

#include <algorithm>

namespace kitgap {
namespace {

std::string_view word_of_hand(Hand hand) { return hand == Hand::Left ? "left" : hand == Hand::Right ? "right" : ""; }

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
  Auditor(const NeedModel& needs, const Supplies& supplies) : needs_(needs), rules_(needs.rules()), supplies_(supplies) {}

  ArrivalAudit audit(const std::vector<CountedRow>& counts) {
    for (const SupplyItem& item : supplies_.items) expect(item);
    for (const CountedRow& row : counts) {
      if (row.set_aside.empty()) count(row);
      else audit_.set_aside.push_back(row);
    }
    for (Expected& expected : expected_) {
      finish(expected);
      audit_.lines.push_back(std::move(expected.line));
    }
    audit_.lines.insert(audit_.lines.end(), unexpected_.begin(), unexpected_.end());
    check_stated();
    return std::move(audit_);
  }

 private:
  Ternary comes(const SupplyItem& item) const {
    Ternary result = Ternary::Yes;
    for (const Guard& guard : item.guards) {
      result = result && holds(rules_.condition(guard.condition), needs_.knowledge().sets(), rules_.facts);
      for (const ConditionId above : guard.unless) result = result && !holds(rules_.condition(above), needs_.knowledge().sets(), rules_.facts);
    }
    return result;
  }

  void expect(const SupplyItem& item) {
    // The offer sells what it sells, whatever car it is for; only contents that depend on the car are open.
    const Ternary comes = item.meaning == 0 ? this->comes(item) : Ternary::No;
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
      expected.line.position = item.leaves.size() == 1 ? rules_.positions.path(item.leaves.front()) : std::string(word_of_hand(item.hand));
      expected.line.unit = std::string(word_of(needs_.part_row(item.part).unit));
      known = expected_.insert(expected_.end(), std::move(expected));
    }
    known->line.expected.hi += item.quantity;
    known->to_fill += item.quantity;
    if (comes == Ternary::Yes) known->line.expected.lo += item.quantity;
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
    const std::string number = normalised_part_number(row.part_number);
    std::vector<Expected*> matching;
    std::vector<Expected*> elsewhere;
    for (Expected& expected : expected_) {
      if (!number.empty() && expected.number != number) continue;
      if (!row.part.empty() && expected.line.part != row.part) continue;
      (is_same_place(expected, row) ? matching : elsewhere).push_back(&expected);
    }
    if (matching.empty() && elsewhere.empty()) return add_unexpected(row);
    if (matching.empty()) {
      Expected& other = *elsewhere.front();
      other.line.wrong += row.counted;
      other.line.counted = other.line.counted.value_or(Fraction(0));
      other.line.says = row.counted.to_text() + " came for the " + (row.hand == Hand::None ? "wrong place" : std::string(word_of_hand(row.hand))) + ", ordered for the " +
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
      left -= taken;
      damaged -= broken;
    }
  }

  void add_unexpected(const CountedRow& row) {
    ArrivalLine line;
    line.part_number = row.part_number;
    line.part = row.part;
    line.counted = row.counted;
    line.damaged = row.damaged;
    line.over = row.counted;
    line.says = "not ordered: " + row.counted.to_text() + " came";
    unexpected_.push_back(std::move(line));
  }

  static void finish(Expected& expected) {
    ArrivalLine& line = expected.line;
    const Fraction counted = line.counted.value_or(Fraction(0));
    if (counted > line.expected.hi) line.over = counted - line.expected.hi;
    if (counted < line.expected.lo) line.lacking = line.expected.lo - counted;
    std::string says = line.says;
    const auto say = [&](const std::string& text) { says += (says.empty() ? "" : "; ") + text; };
    if (!line.counted) say("nobody counted it: count it, or none came");
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
  std::vector<Expected> expected_;
  std::vector<ArrivalLine> unexpected_;
  ArrivalAudit audit_;
};

}  // namespace

bool ArrivalAudit::is_right() const {
  return pieces.empty() && set_aside.empty() && std::ranges::all_of(lines, &ArrivalLine::is_right);
}

ArrivalAudit audit_of(const NeedModel& needs, const Supplies& supplies, const std::vector<CountedRow>& counts) {
  return Auditor(needs, supplies).audit(counts);
}

}  // namespace kitgap
