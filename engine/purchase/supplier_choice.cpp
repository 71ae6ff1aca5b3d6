#include "purchase/supplier_choice.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <numeric>

namespace kitgap {
namespace {

constexpr double kFar = 1e300;
constexpr int kRootSteps = 800;
constexpr int kNodeSteps = 40;
constexpr int kProbeSteps = 8;
constexpr std::size_t kProbes = 6;

int bits_of(std::uint64_t value) { return static_cast<int>(std::bit_width(value)); }

enum class Use : std::uint8_t { Open, Closed, Free };

// Prices of the needs, and what they prove. In floating point they are only sought; `Exact` proves.
struct Prices {
  std::vector<double> of_row;
  double bound = -kFar;
  std::vector<double> usage;  // how often each supplier was worth its charge while they were sought
};

struct Exact {
  Wide bound = 0;                      // times the scale
  std::vector<std::int64_t> worth;     // per supplier, times the scale: charge less what it saves
};

class Chooser {
 public:
  Chooser(const SupplierChoice& choice, const SearchControl& control, std::int64_t node_limit)
      : choice_(choice), control_(control), node_limit_(node_limit), use_(choice.suppliers, Use::Free) {
    std::int64_t largest = 1;
    for (std::size_t at = 0; at < choice.price.size(); ++at) {
      const std::int64_t price = choice.price[at];
      largest = std::max(largest, price);
      cost_.push_back(price == SupplierChoice::kNotSold ? kFar : static_cast<double>(price));
      step_ = price > 0 ? std::gcd(step_, price) : step_;
    }
    for (const std::int64_t charge : choice.charge) {
      largest = std::max(largest, charge);
      step_ = std::gcd(step_, charge);
    }
    step_ = std::max<std::int64_t>(1, step_);
    // Prices may rise to twice the dearest offer and a charge; all sums stay within 62 bits.
    const int bits = bits_of(static_cast<std::uint64_t>(largest)) + bits_of(choice.rows + choice.suppliers) + 2;
    shift_ = std::clamp(62 - bits, 0, 20);
    is_narrow_ = bits <= 61;
  }

  bool can_prove() const { return is_narrow_; }

  SearchOutcome run(const Packs& first, std::size_t offers) {
    take(open_of(first));
    Prices prices = start();
    improve(prices, kRootSteps, 1.0);
    search(prices, -(Wide{1} << 100), 0);
    SearchOutcome outcome;
    outcome.nodes = nodes_;
    outcome.proven = !is_stopped_;
    outcome.bound = is_stopped_ ? std::min(left_open_, Wide{best_cost_}) : Wide{best_cost_};
    if (best_.empty()) {
      if (!is_stopped_) return outcome;
      outcome.proven = false;
      return outcome;
    }
    outcome.cost = best_cost_;
    outcome.packs = Packs(offers);
    for (std::size_t row = 0; row < choice_.rows; ++row) ++(*outcome.packs)[choice_.offer[*cheapest(best_, row) * choice_.rows + row]];
    return outcome;
  }

 private:
  std::size_t at(std::size_t supplier, std::size_t row) const { return supplier * choice_.rows + row; }

  std::vector<bool> open_of(const Packs& packs) const {
    std::vector<bool> open(choice_.suppliers);
    for (std::size_t cell = 0; cell < choice_.price.size(); ++cell) {
      if (choice_.price[cell] != SupplierChoice::kNotSold && packs[choice_.offer[cell]] > 0) open[cell / choice_.rows] = true;
    }
    return open;
  }

  std::optional<std::size_t> cheapest(const std::vector<bool>& open, std::size_t row) const {
    std::optional<std::size_t> best;
    for (std::size_t supplier = 0; supplier < choice_.suppliers; ++supplier) {
      if (!open[supplier] || choice_.price[at(supplier, row)] == SupplierChoice::kNotSold) continue;
      if (!best || choice_.price[at(supplier, row)] < choice_.price[at(*best, row)]) best = supplier;
    }
    return best;
  }

