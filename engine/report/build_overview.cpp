#include <algorithm>
#include <map>

#include "report/overview.h"
#include "text/ascii.h"

namespace kitgap {
namespace {

constexpr std::int64_t kMillimetres = 1000;

// Blanks or commas between x and y; without a unit the points are millimetres.
std::vector<Point> points_of(std::string_view written) {
  std::string text;
  bool in_number = false;
  for (std::size_t at = 0; at < written.size(); ++at) {
    const char c = written[at];
    const bool is_blank = c == ' ';
    const bool more = written.find_first_of("0123456789", at) != std::string_view::npos;
    if (!is_blank || !in_number || !more) {
      text += c;
    } else if (at + 1 < written.size() && written[at + 1] != ';' && written[at + 1] != ' ') {
      text += ',';
    }
    in_number = is_digit(c);
  }
  if (!text.empty() && text.back() >= '0' && text.back() <= '9') text += " mm";
  OutlineReading reading = read_outline(text);
  for (Point& point : reading.points) point = {point.x * Fraction(kMillimetres), point.y * Fraction(kMillimetres)};
  return reading.points;
}

class Overviewer {
 public:
  Overviewer(const Report& report, const CoverModel& model) : report_(report), model_(model), rules_(model.rules()) {}

  Overview run() {
    add_places();
    add_panels();
    add_purchases();
    return std::move(overview_);
  }

 private:
  const ReportLine& line(std::size_t index) const { return report_.lines[index]; }

  void add_places() {
    std::map<std::string, PlaceText> places;
    for (const ReportLine& line : report_.lines) {
      PlaceText& place = places[line.position];
      place.position = line.position;
      ++place.needs;
      const PlaceText::State state = state_of(line);
      place.state = std::max(place.state, state);
      switch (state) {
        case PlaceText::State::Stops: ++place.stopping; break;
        case PlaceText::State::Lacking: ++place.lacking; break;
        case PlaceText::State::Open: ++place.open; break;
        case PlaceText::State::Old: ++place.from_old; break;
        case PlaceText::State::Right: ++place.right; break;
      }
    }
    for (auto& [position, place] : places) {
      measure(place);
      overview_.places.push_back(std::move(place));
    }
  }

  // The row of the highest layer, where only one can apply: a size that hangs on what is open is none.
  const SizeRow* size_of(PartId part, PositionId position) const {
    const SizeRow* best = nullptr;
    bool is_open = false;
    for (const SizeRow& row : rules_.sizes) {
      const auto& at = rules_.places_of(row.at);
      if (row.part != part || (!at.empty() && std::ranges::find(at, position) == at.end())) continue;
      const Ternary applies = holds(rules_.condition(row.condition), model_.needs().knowledge().sets(), rules_.facts);
      if (applies == Ternary::No) continue;
      const bool is_higher = best == nullptr || rules_.layer(row.place) > rules_.layer(best->place);
      if (is_higher) is_open = false;
      else if (rules_.layer(row.place) < rules_.layer(best->place)) continue;
      is_open = is_open || applies == Ternary::Open;
      if (is_higher) best = &row;
    }
    return is_open ? nullptr : best;
  }

  const SizeRow* size_of(const std::string& part, const std::string& position) const {
    const auto id = rules_.find_part(part);
    const auto place = rules_.positions.find(position);
    return id && place ? size_of(*id, *place) : nullptr;
  }

  // A panel at a side is as long as it is wide; what lies across the car is as long as it is high.
  void measure(PlaceText& place) {
    const auto position = rules_.positions.find(place.position);
    const bool is_at_side = position && rules_.positions.hand(*position) != Hand::None;
    for (const ReportLine& line : report_.lines) {
      if (line.position != place.position || line.kind != PartKind::Assembly) continue;
      const SizeRow* size = size_of(line.part, line.position);
      if (size == nullptr || !size->width || !size->height) continue;
      const Fraction length = (is_at_side ? *size->width : *size->height) * Fraction(kMillimetres);
      const Fraction across = (is_at_side ? *size->height : *size->width) * Fraction(kMillimetres);
      if (place.length_mm && *place.length_mm * *place.width_mm >= length * across) continue;
      place.length_mm = length;
      place.width_mm = across;
      place.sized_part = line.part_name;
    }
  }

