#include "purchase/branch.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <memory>
#include <queue>

#include "purchase/pseudocost.h"
#include "purchase/solver.h"

namespace kitgap {
namespace {

constexpr Wide kNoLimit = Wide{1} << 120;
constexpr double kWhole = 1e-6;

struct BoundChange {
  std::int32_t column = 0;
  std::int64_t lower = 0;
  std::int64_t upper = 0;
};

// A part of the search space: its parent's, narrowed.
struct Node {
  std::shared_ptr<const Node> parent;
  std::vector<BoundChange> changes;
  Wide bound = 0;
  std::int64_t number = 0;  // of creation: breaks ties the same way every time
  int depth = 0;
};
using NodePointer = std::shared_ptr<Node>;

struct WorseNode {
  bool operator()(const NodePointer& a, const NodePointer& b) const {
    return a->bound != b->bound ? a->bound > b->bound : a->number > b->number;
  }
};

int bits_of(std::int64_t value) {
  return static_cast<int>(std::bit_width(static_cast<std::uint64_t>(value < 0 ? -value : value)));
}

// The finest scale of prices that cannot overflow the sums.
std::int64_t fine_scale(const IntegerProgram& program) {
  int cost_bits = 1;
  int value_bits = 1;
  for (std::size_t column = 0; column < program.columns(); ++column) {
    cost_bits = std::max(cost_bits, bits_of(program.cost[column]));
    value_bits = std::max({value_bits, bits_of(program.upper[column]), bits_of(program.lower[column])});
  }
  const int free_bits = 120 - cost_bits - value_bits - bits_of(static_cast<std::int64_t>(program.columns()));
  return std::int64_t{1} << std::clamp(free_bits, 0, 50);
}

class Search {
 public:
  Search(const IntegerProgram& program, const BranchOptions& options)
      : program_(program),
        options_(options),
        step_(std::max<std::int64_t>(1, cost_step(program))),
        scales_{fine_scale(program), 1, 12, 2520},
        root_{program.lower, program.upper},
        relaxation_(program),
        applied_(root_),
        pseudocosts_(program.columns()) {
    if (!options.first.empty()) offer(options.first);
  }

  BranchResult run() {
    const auto root = std::make_shared<Node>();
    root->bound = -kNoLimit;
    open_.push(root);
    bool stopped = false;
    while (!open_.empty() && !stopped) {
      NodePointer node = open_.top();
      open_.pop();
      while (node && !stopped) {
        if (node->bound > limit_) break;
        node = visit(node);
        stopped = ++nodes_ >= options_.node_limit || (options_.should_stop && options_.should_stop());
        if (stopped && node) open_.push(node);
        report(node);
      }
    }
    return result();
  }

 private:
  // Takes a candidate when it is right and better.
  void offer(const std::vector<std::int64_t>& candidate) {
    const std::optional<Wide> cost = cost_of(program_, candidate);
    if (!cost || *cost > limit_) return;
    best_ = candidate;
    best_cost_ = *cost;
    limit_ = *cost - step_;
    if (root_proof_) tighten(*root_proof_, limit_, root_);
  }

  ProgramBounds bounds_of(const Node& node) const {
    ProgramBounds bounds = root_;
    for (const Node* at = &node; at; at = at->parent.get()) {
      for (const BoundChange& change : at->changes) {
        const auto column = static_cast<std::size_t>(change.column);
        bounds.lower[column] = std::max(bounds.lower[column], change.lower);
        bounds.upper[column] = std::min(bounds.upper[column], change.upper);
      }
    }
    return bounds;
  }

  void apply(const ProgramBounds& bounds) {
    for (std::size_t column = 0; column < program_.columns(); ++column) {
      if (bounds.lower[column] == applied_.lower[column] && bounds.upper[column] == applied_.upper[column]) continue;
      relaxation_.set_bounds(static_cast<std::int32_t>(column), bounds.lower[column], bounds.upper[column]);
      applied_.lower[column] = bounds.lower[column];
      applied_.upper[column] = bounds.upper[column];
    }
  }

