#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "purchase/integer_program.h"
#include "purchase/problem.h"

namespace kitgap {

// A purchase in whole numbers: amounts in the smallest unit of money in which all prices are whole, quantities in the
// smallest unit of each item. Sorted by names, so that the order of the input does not matter. Only what can be of use
// is in it.

// So many pieces of one item, by one date. An item with several dates has a row for each, sums growing.
struct ScaledRow {
  std::size_t item = 0;
  std::int64_t least = 0;
};

struct ScaledSupplier {
  std::string name;
  std::int64_t shipping = 0;
  std::optional<std::int64_t> free_from;
  std::optional<std::int64_t> minimum;
  bool preferred = false;
  bool is_shop = true;
  bool has_threshold() const { return (free_from && shipping > 0) || minimum; }
};

struct ScaledOffer {
  std::size_t source = 0;  // in the problem
  std::size_t supplier = 0;
  std::size_t batch = 0;
  std::int64_t price = 0;
  std::int64_t least = 1;  // packs, when any
  std::int64_t most = 0;   // packs that can be of use and are there
  bool limited = false;    // `most` is what is there
  std::int64_t pieces = 0;  // of all items in a pack, needed or not, in one unit for all offers: to tell spares apart
  std::vector<std::pair<std::size_t, std::int64_t>> contents;  // row and quantity, by row
};

struct ScaledItem {
  std::string name;
  std::int64_t scale = 1;  // units in one
  bool one_batch = false;
  std::size_t lot = 0;  // with `one_batch`: items of the same number come from one batch together
  std::vector<std::size_t> rows;
  Fraction uncovered;  // what no offer can bring
};

struct ScaledPurchase {
  std::int64_t money_scale = 1;  // units in one
  std::vector<ScaledItem> items;
  std::vector<ScaledRow> rows;
  std::vector<ScaledSupplier> suppliers;
  std::vector<ScaledOffer> offers;
  std::optional<std::int64_t> budget;
  std::optional<std::int64_t> max_suppliers;
};

// Throws FigureOverflow when the smallest units make figures too large.
ScaledPurchase scale_purchase(const PurchaseProblem& problem);

// So many units of an item stay uncovered, at each of its dates.
void lower_item(ScaledPurchase& purchase, ScaledItem& item, std::int64_t units);
// After rows were lowered: drops what is of no use any more and limits packs to what is.
ScaledPurchase with_lower_rows(ScaledPurchase purchase);

using Packs = std::vector<std::int64_t>;  // per offer of a ScaledPurchase

// The items of each lot, by lot; those that need not come from one batch are in none.
std::map<std::size_t, std::vector<std::size_t>> items_of_lots(const ScaledPurchase& purchase);
// The batch that brings enough of all these items, or nothing. Items that nothing is wanted of do not count.
std::optional<std::size_t> batch_that_covers(const ScaledPurchase& purchase, const Packs& packs, const std::vector<std::size_t>& items);
bool is_wanted(const ScaledPurchase& purchase, const std::vector<std::size_t>& items);
// Goods and shipping, or nothing when a need or a constraint (the budget aside) is not met.
std::optional<Wide> cost_of_packs(const ScaledPurchase& purchase, const Packs& packs);

}  // namespace kitgap
