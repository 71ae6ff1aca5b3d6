#pragma once

#include <chrono>
#include <optional>

#include "purchase/plan.h"
#include "purchase/scaled.h"

namespace kitgap {

// When to stop and whom to tell. Without a limit, a stop and a node limit the search runs until it is proven.
class SearchControl {
 public:
  SearchControl(const PlanOptions& options, std::int64_t money_scale);
  bool should_stop() const;
  double seconds_left() const;
  double seconds() const;
  void tell(std::optional<Wide> best, Wide bound) const;

  std::int64_t node_limit = std::int64_t{1} << 60;  // over all parts; the same on every machine
  bool quiet = false;

 private:
  const PlanOptions& options_;
  std::int64_t money_scale_;
  std::chrono::steady_clock::time_point start_;
  mutable double told_ = 0;
};

struct SearchOutcome {
  std::optional<Packs> packs;  // the best found
  Wide cost = 0;
  Wide bound = 0;      // proven in whole numbers
  bool proven = false;  // `packs` is least; without packs: nothing meets all rows and constraints (the budget aside)
  std::int64_t nodes = 0;
};

// The least cost of a purchase, the budget left aside.
SearchOutcome search_purchase(const ScaledPurchase& purchase, const SearchControl& control);

// Of all purchases that cost no more than `packs`: the one that wins the ties. Gives `packs` back where the search
// through the ties is too wide.
Packs settle_ties(const ScaledPurchase& purchase, const Packs& packs, Wide cost, const SearchControl& control);

}  // namespace kitgap
