#pragma once

#include "purchase/scaled.h"

namespace kitgap {

// Makes a whole, lean purchase out of a start that may lack or waste: adds what pays most per unit of money until all
// rows are met, leaves out what is not needed, then tries to do without each supplier. A good first plan, no more: it
// may break a minimum order or a batch, which `cost_of_packs` finds.
Packs repair_packs(const ScaledPurchase& purchase, Packs start);

// What a shopper pays who takes one need after the other, each from where it is cheapest then, shipping counted when
// the supplier is new. Nothing when that ends in something that is not sold.
std::optional<Packs> greedy_packs(const ScaledPurchase& purchase);

}  // namespace kitgap
