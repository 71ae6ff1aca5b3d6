#pragma once

#include <optional>
#include <string>
#include <vector>

#include "measure/sizes.h"
#include "report/report.h"

namespace kitgap {

// Sums and pictures of a report: the part of the model that pages and sheets print beside its lines. Worked out after
// the report was kept to a place, so that it shows what the report shows.

// The lines of one place, counted; what is folded under a missing assembly counts with it.
struct PlaceText {
  enum class State : std::uint8_t { Right, Old, Open, Lacking, Stops };  // the worst of its lines, worst last
  std::string position;
  std::size_t needs = 0, stopping = 0, lacking = 0, open = 0, from_old = 0, right = 0;
  State state = State::Right;
  std::optional<Fraction> length_mm, width_mm;  // of the largest part there that has a size, along and across the car
  std::string sized_part;
};

// An assembly at its place, its own pieces below it: for its picture and the table that a person checks by hand.
struct PanelText {
  std::string position, part, part_name;
  std::string itself;                   // id of its own line; empty where the report has none
  std::vector<std::size_t> fixings;     // lines: holes and what the tables pair with them, clip and seal
  std::vector<std::size_t> openings;    // lines
  std::vector<std::size_t> others;      // lines
  std::vector<std::string> arithmetic;  // `9 clip holes x 1 = 9 panel clips; the tables call for 9: agrees`
  std::optional<Fraction> width_mm, height_mm, perimeter_mm;
  std::optional<Fraction> spacing_mm;   // of the fixings, were they spaced evenly, rounded down; an estimate
  std::vector<Point> outline;           // millimetres, y upward; empty: none is known
  std::string size_source;
};

// What to buy of one part, summed over the car; what comes with its assembly is not bought apart.
struct BuyText {
  std::string part, part_name, unit;
  Range gap;
  bool is_estimate = false;
  std::vector<std::size_t> lines;
};

// Where the cover of a line comes from: here before on its way before planned.
struct SourceSum {
  std::string says;  // `in hand`, `on order`, `planned`, `with its assembly`, `by work`, `from the old part`
  Range quantity;    // never more than is called for
  std::string bag;
};

struct Overview {
  std::vector<PlaceText> places;  // sorted by position
  std::vector<PanelText> panels;  // sorted by position and part
  std::vector<BuyText> to_buy;    // sorted by name
};

// Indices are those of `report.lines`.
Overview overview_of(const Report& report, const CoverModel& model);
std::vector<SourceSum> sources_of(const ReportLine& line);
// The most pieces that may come from the old part; never more than is called for.
Fraction most_from_old(const ReportLine& line);
PlaceText::State state_of(const ReportLine& line);

// The marks of one line in a picture: so many there, lacking, and hanging on what is open. Nothing where the figure is
// no whole number of pieces, or of too many to be told apart.
struct Tally {
  std::int64_t there = 0, open = 0, lacking = 0;
};
inline constexpr std::int64_t kMostMarks = 60;
std::optional<Tally> tally_of(const ReportLine& line);

}  // namespace kitgap
