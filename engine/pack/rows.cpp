#include <algorithm>

#include "pack/cells.h"
#include "pack/fact_value.h"
#include "pack/row_readers.h"
#include "text/ascii.h"
#include "text/codes.h"

namespace kitgap {
namespace {

// One value, or several as unary tests ("both seen"): `"early", "late"`; quoted or bare.
void read_facts(Cells& cells) {
  const auto fact = cells.column("fact"), value = cells.column("value");
  for (std::size_t row = 0; row < cells.row_count(); ++row) {
    cells.go_to(row);
    const auto name = cells.filled(fact, "fact");
    const auto text = cells.filled(value, "value");
    if (!name || !text) continue;
    Rules& rules = cells.rules();
    const auto id = rules.find_fact(*name);
    if (!id) {
      std::vector<std::string> names;
      for (const Fact& known : rules.facts) names.push_back(known.name);
      cells.error(fact, code::kUnknownFact, "`" + std::string(*name) + "` is no fact of these packs",
                  "a fact that a manifest declares", nearest(*name, names));
      continue;
    }
    Condition values;
    const Fact& declared = rules.facts[id->index];
    if (const auto plain = parse_fact_value(*text, declared.domain.type); plain && is_allowed(declared.domain, *plain) &&
        (text->front() == '"' ? text->find('"', 1) == text->size() - 1 : text->find(',') == std::string_view::npos)) {
      values.tests.push_back({.fact = *id, .values = ValueSet::of(declared.domain, *plain), .span = {}});
    } else if (!add_cell(values, *id, *text, cells.info().table.span(row, *value), rules.facts, cells.diagnostics())) {
      continue;
    }
    if (values.tests.empty()) values.tests.push_back({.fact = *id, .values = ValueSet::all(declared.domain), .span = {}});
    rules.fact_rows.push_back({.fact = *id, .values = values.tests[0].values, .condition = cells.condition(), .place = cells.place()});
  }
}

std::vector<Property> read_properties(Cells& cells, const std::vector<std::size_t>& columns) {
  std::vector<Property> properties;
  for (const std::size_t column : columns) {
    const std::string_view cell = cells.text(column);
    if (cell.empty()) continue;
    const std::string& name = cells.info().table.header()[column];
    const std::string unit = cells.declared_unit(name).value_or("");
    if (unit == "text") {
      properties.push_back({.name = name, .value = 0, .unit = unit, .text = std::string(cell)});
      continue;
    }
    const auto wanted = find_unit(unit);
    const MeasuredReading measured = read_measured(cell);
    std::optional<Fraction> value = parse_mixed_number(cell);
    if (measured.value && wanted) value = convert(measured.value->quantity, measured.value->unit, *wanted);
    if (!value) {
      cells.error(column, code::kInvalidCell, "`" + std::string(cell) + "` is no figure of the property `" + name + "`",
                  unit.empty() ? "a number" : "a number, or a number and a unit that `" + unit + "` can be worked out from");
      continue;
    }
    properties.push_back({.name = name, .value = *value, .unit = unit});
  }
  return properties;
}

// Columns that are no column of the kind and no fact: the schema declares them as properties of parts.
std::vector<std::size_t> property_columns(const Cells& cells) {
  std::vector<std::size_t> columns;
  const TableInfo& info = cells.info();
  for (std::size_t column = 0; column < info.table.header().size(); ++column) {
    const std::string& name = info.table.header()[column];
    const auto is_named = [&](const ColumnWord& word) { return word.name == name; };
    if (std::ranges::any_of(word_of(TableKind::Parts).columns, is_named)) continue;
    if (std::ranges::find(kCommonColumns, name) != kCommonColumns.end()) continue;
    const bool is_fact = std::ranges::any_of(info.fact_columns, [&](const auto& entry) { return entry.first == column; });
    if (!is_fact) columns.push_back(column);
  }
  return columns;
}

const Words<PartKind> kPartKinds = {{"piece", PartKind::Piece}, {"assembly", PartKind::Assembly},
                                    {"opening", PartKind::Opening}, {"hole", PartKind::Hole},
                                    {"consumable", PartKind::Consumable}};

void read_parts(Cells& cells) {
  const auto part = cells.column("part"), name = cells.column("name"), unit = cells.column("unit"),
             kind = cells.column("kind"), handed = cells.column("handed"), fits = cells.column("fits"),
             area = cells.column("area"), rate = cells.column("break rate"), batch = cells.column("batch"),
             aliases = cells.column("aliases");
  const std::vector<std::size_t> properties = property_columns(cells);
  for (const std::size_t column : properties) {
    const std::string& property = cells.info().table.header()[column];
    cells.rules().property_columns.push_back({.name = property, .unit = cells.declared_unit(property).value_or(""), .layer = cells.info().pack});
  }
  for (std::size_t row = 0; row < cells.row_count(); ++row) {
    cells.go_to(row);
    const auto key = cells.text(part);
    const auto id = cells.rules().find_part(key);
    if (!id || *id == Rules::kCar) continue;  // reported when the keys were declared
    PartRow typed;
    typed.part = *id;
    typed.name = cells.is_empty(name) ? std::string(key) : cells.string(name);
    if (!cells.is_empty(unit)) {
      if (const auto known = find_unit(cells.text(unit))) {
        typed.unit = *known;
      } else {
        cells.error(unit, code::kInvalidCell, "`" + cells.string(unit) + "` is no unit",
                    "a unit such as `each`, `m`, `m2` or `l`", nearest(cells.text(unit), unit_spellings()));
      }
    }
    typed.kind = cells.word<PartKind>(kind, kPartKinds, PartKind::Piece);
    typed.is_handed = cells.yes_no(handed).value_or(false);
    const Fits by_default = typed.kind == PartKind::Assembly ? Fits::ByPosition
                            : typed.is_handed               ? Fits::ByHand
                                                            : Fits::Anywhere;
    typed.fits = cells.word<Fits>(
        fits, {{"anywhere", Fits::Anywhere}, {"hand", Fits::ByHand}, {"position", Fits::ByPosition}}, by_default);
    typed.area = cells.string(area);
    typed.break_rate = cells.share(rate);
    if (typed.break_rate && *typed.break_rate > Fraction(1)) {
      cells.error(rate, code::kInvalidCell, "`" + cells.string(rate) + "` is no share of pieces that break", "0 to 1, or `30 %`");
    }
    typed.batch = cells.string(batch);
    typed.aliases = cells.string(aliases);
    typed.properties = read_properties(cells, properties);
    typed.condition = cells.condition();
    typed.place = cells.place();
    cells.rules().parts.push_back(std::move(typed));
  }
}

const Words<Effect> kEffects = {{"sets", Effect::Sets}, {"adds", Effect::Adds}, {"takes away", Effect::TakesAway},
                                {"drops", Effect::Drops}};
const Words<Basis> kBases = {{"table", Basis::Table}, {"estimate", Basis::Estimate}};

void read_needs(Cells& cells) {
  const auto parent = cells.column("parent"), at = cells.column("at"), part = cells.column("part"),
             quantity = cells.column("quantity"), effect = cells.column("effect"), practice = cells.column("practice"),
             old = cells.column("old"), stops = cells.column("stops"), basis = cells.column("basis");
  const std::vector<Unit> units = units_of_parts(cells.rules());
  std::vector<NeedRow>& needs = cells.rules().needs;
  needs.reserve(needs.size() + cells.row_count());
  for (std::size_t row = 0; row < cells.row_count(); ++row) {
    cells.go_to(row);
    NeedRow typed;
    const auto parent_key = cells.filled(parent, "parent");
    const auto part_key = cells.filled(part, "part");
    if (!parent_key || !part_key) continue;
    const auto parent_id = *parent_key == "car" ? std::optional(Rules::kCar) : cells.part_named(*parent_key, parent);
    const auto part_id = cells.part_named(*part_key, part);
    typed.effect = cells.word<Effect>(effect, kEffects, Effect::Sets);
    typed.at = cells.places(at);
    typed.practice = cells.practice(practice);
    const OldUse kNone = OldUse::May;
    if (!cells.is_empty(old)) {
      typed.old = cells.word<OldUse>(old, {{"may", OldUse::May}, {"must", OldUse::Must}, {"must not", OldUse::MustNot}}, kNone);
    }
    typed.stops = cells.yes_no(stops);
    typed.basis = cells.word<Basis>(basis, kBases, Basis::Table);
    typed.condition = cells.condition();
    typed.place = cells.place();
    if (cells.is_empty(quantity) && typed.effect != Effect::Drops) {
      cells.filled(quantity, "quantity");
      continue;
    }
    if (!parent_id || !part_id) continue;
    typed.parent = *parent_id;
    typed.part = *part_id;
    if (typed.effect != Effect::Drops) typed.quantity = cells.figure(quantity, unit_of(*part_id, units), {});
    needs.push_back(typed);
  }
}

void read_replaces(Cells& cells) {
  const auto from = cells.column("from"), to = cells.column("to"), kind = cells.column("kind"),
             both = cells.column("both ways"), change = cells.column("change");
  for (std::size_t row = 0; row < cells.row_count(); ++row) {
    cells.go_to(row);
    if (!cells.filled(from, "from") || !cells.filled(to, "to")) continue;
    cells.rules().replaces.push_back(
        {.from = cells.string(from),
         .to = cells.string(to),
         .from_part = cells.rules().find_part(cells.text(from)),
         .to_part = cells.rules().find_part(cells.text(to)),
         .kind = cells.word<ReplaceKind>(kind, {{"replaces", ReplaceKind::Replaces}, {"allowed", ReplaceKind::Allowed},
                                                {"looks alike", ReplaceKind::LooksAlike}}, ReplaceKind::Replaces),
         .both_ways = cells.yes_no(both).value_or(false),
         .change = cells.string(change),
         .condition = cells.condition(),
         .place = cells.place()});
  }
}

// `tab 4; glue 0.05 l`: a part, then a figure in its unit or with a unit of its own.
std::vector<Takes> read_takes(Cells& cells, Cells::Column column, const std::vector<Unit>& units) {
  std::vector<Takes> takes;
  std::string_view rest = cells.text(column);
  while (!rest.empty()) {
    const std::size_t end = rest.find(';');
    const std::string_view entry = trimmed(rest.substr(0, end));
    rest = end == std::string_view::npos ? std::string_view{} : rest.substr(end + 1);
    if (entry.empty()) continue;
    const std::size_t blank = entry.find(' ');
    const auto part = cells.part_named(entry.substr(0, blank), column);
    if (!part) continue;
    const std::string_view figure = blank == std::string_view::npos ? "1" : trimmed(entry.substr(blank));
    const Unit unit = units[part->index];
    std::optional<Fraction> quantity = parse_mixed_number(figure);
    if (const auto measured = parse_measured(figure)) quantity = convert(measured->quantity, measured->unit, unit);
    if (!quantity || quantity->sign() < 0) {
      cells.error(column, code::kInvalidCell, "`" + std::string(entry) + "` is no part and figure",
                  "a part and a figure in " + std::string(word_of(unit)) + ", `;` between, such as `tab 4; glue 0.05 l`");
      continue;
    }
    takes.push_back({.part = *part, .quantity = *quantity});
  }
  return takes;
}

void read_move_over(Cells& cells) {
  const auto assembly = cells.column("assembly"), sub_part = cells.column("sub-part"), held = cells.column("held by"),
             tool = cells.column("tool"), breaks = cells.column("breaks"), record = cells.column("record first"),
             judge = cells.column("judge"), no_good = cells.column("if no good"), takes = cells.column("takes"),
             minutes = cells.column("minutes");
  const std::vector<Unit> units = units_of_parts(cells.rules());
  for (std::size_t row = 0; row < cells.row_count(); ++row) {
    cells.go_to(row);
    if (!cells.filled(assembly, "assembly") || !cells.filled(sub_part, "sub-part")) continue;
    const auto assembly_id = cells.part(assembly);
    const auto sub_id = cells.part(sub_part);
    if (!assembly_id || !sub_id) continue;
    cells.rules().move_over.push_back(
        {.assembly = *assembly_id, .sub_part = *sub_id, .held_by = cells.string(held), .tool = cells.string(tool),
         .breaks = cells.string(breaks), .record_first = cells.string(record), .judge = cells.string(judge),
         .if_no_good = cells.string(no_good), .takes = read_takes(cells, takes, units),
         .minutes = cells.number(minutes), .condition = cells.condition(), .place = cells.place()});
  }
}

void read_pairings(Cells& cells) {
  const auto part = cells.column("part"), other = cells.column("other part"), ratio = cells.column("ratio"), per = cells.column("per");
  for (std::size_t row = 0; row < cells.row_count(); ++row) {
    cells.go_to(row);
    if (!cells.filled(part, "part") || !cells.filled(other, "other part")) continue;
    const auto part_id = cells.part(part);
    const auto other_id = cells.part(other);
    if (!part_id || !other_id) continue;
    cells.rules().pairings.push_back({.part = *part_id, .other = *other_id,
                                      .ratio = cells.number(ratio).value_or(Fraction(1)),
                                      .per_car = cells.word<bool>(per, {{"position", false}, {"car", true}}, false),
                                      .condition = cells.condition(), .place = cells.place()});
  }
}

void read_limits(Cells& cells) {
  const auto part = cells.column("part"), property = cells.column("property"), test = cells.column("test"),
             severity = cells.column("severity"), message = cells.column("message");
  const FactDomain& figures = domain_of_figures();
  const FactDomain& words = domain_of_words();
  for (std::size_t row = 0; row < cells.row_count(); ++row) {
    cells.go_to(row);
    if (!cells.filled(part, "part") || !cells.filled(property, "property") || !cells.filled(test, "test")) continue;
    const auto part_id = cells.part(part);
    const FactDomain& domain = cells.text(test).find('"') == std::string_view::npos ? figures : words;
    const std::vector<Fact> one = {{.name = cells.string(property), .domain = domain}};
    Condition passes;
    if (!add_cell(passes, FactId{0}, cells.text(test), cells.info().table.span(row, *test), one, cells.diagnostics())) continue;
    if (!part_id) continue;
    // The set refers to the domain of `one`, which ends here: take it over into the lasting one.
    ValueSet values = ValueSet::none(domain);
    if (passes.tests.empty()) {
      values = ValueSet::all(domain);
    } else if (&domain == &words) {
      const ValueSet& passing = passes.tests[0].values;
      const bool is_excluding = !passing.size();  // `not("M5")`
      const ValueSet named = is_excluding ? ValueSet::all(one[0].domain) - passing : passing;
      if (is_excluding) values = ValueSet::all(domain);
      for (const FactValue& text : named.values()) {
        const ValueSet single = ValueSet::of(domain, text);
        values = is_excluding ? values - single : values | single;
      }
    } else {
      for (const ValueSet::Interval& interval : passes.tests[0].values.intervals()) values = values | ValueSet::of(figures, interval);
    }
    cells.rules().limits.push_back(
        {.part = *part_id, .property = cells.string(property), .test = cells.string(test), .values = std::move(values),
         .severity = cells.word<Severity>(severity, {{"error", Severity::Error}, {"warning", Severity::Warning}, {"note", Severity::Note}}, Severity::Warning),
         .message = cells.string(message), .condition = cells.condition(), .place = cells.place()});
  }
}

void read_sizes(Cells& cells) {
  const auto part = cells.column("part"), position = cells.column("position"), width = cells.column("width"),
             height = cells.column("height"), perimeter = cells.column("perimeter"), outline = cells.column("outline");
  for (std::size_t row = 0; row < cells.row_count(); ++row) {
    cells.go_to(row);
    const auto part_id = cells.filled(part, "part") ? cells.part(part) : std::nullopt;
    const PlacesId at = cells.places(position);
    SizeRow typed{.part = part_id.value_or(Rules::kCar), .at = at, .width = cells.length(width),
                  .height = cells.length(height), .perimeter = cells.length(perimeter),
                  .outline = cells.string(outline), .condition = cells.condition(), .place = cells.place()};
    if (!typed.perimeter && typed.width && typed.height) typed.perimeter = (*typed.width + *typed.height) * Fraction(2);
    if (part_id) cells.rules().sizes.push_back(std::move(typed));
  }
}

void read_consumes(Cells& cells) {
  const auto assembly = cells.column("assembly"), part = cells.column("part"), quantity = cells.column("quantity"),
             margin = cells.column("margin"), waste = cells.column("waste");
  const std::vector<Unit> units = units_of_parts(cells.rules());
  for (std::size_t row = 0; row < cells.row_count(); ++row) {
    cells.go_to(row);
    if (!cells.filled(assembly, "assembly") || !cells.filled(part, "part") || !cells.filled(quantity, "quantity")) continue;
    const auto assembly_id = cells.part(assembly);
    const auto part_id = cells.part(part);
    if (!assembly_id || !part_id) continue;
    ConsumesRow typed{.assembly = *assembly_id, .part = *part_id,
                      .quantity = cells.figure(quantity, units[part_id->index], kSizeNames),
                      .margin = {}, .margin_is_share = cells.text(margin).ends_with('%'),
                      .waste = cells.share(waste).value_or(Fraction(0)), .condition = cells.condition(), .place = cells.place()};
    typed.margin = typed.margin_is_share ? cells.share(margin) : cells.length(margin);
    cells.rules().consumes.push_back(std::move(typed));
  }
}

std::vector<std::string> words_of(std::string_view cell) {
  std::vector<std::string> words;
  while (!cell.empty()) {
    const std::size_t end = cell.find(';');
    if (const auto word = trimmed(cell.substr(0, end)); !word.empty()) words.emplace_back(word);
    if (end == std::string_view::npos) break;
    cell.remove_prefix(end + 1);
  }
  return words;
}

void read_steps(Cells& cells) {
  const auto step = cells.column("step"), fits = cells.column("fits"), after = cells.column("after"),
             minutes = cells.column("minutes"), tools = cells.column("tools"), hold = cells.column("hold");
  for (std::size_t row = 0; row < cells.row_count(); ++row) {
    cells.go_to(row);
    if (!cells.filled(step, "step")) continue;
    cells.rules().steps.push_back({.step = cells.string(step), .fits = cells.parts(fits), .after = words_of(cells.text(after)),
                                   .minutes = cells.minutes(minutes), .tools = cells.string(tools),
                                   .hold = cells.string(hold), .condition = cells.condition(), .place = cells.place()});
  }
}

void read_cautions(Cells& cells) {
  const auto part = cells.column("part"), step = cells.column("step"), text = cells.column("text");
  for (std::size_t row = 0; row < cells.row_count(); ++row) {
    cells.go_to(row);
    const auto part_id = cells.part(part);
    if (!cells.filled(text, "text") || (!part_id && !cells.is_empty(part))) continue;
    if (cells.is_empty(part) == cells.is_empty(step)) {
      cells.error(text, code::kMissingCell, "a caution goes with a part or with a step", "one of `part` and `step`");
      continue;
    }
    cells.rules().cautions.push_back({.part = part_id, .step = cells.string(step), .text = cells.string(text),
                                      .condition = cells.condition(), .place = cells.place()});
  }
}

}  // namespace

Unit unit_of(PartId part, const std::vector<Unit>& units) {
  return part.index < units.size() ? units[part.index] : Unit::Each;
}

std::vector<Unit> units_of_parts(const Rules& rules) {
  std::vector<Unit> units(rules.part_keys.size(), Unit::Each);
  for (const PartRow& row : rules.parts) units[row.part.index] = row.unit;
  return units;
}

void declare_parts(Cells& cells) {
  const auto part = cells.column("part");
  for (std::size_t row = 0; row < cells.row_count(); ++row) {
    cells.go_to(row);
    const auto key = cells.filled(part, "part");
    if (!key) continue;
    if (*key == "car" || key->find_first_of("/;") != std::string_view::npos) {
      cells.error(part, code::kInvalidCell, "`" + std::string(*key) + "` cannot be the key of a part",
                  "a word without `/` and `;`, and not `car`");
      continue;
    }
    Rules& rules = cells.rules();
    const auto [entry, is_new] = rules.part_by_key.try_emplace(std::string(*key), PartId{static_cast<std::uint32_t>(rules.part_keys.size())});
    if (is_new) rules.part_keys.emplace_back(*key);
  }
}

void read_rows(TableKind kind, Cells& cells) {
  switch (kind) {
    case TableKind::Suppliers: return read_suppliers(cells);
    case TableKind::Facts: return read_facts(cells);
    case TableKind::Parts: return read_parts(cells);
    case TableKind::Needs: return read_needs(cells);
    case TableKind::Offers: return read_offers(cells);
    case TableKind::Contents: return read_contents(cells);
    case TableKind::SuppliedWithout: return read_supplied_without(cells);
    case TableKind::Replaces: return read_replaces(cells);
    case TableKind::MoveOver: return read_move_over(cells);
    case TableKind::Pairings: return read_pairings(cells);
    case TableKind::Limits: return read_limits(cells);
    case TableKind::Sizes: return read_sizes(cells);
    case TableKind::Consumes: return read_consumes(cells);
    case TableKind::Steps: return read_steps(cells);
    case TableKind::Cautions: return read_cautions(cells);
  }
}

}  // namespace kitgap
