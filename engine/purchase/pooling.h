#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "purchase/problem.h"

namespace kitgap {

// Where pieces are wanted: a part of one car, at one place or of one hand where the part is bound to it.
struct PoolSpot {
  std::string part;  // `panel-clip`, `door-panel front.left`
  std::string car;
  Fraction wanted;  // in all, what is covered already too
  // What is to be bought, by the day on which a step needs it (days from the order; nothing: no date).
  std::map<std::optional<std::int64_t>, Fraction> lacking;
  std::optional<Fraction> break_rate;  // of pieces that can be told apart; one breaks so often when it is fitted
  bool one_batch = false;

  Fraction lacks() const;
};

// Pieces in a pack of an offer, and the spots that each of them may go to.
struct PoolPiece {
  std::size_t offer = 0;
  std::vector<std::size_t> spots;  // sorted
  Fraction quantity;
};

// A need of the order. Where pieces may go to several spots, but not all pieces to all, one need per spot is not enough:
// all spots that a piece could serve want pieces together too (Hall's condition). Such needs share their pieces.
struct PoolItem {
  std::string name;
  std::vector<std::size_t> spots;  // sorted
  bool is_share = false;           // its spots are among those of another item, which counts their pieces once
};

// The items that are enough: a purchase that meets them all can be laid out over the spots. Past `kMostKinds` kinds of
// spots that pieces link, only single spots, what each piece could serve, and all together are looked at.
inline constexpr std::size_t kMostKinds = 8;
std::vector<PoolItem> pool_items(const std::vector<PoolSpot>& spots, const std::vector<PoolPiece>& pieces);

// The needs of one item, a row per date, with the spare pieces that breaking asks for at `confidence`.
std::vector<PurchaseNeed> needs_of(const PoolItem& item, const std::vector<PoolSpot>& spots, const Fraction& confidence);
// What a pack of each offer brings into each item: by offer, then item. Nothing for offers that bring nothing.
std::map<std::size_t, std::vector<PackContents>> contents_of(const std::vector<PoolItem>& items, const std::vector<PoolPiece>& pieces);

}  // namespace kitgap