  void add_panels() {
    std::map<std::pair<std::string, std::string>, PanelText> panels;
    std::map<std::pair<std::string, std::string>, std::vector<std::size_t>> below;
    for (std::size_t index = 0; index < report_.lines.size(); ++index) {
      if (line(index).parent == "car") continue;
      below[{line(index).position, line(index).parent}].push_back(index);
    }
    for (const auto& [key, lines] : below) overview_.panels.push_back(panel_of(key.first, key.second, lines));
  }

  PanelText panel_of(const std::string& position, const std::string& part, const std::vector<std::size_t>& lines) {
    PanelText panel;
    panel.position = position;
    panel.part = panel.part_name = part;
    if (const auto id = rules_.find_part(part)) panel.part_name = model_.needs().part_row(*id).name;
    const auto itself = std::ranges::find_if(report_.lines, [&](const ReportLine& own) { return own.part == part && own.position == position; });
    if (itself != report_.lines.end()) panel.itself = itself->id;
    sort_pieces(panel, lines);
    add_size(panel);
    return panel;
  }

  bool are_paired(const std::string& a, const std::string& b) const {
    return std::ranges::any_of(rules_.pairings, [&](const PairingRow& row) {
      const std::string& part = rules_.part_keys[row.part.index];
      const std::string& other = rules_.part_keys[row.other.index];
      return !row.per_car && ((part == a && other == b) || (part == b && other == a)) &&
             holds(rules_.condition(row.condition), model_.needs().knowledge().sets(), rules_.facts) != Ternary::No;
    });
  }

  // From the holes outward: what is paired with a hole, and what is paired with that.
  void sort_pieces(PanelText& panel, const std::vector<std::size_t>& lines) {
    std::vector<std::size_t> rest;
    for (const std::size_t index : lines) {
      if (line(index).kind == PartKind::Hole) panel.fixings.push_back(index);
      else if (line(index).kind == PartKind::Opening) panel.openings.push_back(index);
      else rest.push_back(index);
    }
    for (std::size_t at = 0; at < panel.fixings.size(); ++at) {
      const std::string& part = line(panel.fixings[at]).part;
      for (std::size_t& index : rest) {
        if (index == kTaken || !are_paired(part, line(index).part)) continue;
        panel.fixings.push_back(index);
        index = kTaken;
      }
    }
    for (const std::size_t index : rest) {
      if (index != kTaken) panel.others.push_back(index);
    }
    add_arithmetic(panel);
  }

  void add_arithmetic(PanelText& panel) {
    for (const PairingRow& row : rules_.pairings) {
      if (row.per_car || holds(rules_.condition(row.condition), model_.needs().knowledge().sets(), rules_.facts) == Ternary::No) continue;
      const ReportLine* part = nullptr;
      const ReportLine* other = nullptr;
      for (const std::size_t index : panel.fixings) {
        if (line(index).part == rules_.part_keys[row.part.index]) part = &line(index);
        if (line(index).part == rules_.part_keys[row.other.index]) other = &line(index);
      }
      if (part == nullptr || other == nullptr) continue;
      const Range wanted{part->need.lo * row.ratio, part->need.hi * row.ratio};
      const bool agrees = wanted == other->need;
      panel.arithmetic.push_back(range_text(part->need) + " " + part->part_name + " × " + row.ratio.to_text() + " = " + range_text(wanted) + " " +
                                 other->part_name + "; called for: " + range_text(other->need) + (agrees ? ", agrees" : ", look again"));
    }
  }

