#include "measure/strip.h"

#include <algorithm>
#include <array>
#include <map>
#include <tuple>

#include "measure/strip_grid.h"
#include "value/internal_error.h"

namespace kitgap {
namespace {

using strip::Effort;
using strip::StripGrid;
using strip::Kind;
using strip::Layout;
using strip::Step;

Fraction common_step(Fraction a, Fraction b) {
  while (!b.is_zero()) {
    const Fraction rest = a - (a / b).floor() * b;
    a = b;
    b = rest;
  }
  return a;
}

Step steps(const Fraction& size, const Fraction& step) {
  const auto whole = (size / step).floor().to_integer();
  require(whole.has_value(), "a size on the grid is a whole number");
  return *whole;
}

// A panel's place among the kinds: `flipped` when the kind is the panel turned.
struct Owner {
  std::size_t panel = 0;
  bool flipped = false;
  std::int64_t quantity = 0;
};

struct Gridded {
  StripGrid grid;
  Fraction across_step;
  Fraction along_step;
  std::vector<std::vector<Owner>> owners;  // per kind
};

// Every edge of a layout that is pushed left lies at a sum of widths, so the step is that of the panels alone.
void choose_steps(const StripJob& job, Gridded& gridded) {
  for (const StripPanel& panel : job.panels) {
    gridded.across_step = common_step(gridded.across_step, panel.width);
    gridded.along_step = common_step(gridded.along_step, panel.height);
  }
  if (job.may_turn) gridded.across_step = gridded.along_step = common_step(gridded.across_step, gridded.along_step);
}

Gridded on_grid(const StripJob& job) {
  Gridded gridded;
  choose_steps(job, gridded);
  gridded.grid.width = steps(job.strip_width, gridded.across_step);
  gridded.grid.may_turn = job.may_turn;
  std::map<std::pair<Step, Step>, std::vector<Owner>> kinds;
  for (std::size_t i = 0; i < job.panels.size(); ++i) {
    Step width = steps(job.panels[i].width, gridded.across_step);
    Step height = steps(job.panels[i].height, gridded.along_step);
    const bool flipped = job.may_turn && width > height;
    if (flipped) std::swap(width, height);
    if (job.panels[i].quantity > 0) kinds[{width, height}].push_back({i, flipped, job.panels[i].quantity});
  }
  for (auto& [size, owners] : kinds) {
    Kind kind{.width = size.first, .height = size.second};
    for (const Owner& owner : owners) kind.count += static_cast<int>(owner.quantity);
    gridded.grid.kinds.push_back(kind);
    gridded.owners.push_back(std::move(owners));
  }
  return gridded;
}

// Across becomes along: filling the same rectangle from its side finds other layouts. Without turning only.
StripGrid from_the_side(const StripGrid& grid, Step length) {
  StripGrid side{.width = length, .may_turn = false, .kinds = grid.kinds};
  for (Kind& kind : side.kinds) std::swap(kind.width, kind.height);
  return side;
}

std::optional<Layout> side_layout(const StripGrid& grid, Step length, std::size_t breadth, int variant, Effort& effort) {
  auto layout = strip::beam_layout(from_the_side(grid, length), grid.width, breadth, variant, effort);
  if (!layout) return layout;
  layout->length = 0;
  for (auto& piece : layout->pieces) {
    std::swap(piece.x, piece.y);
    layout->length = std::max(layout->length, piece.y + grid.kinds[static_cast<std::size_t>(piece.kind)].height);
  }
  return layout;
}

// Closes in on the least length from both ends: proofs raise the bound, layouts lower the best.
class Search {
 public:
  Search(const StripGrid& grid, const CutLimits& limits)
      : grid_(grid), effort_(limits.effort, limits.seconds), total_(limits.effort), best_(strip::quick_layout(grid)) {
    bound_ = strip::next_length(grid, std::min(strip::least_length(grid), best_.length), best_.length);
  }