  // What a set of suppliers costs, or nothing when a row is sold by none of them.
  std::optional<std::int64_t> cost_of(const std::vector<bool>& open) const {
    std::int64_t cost = 0;
    for (std::size_t supplier = 0; supplier < choice_.suppliers; ++supplier) {
      if (open[supplier]) cost += choice_.charge[supplier];
    }
    for (std::size_t row = 0; row < choice_.rows; ++row) {
      const auto best = cheapest(open, row);
      if (!best) return std::nullopt;
      cost += choice_.price[at(*best, row)];
    }
    return cost;
  }

  bool take(const std::vector<bool>& open) {
    const auto cost = cost_of(open);
    if (!cost || (!best_.empty() && *cost >= best_cost_)) return false;
    best_ = open;
    best_cost_ = *cost;
    return true;
  }

  // Opens, closes and exchanges suppliers as long as that is cheaper.
  void polish(std::vector<bool> open) {
    if (!cost_of(open)) return;
    while (!control_.should_stop()) {
      const Change change = best_change(open);
      if (change.gain <= 0) break;
      if (change.opened < choice_.suppliers) open[change.opened] = true;
      if (change.closed < choice_.suppliers) open[change.closed] = false;
    }
    take(open);
  }

  struct Change {
    double gain = 0;
    std::size_t opened = static_cast<std::size_t>(-1);
    std::size_t closed = static_cast<std::size_t>(-1);
  };

  // Of all single openings, closings and exchanges. For each supplier that may be opened: what each closing would then
  // cost, from the cheapest and second cheapest offers of each row.
  Change best_change(const std::vector<bool>& open) const {
    const std::size_t none = static_cast<std::size_t>(-1);
    std::vector<std::size_t> first(choice_.rows, none);
    std::vector<double> low(choice_.rows, kFar);
    std::vector<double> second(choice_.rows, kFar);
    for (std::size_t supplier = 0; supplier < choice_.suppliers; ++supplier) {
      if (!open[supplier]) continue;
      for (std::size_t row = 0; row < choice_.rows; ++row) {
        const double cost = cost_[at(supplier, row)];
        if (cost < low[row]) {
          second[row] = low[row];
          low[row] = cost;
          first[row] = supplier;
        } else if (cost < second[row]) {
          second[row] = cost;
        }
      }
    }
    Change best;
    std::vector<double> closing(choice_.suppliers);
    const auto look = [&](std::size_t opened) {
      std::fill(closing.begin(), closing.end(), 0.0);
      double gain = opened == none ? 0 : -static_cast<double>(choice_.charge[opened]);
      for (std::size_t row = 0; row < choice_.rows; ++row) {
        const double cost = opened == none ? kFar : cost_[at(opened, row)];
        gain += std::max(0.0, low[row] - cost);
        closing[first[row]] += std::max(0.0, std::min(second[row], cost) - std::min(low[row], cost));
      }
      if (opened != none && gain > best.gain + 0.5) best = {gain, opened, none};
      for (std::size_t closed = 0; closed < choice_.suppliers; ++closed) {
        if (!open[closed]) continue;
        const double both = gain + static_cast<double>(choice_.charge[closed]) - closing[closed];
        if (both > best.gain + 0.5) best = {both, opened, closed};
      }
    };
    look(none);
    for (std::size_t opened = 0; opened < choice_.suppliers; ++opened) {
      if (!open[opened]) look(opened);
    }
    return best;
  }

  Prices start() const {
    Prices prices;
    prices.of_row.assign(choice_.rows, kFar);
    for (std::size_t supplier = 0; supplier < choice_.suppliers; ++supplier) {
      for (std::size_t row = 0; row < choice_.rows; ++row) prices.of_row[row] = std::min(prices.of_row[row], cost_[at(supplier, row)]);
    }
    prices.usage.assign(choice_.suppliers, 0.0);
    return prices;
  }

