#include "report/wording.h"

#include <algorithm>
#include <set>

#include "text/utf8.h"

namespace kitgap {
namespace {

std::string_view remedy_word(Remedy remedy) {
  static constexpr auto kWords = std::to_array<std::string_view>({"", "move over", "cut", "drill", "mark", "buy"});
  return kWords[static_cast<std::size_t>(remedy)];
}

}  // namespace

std::string Wording::name_of(PartId part) const { return model_.needs().part_row(part).name; }

std::string Wording::conditions_of(ConditionId id) const {
  std::string text;
  const Condition& condition = rules_.condition(id);
  for (const Condition::Test& test : condition.tests) {
    text += (text.empty() ? "" : ", ") + rules_.facts[test.fact.index].name + " " + test.values.to_unary_test();
  }
  for (const Condition::Residue& residue : condition.residues) {
    std::string facts;
    for (const FactId fact : residue.facts) facts += (facts.empty() ? "" : " and ") + rules_.facts[fact.index].name;
    text += (text.empty() ? "" : ", ") + ("a test of " + facts);
  }
  return text;
}

// A row of any kind: where it stands and what its cells say.
ReasonText Wording::reason(RowPlace place) const {
  const TableInfo& info = rules_.tables[place.table];
  ReasonText text{.pack = rules_.packs[info.pack].name, .file = info.file, .line = rules_.line_of(place), .says = {},
                  .source = std::string(rules_.source_of(place)), .practice = {}, .overrides = {}};
  for (std::size_t column = 0; column < info.table.header().size(); ++column) {
    const std::string& name = info.table.header()[column];
    const std::string_view cell = info.table.cell(place.row, column);
    if (cell.empty() || cell == "-" || name == "source" || name == "note") continue;
    text.says += (text.says.empty() ? "" : ", ") + name + " " + std::string(cell);
  }
  return text;
}

ReasonText Wording::reason(const Contribution& contribution) const {
  if (contribution.is_consumes) {
    ReasonText text = reason(contribution.place);
    text.says = "worked out from the size: " + text.says;
    return text;
  }
  const RowPlace place = contribution.place;
  const TableInfo& info = rules_.tables[place.table];
  ReasonText text{.pack = rules_.packs[info.pack].name, .file = info.file, .line = rules_.line_of(place), .says = {},
                  .source = std::string(rules_.source_of(place)), .practice = rules_.practices[contribution.practice], .overrides = {}};
  const std::string effect = rules_.cell_of(place, "effect");
  const std::string parent = rules_.cell_of(place, "parent");
  const std::string at = rules_.cell_of(place, "at");
  const std::string quantity = rules_.cell_of(place, "quantity");
  if (effect == "drops") {
    text.says = "none";
  } else {
    text.says = (effect == "adds" ? "adds " : effect == "takes away" ? "takes away " : "") + quantity;
  }
  text.says += parent == "car" ? " to the car" : " to each " + parent;
  if (!at.empty()) text.says += " at " + at;
  // Rows of a kind stand in the order of reading, which is that of their places.
  const auto row = std::ranges::lower_bound(rules_.needs, place, {}, &NeedRow::place);
  if (row != rules_.needs.end() && row->place == place) {
    if (const std::string conditions = conditions_of(row->condition); !conditions.empty()) text.says += ", for " + conditions;
  }
  for (const RowPlace below : contribution.overrides) {
    const TableInfo& lower = rules_.tables[below.table];
    const std::string quantity_below = rules_.cell_of(below, "quantity");
    text.overrides.push_back((quantity_below.empty() ? "none" : quantity_below) + " of " + rules_.packs[lower.pack].name + " " + lower.file + ":" + std::to_string(rules_.line_of(below)));
  }
  return text;
}

CoveredText Wording::covered(const Covered& covered) const {
  static constexpr auto kSources = std::to_array<std::string_view>({"stock", "order", "list"});
  CoveredText text{.from = {}, .line = {}, .part_number = {}, .quantity = covered.quantity.lo, .quantity_hi = covered.quantity.hi, .bag = {}};
  const auto of_item = [&] {
    const SupplyItem& item = model_.supplies().items[covered.item];
    const ReadLine& read = model_.supplies().read(item);
    text.line = read.line;
    text.part_number = read.part_number;
    text.bag = read.bag;
    return std::string(kSources[static_cast<std::size_t>(model_.supplies().lines[item.line].source)]);
  };
  switch (covered.from) {
    case CoverPiece::From::Item: text.from = of_item(); break;
    case CoverPiece::From::Bundle:
      of_item();
      text.from = "bundle";
      break;
    case CoverPiece::From::Work: text.from = "work"; break;
    case CoverPiece::From::Old:
    case CoverPiece::From::OldAssembly:
      text.from = "old";
      text.bag = model_.needs().line(covered.old_line).count.bag;
      break;
  }
  return text;
}

RivalsText Wording::rivals(const Rivals& rivals) const {
  RivalsText text{.needs = {}, .supplies = {}, .given = {}, .wanted = rivals.wanted, .from_above = rivals.from_above, .pieces = rivals.pieces, .others_lack = rivals.others_lack};
  for (const LineId line : rivals.needs) text.needs.push_back(model_.needs().id_of(line));
  for (const Solver::Given& given : rivals.given) {
    CoveredText supply = covered({.from = given.item ? CoverPiece::From::Item : CoverPiece::From::Old, .item = given.item.value_or(0),
                                  .old_line = given.old_line, .quantity = {given.pieces, given.pieces}});
    if (given.item) {
      const ReadLine& read = model_.supplies().read(model_.supplies().items[*given.item]);
      text.supplies.push_back("line " + std::to_string(read.line) + " " + (read.part_number.empty() ? read.description : read.part_number));
    } else {
      text.supplies.push_back("the old pieces of " + model_.needs().id_of(given.old_line));
    }
    text.given.push_back(std::move(supply));
  }
  return text;
}

std::optional<TakeOff> Wording::take_off(const Line& line) const {
  const MoveOverRow* best = nullptr;
  for (const MoveOverRow& row : rules_.move_over) {
    if (row.assembly != line.parent || row.sub_part != line.part) continue;
    if (holds(rules_.condition(row.condition), model_.needs().knowledge().sets(), rules_.facts) == Ternary::No) continue;
    if (best == nullptr || rules_.layer(row.place) > rules_.layer(best->place)) best = &row;
  }
  if (best == nullptr) return std::nullopt;
  return TakeOff{.held_by = best->held_by, .tool = best->tool, .breaks = best->breaks, .record_first = best->record_first, .judge = best->judge,
                 .if_no_good = best->if_no_good, .source = std::string(rules_.source_of(best->place)), .minutes = best->minutes};
}

std::string Wording::remedy(const Line& line) const {
  for (const SuppliedWithoutRow& row : rules_.supplied_without) {
    if (row.assembly != line.parent || row.sub_part != line.part || row.remedy == Remedy::None) continue;
    if (holds(rules_.condition(row.condition), model_.needs().knowledge().sets(), rules_.facts) == Ternary::No) continue;
    return std::string(remedy_word(row.remedy));
  }
  return {};
}

// Nobody sells a hole: it is cut, drilled or marked, or the supplier is asked.
std::string Wording::make_it(const ReportLine& text) const {
  if (text.remedy == "mark") return "no old part to mark it from: measure, then make";
  return text.remedy.empty() ? "ask who makes it: cut or drill" : text.remedy;
}

// Every source that may serve, in the order in which they are used.
std::string Wording::covered_action(const ReportLine& text) const {
  const auto has = [&](std::string_view from) {
    return std::ranges::any_of(text.covered_by, [&](const CoveredText& covered) { return covered.from == from && covered.quantity_hi.sign() > 0; });
  };
  std::string action;
  const auto say = [&](bool applies, const std::string& words) {
    if (applies) action += (action.empty() ? "" : "; ") + words;
  };
  say(has("stock"), "fit from what is in hand");
  say(has("order"), "wait for the order");
  say(has("list"), "fit from the planned parts");
  say(has("bundle"), "it comes with its assembly");
  say(has("work"), text.remedy.empty() ? "make it when the part is fitted" : text.remedy + " it when the part is fitted");
  return action.empty() ? "nothing to do" : action;
}

std::string Wording::stand_in(const LineAnswer& answer) const {
  std::set<PartId> told;
  std::string says;
  for (const Covered& covered : answer.covered_by) {
    if (!covered.is_stand_in) continue;
    const bool is_old = covered.from == CoverPiece::From::Old || covered.from == CoverPiece::From::OldAssembly;
    const PartId used = is_old ? model_.needs().line(covered.old_line).part : model_.supplies().items[covered.item].part;
    if (!told.insert(used).second) continue;
    if (!changes_) changes_.emplace(rules_, model_.needs().knowledge().sets());
    const std::string change = changes_->of(model_.needs().line(answer.line).part, used);
    says += says.empty() ? "" : "; ";
    says += change.empty() ? "a stand-in: " + in_ticks(rules_.part_keys[used.index]) + " is allowed here" : "stand-in: " + change;
  }
  return says;
}

std::string Wording::action(const LineAnswer& answer, const ReportLine& text) const {
  const auto amount = [&](const Range& range) { return range_text(range) + (text.unit == "each" ? "" : " " + text.unit); };
  switch (answer.status) {
    case Status::Covered:
      return text.stand_in.empty() ? covered_action(text) : text.stand_in;
    case Status::MoveOver:
      if (text.kind == PartKind::Hole || text.kind == PartKind::Opening) return "mark " + amount(answer.need) + " out from the old " + text.parent;
      return "take off the old part and keep " + amount({answer.from_old, answer.from_old}) + " before the bin";
    case Status::ToSettle: return "settle first: up to " + amount({answer.gap.hi, answer.gap.hi}) + " may lack";
    case Status::Short:
      if (text.kind == PartKind::Hole || text.kind == PartKind::Opening) return make_it(text) + " " + amount(answer.gap) + " more";
      return "buy " + amount(answer.gap) + " more";
    case Status::Missing:
      if (!text.folded_under.empty()) return "comes with it if bought complete";
      if (text.kind == PartKind::Hole || text.kind == PartKind::Opening) return make_it(text) + " " + amount(answer.gap);
      return text.remedy == "move over" ? "keep the old one or buy " + amount(answer.gap) : "buy " + amount(answer.gap);
    case Status::DoesNotFit: return "the planned part is for another car: buy " + amount(answer.gap) + " that fit";
  }
  return {};
}

std::string Wording::distance_among(FactId fact, const std::vector<ConditionId>& conditions) const {
  const ValueSet& known = model_.needs().knowledge().sets()[fact.index];
  if (known.intervals().size() != 1) return {};
  const ValueSet::Interval& here = known.intervals().front();
  const FactDomain& domain = rules_.facts[fact.index].domain;
  // Nothing is known of it: there is no distance to say.
  if (!here.lo || !here.hi || known == model_.rules().fact_spaces[fact.index] || (here.lo == domain.least && here.hi == domain.greatest)) return {};
  std::optional<Fraction> nearest_cut;
  Fraction distance;
  const auto consider = [&](const std::optional<Fraction>& cut) {
    if (!cut) return;
    const Fraction away = *cut > *here.hi ? *cut - *here.hi : *cut < *here.lo ? *here.lo - *cut : Fraction(0);
    if (nearest_cut && away >= distance) return;
    nearest_cut = cut;
    distance = away;
  };
  const auto is_across = [&] { return nearest_cut && distance.is_zero(); };
  for (const ConditionId condition : conditions) {
    for (const Condition::Test& test : rules_.condition(condition).tests) {
      if (test.fact != fact) continue;
      for (const ValueSet::Interval& interval : test.values.intervals()) {
        consider(interval.lo);
        // A row up to and with a number changes at the next one.
        if (interval.hi) consider(rules_.facts[fact.index].domain.whole && interval.hi_closed ? *interval.hi + Fraction(1) : *interval.hi);
      }
    }
  }
  if (!nearest_cut || is_across()) return {};
  const FactType type = rules_.facts[fact.index].domain.type;
  return "`" + rules_.facts[fact.index].name + "` " + known.to_unary_test() + " lies " + distance.to_text() + " from the cut at " + text_of(FactValue(*nearest_cut), type);
}

std::string Wording::distance_of(FactId fact) const {
  std::vector<ConditionId> all;
  for (std::uint32_t index = 0; index < rules_.conditions.size(); ++index) all.push_back(ConditionId{index});
  if (std::string own = distance_among(fact, all); !own.empty()) return own;
  std::vector<ConditionId> deriving;
  for (const FactRow& row : rules_.fact_rows) {
    if (row.fact == fact) deriving.push_back(row.condition);
  }
  for (const ConditionId condition : deriving) {
    for (const Condition::Test& test : rules_.condition(condition).tests) {
      if (std::string other = distance_among(test.fact, deriving); !other.empty()) return other;
    }
  }
  return {};
}

SettleText Wording::question(const OpenQuestion& question) const {
  SettleText text;
  text.settles = question.settles;
  switch (question.unknown.kind) {
    case Unknown::Kind::Fact: {
      const Fact& fact = rules_.facts[question.unknown.first];
      text.about = "fact";
      text.fact = fact.name;
      text.ask = fact.ask.empty() ? "what is the " + fact.name + "?" : fact.ask;
      text.look_at = fact.look_at;
      text.distance = distance_of(FactId{question.unknown.first});
      break;
    }
    case Unknown::Kind::OldPart: {
      const Line& line = model_.needs().line(LineId{question.unknown.first});
      text.about = "old part";
      text.part = rules_.part_keys[line.part.index];
      text.position = rules_.positions.path(line.position);
      text.ask = "is the old " + name_of(line.part) + " at " + text.position + " there and good?";
      if (const auto take_off = this->take_off(line)) text.look_at = take_off->judge;
      break;
    }
    case Unknown::Kind::Practice:
      text.about = "practice";
      text.part = rules_.part_keys[question.unknown.second];
      text.ask = "which practice is followed for " + name_of(PartId{question.unknown.second}) + "?";
      break;
    default: {
      text.about = "list line";
      const SupplyLine& line = model_.supplies().lines[question.unknown.first];
      const ReadLine& read = model_.supplies().read(line);
      text.line = read.line;
      const std::string name = in_ticks(read.part_number.empty() ? read.description : read.part_number);
      text.ask = question.unknown.kind == Unknown::Kind::Quantity  ? "how many is " + name + "? count these"
                 : question.unknown.kind == Unknown::Kind::Meaning ? "which supplier's is " + name + "? the number means several things"
                 : question.unknown.kind == Unknown::Kind::PairHand ? "is the pair of " + name + " two of one hand, or one of each?"
                                                                    : "where does " + name + " go: which position or hand?";
    }
  }
  return text;
}

SupplierQuestion Wording::supplier_question(const OpenQuestion& question, std::vector<std::string> lines) const {
  const PartId part{question.unknown.second};
  SupplierQuestion text{.supplier = {}, .part_number = {}, .question = {}, .lines = std::move(lines)};
  constexpr std::uint32_t kByLine = 1u << 31;
  std::string of;
  if ((question.unknown.first & kByLine) != 0) {
    const ReadLine& read = model_.supplies().read(model_.supplies().lines[question.unknown.first & ~kByLine]);
    text.supplier = read.supplier;
    text.part_number = read.part_number;
    of = read.part_number.empty() ? read.description : read.part_number;
  } else {
    const OfferKey& key = rules_.offer_keys[question.unknown.first];
    text.supplier = key.supplier;
    text.part_number = key.part_number;
    of = key.part_number;
  }
  const PartKind kind = model_.needs().part_row(part).kind;
  text.question = kind == PartKind::Opening ? "Is the " + name_of(part) + " cut in " + of + "?"
                  : kind == PartKind::Hole  ? "Are the holes (" + name_of(part) + ") made in " + of + "?"
                                            : "Does " + of + " come with its " + name_of(part) + ", and how many?";
  return text;
}

void Wording::read_as(std::uint32_t supply_line, ListText& text) const {
  // The items stand in the order of their lines.
  const auto items = std::ranges::equal_range(model_.supplies().items, supply_line, {}, &SupplyItem::line);
  const auto has = [&](Hand hand) {
    return std::ranges::any_of(items, [&](const SupplyItem& item) { return item.hand == hand && item.part == items.front().part && item.quantity == items.front().quantity && item.in_pair_reading != std::optional(false); });
  };
  for (const SupplyItem& item : items) {
    const std::string& key = rules_.part_keys[item.part.index];
    if (std::ranges::find(text.parts, key) == text.parts.end()) text.parts.push_back(key);
    if (text.parts.size() == 1 && text.parts.front() == key && text.quantity.empty()) {
      const Unit unit = model_.needs().part_row(item.part).unit;
      const Fraction pack = item.pack_size;
      text.quantity = item.is_quantity_unknown ? "quantity not known" : figure_text(item.quantity, unit) + (unit == Unit::Each ? " pieces" : "");
      if (pack > Fraction(1) && !item.is_quantity_unknown) {
        const Fraction packs = item.quantity / pack;
        text.quantity += ": " + packs.to_text() + " of " + pack.to_text();
      }
      if (has(Hand::Left) && has(Hand::Right)) text.quantity += " of each hand";
    }
  }
  const SupplyLine& line = model_.supplies().lines[supply_line];
  std::string meaning;
  for (const Meaning& meant : line.meanings) {
    if (!meaning.empty()) meaning += " or ";
    if (meant.offer) {
      const OfferKey& key = rules_.offer_keys[meant.offer->index];
      const auto& rows = model_.supplies().rows_of(*meant.offer).rows;
      const bool is_kit = !rows.empty() && !rules_.offers[rows.front()].part;
      meaning += key.supplier + " " + key.part_number + (is_kit ? " (a kit)" : rows.empty() ? "" : " (" + name_of(*rules_.offers[rows.front()].part) + ")");
    } else {
      meaning += "single pieces of " + name_of(*meant.part);
    }
  }
  text.read_as = meaning + (text.quantity.empty() ? "" : ", " + text.quantity);
}

}  // namespace kitgap
