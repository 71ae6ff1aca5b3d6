#include "pack/kept_rules.h"

#include <re2/re2.h>

#include "text/archive.h"

namespace kitgap {

void visit_fields(auto& archive, Is<Property> auto& property) { archive(property.name, property.value, property.unit, property.text); }

void visit_fields(auto& archive, Is<PropertyColumn> auto& column) { archive(column.name, column.unit, column.layer); }

void visit_fields(auto& archive, Is<PartRow> auto& row) {
  archive(row.part, row.name, row.unit, row.kind, row.is_handed, row.fits, row.area, row.break_rate, row.batch, row.aliases, row.properties, row.condition,
          row.place);
}

void visit_fields(auto& archive, Is<FactRow> auto& row) { archive(row.fact, row.values, row.condition, row.place); }

void visit_fields(auto& archive, Is<SupplierRow> auto& row) {
  archive(row.supplier, row.shipping, row.free_shipping_from, row.minimum_order, row.currency, row.lead_time_days, row.return_days, row.condition, row.place);
}

void visit_fields(auto& archive, Is<OfferRow> auto& row) {
  archive(row.offer, row.name, row.part, row.position, row.supplied_as, row.promises, row.stated_pieces, row.pack_size, row.price, row.currency, row.minimum,
          row.lead_time_days, row.returnable, row.return_days, row.state, row.condition, row.place);
}

void visit_fields(auto& archive, Is<SuppliedWithoutRow> auto& row) {
  archive(row.supplier, row.offer, row.assembly, row.sub_part, row.remedy, row.minutes, row.condition, row.place);
}

void visit_fields(auto& archive, Is<ReplacesRow> auto& row) {
  archive(row.from, row.to, row.from_part, row.to_part, row.kind, row.both_ways, row.change, row.condition, row.place);
}

void visit_fields(auto& archive, Is<MoveOverRow> auto& row) {
  archive(row.assembly, row.sub_part, row.held_by, row.tool, row.breaks, row.record_first, row.judge, row.if_no_good, row.takes, row.minutes, row.condition,
          row.place);
}

void visit_fields(auto& archive, Is<LimitRow> auto& row) {
  archive(row.part, row.property, row.test, row.values, row.severity, row.message, row.condition, row.place);
}

void visit_fields(auto& archive, Is<SizeRow> auto& row) {
  archive(row.part, row.at, row.width, row.height, row.perimeter, row.outline, row.condition, row.place);
}

void visit_fields(auto& archive, Is<StepRow> auto& row) {
  archive(row.step, row.fits, row.after, row.minutes, row.tools, row.hold, row.condition, row.place);
}

void visit_fields(auto& archive, Is<CautionRow> auto& row) { archive(row.part, row.step, row.text, row.condition, row.place); }

void visit_fields(auto& archive, Is<PackInfo> auto& pack) { archive(pack.name, pack.version, pack.hash); }

void visit_fields(auto& archive, Is<TableInfo> auto& table) {
  archive(table.pack, table.file, table.kind, table.table, table.fact_columns, table.when_column, table.source_column, table.note_column);
}

// Compiled anew of its text.
void visit_fields(auto& archive, Is<FactPattern> auto& pattern) { archive(pattern.fact, pattern.text, pattern.groups); }

void visit_fields(auto& archive, Is<OfferKey> auto& key) { archive(key.supplier, key.part_number); }

namespace {

struct KeptResidue {
  ResidueText text;
  std::vector<FactId> facts;
  Span span;
};

void visit_fields(auto& archive, Is<KeptResidue> auto& residue) { archive(residue.text, residue.facts, residue.span); }

struct KeptCondition {
  std::vector<Condition::Test> tests;
  std::vector<KeptResidue> residues;
};

void visit_fields(auto& archive, Is<KeptCondition> auto& condition) { archive(condition.tests, condition.residues); }

// A figure that is more than a number is read again from its text.
struct KeptFigure {
  std::optional<Fraction> constant;
  std::string cell;
  bool reads_sizes = false;
  Fraction scale = 1;
};

void visit_fields(auto& archive, Is<KeptFigure> auto& figure) { archive(figure.constant, figure.cell, figure.reads_sizes, figure.scale); }

void visit_rows(auto& archive, Is<Rules> auto& rules) {
  archive(rules.fact_spaces, rules.patterns, rules.packs, rules.tables, rules.positions, rules.part_keys, rules.offer_keys, rules.offer_by_key, rules.practices, rules.places);
  archive.arrays(rules.needs);
  archive(rules.parts, rules.fact_rows, rules.suppliers, rules.offers, rules.contents, rules.supplied_without, rules.replaces, rules.move_over);
  archive(rules.pairings, rules.property_columns, rules.limits, rules.sizes, rules.consumes, rules.steps, rules.cautions);
}

// What sets and tables point at, in this order; the facts' domains come last, once the facts are there.
ArchiveSurroundings around(const Sources& sources, SourceId first) {
  return {.objects = {&sources, &domain_of_figures(), &domain_of_words()}, .first_source = first};
}

void add_domains(ArchiveSurroundings& around, const Rules& rules) {
  for (const Fact& fact : rules.facts) around.objects.push_back(&fact.domain);
}

std::vector<KeptCondition> kept(const std::vector<Condition>& conditions) {
  std::vector<KeptCondition> all;
  for (const Condition& condition : conditions) {
    KeptCondition& one = all.emplace_back(KeptCondition{.tests = condition.tests, .residues = {}});
    for (const Condition::Residue& residue : condition.residues) one.residues.push_back({.text = text_of(residue), .facts = residue.facts, .span = residue.span});
  }
  return all;
}

std::vector<KeptFigure> kept(const std::vector<Figure>& figures) {
  std::vector<KeptFigure> all;
  for (const Figure& figure : figures) {
    all.push_back({.constant = figure.quantity.constant,
                   .cell = std::string(text_of(figure.quantity)),
                   .reads_sizes = !figure.quantity.inputs.empty(),
                   .scale = figure.scale});
  }
  return all;
}

bool read_again(std::vector<KeptCondition>& kept, Rules& rules) {
  for (KeptCondition& one : kept) {
    Condition& condition = rules.conditions.emplace_back();
    condition.tests = std::move(one.tests);
    for (KeptResidue& residue : one.residues) {
      auto expression = read_again(residue.text, rules.facts);
      if (!expression) return false;
      condition.residues.push_back({.expression = std::move(expression), .facts = std::move(residue.facts), .span = std::move(residue.span)});
    }
  }
  return true;
}

bool read_again(const std::vector<KeptFigure>& kept, Rules& rules) {
  for (const KeptFigure& one : kept) {
    Figure& figure = rules.figures.emplace_back();
    figure.scale = one.scale;
    figure.quantity.constant = one.constant;
    if (one.cell.empty()) continue;
    Diagnostics unsaid;
    const auto names = one.reads_sizes ? std::span(kSizeNames) : std::span<const std::string>();
    auto quantity = parse_quantity(one.cell, Span{}, rules.facts, names, unsaid);
    if (!quantity) return false;
    figure.quantity = std::move(*quantity);
  }
  return true;
}

}  // namespace

void put_rules(CacheDraft& draft, const Rules& rules, const Sources& sources, SourceId first) {
  PuttingArchive archive(draft, around(sources, first));
  archive(rules.facts);
  add_domains(archive.around(), rules);
  visit_rows(archive, rules);
  archive(kept(rules.conditions), kept(rules.figures));
}

std::optional<Rules> take_rules(CacheEntry& entry, const Sources& sources, SourceId first) {
  std::optional<Rules> taken(std::in_place);
  Rules& rules = *taken;
  TakingArchive archive(entry, around(sources, first));
  archive(rules.facts);
  add_domains(archive.around(), rules);
  visit_rows(archive, rules);
  std::vector<KeptCondition> conditions;
  std::vector<KeptFigure> figures;
  archive(conditions, figures);
  if (!archive.is_sound()) return std::nullopt;
  for (FactPattern& pattern : rules.patterns) {
    pattern.pattern = compiled_pattern(without_group_names(pattern.text));
    if (!pattern.pattern->ok()) return std::nullopt;
  }
  if (!read_again(conditions, rules) || !read_again(figures, rules)) return std::nullopt;
  rules.part_by_key.reserve(rules.part_keys.size());
  for (std::uint32_t part = Rules::kCar.index + 1; part < rules.part_keys.size(); ++part) rules.part_by_key.emplace(rules.part_keys[part], PartId{part});
  return taken;
}

}  // namespace kitgap