  void add_size(PanelText& panel) {
    const SizeRow* size = size_of(panel.part, panel.position);
    if (size == nullptr) return;
    panel.outline = points_of(size->outline);
    const auto in_mm = [](const std::optional<Fraction>& metres) { return metres ? std::optional(*metres * Fraction(kMillimetres)) : std::nullopt; };
    const Sizes sizes = sizes_of(size->width, size->height, size->perimeter, {});
    panel.width_mm = in_mm(sizes.width);
    panel.height_mm = in_mm(sizes.height);
    panel.perimeter_mm = in_mm(sizes.perimeter);
    panel.size_source = rules_.source_of(size->place);
    Fraction stations;
    for (const std::size_t index : panel.fixings) stations = std::max(stations, line(index).need.hi);
    if (panel.perimeter_mm && stations.sign() > 0) panel.spacing_mm = (*panel.perimeter_mm / stations).floor();
  }

  void add_purchases() {
    std::map<std::pair<std::string, std::string>, BuyText> sums;
    for (std::size_t index = 0; index < report_.lines.size(); ++index) {
      const ReportLine& need = line(index);
      if (need.gap.lo.is_zero() || !need.folded_under.empty() || need.kind == PartKind::Opening || need.kind == PartKind::Hole) continue;
      BuyText& sum = sums[{need.part_name, need.part}];
      sum.part = need.part;
      sum.part_name = need.part_name;
      sum.unit = need.unit;
      sum.gap.lo += need.gap.lo;
      sum.gap.hi += need.gap.hi;
      sum.is_estimate = sum.is_estimate || need.basis == Basis::Estimate;
      sum.lines.push_back(index);
    }
    for (auto& [name, sum] : sums) overview_.to_buy.push_back(std::move(sum));
  }

  static constexpr std::size_t kTaken = static_cast<std::size_t>(-1);
  const Report& report_;
  const CoverModel& model_;
  const Rules& rules_;
  Overview overview_;
};

}  // namespace

Overview overview_of(const Report& report, const CoverModel& model) { return Overviewer(report, model).run(); }

std::vector<SourceSum> sources_of(const ReportLine& line) {
  std::vector<SourceSum> sources;
  for (const auto& [from, word] : {std::pair("stock", "in hand"), std::pair("order", "on order"), std::pair("list", "planned"),
                                   std::pair("bundle", "with its assembly"), std::pair("work", "by work"), std::pair("old", "from the old part")}) {
    SourceSum sum{.says = word, .quantity = {}, .bag = {}};
    for (const CoveredText& covered : line.covered_by) {
      if (covered.from != from) continue;
      sum.quantity.lo += covered.quantity;
      sum.quantity.hi += covered.quantity_hi;
      if (!covered.bag.empty() && covered.from != "bundle") sum.bag = covered.bag;
    }
    if (sum.quantity.hi.is_zero()) continue;
    sum.quantity.hi = std::min(sum.quantity.hi, line.have.hi);
    sources.push_back(std::move(sum));
  }
  return sources;
}

Fraction most_from_old(const ReportLine& line) {
  Fraction most;
  for (const CoveredText& covered : line.covered_by) {
    if (covered.from == "old") most += covered.quantity_hi;
  }
  return std::min(most, line.have.hi);
}

PlaceText::State state_of(const ReportLine& line) {
  if (line.stops_work) return PlaceText::State::Stops;
  switch (line.status) {
    case Status::Covered: return PlaceText::State::Right;
    case Status::MoveOver: return PlaceText::State::Old;
    case Status::ToSettle: return PlaceText::State::Open;
    default: return PlaceText::State::Lacking;
  }
}

std::optional<Tally> tally_of(const ReportLine& line) {
  const auto all = line.need.hi.to_integer();
  const auto there = line.have.lo.to_integer();
  const auto lacking = line.gap.lo.to_integer();
  if (!all || !there || !lacking || *all > kMostMarks) return std::nullopt;
  const std::int64_t shown = std::min(*there, *all - *lacking);
  return Tally{.there = shown, .open = *all - *lacking - shown, .lacking = *lacking};
}

}  // namespace kitgap
