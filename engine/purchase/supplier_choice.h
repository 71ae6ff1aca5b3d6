#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "purchase/search.h"

namespace kitgap {

// Which suppliers to order from, where one pack of one offer meets each need and each supplier charges shipping once.
// Proven by branch and bound over suppliers; each bound comes from prices of the needs (Lagrangian duality): whatever
// the prices, a supplier is worth at most what its offers lie below them, less its charge.

// The purchase as a table of what each supplier asks for each row. Nothing when it is of another kind: a threshold, a
// kit, a batch, a limit, a row that takes more than one pack.
struct SupplierChoice {
  static constexpr std::int64_t kNotSold = -1;
  std::size_t suppliers = 0;
  std::size_t rows = 0;
  std::vector<std::int64_t> charge;       // per supplier
  std::vector<std::int64_t> price;        // by supplier, then row; kNotSold
  std::vector<std::size_t> offer;         // the offer behind each price
  static std::optional<SupplierChoice> of(const ScaledPurchase& purchase);
};

// `first`: a known plan. Ends early with `proven` unset by the control's limits, or after `node_limit` nodes.
SearchOutcome choose_suppliers(const SupplierChoice& choice, const Packs& first, std::size_t offers,
                               const SearchControl& control, std::int64_t node_limit);

}  // namespace kitgap
