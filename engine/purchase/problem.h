#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "value/fraction.h"

namespace kitgap {

// What must be bought. Several needs may name one item (two cars, two steps): they add up and share packs.
struct PurchaseNeed {
  std::string item;
  Fraction quantity;  // in the item's own unit, not below zero; may be a decimal
  // The pieces must be here within so many days of the order. Nothing: no date.
  std::optional<std::int64_t> needed_by_days = {};
  // All pieces of this item must come from one batch (colour match).
  bool one_batch = false;
  // With `one_batch`: items of the same word come from one batch together; empty: this item for itself. An item has one word.
  std::string lot = {};
  // Its pieces count for a wider need too: what is over of them is told there.
  bool is_share = false;
};

struct PurchaseSupplier {
  std::string name;
  Fraction shipping_charge;                        // once, when anything is bought here; not below zero
  std::optional<Fraction> free_shipping_from = {};  // value of the goods at or above which shipping is free
  std::optional<Fraction> minimum_order = {};       // value of the goods below which nothing is sold
  std::optional<std::int64_t> lead_time_days = {};  // where an offer states none
  // False: not a shop but what is at hand, such as the old parts; no parcel comes from there.
  bool is_shop = true;
};

struct PackContents {
  std::string item;
  Fraction quantity;  // in one pack, above zero
};

// What one supplier sells under one part number, in whole packs.
struct PurchaseOffer {
  std::string supplier;
  std::string part_number;
  Fraction price;  // of one pack, not below zero, in the one currency of the problem
  std::vector<PackContents> contents;
  std::optional<std::int64_t> available = {};  // packs; nothing: as many as wanted
  std::int64_t minimum_packs = 1;              // 0 packs or at least so many
  std::optional<std::int64_t> lead_time_days = {};
  // Offers of one supplier with the same word come out of one batch; empty: each offer is a batch of its own.
  std::string batch = {};
  bool returnable = true;
  std::string says = {};  // what a person should know of it: `stands in for snap-stud`
};

// What to buy and from whom. All amounts are of one currency; all quantities of an item in one unit.
struct PurchaseProblem {
  std::vector<PurchaseNeed> needs;
  std::vector<PurchaseSupplier> suppliers;
  std::vector<PurchaseOffer> offers;
  std::optional<Fraction> budget = {};             // goods and shipping together
  std::optional<std::int64_t> max_suppliers = {};  // at most so many parcels
  std::vector<std::string> excluded_suppliers = {};
  // Suppliers that win over equally cheap ones.
  std::vector<std::string> preferred_suppliers = {};
  // An offer whose lead time nobody states meets every date. Unset: it meets none.
  bool assume_unstated_lead_time = false;
};

}  // namespace kitgap
