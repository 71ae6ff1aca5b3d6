#include "report/why.h"

#include <algorithm>

#include "report/layout.h"
#include "report/wording.h"
#include "text/json.h"

namespace kitgap {
namespace {

std::string figure(const Range& range, const std::string& unit) { return range_text(range) + (unit == "each" ? "" : " " + unit); }

std::string source_in_words(const CoveredText& covered) {
  const std::string line = covered.line ? " line " + std::to_string(*covered.line) : "";
  const std::string number = covered.part_number.empty() ? "" : " (" + covered.part_number + ")";
  if (covered.from == "bundle") return "brought by the assembly of" + line + number;
  if (covered.from == "work") return "made when the part is fitted";
  if (covered.from == "old") return "from the old part";
  return "the " + covered.from + line + number;
}

}  // namespace

std::vector<const ReportLine*> lines_meant(const Report& report, std::string_view word, std::string_view position) {
  std::vector<const ReportLine*> lines;
  for (const ReportLine& line : report.lines) {
    const bool is_there = position.empty() || line.position == position || (line.position.starts_with(position) && line.position[position.size()] == '.');
    if (line.id == word || (line.part == word && is_there)) lines.push_back(&line);
  }
  return lines;
}

std::string why_text(const Report& report, const std::vector<const ReportLine*>& lines, int width) {
  const auto columns = static_cast<std::size_t>(width);
  std::string out;
  std::string facts;
  for (const FactText& fact : report.facts) {
    if (fact.is_known) facts += (facts.empty() ? "" : ", ") + fact.name + " " + fact.value;
  }
  out += paragraph(report.car + ": " + facts, 0, columns);
  for (const ReportLine* line : lines) {
    out += "\n" + line->part_name + ", " + line->position + (line->parent == "car" ? "" : ", on " + line->parent) + "\n";
    out += paragraph(std::string(word_of(line->status)) + ": need " + figure(line->need, line->unit) + ", have " + figure(line->have, line->unit) + ", gap " + figure(line->gap, line->unit) +
                         (line->is_exact ? "" : " (bounds, not exact)"), 2, columns);
    out += "  The need, " + std::string(word_of(line->basis)) + ":\n";
    for (const ReasonText& reason : line->because) {
      const std::string where = reason.file + ":" + std::to_string(reason.line);
      out += paragraph(reason.says + (reason.practice.empty() ? "" : ", practice " + reason.practice) + " [" + where + "]" + (reason.source.empty() ? "" : " source: " + reason.source), 4, columns);
      for (const std::string& overridden : reason.overrides) out += paragraph("it stands over " + overridden, 6, columns);
    }
    for (const OtherCount& other : line->other_counts) out += paragraph("the " + other.basis + " says " + other.quantity.to_text() + (other.source.empty() ? "" : " (" + other.source + ")"), 4, columns);
    if (line->because.empty()) out += "    made by moving pieces over\n";
    if (!line->covered_by.empty()) out += "  The cover:\n";
    for (const CoveredText& covered : line->covered_by) {
      out += paragraph(figure({covered.quantity, covered.quantity_hi}, line->unit) + " " + source_in_words(covered) + (covered.bag.empty() ? "" : ", in " + covered.bag), 4, columns);
    }
    if (line->rivals) {
      const RivalsText& rivals = *line->rivals;
      out += "  The gap: " + rivals.wanted.to_text() + " wanted by these, " +
             (rivals.from_above.is_zero() ? "" : rivals.from_above.to_text() + " come with their assemblies, ") + rivals.pieces.to_text() + " there for them" +
             (rivals.others_lack.is_zero() ? "" : "; the others of them lack " + rivals.others_lack.to_text()) + "\n";
      for (const std::string& need : rivals.needs) out += paragraph(need, 4, columns);
      for (const std::string& supply : rivals.supplies) out += paragraph("from " + supply, 4, columns);
    }
    for (const SettleText& settle : report.to_settle) {
      if (std::ranges::find(settle.lines, line->id) != settle.lines.end()) out += paragraph("It hangs on: " + settle.ask, 2, columns);
    }
    for (const SupplierQuestion& question : report.ask_supplier) {
      if (std::ranges::find(question.lines, line->id) != question.lines.end()) out += paragraph("Ask " + question.supplier + ": " + question.question, 2, columns);
    }
    out += paragraph("So: " + line->action, 2, columns);
  }
  return out;
}

std::string why_json(const Report& report, const std::vector<const ReportLine*>& lines) {
  Report only = report;
  only.lines.clear();
  for (const ReportLine* line : lines) only.lines.push_back(*line);
  // The lines have the form of `check/1`, under a name of their own.
  std::string json = check_json(only, nullptr);
  const std::size_t at = json.find("\"check/1\"");
  return json.replace(at, 9, "\"why/1\"");
}

std::vector<MissedRow> near_misses(const NeedModel& needs, PartId part, std::optional<PositionId> position) {
  const Rules& rules = needs.rules();
  const FactSets& sets = needs.knowledge().sets();
  std::vector<MissedRow> misses;
  for (const NeedRow& row : rules.needs) {
    if (row.part != part || row.effect == Effect::Drops || row.effect == Effect::TakesAway) continue;
    const std::vector<PositionId>& at = rules.places_of(row.at);
    MissedRow miss{.pack = rules.packs[rules.layer(row.place)].name, .file = rules.tables[row.place.table].file, .line = rules.line_of(row.place),
                  .says = rules.cell_of(row.place, "quantity") + " to each " + rules.part_keys[row.parent.index], .fails = {},
                  .source = std::string(rules.source_of(row.place))};
    if (position && !at.empty() && std::ranges::find(at, *position) == at.end()) miss.fails.push_back("it is for " + rules.cell_of(row.place, "at"));
    for (const Condition::Test& test : rules.condition(row.condition).tests) {
      const ValueSet& known = sets[test.fact.index];
      if (!(known & test.values).is_empty()) continue;
      const Fact& fact = rules.facts[test.fact.index];
      const std::string is = known.is_single() ? text_of(*known.witness(), fact.domain.type) : known.to_unary_test();
      miss.fails.push_back(fact.name + " is " + is + ", the row wants " + test.values.to_unary_test());
    }
    const bool has_parent = row.parent == Rules::kCar || std::ranges::any_of(needs.lines(), [&](const Line& line) { return line.part == row.parent; });
    if (!has_parent) miss.fails.push_back("no `" + rules.part_keys[row.parent.index] + "` is called for");
    misses.push_back(std::move(miss));
  }
  for (const NeedRow& row : rules.needs) {
    if (row.part != part || row.effect != Effect::Drops || holds(rules.condition(row.condition), sets, rules.facts) != Ternary::Yes) continue;
    misses.push_back({.pack = rules.packs[rules.layer(row.place)].name, .file = rules.tables[row.place.table].file, .line = rules.line_of(row.place),
                      .says = "drops it", .fails = {}, .source = std::string(rules.source_of(row.place))});
  }
  std::ranges::stable_sort(misses, {}, [](const MissedRow& miss) { return miss.fails.size(); });
  return misses;
}

std::string why_not_text(std::string_view part, const std::vector<MissedRow>& misses, int width) {
  const auto columns = static_cast<std::size_t>(width);
  if (misses.empty()) return "no row of these packs calls for `" + std::string(part) + "` on any car\n";
  std::string out = "`" + std::string(part) + "` is not called for. The rows that came nearest:\n";
  constexpr std::size_t kShown = 10;
  for (std::size_t at = 0; at < misses.size() && at < kShown; ++at) {
    out += paragraph(misses[at].says + " [" + misses[at].file + ":" + std::to_string(misses[at].line) + "]", 2, columns);
    for (const std::string& fails : misses[at].fails) out += paragraph("but " + fails, 6, columns);
    if (misses[at].fails.empty()) out += "      applies, and another row takes it away or replaces it\n";
  }
  if (misses.size() > kShown) out += "  and " + std::to_string(misses.size() - kShown) + " more\n";
  return out;
}

std::string why_not_json(std::string_view part, const std::vector<MissedRow>& misses) {
  JsonWriter json;
  json.begin_object().key("format").string("why-not/1").key("part").string(part).key("rows").begin_array();
  for (const MissedRow& miss : misses) {
    json.begin_object().key("pack").string(miss.pack).key("file").string(miss.file).key("line").number(static_cast<std::int64_t>(miss.line));
    json.key("says").string(miss.says).key("fails").begin_array();
    for (const std::string& fails : miss.fails) json.string(fails);
    json.end_array().end_object();
  }
  json.end_array().end_object();
  return json.take();
}

}  // namespace kitgap