  void run() {
    prove(total_ / 20);
    for (const std::size_t breadth : {std::size_t{300}, std::size_t{1'000}, std::size_t{4'000}}) widen(breadth);
    prove(total_ / 4);
    for (std::size_t breadth = 8'000; !is_over() && breadth <= 64'000; breadth *= 2) widen(breadth);
    while (!is_over() && prove(effort_.left())) {
    }
  }

  Step bound() const { return bound_; }
  const Layout& best() const { return best_; }

 private:
  bool is_over() const { return bound_ == best_.length || effort_.is_over(); }

  void keep(Layout layout) {
    if (layout.length < best_.length) best_ = std::move(layout);
  }

  // Tries every layout of the bound's length, as often as that raises the bound. True when it came to an answer.
  bool prove(std::int64_t steps) {
    bool answered = false;
    while (!is_over() && steps > 0) {
      Effort share = effort_.part(steps);
      auto answer = strip::exact_layout(grid_, bound_, share);
      steps -= effort_.take_back(share);
      if (answer.answer == strip::Answer::GaveUp) return answered;
      answered = true;
      if (answer.answer == strip::Answer::Found) {
        keep(std::move(answer.layout));
        return true;
      }
      bound_ = strip::next_length(grid_, bound_ + 1, best_.length);
    }
    return answered;
  }

  // Each length first by the bound, then by halving what lies between.
  void widen(std::size_t breadth) {
    for (int variant = 0; variant < 4 && !is_over(); ++variant) try_length(bound_, breadth, variant);
    for (Step low = bound_ + 1; !is_over() && low < best_.length;) {
      const Step middle = low + (best_.length - low) / 2;
      bool found = false;
      for (int variant = 0; variant < 4 && !found && !is_over(); ++variant) found = try_length(middle, breadth, variant);
      if (!found) low = middle + 1;
    }
  }

  bool try_length(Step length, std::size_t breadth, int variant) {
    if (auto layout = strip::beam_layout(grid_, length, breadth, variant, effort_)) {
      keep(std::move(*layout));
      return true;
    }
    if (grid_.may_turn || effort_.is_over()) return false;
    if (auto layout = side_layout(grid_, length, breadth, variant, effort_)) {
      keep(std::move(*layout));
      return true;
    }
    return false;
  }

