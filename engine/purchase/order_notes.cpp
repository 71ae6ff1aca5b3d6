#include "purchase/order_notes.h"

#include <algorithm>
#include <map>

namespace kitgap {
namespace {

bool has_several_cars(const OrderNotes& notes) {
  return std::ranges::any_of(notes.reasons, [&](const OrderReason& reason) { return reason.car != notes.reasons.front().car; });
}

std::string spare_words(const OrderNotes& notes, const OrderReason& reason, const Fraction& needed) {
  Fraction lacking;
  for (const OrderReason& other : notes.reasons) {
    if (other.item == reason.item) lacking += other.lacking;
  }
  if (!reason.break_rate || needed <= lacking) return {};
  return "; " + (needed - lacking).to_text() + " spare, as " + (*reason.break_rate * Fraction(100)).to_text() + " % break in fitting" +
         (reason.is_general_rate ? " (a general pack's rate)" : "");
}

}  // namespace

const OrderReason* find_reason(const OrderNotes& notes, const std::string& item) {
  const auto reason = std::ranges::find(notes.reasons, item, &OrderReason::item);
  return reason == notes.reasons.end() ? nullptr : &*reason;
}

std::string item_in_words(const OrderNotes& notes, const std::string& item) {
  const OrderReason* reason = find_reason(notes, item);
  if (reason == nullptr) return item;
  std::string as_key = reason->part_name;
  std::ranges::replace(as_key, ' ', '-');
  const bool adds_nothing = item.starts_with(as_key);
  return (reason->unit.empty() ? "" : reason->unit + " ") + item + (adds_nothing ? "" : ": " + reason->part_name);
}

std::string contents_of(const PurchaseOffer& offer) {
  std::string text;
  for (const PackContents& content : offer.contents) {
    text += (text.empty() ? "" : ", ") + content.quantity.to_text() + " " + content.item;
  }
  return text;
}

std::vector<Purpose> purposes_of(const PurchaseProblem& problem, const Plan& plan, const OrderNotes& notes) {
  std::map<std::string, Fraction> bought;
  for (const PurchaseLine& line : plan.buy) {
    for (const PackContents& content : problem.offers[line.offer].contents) bought[content.item] += content.quantity * Fraction(line.packs);
  }
  std::map<std::string, Fraction> needed;
  for (const PurchaseNeed& need : problem.needs) needed[need.item] += need.quantity;
  std::vector<Purpose> purposes;
  for (const OrderReason& reason : notes.reasons) {
    if (!bought.contains(reason.item) || reason.places.empty()) continue;
    Purpose purpose;
    purpose.what = reason.item + (has_several_cars(notes) ? ", " + reason.car : "") + ": " + reason.lacking.to_text() + " lacking of " + reason.wanted.to_text() +
                   (reason.from_old.sign() > 0 ? ", " + reason.from_old.to_text() + " from old parts" : "") + spare_words(notes, reason, needed[reason.item]);
    for (const OrderReason::Place& place : reason.places)
      purpose.places += (purpose.places.empty() ? "" : ", ") + place.line + " " + place.quantity.to_text();
    purposes.push_back(std::move(purpose));
  }
  return purposes;
}

std::vector<std::string> choices_in_words(const Plan& plan) {
  std::vector<std::string> all;
  for (const NextBest& choice : plan.next_best) {
    const std::string words = choice.kind == NextBest::Kind::OneParcelLess ? "at most " + choice.name + " parcels"
                              : choice.kind == NextBest::Kind::WithoutKit  ? "without the kit " + choice.name
                                                                           : "without " + choice.name;
    all.push_back(words + ": " + (choice.extra ? (choice.exact ? "" : "at least ") + choice.extra->to_text() : "not all is covered"));
  }
  return all;
}

std::vector<std::string> terms_in_words(const Plan& plan) {
  std::vector<std::string> all;
  for (const ConstraintCost& cost : plan.constraint_costs) {
    // A date that costs nothing is not told: each item has one.
    if (cost.cost.sign() <= 0 && cost.constraint.ends_with("by its date")) continue;
    all.push_back(cost.constraint + ": " + (cost.exact ? "" : "at most ") + cost.cost.to_text());
  }
  return all;
}

std::vector<std::string> savings_in_words(const OrderNotes& notes) {
  std::vector<std::string> all;
  for (const AnswerSaving& saving : notes.savings)
    all.push_back(saving.question + (has_several_cars(notes) ? " (" + saving.car + ")" : "") + ": " + (saving.exact ? "" : "no more than ") + saving.most.to_text());
  return all;
}

std::vector<std::string> proof_in_words(const Plan& plan) {
  std::vector<std::string> all;
  if (plan.status == PlanStatus::Optimal) all.push_back("Proven in exact arithmetic: nothing cheaper covers as much.");
  if (plan.status == PlanStatus::Feasible) {
    // Rounded down, so that it stays true.
    constexpr std::int64_t kPlaces = 100;
    all.push_back("Stopped before it was proven: nothing below " + ((plan.bound * Fraction(kPlaces)).floor() / Fraction(kPlaces)).to_text() + " covers as much.");
  }
  if (plan.greedy_total && *plan.greedy_total > plan.total) {
    all.push_back("Buying one need after the other, each where it is cheapest then, comes to " + plan.greedy_total->to_text() + ": " +
                  (*plan.greedy_total - plan.total).to_text() + " more.");
  }
  return all;
}

std::string rates_in_words(const OrderNotes& notes) {
  std::string words;
  for (const std::string& rate : notes.rates) words += (words.empty() ? "" : ", ") + rate;
  return words.empty() ? words : "All amounts are brought together at the stated rates: " + words + ".";
}

}  // namespace kitgap
