#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "text/diagnostics.h"
#include "value/fraction.h"

namespace kitgap {

// Whole panels laid on a roll of fixed width, the least length of roll. `x` runs across the roll, `y` along it; a panel's
// `width` lies across and its `height` along unless it is turned by a quarter. One unit of length throughout, any.

struct StripPanel {
  std::string panel;
  bool is_number = false;  // `panel` was given as a number and goes out as one
  Fraction width;   // above zero
  Fraction height;  // above zero; along the roll, the way of pile and grain
  std::int64_t quantity = 1;
};

struct StripJob {
  Fraction strip_width;
  bool may_turn = false;  // false where pile, grain or pattern has a direction
  std::vector<StripPanel> panels;
};

struct StripPiece {
  std::size_t panel = 0;  // index into the job's panels
  Fraction x;
  Fraction y;  // of the corner nearest to the start of the roll and its left edge
  bool turned = false;
};

enum class CutStatus : std::uint8_t {
  Optimal,   // `length` equals `bound`: no shorter roll holds the panels
  Feasible,  // `bound` is proven; a length between the two may exist
};

struct CutPlan {
  CutStatus status = CutStatus::Feasible;
  Fraction length;
  Fraction bound;
  std::vector<StripPiece> pieces;  // by y, x, panel
};

inline constexpr std::int64_t kMaxStripPieces = 2'000;

// How hard to search. `effort` counts steps, so that the same job and effort give the same plan on any machine; about
// 100,000 steps a second. `seconds`, where given, stops earlier with what is proven by then.
struct CutLimits {
  std::int64_t effort = 1'500'000;
  std::optional<double> seconds = std::nullopt;
};

// What is wrong with a job, lower case; empty when it can be cut.
[[nodiscard]] std::string what_is_wrong_with(const StripJob& job);
// The job has been checked by `what_is_wrong_with`. The plan has been checked by `check_plan` before it is returned.
[[nodiscard]] CutPlan plan_cut(const StripJob& job, const CutLimits& limits = {});
// Independent of how a plan was made: every panel there as often as wanted, inside the roll and the length, none over another,
// turned only where allowed, bound not above length. Empty when all holds, else what does not.
[[nodiscard]] std::string check_plan(const StripJob& job, const CutPlan& plan);

// Reads `{"strip_width", "rotation", "panels": [{"panel", "width", "height", "quantity"}]}`. `rotation` is true, false or
// "not needed"; left out it is false, `quantity` 1. Everything wrong is reported in one run.
[[nodiscard]] std::optional<StripJob> read_strip_job(SourceId source, const Sources& sources, Diagnostics& diagnostics);
// The form `cut/1`.
std::string cut_json(const StripJob& job, const CutPlan& plan);
// For people: the length, the bound, and where each panel lies.
std::string cut_text(const StripJob& job, const CutPlan& plan);
// The cutting picture: readable in black and white, every panel named and its sizes written, the way of the pile as an arrow
// where nothing may turn.
std::string cut_svg(const StripJob& job, const CutPlan& plan);

}  // namespace kitgap