  // The best proof among a few roundings of the solver's prices.
  std::optional<PriceProof> prove(const ProgramBounds& bounds, double hinted) const {
    const std::vector<double> prices = relaxation_.prices();
    std::optional<PriceProof> best;
    Wide best_bound = -kNoLimit;
    for (const std::int64_t scale : scales_) {
      auto proof = price_proof(program_, bounds, prices, scale);
      if (!proof) continue;
      const Wide bound = proof->bound(step_);
      if (!best || bound > best_bound) {
        best = std::move(proof);
        best_bound = bound;
      }
      if (best_bound > limit_ || hinted < static_cast<double>(limit_) - 0.5 * static_cast<double>(step_)) break;
    }
    return best;
  }

  // Solves the node's relaxation and draws its bounds in. False: the node is closed, by proof.
  bool relax(Node& node, ProgramBounds& bounds) {
    for (int round = 0; round < 4; ++round) {
      for (std::size_t column = 0; column < program_.columns(); ++column) {
        if (bounds.lower[column] > bounds.upper[column]) return false;
      }
      apply(bounds);
      const double limit = limit_ >= kNoLimit ? 1e300 : static_cast<double>(limit_) + static_cast<double>(step_);
      outcome_ = relaxation_.solve(limit, options_.seconds_left ? std::max(0.05, options_.seconds_left()) : 1e6);
      const double hinted = outcome_ == kSolverOptimal ? relaxation_.objective() : static_cast<double>(limit_);
      const auto proof = prove(bounds, hinted);
      if (proof) node.bound = std::max(node.bound, proof->bound(step_));
      if (node.bound > limit_) return false;
      if (outcome_ == kSolverInfeasible) {
        const std::vector<double> ray = relaxation_.ray();
        if (!ray.empty() && ray_proves_empty(program_, bounds, ray)) return false;
      }
      if (!proof || limit_ >= kNoLimit) return true;
      if (!node.parent && (!root_proof_ || round == 0)) root_proof_ = proof;
      const bool again = draw_in(node, bounds, *proof);
      if (!node.parent) root_ = bounds;
      if (!again) return true;
    }
    return true;
  }

  // True when a bound that was drawn in cuts off the relaxation's solution, so that it is worth solving again.
  bool draw_in(Node& node, ProgramBounds& bounds, const PriceProof& proof) {
    std::vector<std::int32_t> changed;
    tighten(proof, limit_, bounds, &changed);
    if (changed.empty() || outcome_ != kSolverOptimal) return false;
    const std::vector<double> values = relaxation_.values();
    bool cut_off = false;
    for (const std::int32_t column : changed) {
      const auto at = static_cast<std::size_t>(column);
      node.changes.push_back({column, bounds.lower[at], bounds.upper[at]});
      cut_off |= values[at] < static_cast<double>(bounds.lower[at]) - kWhole ||
                 values[at] > static_cast<double>(bounds.upper[at]) + kWhole;
    }
    return cut_off;
  }

  void try_repair(const Node& node, const std::vector<double>& values) {
    if (!options_.repair || (node.depth > 4 && nodes_ % 16 != 0)) return;
    const std::vector<std::int64_t> candidate = options_.repair(values);
    if (!candidate.empty()) offer(candidate);
  }

  // Works a node off; the child to go on with, or nothing when it is closed.
  NodePointer visit(const NodePointer& node) {
    ProgramBounds bounds = bounds_of(*node);
    if (!relax(*node, bounds)) return nullptr;
    if (outcome_ == kSolverOptimal) {
      const std::vector<double> values = relaxation_.values();
      std::vector<std::int64_t> rounded(values.size());
      for (std::size_t column = 0; column < values.size(); ++column) rounded[column] = std::llround(values[column]);
      offer(rounded);
      if (node->bound <= limit_) try_repair(*node, values);
      if (node->bound > limit_) return nullptr;
      tighten_again(bounds);
      if (options_.node_limit <= nodes_ + 1) return node;  // nobody will visit its children: keep it whole
      const BranchChoice choice = choose(values, bounds, *node);
      if (choice.column >= 0) return split(node, choice);
    }
    return split_anywhere(node, bounds);
  }

