#pragma once

#include <vector>

#include "purchase/scaled.h"

namespace kitgap {

// Leaves out offers that another one beats: strictly cheaper, brings at least as much everywhere, sold without limit
// by the same supplier (or one that costs nothing more to use), no threshold in play. No least plan needs them.
// `kept[i]` is the offer that entry i of the result was.
ScaledPurchase without_beaten_offers(const ScaledPurchase& purchase, std::vector<std::size_t>& kept);

// A part of a purchase that can be planned on its own.
struct PurchasePart {
  ScaledPurchase purchase;
  std::vector<std::size_t> offers;  // of the whole, per offer of the part
};

// Splits a purchase where nothing links its rows: no offer, no batch, no charge or threshold of a supplier that may or
// may not be used. `fixed_cost`: shipping of suppliers without thresholds that every plan must use.
std::vector<PurchasePart> parts_of(const ScaledPurchase& purchase, Wide& fixed_cost);

// The purchase with only the offers for which `keep` is set.
ScaledPurchase with_offers(const ScaledPurchase& purchase, const std::vector<bool>& keep,
                           std::vector<std::size_t>& kept);

}  // namespace kitgap
