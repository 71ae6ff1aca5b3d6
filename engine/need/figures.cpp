#include <algorithm>
#include <limits>

#include "need/needs.h"
#include "text/codes.h"

namespace kitgap {
namespace {

// A need past this is an explosion of the tables, not a car.
const Fraction kAbsurdNeed = Fraction(1'000'000'000'000);

constexpr std::uint32_t kAllLayers = std::numeric_limits<std::uint32_t>::max();

Basis weaker(Basis a, Basis b) { return std::max(a, b); }

}  // namespace

std::size_t hash_of(const LineFigure& figure) {
  return hash_of(figure.need) * 31 + hash_of(figure.per_parent) + figure.because.size();
}

std::string figure_text(const Fraction& figure, Unit unit) {
  return unit == Unit::Each ? figure.to_text() : figure.to_text() + " " + std::string(word_of(unit));
}

void Needs::report(std::string_view code, RowPlace place, std::string_view column, std::string says, std::string expected,
                   std::vector<FurtherSpan> further) {
  const TableInfo& info = model_.rules().tables[place.table];
  const std::size_t at = info.table.find_column(column).value_or(0);
  problems_.add(place, {.code = code, .span = info.table.span(place.row, at), .says = std::move(says),
                        .expected = std::move(expected), .further = std::move(further)});
}

const LineFigure& Needs::figure(LineId line) {
  if (std::ranges::find(in_progress_, line) != in_progress_.end()) report_ring(line);
  return remembered_.get(line.index, completion_, [&] { return work_out(line); });
}

void Needs::report_ring(LineId id) {
  const Rules& rules = model_.rules();
  const Line& line = model_.line(id);
  if (line.rows.empty()) return;
  std::string path;
  for (auto step = std::ranges::find(in_progress_, id); step != in_progress_.end(); ++step) {
    path += "`" + rules.part_keys[model_.line(*step).part.index] + "` -> ";
  }
  report(code::kCycle, rules.needs[line.rows.front()].place, "part",
         "a part needs itself: " + path + "`" + rules.part_keys[line.part.index] + "`", "a tree that ends");
}

std::uint32_t Needs::result_of(Asked asked) {
  const LineId line{asked.unknown.first};
  return remembered_.number_of(line.index, completion_, [&] { return work_out(line); });
}

Fraction Needs::units_at(PartId part, PositionId position) {
  Fraction sum;
  for (const LineId line : model_.lines_of(part, position)) sum += need(line);
  return sum;
}

Fraction Needs::parents_of(LineId id) {
  const Line& line = model_.line(id);
  if (line.parent == Rules::kCar) return 1;
  Fraction sum;
  for (const LineId parent : model_.lines_of(line.parent, line.position)) {
    // Named itself, a line counts for all its parents; else only for those in the work.
    if (line.is_named_in_work || model_.line(parent).is_in_work) sum += need(parent);
  }
  return sum;
}

LineFigure Needs::work_out(LineId id) {
  const Line& line = model_.line(id);
  const Rules& rules = model_.rules();
  LineFigure figure;
  in_progress_.push_back(id);
  for (const std::uint32_t index : line.consumes) {
    const ConsumesRow& row = rules.consumes[index];
    if (!completion_.holds(row.condition)) continue;
    const auto value = consumed(row, id);
    if (!value) continue;
    // The row of the highest layer stands for the key.
    if (!figure.because.empty() && rules.layer(figure.because.front().place) == rules.layer(row.place)) {
      if (figure.per_parent != *value) {
        report(code::kContradiction, row.place, "quantity", "two rows give `" + rules.part_keys[line.part.index] + "` different quantities, " +
               figure.per_parent.to_text() + " and " + value->to_text(), "one quantity for a car within a layer");
      }
      continue;
    }
    figure.per_parent = *value;
    figure.basis = Basis::Estimate;
    figure.because = {{.place = row.place, .overrides = {}, .is_consumes = true}};
  }
  const std::vector<std::uint32_t>& rows = line.rows;
  // Rows below this layer are replaced: what they say is shown, but is no contradiction.
  std::uint32_t replaced_below = line.count.in_shell || line.count.on_old_part ? kAllLayers : 0;
  for (const std::uint32_t row : rows) {
    const bool replaces = rules.needs[row].effect == Effect::Sets || rules.needs[row].effect == Effect::Drops;
    const std::uint32_t layer = rules.layer(rules.needs[row].place);
    if (replaces && layer > replaced_below && completion_.holds(rules.needs[row].condition)) replaced_below = layer;
  }
  for (std::size_t first = 0; first < rows.size();) {
    const std::uint32_t layer = rules.layer(rules.needs[rows[first]].place);
    std::size_t end = first;
    while (end < rows.size() && rules.layer(rules.needs[rows[end]].place) == layer) ++end;
    is_replaced_ = layer < replaced_below;
    apply_layer(std::span(rows).subspan(first, end - first), id, figure);
    first = end;
  }
  const CountOfLine& count = line.count;
  if (count.in_shell || count.on_old_part) {
    const Fraction counted = count.in_shell ? *count.in_shell : *count.on_old_part;
    if (!figure.because.empty()) figure.table_figure = figure.per_parent;
    figure.table_differs = figure.table_figure && *figure.table_figure != counted;
    figure.per_parent = counted;
    figure.basis = count.in_shell ? Basis::CountedInShell : Basis::CountedOnOldPart;
  }
  const Unit unit = model_.part_row(line.part).unit;
  if (unit == Unit::Each) figure.per_parent = figure.per_parent.ceil();
  if (figure.per_parent.sign() < 0) {
    if (!figure.because.empty()) {
      std::string path;
      for (const std::string& step : model_.path_of(id)) path += (path.empty() ? "`" : " -> `") + step + "`";
      report(code::kNegativeQuantity, figure.because.back().place, "quantity",
             "the need of `" + rules.part_keys[line.part.index] + "` at `" + rules.positions.path(line.position) +
                 "` is below zero for this car: " + figure.per_parent.to_text() + " (" + path + ")",
             "what is taken away to be there first");
    }
    figure.per_parent = 0;
  }
  // A parent that is not called for makes no need, and is not asked about when nothing hangs on it.
  figure.need = figure.per_parent.is_zero() ? Fraction(0) : figure.per_parent * parents_of(id);
  if (figure.need > kAbsurdNeed) {
    if (!figure.because.empty()) {
      report(code::kAbsurdQuantity, figure.because.back().place, "quantity",
             "the tables call for " + figure.need.to_text() + " of `" + rules.part_keys[line.part.index] + "`", "a need that a car can have");
    }
    figure.need = 0;
  }
  if (!figure.need.to_decimal()) {
    if (!figure.because.empty()) {
      report(code::kInvalidExpression, figure.because.back().place, "quantity",
             "the figure " + figure.need.to_text() + " has no exact decimal", "an expression that ends in a decimal, or `ceiling(...)`");
    }
    figure.need = figure.need.ceil();
  }
  in_progress_.pop_back();
  return figure;
}

// Which of several `sets` rows of one layer holds: the one; or, of rival practices, the chosen one.
std::optional<std::uint32_t> Needs::chosen_set(std::span<const std::uint32_t> sets, LineId id) {
  const Rules& rules = model_.rules();
  const Line& line = model_.line(id);
  std::vector<std::pair<std::uint32_t, Fraction>> valued;
  for (const std::uint32_t index : sets) {
    if (const auto value = figure_of(rules.needs[index].quantity, rules.needs[index].place, id)) valued.emplace_back(index, *value);
  }
  if (valued.empty()) return std::nullopt;
  std::vector<std::uint32_t> practices;
  bool differs = false;
  for (const auto& [index, value] : valued) {
    differs = differs || value != valued.front().second;
    practices.push_back(rules.needs[index].practice);
  }
  if (!differs) return valued.front().first;
  for (std::size_t a = 0; a < valued.size(); ++a) {
    for (std::size_t b = a + 1; b < valued.size(); ++b) {
      const NeedRow& first = rules.needs[valued[a].first];
      const NeedRow& second = rules.needs[valued[b].first];
      const bool are_rivals = first.practice != 0 && second.practice != 0 && first.practice != second.practice;
      if (are_rivals || valued[a].second == valued[b].second) continue;
      if (is_replaced_) return valued[a].first;
      const TableInfo& other = rules.tables[first.place.table];
      const std::string fits_both = "the other row; both apply to this car";
      report(code::kContradiction, second.place, "quantity",
             "two rows give `" + rules.part_keys[line.part.index] + "` different quantities, " + valued[b].second.to_text() + " and " + valued[a].second.to_text(),
             "one quantity for a car within a layer and a practice",
             {{.span = other.table.span(first.place.row, other.table.find_column("quantity").value_or(0)), .says = fits_both}});
      return valued[a].first;
    }
  }
  std::ranges::sort(practices, [&](std::uint32_t a, std::uint32_t b) { return rules.practices[a] < rules.practices[b]; });
  practices.erase(std::unique(practices.begin(), practices.end()), practices.end());
  const std::uint32_t chosen = chosen_practice(line, practices);
  for (const auto& [index, value] : valued) {
    if (rules.needs[index].practice == chosen) return index;
  }
  return valued.front().first;
}

// One choice per parent and part, the same at all positions: of all practices that any position knows for them, and
// where a position does not know the chosen one, of those that are left.
std::uint32_t Needs::chosen_practice(const Line& line, std::span<const std::uint32_t> known_here) {
  const std::vector<std::uint32_t>& all = model_.practices_of(line.parent, line.part);
  std::vector<std::uint32_t> left(all.begin(), all.end());
  for (std::uint32_t asked = 0; left.size() > 1; ++asked) {
    const std::size_t choice = completion_.choose({.kind = Unknown::Kind::Practice, .first = line.parent.index, .second = line.part.index, .third = asked}, left.size());
    const std::uint32_t chosen = left[choice];
    if (std::ranges::find(known_here, chosen) != known_here.end()) return chosen;
    left.erase(left.begin() + static_cast<std::ptrdiff_t>(choice));
  }
  return left.front();
}

void Needs::apply_layer(std::span<const std::uint32_t> rows, LineId id, LineFigure& figure) {
  const Rules& rules = model_.rules();
  std::vector<std::uint32_t> sets;
  std::vector<std::uint32_t> changes;
  std::optional<std::uint32_t> drop;
  for (const std::uint32_t index : rows) {
    const NeedRow& row = rules.needs[index];
    if (!completion_.holds(row.condition)) continue;
    if (row.old) figure.old = *row.old;
    if (row.stops) figure.stops = *row.stops;
    if (row.effect == Effect::Sets) sets.push_back(index);
    else if (row.effect == Effect::Drops) drop = index;
    else changes.push_back(index);
  }
  const auto replace_all = [&](std::uint32_t index, const Fraction& value) {
    Contribution contribution{.place = rules.needs[index].place, .practice = rules.needs[index].practice, .overrides = {}};
    if (value != figure.per_parent) {
      for (const Contribution& below : figure.because) contribution.overrides.push_back(below.place);
    }
    figure.because = {std::move(contribution)};
    figure.per_parent = value;
    figure.basis = rules.needs[index].basis;
  };
  if (!sets.empty()) {
    if (const auto chosen = chosen_set(sets, id)) {
      const auto value = figure_of(rules.needs[*chosen].quantity, rules.needs[*chosen].place, id);
      replace_all(*chosen, value.value_or(Fraction(0)));
    }
  }
  for (const std::uint32_t index : changes) {
    const NeedRow& row = rules.needs[index];
    const auto value = figure_of(row.quantity, row.place, id);
    if (!value) continue;
    figure.per_parent = row.effect == Effect::Adds ? figure.per_parent + *value : figure.per_parent - *value;
    figure.basis = figure.because.empty() ? row.basis : weaker(figure.basis, row.basis);
    figure.because.push_back({.place = row.place, .overrides = {}});
  }
  if (drop) replace_all(*drop, 0);
}

std::optional<Fraction> Needs::figure_of(FigureId id, RowPlace place, LineId line) {
  const Figure& figure = model_.rules().figures[id.index];
  if (figure.quantity.constant) return *figure.quantity.constant * figure.scale;
  const QuantityResult result = evaluate(figure.quantity, [&](FactId fact) { return completion_.value(fact); }, {});
  if (result.value) return *result.value * figure.scale;
  if (parents_of(line).is_zero()) return std::nullopt;
  report(code::kInvalidExpression, place, "quantity",
         "the quantity of `" + model_.rules().part_keys[model_.line(line).part.index] + "` comes out wrong for this car: " + result.error,
         "an expression that gives a figure");
  return std::nullopt;
}

// Film, beads, cloth: worked out from the sizes of the assembly at this place, per one assembly. A margin that is a
// length lies round all edges; a share and the waste come on top.
std::optional<Fraction> Needs::consumed(const ConsumesRow& row, LineId id) {
  const Rules& rules = model_.rules();
  const Line& line = model_.line(id);
  const SizeRow* size = nullptr;
  for (const SizeRow& candidate : rules.sizes) {
    if (candidate.part != row.assembly) continue;
    const std::vector<PositionId>& at = rules.places_of(candidate.at);
    if (!at.empty() && std::ranges::find(at, line.position) == at.end()) continue;
    if (!completion_.holds(candidate.condition)) continue;
    if (size == nullptr || rules.layer(candidate.place) > rules.layer(size->place)) size = &candidate;
  }
  const Figure& figure = rules.figures[row.quantity.index];
  std::vector<Fraction> inputs(kSizeNames.size());
  if (!figure.quantity.constant && !figure.quantity.inputs.empty()) {
    const Fraction margin = row.margin && !row.margin_is_share ? *row.margin : Fraction(0);
    for (const std::size_t input : figure.quantity.inputs) {
      const bool is_there = size != nullptr && (input == 0 ? size->width.has_value() : input == 1 ? size->height.has_value()
                                                : input == 2 ? size->perimeter.has_value() : size->width && size->height);
      if (is_there) continue;
      // No size is asked for where no such car has the assembly.
      if (parents_of(id).is_zero()) return std::nullopt;
      report(code::kUnknownName, row.place, "quantity",
             "the size `" + kSizeNames[input] + "` of `" + rules.part_keys[row.assembly.index] + "` at `" + rules.positions.path(line.position) + "` is not known",
             "a row of a `sizes` table for it");
      return std::nullopt;
    }
    inputs[0] = size->width.value_or(Fraction(0)) + margin * Fraction(2);
    inputs[1] = size->height.value_or(Fraction(0)) + margin * Fraction(2);
    inputs[2] = size->perimeter.value_or(Fraction(0)) + margin * Fraction(8);
    inputs[3] = inputs[0] * inputs[1];
  }
  Fraction value;
  if (figure.quantity.constant) {
    value = *figure.quantity.constant;
  } else {
    const QuantityResult result = evaluate(figure.quantity, [&](FactId fact) { return completion_.value(fact); }, inputs);
    if (!result.value) {
      if (parents_of(id).is_zero()) return std::nullopt;
      report(code::kInvalidExpression, row.place, "quantity", "the quantity comes out wrong for this car: " + result.error, "an expression that gives a figure");
      return std::nullopt;
    }
    value = *result.value;
  }
  value = value * figure.scale;
  if (row.margin && row.margin_is_share) value = value * (Fraction(1) + *row.margin);
  return value * (Fraction(1) + row.waste);
}

}  // namespace kitgap