  void tighten_again(ProgramBounds& bounds) const {
    for (std::size_t column = 0; column < program_.columns(); ++column) {
      bounds.lower[column] = std::max(bounds.lower[column], root_.lower[column]);
      bounds.upper[column] = std::min(bounds.upper[column], root_.upper[column]);
    }
  }

  BranchChoice choose(const std::vector<double>& values, const ProgramBounds& bounds, const Node& node) {
    relaxation_objective_ = relaxation_.objective();
    const double room = limit_ >= kNoLimit ? std::abs(relaxation_objective_) + static_cast<double>(step_)
                                           : static_cast<double>(limit_) - relaxation_objective_ + 1e-3;
    const auto probe = [&](std::int32_t column, std::int64_t low, std::int64_t high) {
      return relaxation_.probe(column, low, high, 60) - relaxation_objective_;
    };
    return pseudocosts_.choose(values, bounds, program_.rank, room, node.depth, probe);
  }

  NodePointer child(const NodePointer& parent, std::int32_t column, std::int64_t lower, std::int64_t upper) {
    auto made = std::make_shared<Node>();
    made->parent = parent;
    made->changes = {{column, lower, upper}};
    made->bound = parent->bound;
    made->number = ++created_;
    made->depth = parent->depth + 1;
    return made;
  }

  NodePointer split(const NodePointer& node, const BranchChoice& choice) {
    constexpr std::int64_t kFar = std::numeric_limits<std::int64_t>::max() / 2;
    const NodePointer down = child(node, choice.column, -kFar, choice.below);
    const NodePointer up = child(node, choice.column, choice.below + 1, kFar);
    open_.push(choice.up_first ? down : up);
    return choice.up_first ? up : down;
  }

  // The relaxation gave no fraction to split at: halve the first column that still has a choice.
  NodePointer split_anywhere(const NodePointer& node, const ProgramBounds& bounds) {
    for (std::size_t column = 0; column < program_.columns(); ++column) {
      const std::int64_t low = bounds.lower[column];
      const std::int64_t high = bounds.upper[column];
      if (low < high) return split(node, {static_cast<std::int32_t>(column), low + (high - low) / 2, false});
    }
    offer(bounds.lower);  // a single point: right or not
    return nullptr;
  }

  Wide proven_bound(const NodePointer& current) const {
    Wide bound = limit_ >= kNoLimit ? kNoLimit : limit_ + step_;
    if (!open_.empty()) bound = std::min(bound, open_.top()->bound);
    if (current) bound = std::min(bound, current->bound);
    return bound;
  }

  void report(const NodePointer& current) const {
    if (!options_.progress || nodes_ % 16 != 0) return;
    options_.progress(best_.empty() ? std::nullopt : std::optional<Wide>(best_cost_), proven_bound(current));
  }

  BranchResult result() {
    while (!open_.empty() && open_.top()->bound > limit_) open_.pop();
    BranchResult result;
    result.best = best_;
    result.cost = best_cost_;
    result.bound = best_.empty() ? proven_bound(nullptr) : std::min(best_cost_, proven_bound(nullptr));
    result.proven = open_.empty();
    result.nodes = nodes_;
    result.bounds = root_;
    return result;
  }

  const IntegerProgram& program_;
  const BranchOptions& options_;
  std::int64_t step_;
  std::vector<std::int64_t> scales_;
  Wide limit_ = kNoLimit;  // solutions above it are of no interest
  ProgramBounds root_;
  LinearRelaxation relaxation_;
  ProgramBounds applied_;
  Pseudocosts pseudocosts_;
  std::optional<PriceProof> root_proof_;
  SolverOutcome outcome_ = kSolverFailed;
  double relaxation_objective_ = 0;
  std::priority_queue<NodePointer, std::vector<NodePointer>, WorseNode> open_;
  std::vector<std::int64_t> best_;
  Wide best_cost_ = 0;
  std::int64_t nodes_ = 0;
  std::int64_t created_ = 0;
};

}  // namespace

BranchResult branch(const IntegerProgram& program, const BranchOptions& options) {
  return Search(program, options).run();
}

}  // namespace kitgap
