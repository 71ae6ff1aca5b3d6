#include "report/proof.h"

#include <algorithm>
#include <set>

namespace kitgap {
namespace {

constexpr std::size_t kMostCars = 200'000;
constexpr std::uint64_t kMostValues = 10'000;

}  // namespace

NeedProof::NeedProof(const Knowledge& knowledge, FactSets known, const std::vector<WrittenLine>& lines, bool is_free)
    : rules_(knowledge.rules()), knowledge_(knowledge), known_(std::move(known)), lines_(lines), is_free_(is_free) {
  for (std::size_t index = 0; index < lines.size(); ++index) by_part_[{lines[index].part, lines[index].position}].push_back(index);
}

std::vector<std::size_t> NeedProof::parents_of(const WrittenLine& line) const {
  const auto found = by_part_.find({line.parent, line.position});
  return found == by_part_.end() ? std::vector<std::size_t>{} : found->second;
}

// The line and all above it.
bool NeedProof::gather(std::size_t line, std::vector<std::size_t>& lines, std::string& why_not) const {
  if (std::ranges::find(lines, line) != lines.end()) return true;
  const WrittenLine& here = lines_[line];
  if (here.needs.empty() && here.consumes.empty() && !here.counted) {
    why_not = "it is made by moving pieces over, or by a row of another kind";
    return false;
  }
  lines.push_back(line);
  if (here.parent == "car") return true;
  const std::vector<std::size_t> parents = parents_of(here);
  if (parents.empty()) {
    why_not = "its assembly is no line of the report";
    return false;
  }
  return std::ranges::all_of(parents, [&](std::size_t parent) { return gather(parent, lines, why_not); });
}

// Per unknown fact the finest pieces of its values that the rows tell apart; single values where a figure reads it.
bool NeedProof::find_splits(const std::vector<std::size_t>& lines, std::string& why_not) {
  std::map<FactId, std::vector<ValueSet>> cuts;
  std::set<FactId> singly;
  const auto read = [&](ConditionId id) {
    const Condition& condition = rules_.condition(id);
    for (const Condition::Test& test : condition.tests) cuts[test.fact].push_back(test.values);
    for (const Condition::Residue& residue : condition.residues) singly.insert(residue.facts.begin(), residue.facts.end());
  };
  const auto read_figure = [&](FigureId id) {
    const Quantity& quantity = rules_.figures[id.index].quantity;
    singly.insert(quantity.facts.begin(), quantity.facts.end());
  };
  for (const std::size_t line : lines) {
    for (const std::size_t row : lines_[line].needs) {
      read(rules_.needs[row].condition);
      if (rules_.needs[row].effect != Effect::Drops) read_figure(rules_.needs[row].quantity);
    }
    for (const std::size_t row : lines_[line].consumes) {
      read(rules_.consumes[row].condition);
      read_figure(rules_.consumes[row].quantity);
      for (const SizeRow& size : rules_.sizes) {
        if (size.part == rules_.consumes[row].assembly) read(size.condition);
      }
    }
  }
  splits_.clear();
  std::size_t cars = 1;
  for (std::uint32_t index = 0; index < known_.size(); ++index) {
    const FactId fact{index};
    const ValueSet& known = known_[index];
    if (known.is_single()) continue;
    std::vector<ValueSet> cells{known};
    if (singly.contains(fact)) {
      if (!known.size() || *known.size() > kMostValues) return why_not = "it hangs on too many values of `" + rules_.facts[fact.index].name + "`", false;
      cells.clear();
      for (const FactValue& value : known.values()) cells.push_back(ValueSet::of(known.domain(), value));
    } else if (cuts.contains(fact)) {
      for (const ValueSet& cut : cuts[fact]) {
        std::vector<ValueSet> finer;
        for (const ValueSet& cell : cells) {
          for (ValueSet piece : {cell & cut, cell - cut}) {
            if (!piece.is_empty()) finer.push_back(std::move(piece));
          }
        }
        cells = std::move(finer);
      }
    }
    if (cells.size() < 2) continue;
    cars *= cells.size();
    if (cars > kMostCars) return why_not = "it hangs on too many unknown facts at once", false;
    splits_.push_back({.fact = fact, .cells = std::move(cells)});
  }
  return true;
}

void NeedProof::find_choices(const std::vector<std::size_t>& lines) {
  choices_.clear();
  for (const std::size_t line : lines) {
    Choice choice{.line = line, .practices = {}};
    for (const std::size_t row : lines_[line].needs) {
      const std::uint32_t practice = rules_.needs[row].practice;
      if (practice != 0 && std::ranges::find(choice.practices, practice) == choice.practices.end()) choice.practices.push_back(practice);
    }
    if (choice.practices.size() > 1) choices_.push_back(std::move(choice));
  }
}

std::optional<Range> NeedProof::need_of(const WrittenLine& line, std::string& why_not) {
  const auto index = static_cast<std::size_t>(&line - lines_.data());
  std::vector<std::size_t> lines;
  if (!gather(index, lines, why_not) || !find_splits(lines, why_not)) return std::nullopt;
  find_choices(lines);
  std::optional<Range> range;
  bool more = true;
  while (more) {
    FactSets car = known_;
    for (const Split& split : splits_) car[split.fact.index] = split.cells[split.taken];
    if (is_free_ || knowledge_.is_consistent(car)) {
      const auto need = need_here(index, car);
      if (!need) return why_not = "a figure of its rows does not come out", std::nullopt;
      range = range ? Range{std::min(range->lo, *need), std::max(range->hi, *need)} : Range{*need, *need};
    }
    // The next car, as a counter turns over.
    more = false;
    const auto turn = [&](auto& wheel, std::size_t count) {
      if (more) return;
      more = ++wheel.taken < count;
      if (!more) wheel.taken = 0;
    };
    for (Split& split : splits_) turn(split, split.cells.size());
    for (Choice& choice : choices_) turn(choice, choice.practices.size());
  }
  if (!range) why_not = "no car fits what is known";
  return range;
}

bool NeedProof::applies(ConditionId condition, const FactSets& car) const {
  return holds(rules_.condition(condition), car, rules_.facts) == Ternary::Yes;
}

std::optional<Fraction> NeedProof::need_here(std::size_t line, const FactSets& car) const {
  const WrittenLine& here = lines_[line];
  const auto each = per_parent(line, car);
  if (!each) return std::nullopt;
  if (here.parent == "car") return each;
  Fraction parents;
  for (const std::size_t parent : parents_of(here)) {
    const auto need = need_here(parent, car);
    if (!need) return std::nullopt;
    parents += *need;
  }
  return *each * parents;
}

std::optional<Fraction> NeedProof::per_parent(std::size_t line, const FactSets& car) const {
  const WrittenLine& here = lines_[line];
  std::optional<Fraction> figure = here.counted;
  if (!figure) figure = here.needs.empty() ? by_size(line, car) : by_rows(line, car);
  if (!figure) return std::nullopt;
  const auto part = rules_.find_part(here.part);
  const auto row = std::ranges::find_if(rules_.parts, [&](const PartRow& of) { return part && of.part == *part; });
  if (row == rules_.parts.end() || row->unit == Unit::Each) figure = figure->ceil();
  return std::max(*figure, Fraction(0));
}

std::uint32_t NeedProof::practice_at(std::size_t line) const {
  const auto choice = std::ranges::find(choices_, line, &Choice::line);
  return choice == choices_.end() ? 0 : choice->practices[choice->taken];
}

// Layer by layer: sets, then adds and takes away, then drops; a `sets` or `drops` stands over all below.
std::optional<Fraction> NeedProof::by_rows(std::size_t line, const FactSets& car) const {
  std::map<std::uint32_t, std::vector<const NeedRow*>> layers;
  for (const std::size_t row : lines_[line].needs) layers[rules_.layer(rules_.needs[row].place)].push_back(&rules_.needs[row]);
  const auto from_size = lines_[line].consumes.empty() ? std::optional(Fraction(0)) : by_size(line, car);
  if (!from_size) return std::nullopt;
  Fraction figure = *from_size;
  for (const auto& [layer, rows] : layers) {
    const NeedRow* set = nullptr;
    bool is_dropped = false;
    Fraction change;
    for (const NeedRow* row : rows) {
      if (!applies(row->condition, car)) continue;
      if (row->effect == Effect::Drops) {
        is_dropped = true;
      } else if (row->effect == Effect::Sets) {
        if (set == nullptr || row->practice == practice_at(line)) set = row;
      } else {
        const auto value = value_of(rules_.figures[row->quantity.index], car, {});
        if (!value) return std::nullopt;
        change += row->effect == Effect::Adds ? *value : -*value;
      }
    }
    if (set != nullptr) {
      const auto value = value_of(rules_.figures[set->quantity.index], car, {});
      if (!value) return std::nullopt;
      figure = *value;
    }
    figure += change;
    if (is_dropped) figure = 0;
  }
  return figure;
}

// The row of the highest layer over the size of the highest layer; margins and waste as the table says.
std::optional<Fraction> NeedProof::by_size(std::size_t line, const FactSets& car) const {
  const auto position = rules_.positions.find(lines_[line].position);
  const ConsumesRow* chosen = nullptr;
  for (const std::size_t index : lines_[line].consumes) {
    const ConsumesRow& row = rules_.consumes[index];
    if (applies(row.condition, car) && (chosen == nullptr || rules_.layer(row.place) > rules_.layer(chosen->place))) chosen = &row;
  }
  if (chosen == nullptr) return Fraction(0);
  const SizeRow* size = nullptr;
  for (const SizeRow& row : rules_.sizes) {
    const std::vector<PositionId>& at = rules_.places_of(row.at);
    const bool is_here = at.empty() || (position && std::ranges::find(at, *position) != at.end());
    if (row.part != chosen->assembly || !is_here || !applies(row.condition, car)) continue;
    if (size == nullptr || rules_.layer(row.place) > rules_.layer(size->place)) size = &row;
  }
  std::vector<Fraction> inputs(kSizeNames.size());
  if (size != nullptr) {
    const Fraction margin = chosen->margin && !chosen->margin_is_share ? *chosen->margin : Fraction(0);
    inputs[0] = size->width.value_or(Fraction(0)) + margin * Fraction(2);
    inputs[1] = size->height.value_or(Fraction(0)) + margin * Fraction(2);
    inputs[2] = size->perimeter.value_or(Fraction(0)) + margin * Fraction(8);
    inputs[3] = inputs[0] * inputs[1];
  }
  const auto value = value_of(rules_.figures[chosen->quantity.index], car, inputs);
  if (!value) return std::nullopt;
  const Fraction share = chosen->margin && chosen->margin_is_share ? Fraction(1) + *chosen->margin : Fraction(1);
  return *value * share * (Fraction(1) + chosen->waste);
}

std::optional<Fraction> NeedProof::value_of(const Figure& figure, const FactSets& car, std::span<const Fraction> inputs) const {
  if (figure.quantity.constant) return *figure.quantity.constant * figure.scale;
  const QuantityResult result = evaluate(figure.quantity, [&](FactId fact) { return *car[fact.index].witness(); }, inputs);
  if (!result.value) return std::nullopt;
  return *result.value * figure.scale;
}

}  // namespace kitgap
