#pragma once

#include <vector>

#include "purchase/car_purchase.h"
#include "purchase/plan.h"

namespace kitgap {

struct QuestionSaving {
  std::size_t car = 0;
  std::size_t question = 0;  // of the car's answer
  Fraction most;
  bool exact = true;  // false: at most so much
};

// What the best answer to each open question would take off the plan's total: the order is planned anew with what would
// then be lacking, for each answer that can be told apart. Those that could save nothing are left out; the greatest first.
// Only the questions that most lines hang on are looked at.
std::vector<QuestionSaving> savings_of(const std::vector<CarOfOrder>& cars, const std::vector<const CoverModel*>& covers, const CarPurchase& purchase,
                                       const CarPurchaseOptions& options, const Plan& plan, const PlanOptions& plan_options);

}  // namespace kitgap