  const StripGrid& grid_;
  Effort effort_;
  std::int64_t total_;
  Layout best_;
  Step bound_ = 0;
};

std::vector<StripPiece> pieces_of(const StripJob& job, Gridded& gridded, const Layout& layout) {
  std::vector<StripPiece> pieces;
  std::vector<strip::Placement> laid = layout.pieces;
  std::sort(laid.begin(), laid.end(), [](const auto& a, const auto& b) { return std::tie(a.y, a.x) < std::tie(b.y, b.x); });
  for (const strip::Placement& placement : laid) {
    auto& owners = gridded.owners[static_cast<std::size_t>(placement.kind)];
    auto owner = std::find_if(owners.begin(), owners.end(), [](const Owner& each) { return each.quantity > 0; });
    require(owner != owners.end(), "a layout has no more pieces than the job");
    --owner->quantity;
    const StripPanel& panel = job.panels[owner->panel];
    pieces.push_back({.panel = owner->panel,
                      .x = Fraction(placement.x) * gridded.across_step,
                      .y = Fraction(placement.y) * gridded.along_step,
                      .turned = panel.width != panel.height && owner->flipped != (placement.way == 1)});
  }
  return pieces;
}

struct Placed {
  Fraction left, right, low, high;
};

std::string check_bounds(const StripJob& job, const CutPlan& plan, const StripPiece& piece, const Placed& placed) {
  if (piece.turned && !job.may_turn) return "a panel is turned where none may be";
  if (placed.left.sign() < 0 || placed.low.sign() < 0) return "a panel lies before the start of the roll or left of it";
  if (placed.right > job.strip_width) return "a panel lies over the right edge of the roll";
  if (placed.high > plan.length) return "a panel ends past the length";
  return "";
}

}  // namespace

std::string what_is_wrong_with(const StripJob& job) {
  if (job.strip_width.sign() <= 0) return "the roll's width is not above zero";
  std::int64_t pieces = 0;
  for (const StripPanel& panel : job.panels) {
    const std::string name = "panel `" + panel.panel + "`";
    if (panel.width.sign() <= 0 || panel.height.sign() <= 0) return name + " has a size that is not above zero";
    if (panel.quantity < 0) return name + " has a quantity below zero";
    if (panel.quantity > kMaxStripPieces || (pieces += panel.quantity) > kMaxStripPieces) {
      return "there are more than " + std::to_string(kMaxStripPieces) + " panels; lay them on several rolls";
    }
    if (panel.width > job.strip_width && (!job.may_turn || panel.height > job.strip_width)) {
      return name + " is wider than the roll" + (job.may_turn ? " both ways" : job.strip_width >= panel.height ? "; turned it would fit" : "");
    }
  }
  try {
    Gridded gridded;
    choose_steps(job, gridded);
    for (const StripPanel& panel : job.panels) {
      if (panel.width / gridded.across_step > Fraction(strip::kMaxGrid) || panel.height / gridded.along_step > Fraction(strip::kMaxGrid) ||
          job.strip_width / gridded.across_step > Fraction(strip::kMaxGrid)) {
        return "the sizes are too fine beside each other: no common step is coarser than 1/" + std::to_string(strip::kMaxGrid) +
               " of the largest";
      }
    }
  } catch (const FigureOverflow& overflow) {
    return overflow.what();
  }
  return "";
}

CutPlan plan_cut(const StripJob& job, const CutLimits& limits) {
  CutPlan plan;
  const bool has_pieces = std::any_of(job.panels.begin(), job.panels.end(), [](const StripPanel& each) { return each.quantity > 0; });
  if (has_pieces) {
    Gridded gridded = on_grid(job);
    Search search(gridded.grid, limits);
    search.run();
    plan.length = Fraction(search.best().length) * gridded.along_step;
    plan.bound = Fraction(search.bound()) * gridded.along_step;
    plan.pieces = pieces_of(job, gridded, search.best());
  }
  plan.status = plan.length == plan.bound ? CutStatus::Optimal : CutStatus::Feasible;
  const std::string wrong = check_plan(job, plan);
  if (!wrong.empty()) throw InternalError("a cutting plan holds when checked again: " + wrong);
  return plan;
}

std::string check_plan(const StripJob& job, const CutPlan& plan) {
  std::vector<std::int64_t> to_lay;
  for (const StripPanel& panel : job.panels) to_lay.push_back(panel.quantity);
  std::vector<Placed> placed;
  for (const StripPiece& piece : plan.pieces) {
    if (piece.panel >= job.panels.size() || --to_lay[piece.panel] < 0) return "a panel is laid more often than wanted";
    const StripPanel& panel = job.panels[piece.panel];
    const Placed here{piece.x, piece.x + (piece.turned ? panel.height : panel.width), piece.y,
                      piece.y + (piece.turned ? panel.width : panel.height)};
    if (std::string wrong = check_bounds(job, plan, piece, here); !wrong.empty()) return wrong;
    for (const Placed& other : placed) {
      if (here.left < other.right && other.left < here.right && here.low < other.high && other.low < here.high) {
        return "one panel lies over another";
      }
    }
    placed.push_back(here);
  }
  if (std::any_of(to_lay.begin(), to_lay.end(), [](std::int64_t left) { return left != 0; })) return "a panel is not laid";
  if (plan.bound > plan.length) return "the bound is above the length";
  if ((plan.status == CutStatus::Optimal) != (plan.bound == plan.length)) return "the status does not follow from length and bound";
  return "";
}

}  // namespace kitgap
