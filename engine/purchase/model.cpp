#include "purchase/model.h"

#include <algorithm>
#include <map>
#include <numeric>

namespace kitgap {
namespace {

constexpr std::uint8_t kSupplierRank = 3;
constexpr std::uint8_t kBatchRank = 2;
constexpr std::uint8_t kAnyRank = 1;

// Of equally cheap plans the one with fewer parcels wins; one from a preferred supplier counts half.
std::int64_t parcel_weight(const ScaledSupplier& supplier) {
  if (!supplier.is_shop) return 0;
  return supplier.preferred ? 1 : 2;
}

// Divides a row by the common factor of its terms and rounds its right side up: whole solutions stay the same.
void draw_together(ProgramRow& row) {
  std::int64_t factor = 0;
  for (const ProgramTerm& term : row.terms) factor = std::gcd(factor, term.factor);
  if (factor <= 1) return;
  for (ProgramTerm& term : row.terms) term.factor /= factor;
  row.least = row.least / factor + (row.least % factor > 0 ? 1 : 0);
}

}  // namespace

PurchaseModel::PurchaseModel(const ScaledPurchase& purchase, Aim aim)
    : purchase_(purchase),
      aim_(aim),
      offers_of_(purchase.suppliers.size()),
      used_(purchase.suppliers.size(), -1),
      free_(purchase.suppliers.size(), -1),
      any_(purchase.offers.size(), -1) {
  add_offer_columns();
  for (std::size_t supplier = 0; supplier < purchase.suppliers.size(); ++supplier) {
    if (!offers_of_[supplier].empty()) add_supplier(supplier);
  }
  if (purchase.max_suppliers) {
    ProgramRow row{{}, -*purchase.max_suppliers};
    for (std::size_t at = 0; at < used_.size(); ++at) {
      if (used_[at] >= 0 && purchase.suppliers[at].is_shop) row.terms.push_back({used_[at], -1});
    }
    program_.rows.push_back(std::move(row));
  }
  if (aim == Aim::LeastShort) add_short_columns();
  add_rows();
  if (aim == Aim::LeastShort && purchase.budget) {
    ProgramRow row{{}, -*purchase.budget};
    for (std::size_t offer = 0; offer < purchase.offers.size(); ++offer) {
      row.terms.push_back({static_cast<std::int32_t>(offer), -purchase.offers[offer].price});
    }
    for (std::size_t at = 0; at < used_.size(); ++at) {
      if (used_[at] >= 0) row.terms.push_back({used_[at], -purchase.suppliers[at].shipping});
      if (free_[at] >= 0) row.terms.push_back({free_[at], purchase.suppliers[at].shipping});
    }
    program_.rows.push_back(std::move(row));
  }
  for (ProgramRow& row : program_.rows) draw_together(row);
}

void PurchaseModel::add_offer_columns() {
  for (std::size_t at = 0; at < purchase_.offers.size(); ++at) {
    const ScaledOffer& offer = purchase_.offers[at];
    const auto column = program_.add_column(aim_ == Aim::Cost ? offer.price : 0, 0, offer.most);
    offers_of_[offer.supplier].push_back(column);
  }
  for (std::size_t at = 0; at < purchase_.offers.size(); ++at) {
    const ScaledOffer& offer = purchase_.offers[at];
    if (offer.least <= 1) continue;
    const auto column = static_cast<std::int32_t>(at);
    any_[at] = program_.add_column(0, 0, 1, kAnyRank);
    program_.rows.push_back({{{column, 1}, {any_[at], -offer.least}}, 0});
    program_.rows.push_back({{{column, -1}, {any_[at], offer.most}}, 0});
  }
}

void PurchaseModel::add_supplier(std::size_t at) {
  const ScaledSupplier& supplier = purchase_.suppliers[at];
  if (supplier.shipping == 0 && !supplier.minimum && !purchase_.max_suppliers) return;
  const std::int64_t shipping = aim_ == Aim::Cost ? supplier.shipping : 0;
  used_[at] = program_.add_column(shipping, 0, 1, kSupplierRank);
  for (const std::int32_t column : offers_of_[at]) {
    program_.rows.push_back({{{used_[at], program_.upper[static_cast<std::size_t>(column)]}, {column, -1}}, 0});
  }
  const auto goods_at_least = [&](std::int64_t value, std::int32_t when) {
    ProgramRow row{{}, 0};
    for (const std::int32_t column : offers_of_[at]) {
      const std::int64_t price = purchase_.offers[static_cast<std::size_t>(column)].price;
      if (price > 0) row.terms.push_back({column, std::min(price, value)});
    }
    row.terms.push_back({when, -value});
    program_.rows.push_back(std::move(row));
  };
  if (supplier.minimum) goods_at_least(*supplier.minimum, used_[at]);
  if (supplier.free_from && supplier.shipping > 0) {
    free_[at] = program_.add_column(-shipping, 0, 1, kSupplierRank);
    goods_at_least(*supplier.free_from, free_[at]);
    program_.rows.push_back({{{used_[at], 1}, {free_[at], -1}}, 0});
  }
}

void PurchaseModel::add_short_columns() {
  // A whole piece weighs the same for every item, whatever the smallest unit it is counted in.
  std::int64_t pieces = 1;
  for (const ScaledItem& item : purchase_.items) pieces = std::lcm(pieces, item.scale);
  for (const ScaledItem& item : purchase_.items) {
    const std::int64_t most = purchase_.rows[item.rows.back()].least;
    short_.push_back(program_.add_column(pieces / item.scale, 0, std::max<std::int64_t>(0, most)));
  }
}

void PurchaseModel::add_rows() {
  std::vector<ProgramRow> rows(purchase_.rows.size());
  for (std::size_t at = 0; at < purchase_.offers.size(); ++at) {
    for (const auto& [row, quantity] : purchase_.offers[at].contents) {
      rows[row].terms.push_back({static_cast<std::int32_t>(at), quantity});
    }
  }
  for (std::size_t at = 0; at < rows.size(); ++at) {
    if (purchase_.rows[at].least <= 0 || purchase_.items[purchase_.rows[at].item].one_batch) continue;
    rows[at].least = purchase_.rows[at].least;
    if (!short_.empty()) rows[at].terms.push_back({short_[purchase_.rows[at].item], 1});
    program_.rows.push_back(std::move(rows[at]));
  }
  for (const auto& [lot, items] : items_of_lots(purchase_)) add_batches(lot, items);
}

// A batch that is taken brings enough of each item of the lot; one is taken.
void PurchaseModel::add_batches(std::size_t lot, const std::vector<std::size_t>& items) {
  std::map<std::size_t, std::map<std::size_t, std::vector<ProgramTerm>>> terms;  // batch, row
  for (std::size_t at = 0; at < purchase_.offers.size(); ++at) {
    for (const auto& [row, quantity] : purchase_.offers[at].contents) {
      if (std::ranges::find(items, purchase_.rows[row].item) == items.end()) continue;
      terms[purchase_.offers[at].batch][row].push_back({static_cast<std::int32_t>(at), quantity});
    }
  }
  ProgramRow one{{}, 1};
  for (auto& [batch, rows] : terms) {
    const auto column = program_.add_column(0, 0, 1, kBatchRank);
    batches_.push_back({lot, batch, column});
    one.terms.push_back({column, 1});
    for (const std::size_t item : items) {
      for (const std::size_t row : purchase_.items[item].rows) {
        const std::int64_t least = purchase_.rows[row].least;
        if (least <= 0) continue;
        ProgramRow enough{rows[row], 0};
        enough.terms.push_back({column, -least});
        if (!short_.empty()) enough.terms.push_back({short_[item], 1});
        program_.rows.push_back(std::move(enough));
      }
    }
  }
  if (is_wanted(purchase_, items) && !one.terms.empty()) program_.rows.push_back(std::move(one));
}

std::optional<IntegerProgram> PurchaseModel::tie_program(Wide cost) const {
  IntegerProgram tie = program_;
  ProgramRow row{{}, 0};
  for (std::size_t column = 0; column < tie.columns(); ++column) {
    if (tie.cost[column] != 0) row.terms.push_back({static_cast<std::int32_t>(column), -tie.cost[column]});
    tie.cost[column] = 0;
  }
  if (cost > (Wide{1} << 60)) return std::nullopt;
  row.least = -static_cast<std::int64_t>(cost);
  tie.rows.push_back(std::move(row));
  for (std::size_t at = 0; at < used_.size(); ++at) {
    if (used_[at] >= 0 || offers_of_[at].empty() || purchase_.suppliers.size() == 1) continue;
    const auto used = tie.add_column(0, 0, 1, kSupplierRank);
    for (const std::int32_t column : offers_of_[at]) {
      tie.rows.push_back({{{used, tie.upper[static_cast<std::size_t>(column)]}, {column, -1}}, 0});
    }
    tie.cost[static_cast<std::size_t>(used)] = parcel_weight(purchase_.suppliers[at]);
  }
  for (std::size_t at = 0; at < used_.size(); ++at) {
    if (used_[at] >= 0) tie.cost[static_cast<std::size_t>(used_[at])] = parcel_weight(purchase_.suppliers[at]);
  }
  // Names weigh least: the n-th offer costs n, so that earlier ones win. Then spare pieces, then parcels.
  Wide names = 1;
  Wide pieces = 1;
  for (std::size_t at = 0; at < purchase_.offers.size(); ++at) {
    names += Wide{tie.upper[at]} * static_cast<Wide>(at + 1);
    pieces += Wide{tie.upper[at]} * purchase_.offers[at].pieces;
  }
  if (names > (Wide{1} << 40) || pieces > (Wide{1} << 40) || names * pieces > (Wide{1} << 56)) return std::nullopt;
  for (std::size_t column = 0; column < tie.columns(); ++column) {
    const Wide parcels = Wide{tie.cost[column]} * names * pieces;
    const bool is_offer = column < purchase_.offers.size();
    const Wide own =
        is_offer ? Wide{purchase_.offers[column].pieces} * names + static_cast<Wide>(column + 1) : Wide{0};
    if (parcels + own > (Wide{1} << 58)) return std::nullopt;
    tie.cost[column] = static_cast<std::int64_t>(parcels + own);
  }
  return tie;
}

Packs PurchaseModel::packs_of(std::span<const std::int64_t> solution) const {
  return Packs(solution.begin(), solution.begin() + static_cast<std::ptrdiff_t>(purchase_.offers.size()));
}

std::vector<std::int64_t> PurchaseModel::tie_solution_of(const Packs& packs, std::size_t columns) const {
  std::vector<std::int64_t> solution = solution_of(packs);
  for (std::size_t at = 0; at < used_.size(); ++at) {
    if (used_[at] >= 0 || offers_of_[at].empty() || purchase_.suppliers.size() == 1) continue;
    const auto bought = [&](std::int32_t column) { return packs[static_cast<std::size_t>(column)] > 0; };
    solution.push_back(std::any_of(offers_of_[at].begin(), offers_of_[at].end(), bought) ? 1 : 0);
  }
  solution.resize(columns);
  return solution;
}

IntegerProgram PurchaseModel::cost_program(std::int64_t weight) const {
  IntegerProgram program = program_;
  ProgramRow row{{}, -weight};
  for (const std::int32_t column : short_) {
    auto& cost = program.cost[static_cast<std::size_t>(column)];
    row.terms.push_back({column, -cost});
    cost = 0;
  }
  program.rows.push_back(std::move(row));
  for (std::size_t at = 0; at < purchase_.offers.size(); ++at) program.cost[at] = purchase_.offers[at].price;
  for (std::size_t at = 0; at < used_.size(); ++at) {
    const std::int64_t shipping = purchase_.suppliers[at].shipping;
    if (used_[at] >= 0) program.cost[static_cast<std::size_t>(used_[at])] = shipping;
    if (free_[at] >= 0) program.cost[static_cast<std::size_t>(free_[at])] = -shipping;
  }
  return program;
}

std::vector<std::int64_t> PurchaseModel::all_short() const {
  std::vector<std::int64_t> solution(program_.columns());
  for (const std::int32_t column : short_) {
    solution[static_cast<std::size_t>(column)] = program_.upper[static_cast<std::size_t>(column)];
  }
  for (std::size_t at = 0; at < batches_.size(); ++at) {
    const bool first = at == 0 || batches_[at].lot != batches_[at - 1].lot;
    if (first) solution[static_cast<std::size_t>(batches_[at].column)] = 1;
  }
  return solution;
}

std::vector<std::int64_t> PurchaseModel::short_of(std::span<const std::int64_t> solution) const {
  std::vector<std::int64_t> units;
  for (const std::int32_t column : short_) units.push_back(solution[static_cast<std::size_t>(column)]);
  return units;
}

std::vector<std::int64_t> PurchaseModel::solution_of(const Packs& packs) const {
  std::vector<std::int64_t> solution(program_.columns());
  std::copy(packs.begin(), packs.end(), solution.begin());
  const auto set = [&](std::int32_t column) {
    if (column >= 0) solution[static_cast<std::size_t>(column)] = 1;
  };
  for (std::size_t supplier = 0; supplier < purchase_.suppliers.size(); ++supplier) {
    Wide goods = 0;
    bool used = false;
    for (const std::int32_t column : offers_of_[supplier]) {
      const auto at = static_cast<std::size_t>(column);
      goods += Wide{purchase_.offers[at].price} * packs[at];
      used |= packs[at] > 0;
    }
    if (!used) continue;
    set(used_[supplier]);
    if (free_[supplier] >= 0 && goods >= *purchase_.suppliers[supplier].free_from) set(free_[supplier]);
  }
  for (std::size_t at = 0; at < packs.size(); ++at) {
    if (packs[at] > 0) set(any_[at]);
  }
  for (const auto& [lot, items] : items_of_lots(purchase_)) {
    const auto batch = batch_that_covers(purchase_, packs, items);
    for (const BatchColumn& column : batches_) {
      if (batch && column.lot == lot && column.batch == *batch) set(column.column);
    }
  }
  return solution;
}

}  // namespace kitgap