  // What a supplier's offers lie below the prices, in all.
  double saving(std::size_t supplier, const std::vector<double>& of_row) const {
    const double* cost = &cost_[supplier * choice_.rows];
    const double* price = of_row.data();
    double sums[4] = {0, 0, 0, 0};
    std::size_t row = 0;
    for (; row + 4 <= choice_.rows; row += 4) {
      for (std::size_t lane = 0; lane < 4; ++lane) sums[lane] += std::max(0.0, price[row + lane] - cost[row + lane]);
    }
    for (; row < choice_.rows; ++row) sums[0] += std::max(0.0, price[row] - cost[row]);
    return sums[0] + sums[1] + sums[2] + sums[3];
  }

  // Steps along the subgradient. Keeps the best prices; `pace` is the first step's share of the way to the best plan.
  void improve(Prices& prices, int steps, double pace) {
    std::vector<double> now = prices.of_row;
    std::vector<int> taken(choice_.rows);
    const double target = best_.empty() ? 0 : static_cast<double>(best_cost_);
    const std::size_t rows = choice_.rows;
    int since_better = 0;
    prices.bound = -kFar;
    for (int step = 0; step < steps; ++step) {
      double bound = std::accumulate(now.begin(), now.end(), 0.0);
      std::fill(taken.begin(), taken.end(), 0);
      for (std::size_t supplier = 0; supplier < choice_.suppliers; ++supplier) {
        if (use_[supplier] == Use::Closed) continue;
        const double worth = static_cast<double>(choice_.charge[supplier]) - saving(supplier, now);
        const bool used = use_[supplier] == Use::Open || worth < 0;
        prices.usage[supplier] = 0.9 * prices.usage[supplier] + (used ? 0.1 : 0.0);
        if (!used) continue;
        bound += worth;
        const double* cost = &cost_[supplier * choice_.rows];
        const double* price = now.data();
        int* count = taken.data();
        for (std::size_t row = 0; row < rows; ++row) count[row] += price[row] > cost[row] ? 1 : 0;
      }
      if (bound > prices.bound) {
        prices.bound = bound;
        prices.of_row = now;
        since_better = 0;
      } else if (++since_better >= 12) {
        pace /= 1.6;
        since_better = 0;
        now = prices.of_row;
        continue;
      }
      double length = 0;
      for (const int count : taken) length += (1.0 - count) * (1.0 - count);
      if (length < 0.5 || (!best_.empty() && prices.bound > target - 0.5 * static_cast<double>(step_))) return;
      const double goal = best_.empty() ? bound * 1.1 + 1 : target * 1.0005;
      const double stride = pace * std::max(goal - bound, 1e-6) / length;
      for (std::size_t row = 0; row < choice_.rows; ++row) now[row] += stride * (1.0 - taken[row]);
      if (step % 64 == 63 && control_.should_stop()) return;
    }
  }

  // The same bound in whole numbers.
  Exact prove(const std::vector<double>& of_row) const {
    const double scale = std::ldexp(1.0, shift_);
    std::vector<std::int64_t> price(choice_.rows);
    Exact exact;
    exact.worth.resize(choice_.suppliers);
    for (std::size_t row = 0; row < choice_.rows; ++row) {
      price[row] = std::llround(std::clamp(of_row[row] * scale, 0.0, std::ldexp(1.0, 61 - bits_of(choice_.rows))));
      exact.bound += price[row];
    }
    for (std::size_t supplier = 0; supplier < choice_.suppliers; ++supplier) {
      if (use_[supplier] == Use::Closed) continue;
      std::int64_t worth = choice_.charge[supplier] << shift_;
      const std::int64_t* cost = &choice_.price[supplier * choice_.rows];
      for (std::size_t row = 0; row < choice_.rows; ++row) {
        if (cost[row] == SupplierChoice::kNotSold) continue;
        worth -= std::max<std::int64_t>(0, price[row] - (cost[row] << shift_));
      }
      exact.worth[supplier] = worth;
      if (use_[supplier] == Use::Open || worth < 0) exact.bound += worth;
    }
    return exact;
  }

