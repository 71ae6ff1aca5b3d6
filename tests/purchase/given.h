#pragma once

#include <doctest/doctest.h>

#include "purchase/order_file.h"

namespace kitgap {

// A problem written as `order --from` reads it.
inline PurchaseProblem given(const std::string& text) {
  Sources sources;
  Diagnostics diagnostics;
  const auto problem = read_purchase(sources.add("order.json", text), sources, diagnostics);
  const std::string said = layout(diagnostics, sources);
  CAPTURE(said);
  REQUIRE(problem);
  return *problem;
}

// `S1 P-1 x2, S2 P-9 x1: goods 5 + shipping 3 = 8`, then what is spare, uncovered and in conflict.
inline std::string dump(const PurchaseProblem& problem, const Plan& plan) {
  std::string text;
  for (const PurchaseLine& line : plan.buy) {
    const PurchaseOffer& offer = problem.offers[line.offer];
    text += (text.empty() ? "" : ", ") + offer.supplier + " " + offer.part_number + " x" + std::to_string(line.packs);
  }
  text += ": " + plan.goods.to_text() + " + " + plan.shipping.to_text() + " = " + plan.total.to_text();
  for (const ItemQuantity& spare : plan.spare) text += "; spare " + spare.item + " " + spare.quantity.to_text();
  for (const ItemQuantity& gap : plan.uncovered) text += "; uncovered " + gap.item + " " + gap.quantity.to_text();
  for (const std::string& constraint : plan.conflict) text += "; conflict " + constraint;
  return text + (plan.status == PlanStatus::Feasible ? "; not proven" : "");
}

inline std::string planned(const std::string& text) {
  const PurchaseProblem problem = given(text);
  return dump(problem, plan_purchase(problem));
}

}  // namespace kitgap
