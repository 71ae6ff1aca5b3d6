#pragma once

#include <optional>
#include <string>
#include <vector>

#include "purchase/plan.h"
#include "value/fraction.h"

namespace kitgap {

// Why so much of an item is bought for a car.
struct OrderReason {
  std::string item;
  std::string part_name;  // as a person calls it; may be empty
  std::string unit;       // `m`; empty: pieces
  std::string car;
  struct Place {
    std::string line;  // `rear.left/door-panel/panel-clip`
    Fraction quantity;
  };
  std::vector<Place> places;
  Fraction wanted;    // what the lines call for in all
  Fraction lacking;   // of it
  Fraction from_old;  // pieces of old parts that are counted on
  std::optional<Fraction> break_rate;
  bool is_general_rate = false;  // not of the row that describes the part, but of a more general pack's
  std::optional<Fraction> minutes;  // to move one over, where stated
};

// What the best answer to an open question would take off the total.
struct AnswerSaving {
  std::string question;
  std::string car;
  Fraction most;
  bool exact = true;  // false: at most so much
};

// What is known of a car's order beyond the bare problem, for those who read it.
struct OrderNotes {
  std::string currency;  // empty: none is named, or rates bring several together
  std::vector<std::string> rates;  // `EUR at 1.08`
  std::vector<OrderReason> reasons;
  std::vector<AnswerSaving> savings;
};

// `16 m butyl-tape: butyl bead on a roll`, as far as the notes know the item.
std::string quantity_in_words(const OrderNotes& notes, const ItemQuantity& quantity);

}  // namespace kitgap