  // The least multiple of the step at or above a scaled bound.
  Wide whole(Wide scaled) const {
    const Wide unit = Wide{step_} << shift_;
    return scaled > 0 ? (scaled + unit - 1) / unit * step_ : scaled / unit * step_;
  }

  bool is_hopeless(Wide scaled) const { return !best_.empty() && whole(scaled) >= best_cost_; }

  // Fixes suppliers whose other use proves too dear; those fixed are noted, to be freed again.
  void fix(const Exact& exact, std::vector<std::size_t>& fixed) {
    for (std::size_t supplier = 0; supplier < choice_.suppliers; ++supplier) {
      if (use_[supplier] != Use::Free) continue;
      const std::int64_t worth = exact.worth[supplier];
      if (!is_hopeless(exact.bound + (worth < 0 ? -worth : worth))) continue;
      use_[supplier] = worth < 0 ? Use::Open : Use::Closed;
      fixed.push_back(supplier);
    }
  }

  bool any_row_unsold() const {
    for (std::size_t row = 0; row < choice_.rows; ++row) {
      bool sold = false;
      for (std::size_t supplier = 0; supplier < choice_.suppliers && !sold; ++supplier) {
        sold = use_[supplier] != Use::Closed && choice_.price[at(supplier, row)] != SupplierChoice::kNotSold;
      }
      if (!sold) return true;
    }
    return false;
  }

  std::vector<bool> worthwhile(const Exact& exact) const {
    std::vector<bool> open(choice_.suppliers);
    for (std::size_t supplier = 0; supplier < choice_.suppliers; ++supplier) {
      open[supplier] = use_[supplier] == Use::Open || (use_[supplier] == Use::Free && exact.worth[supplier] < 0);
    }
    return open;
  }

  // The supplier to branch on, and what its two children promise.
  std::size_t choose(const Prices& prices, const Exact& exact) {
    std::vector<std::pair<double, std::size_t>> candidates;
    for (std::size_t supplier = 0; supplier < choice_.suppliers; ++supplier) {
      if (use_[supplier] != Use::Free) continue;
      const double half = std::min(prices.usage[supplier], 1 - prices.usage[supplier]);
      const double doubt = static_cast<double>(choice_.charge[supplier]) * half -
                           1e-3 * std::abs(std::ldexp(static_cast<double>(exact.worth[supplier]), -shift_));
      candidates.emplace_back(-doubt, supplier);
    }
    std::sort(candidates.begin(), candidates.end());
    if (candidates.size() > kProbes) candidates.resize(kProbes);
    std::size_t best = candidates.front().second;
    double best_score = -1;
    for (const auto& [doubt, supplier] : candidates) {
      double rise[2];
      for (const bool open : {false, true}) {
        use_[supplier] = open ? Use::Open : Use::Closed;
        Prices probe = prices;
        improve(probe, kProbeSteps, 0.3);
        rise[open ? 1 : 0] = std::max(0.0, probe.bound - prices.bound) + 1e-3 * static_cast<double>(step_);
      }
      use_[supplier] = Use::Free;
      const double room = std::max(1e-9, static_cast<double>(best_cost_) - prices.bound);
      const double score = std::min(rise[0], room) * std::min(rise[1], room);
      if (score > best_score) {
        best_score = score;
        best = supplier;
        is_open_first_ = rise[1] < rise[0];
      }
    }
    return best;
  }

  // Depth first. What is left when stopped keeps the bound of its parent.
  void search(Prices prices, Wide parent, int depth) {
    if (is_stopped_ || ++nodes_ > node_limit_ || control_.should_stop()) {
      is_stopped_ = true;
      left_open_ = std::min(left_open_, parent);
      return;
    }
    std::vector<std::size_t> fixed;
    work_off(prices, parent, depth, fixed);
    for (const std::size_t supplier : fixed) use_[supplier] = Use::Free;
  }

