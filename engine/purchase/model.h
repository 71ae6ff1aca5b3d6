#pragma once

#include <span>
#include <vector>

#include "purchase/scaled.h"

namespace kitgap {

// A purchase as an integer program. Columns: packs of each offer first, in order; then what they entail.
class PurchaseModel {
 public:
  // LeastShort: each item may stay short, at a price per piece, and nothing else costs; the budget then binds.
  enum class Aim : std::uint8_t { Cost, LeastShort };
  explicit PurchaseModel(const ScaledPurchase& purchase, Aim aim = Aim::Cost);

  const IntegerProgram& program() const { return program_; }
  // Among purchases that cost at most `cost`: preferred suppliers, fewer parcels, fewer spare pieces, earlier names.
  // Nothing when the weights that keep these apart do not fit.
  std::optional<IntegerProgram> tie_program(Wide cost) const;

  Packs packs_of(std::span<const std::int64_t> solution) const;
  // The best values of all other columns, given the packs; may be wrong where the packs are.
  std::vector<std::int64_t> solution_of(const Packs& packs) const;
  // The same with the columns that `tie_program` adds.
  std::vector<std::int64_t> tie_solution_of(const Packs& packs, std::size_t columns) const;
  // The cheapest of those that stay short by `weight` in all (Aim::LeastShort).
  IntegerProgram cost_program(std::int64_t weight) const;
  // Buys nothing, all items short (Aim::LeastShort).
  std::vector<std::int64_t> all_short() const;
  // Units of each item that stay short (Aim::LeastShort).
  std::vector<std::int64_t> short_of(std::span<const std::int64_t> solution) const;

 private:
  void add_offer_columns();
  void add_supplier(std::size_t supplier);
  void add_rows();
  void add_batches(std::size_t lot, const std::vector<std::size_t>& items);
  void add_short_columns();
  const ScaledPurchase& purchase_;
  Aim aim_;
  IntegerProgram program_;
  std::vector<std::vector<std::int32_t>> offers_of_;  // per supplier
  std::vector<std::int32_t> used_;                    // per supplier, -1: no column
  std::vector<std::int32_t> free_;
  std::vector<std::int32_t> any_;  // per offer: bought at all, for a minimum of packs
  struct BatchColumn {
    std::size_t lot;
    std::size_t batch;
    std::int32_t column;
  };
  std::vector<BatchColumn> batches_;
  std::vector<std::int32_t> short_;  // per item
};

}  // namespace kitgap
