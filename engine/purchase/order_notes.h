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

// What is known of an item; null for nothing.
const OrderReason* find_reason(const OrderNotes& notes, const std::string& item);
// `m butyl-tape: butyl bead on a roll`, as far as the notes know the item.
std::string item_in_words(const OrderNotes& notes, const std::string& item);

// What a pack holds: `25 panel-clip, 1 crank-clip`.
std::string contents_of(const PurchaseOffer& offer);

// Which lines an item that is bought is for, and why spares are among it.
struct Purpose {
  std::string what;    // `panel-clip: 9 lacking of 18, 6 from old parts`
  std::string places;  // `rear.left/door-panel/panel-clip 9`
};
std::vector<Purpose> purposes_of(const PurchaseProblem& problem, const Plan& plan, const OrderNotes& notes);

// A sentence or row each, the same in every face: how sure the plan is and what a greedy shopper pays, the next best
// choices, what each wish or term costs, what an answer could save.
std::vector<std::string> proof_in_words(const Plan& plan);
std::vector<std::string> choices_in_words(const Plan& plan);
std::vector<std::string> terms_in_words(const Plan& plan);
std::vector<std::string> savings_in_words(const OrderNotes& notes);
std::string rates_in_words(const OrderNotes& notes);  // empty where there is one currency

}  // namespace kitgap