  void work_off(Prices& prices, Wide parent, int depth, std::vector<std::size_t>& fixed) {
    if (any_row_unsold()) return;
    if (depth > 0) improve(prices, kNodeSteps, 0.4);
    const Exact exact = prove(prices.of_row);
    const Wide bound = std::max(parent, whole(exact.bound));
    const std::vector<bool> open = worthwhile(exact);
    if (depth == 0) {
      polish(open);
      if (!best_.empty()) polish(best_);
    } else if (const auto cost = cost_of(open); cost && (best_.empty() || *cost < best_cost_ + best_cost_ / 50)) {
      if (nodes_ % 8 == 0 || *cost < best_cost_) polish(open);
    }
    control_.tell(best_.empty() ? std::nullopt : std::optional<Wide>(best_cost_), depth == 0 ? bound : root_bound_);
    if (depth == 0) root_bound_ = bound;
    if (!best_.empty() && bound >= best_cost_) return;
    fix(exact, fixed);
    if (std::find(use_.begin(), use_.end(), Use::Free) == use_.end()) {
      std::vector<bool> all(choice_.suppliers);
      for (std::size_t supplier = 0; supplier < choice_.suppliers; ++supplier) all[supplier] = use_[supplier] == Use::Open;
      take(all);
      return;
    }
    const std::size_t supplier = choose(prices, exact);
    const bool open_first = is_open_first_;
    for (const bool is_open : {open_first, !open_first}) {
      use_[supplier] = is_open ? Use::Open : Use::Closed;
      search(prices, bound, depth + 1);
    }
    use_[supplier] = Use::Free;
  }

  const SupplierChoice& choice_;
  const SearchControl& control_;
  std::int64_t node_limit_;
  std::vector<Use> use_;
  std::vector<double> cost_;
  std::int64_t step_ = 0;
  int shift_ = 0;
  bool is_narrow_ = true;
  std::vector<bool> best_;
  std::int64_t best_cost_ = 0;
  std::int64_t nodes_ = 0;
  bool is_stopped_ = false;
  bool is_open_first_ = false;
  Wide left_open_ = Wide{1} << 100;
  Wide root_bound_ = 0;
};

}  // namespace

std::optional<SupplierChoice> SupplierChoice::of(const ScaledPurchase& purchase) {
  if (purchase.max_suppliers || purchase.suppliers.empty() || purchase.rows.empty()) return std::nullopt;
  SupplierChoice choice;
  choice.suppliers = purchase.suppliers.size();
  choice.rows = purchase.rows.size();
  for (const ScaledItem& item : purchase.items) {
    if (item.one_batch) return std::nullopt;
  }
  for (const ScaledSupplier& supplier : purchase.suppliers) {
    if (supplier.has_threshold()) return std::nullopt;
    choice.charge.push_back(supplier.shipping);
  }
  choice.price.assign(choice.suppliers * choice.rows, kNotSold);
  choice.offer.assign(choice.price.size(), 0);
  for (std::size_t at = 0; at < purchase.offers.size(); ++at) {
    const ScaledOffer& offer = purchase.offers[at];
    if (offer.contents.size() != 1 || offer.least > 1) return std::nullopt;
    const auto [row, quantity] = offer.contents.front();
    if (quantity < purchase.rows[row].least) return std::nullopt;
    const std::size_t cell = offer.supplier * choice.rows + row;
    if (choice.price[cell] != kNotSold && choice.price[cell] <= offer.price) continue;
    choice.price[cell] = offer.price;
    choice.offer[cell] = at;
  }
  return choice;
}

SearchOutcome choose_suppliers(const SupplierChoice& choice, const Packs& first, std::size_t offers,
                               const SearchControl& control, std::int64_t node_limit) {
  Chooser chooser(choice, control, node_limit);
  if (!chooser.can_prove()) return {};
  return chooser.run(first, offers);
}

}  // namespace kitgap
