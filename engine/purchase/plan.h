#pragma once

#include <atomic>
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "purchase/problem.h"

namespace kitgap {

enum class PlanStatus : std::uint8_t { Optimal, Feasible, NothingCovers };

struct PurchaseLine {
  std::string id;            // `o1`, `o2`, ... by supplier and part number
  std::size_t offer = 0;     // index into the offers of the problem
  std::int64_t packs = 0;    // at least 1
  Fraction cost;             // packs times price
};

struct ItemQuantity {
  std::string item;
  Fraction quantity;  // above zero
  friend bool operator==(const ItemQuantity&, const ItemQuantity&) = default;
};

// A plan that was not taken, and what it costs more. `exact` unset: at least so much.
struct NextBest {
  enum class Kind : std::uint8_t { WithoutKit, WithoutSupplier, OneParcelLess };
  Kind kind = Kind::WithoutSupplier;
  std::string name;             // the supplier, or supplier and part number
  std::optional<Fraction> extra;  // nothing: no plan covers all needs that way
  bool exact = true;
};

// What a constraint costs: total with it less the least total without it.
struct ConstraintCost {
  std::string constraint;
  Fraction cost;
  bool exact = true;
};

struct Plan {
  PlanStatus status = PlanStatus::NothingCovers;
  Fraction goods;
  Fraction shipping;
  Fraction total;
  // No plan that covers as much is cheaper than this: proven in exact arithmetic. Equal to `total` when optimal.
  Fraction bound;
  std::vector<PurchaseLine> buy;        // by supplier and part number
  std::vector<ItemQuantity> spare;      // by item: what is bought beyond the needs
  std::vector<ItemQuantity> uncovered;  // by item: what cannot be met
  // The smallest set of constraints that cannot hold together with all needs; empty when they can.
  std::vector<std::string> conflict;
  // What a shopper pays who takes needs one by one, each from where it is cheapest then; nothing when that fails.
  std::optional<Fraction> greedy_total;
  std::vector<NextBest> next_best;
  std::vector<ConstraintCost> constraint_costs;
  bool stopped_early = false;  // by the time limit or an interrupt
  std::int64_t nodes = 0;      // of the search, for curiosity and tests
};

struct PlanProgress {
  std::optional<Fraction> best;
  std::optional<Fraction> bound;
  double seconds = 0;
};

struct PlanOptions {
  std::optional<double> time_limit_seconds = {};
  // Set by a signal handler; the best plan so far is returned with its bound.
  const std::atomic<bool>* stop = nullptr;
  std::function<void(const PlanProgress&)> progress = {};  // at most a few times a second
  bool explain = false;  // fills greedy_total, next_best, constraint_costs: further solves, each within a fixed effort
};

// The cheapest purchase that covers the needs, proven in exact arithmetic.
//
// The answer does not depend on the order of needs, suppliers, offers or contents, nor on the machine's speed unless
// a time limit or an interrupt cuts it short. Among equally cheap plans: preferred suppliers, fewer parcels, fewer spare
// pieces, then earlier names; where a tie is too wide to search through, the same one every time.
// A need that nothing covers is named and the rest is planned. Every plan has passed `audit_purchase`.
// Throws FigureOverflow when figures are too large to be held exactly, MachineFailure when the solver's module is
// missing. Suppliers that `problem` names are in it, and its figures in range, as `read_purchase` reads them.
[[nodiscard]] Plan plan_purchase(const PurchaseProblem& problem, const PlanOptions& options = {});

}  // namespace kitgap
