#include <algorithm>

#include "cover/answer.h"
#include "measure/stated.h"

namespace kitgap {
namespace {

// Limits of the packs and what the standards say of threads, classes and belt hardware, for what is on the lists. What a
// line's own description states stands over the pack's property of the part.
class LimitChecker {
 public:
  LimitChecker(const CoverModel& model, Answer& answer) : model_(model), rules_(model.rules()), answer_(answer) { find_lines(); }

  void check() {
    for (const LimitRow& row : rules_.limits) {
      if (holds(rules_.condition(row.condition), model_.needs().knowledge().sets(), rules_.facts) != Ternary::No) check_limit(row);
    }
    for (const ListedLine& line : listed_) check_hardware(line);
    check_mixing();
    check_regulations();
  }

 private:
  // A line that brings one kind of part, or whose text no part was found for.
  struct ListedLine {
    std::uint32_t line = 0;
    PartId part = Rules::kCar;
    StatedHardware stated;
  };

  void find_lines() {
    const Supplies& supplies = model_.supplies();
    std::vector<std::vector<PartId>> parts(supplies.lines.size());
    for (const SupplyItem& item : supplies.items) {
      if (std::ranges::find(parts[item.line], item.part) == parts[item.line].end()) parts[item.line].push_back(item.part);
    }
    for (std::uint32_t line = 0; line < parts.size(); ++line) {
      for (const PartId part : parts[line]) {
        ListedLine listed{.line = line, .part = part, .stated = {}};
        if (parts[line].size() == 1) listed.stated = stated_by(line);
        listed_.push_back(std::move(listed));
      }
      if (parts[line].empty()) {
        if (StatedHardware stated = stated_by(line); stated.typed_thread) listed_.push_back({.line = line, .stated = std::move(stated)});
      }
    }
  }

  StatedHardware stated_by(std::uint32_t index) const {
    const SupplyLine& line = model_.supplies().lines[index];
    StatedHardware stated = read_stated(model_.supplies().read(line).description);
    if (!stated.is_empty() || line.meanings.size() != 1 || !line.meanings[0].offer) return stated;
    const auto& rows = model_.supplies().rows_of(*line.meanings[0].offer).rows;
    return rows.empty() ? stated : read_stated(rules_.offers[rows.front()].name);
  }

  const Property* property_of(PartId part, std::string_view name) const {
    if (part == Rules::kCar) return nullptr;
    const std::vector<Property>& all = model_.needs().part_row(part).properties;
    const auto found = std::ranges::find(all, name, &Property::name);
    return found == all.end() ? nullptr : &*found;
  }

  // The unit in which a row's pack writes the property: its own declaration, else the nearest one below, else any.
  std::string unit_of(const LimitRow& row) const {
    const PropertyColumn* best = nullptr;
    for (const PropertyColumn& column : rules_.property_columns) {
      if (column.name != row.property) continue;
      const std::uint32_t layer = rules_.layer(row.place);
      if (best == nullptr || (column.layer <= layer && (best->layer > layer || column.layer > best->layer))) best = &column;
    }
    return best == nullptr ? "" : best->unit;
  }

  static Fraction in_unit_of(const Fraction& value, std::string_view from, std::string_view to) {
    const auto unit = find_unit(from), wanted = find_unit(to);
    const auto converted = unit && wanted ? convert(value, *unit, *wanted) : std::nullopt;
    return converted.value_or(value);
  }

  void check_limit(const LimitRow& row) {
    const std::string unit = unit_of(row);
    const Property* property = property_of(row.part, row.property);
    std::vector<std::uint32_t> by_property;  // lines that state nothing of their own
    for (const ListedLine& line : listed_) {
      if (line.part != row.part) continue;
      if (unit == "text") {
        check_text(row, line);
        continue;
      }
      const auto figure = std::ranges::find(line.stated.figures, row.property, &StatedFigure::property);
      if (figure != line.stated.figures.end()) check_figure(row, line, *figure, unit);
      else if (by_property.empty() || by_property.back() != line.line) by_property.push_back(line.line);
    }
    if (unit == "text" || property == nullptr || by_property.empty()) return;
    const Fraction value = in_unit_of(property->value, property->unit, unit);
    if (!row.values.contains(FactValue(value))) add(row, with_unit(value, unit), row.severity, by_property);
  }

  static std::string with_unit(const Fraction& value, const std::string& unit) { return value.to_text() + (unit.empty() ? "" : " " + unit); }

  void check_figure(const LimitRow& row, const ListedLine& line, const StatedFigure& figure, const std::string& unit) {
    std::string values;
    std::size_t passing = 0;
    for (const Fraction& each : figure.values) {
      const Fraction value = in_unit_of(each, figure.unit, unit);
      passing += row.values.contains(FactValue(value)) ? 1 : 0;
      values += (values.empty() ? "" : " or ") + with_unit(value, unit);
    }
    if (passing == figure.values.size()) return;
    add(row, values + ", written `" + figure.as_typed + "`,", passing == 0 ? row.severity : Severity::Note, {line.line});
  }

  void check_text(const LimitRow& row, const ListedLine& line) {
    std::string text = row.property == "thread" ? thread_of(line) : row.property == "property class" ? line.stated.property_class : "";
    if (text.empty()) {
      if (const Property* property = property_of(line.part, row.property)) text = property->text;
    }
    if (!text.empty() && !row.values.contains(FactValue(text))) add(row, "`" + text + "`", row.severity, {line.line});
  }

  void add(const LimitRow& row, const std::string& figure, Severity severity, std::vector<std::uint32_t> lines) {
    add({.kind = CheckKind::Limit, .severity = severity, .part = row.part, .position = {},
         .says = name_of(row.part) + ": " + row.property + " " + figure + " does not pass `" + row.test + "`" + (row.message.empty() ? "" : "; " + row.message),
         .source = std::string(rules_.source_of(row.place)), .lines = {}, .supply_lines = std::move(lines)});
  }

  static const FastenerTables& tables() { return built_in_fastener_tables(); }

  // The standard's name of what the line states, else what the pack says; as typed where no table has it.
  std::string thread_of(const ListedLine& line) const {
    if (const auto known = known_thread(line)) return tables().threads[*known].name;
    if (line.stated.typed_thread && line.stated.is_surely_thread) return line.stated.thread;
    const Property* property = property_of(line.part, "thread");
    return property == nullptr ? "" : property->text;
  }

  static std::optional<std::size_t> find_known(const std::optional<TypedThread>& typed) {
    if (!typed) return std::nullopt;
    const ThreadFinding finding = find_thread(tables(), *typed);
    return finding.kind == ThreadFinding::Kind::Known ? std::optional(finding.candidates.front()) : std::nullopt;
  }

  std::optional<std::size_t> thread_of_part(PartId part) const {
    const Property* property = property_of(part, "thread");
    return property == nullptr ? std::nullopt : find_known(parse_thread(property->text));
  }

  std::optional<std::size_t> known_thread(const ListedLine& line) const {
    if (const auto stated = find_known(line.stated.typed_thread)) return stated;
    return line.stated.typed_thread && line.stated.is_surely_thread ? std::nullopt : thread_of_part(line.part);
  }

  std::string label(const ListedLine& line) const {
    return line.part == Rules::kCar ? "`" + model_.supplies().read(model_.supplies().lines[line.line]).description + "`" : name_of(line.part);
  }

  void note(const ListedLine& line, Severity severity, std::string says, std::string source) {
    add({.kind = CheckKind::Limit, .severity = severity, .part = line.part, .position = {}, .says = label(line) + ": " + std::move(says),
         .source = std::move(source), .lines = {}, .supply_lines = {line.line}});
  }

  void check_hardware(const ListedLine& line) {
    const StatedHardware& stated = line.stated;
    const Property* property = property_of(line.part, "thread");
    if (stated.typed_thread) check_thread(line, stated.thread, *stated.typed_thread, stated.is_surely_thread);
    else if (property != nullptr) check_property_thread(line, property->text);
    if (stated.across_flats_mm && !stated.typed_thread) {
      std::string says = says_of_spanner(tables(), *stated.across_flats_mm);
      const auto rows = threads_for_spanner(tables(), *stated.across_flats_mm);
      note(line, Severity::Note, "written `" + stated.spanner + "`: " + std::move(says), rows.empty() ? "" : rows.front()->source);
    }
    check_class(line);
  }

  void check_property_thread(const ListedLine& line, const std::string& text) {
    if (const auto typed = parse_thread(text)) check_thread(line, text, *typed, true);
    else note(line, Severity::Note, "its pack gives the thread `" + text + "`, which is no designation such as `M5x0.8`, `10-32 UNF` or `2 BA`", "");
  }

  void check_thread(const ListedLine& line, const std::string& text, const TypedThread& typed, bool is_sure) {
    using Kind = ThreadFinding::Kind;
    const ThreadFinding finding = find_thread(tables(), typed);
    if (!is_sure && finding.kind != Kind::Known) return;
    const std::string source = finding.candidates.empty() ? "" : tables().threads[finding.candidates.front()].source;
    if (finding.kind == Kind::UnknownPitch) {
      note(line, Severity::Warning, "thread `" + text + "`: " + finding.says + ". Measure the old screw with a pitch gauge before buying", source);
    } else if (finding.kind == Kind::UnknownSize && typed.pitch_mm) {
      note(line, Severity::Note, "thread `" + text + "`: " + finding.says, "");
    } else if (finding.kind == Kind::Several) {
      note(line, Severity::Note, "thread `" + text + "`: " + finding.says, source);
    } else if (finding.kind == Kind::Known) {
      check_against_part(line, finding.candidates.front());
    }
  }

  // What the line states against the thread that the part has by its pack.
  void check_against_part(const ListedLine& line, std::size_t stated) {
    const auto wanted = thread_of_part(line.part);
    if (!wanted || *wanted == stated) return;
    const std::string& name = tables().threads[stated].name;
    const std::string& other = tables().threads[*wanted].name;
    const bool is_near = std::ranges::any_of(near_misses(tables(), *wanted), [&](const NearMiss& miss) { return miss.thread == stated; });
    note(line, Severity::Error,
         is_near ? "thread " + name + " starts by hand where " + other + " belongs, and then strips it" : "thread " + name + " does not go where " + other + " belongs",
         tables().threads[*wanted].source);
  }

  void check_class(const ListedLine& line) {
    const Property* property = property_of(line.part, "property class");
    const std::string& wanted = property == nullptr ? std::string() : property->text;
    const std::string name = line.stated.property_class.empty() ? wanted : line.stated.property_class;
    if (name.empty()) return;
    const auto thread = known_thread(line);
    const Fraction diameter = thread ? tables().threads[*thread].diameter_mm : Fraction(10);
    const PropertyClass* found = find_class(tables(), name, diameter);
    if (found == nullptr) return note(line, Severity::Warning, "property class `" + name + "`: the standard has no such class for this size", tables().classes.front().source);
    const PropertyClass* least = name == wanted || wanted.empty() ? nullptr : find_class(tables(), wanted, diameter);
    if (least == nullptr || found->tensile_least_mpa >= least->tensile_least_mpa) return;
    note(line, Severity::Error, "property class " + name + " where " + wanted + " belongs: it bears " + found->tensile_least_mpa.to_text() + " MPa at least, not " +
         least->tensile_least_mpa.to_text(), found->source);
  }

  // Two kinds of piece that start in each other's thread: one on a list, the other on a list or called for.
  void check_mixing() {
    struct Threaded {
      PartId part;
      std::size_t thread;
      std::optional<std::uint32_t> line;
    };
    std::vector<Threaded> all;
    const auto put = [&](PartId part, std::optional<std::size_t> thread, std::optional<std::uint32_t> line) {
      if (thread && std::ranges::none_of(all, [&](const Threaded& each) { return each.part == part && each.thread == *thread; })) all.push_back({part, *thread, line});
    };
    for (const ListedLine& line : listed_) {
      if (line.part != Rules::kCar) put(line.part, known_thread(line), line.line);
    }
    for (const LineAnswer& line : answer_.lines) put(model_.needs().line(line.line).part, thread_of_part(model_.needs().line(line.line).part), {});
    for (std::size_t a = 0; a < all.size(); ++a) {
      for (std::size_t b = a + 1; b < all.size(); ++b) {
        if (!all[a].line || all[a].part == all[b].part) continue;
        const auto near = near_misses(tables(), all[a].thread);
        if (std::ranges::find(near, all[b].thread, &NearMiss::thread) == near.end()) continue;
        std::vector<std::uint32_t> lines{*all[a].line};
        if (all[b].line) lines.push_back(*all[b].line);
        add({.kind = CheckKind::Limit, .severity = Severity::Note, .part = all[a].part, .position = {},
             .says = name_of(all[a].part) + " (" + tables().threads[all[a].thread].name + ") and " + name_of(all[b].part) + " (" + tables().threads[all[b].thread].name +
                     ") start by hand in each other's thread and then strip it: keep them in bags of their own",
             .source = tables().threads[all[a].thread].source, .lines = {}, .supply_lines = std::move(lines)});
      }
    }
  }

  // What regulations say of a part on the lists, where its pack names the clauses. Counted and quoted, never judged.
  void check_regulations() {
    std::vector<PartId> done;
    for (const ListedLine& line : listed_) {
      const Property* property = property_of(line.part, "regulation");
      if (property == nullptr || std::ranges::find(done, line.part) != done.end()) continue;
      done.push_back(line.part);
      std::string says;
      std::string source;
      bool is_about_belts = false;
      for (std::string_view left = property->text; !left.empty();) {
        const std::size_t end = std::min(left.find(';'), left.size());
        std::string_view clause = left.substr(0, end);
        left.remove_prefix(std::min(end + 1, left.size()));
        while (clause.starts_with(' ')) clause.remove_prefix(1);
        says += (says.empty() ? "" : "; ") + std::string(clause);
        std::size_t count = 0;
        const auto rows = rows_of_clause(tables(), clause);
        const bool is_read = std::ranges::any_of(rows, [](const RegulationRow* row) { return row->basis == "read"; });
        for (const RegulationRow* row : rows) {
          if (is_read && row->basis != "read") continue;  // what is remembered only adds nothing to what was read
          says += (count++ == 0 ? ": " : ", ") + row->topic + (row->value.empty() ? "" : " " + row->value + (row->unit == "thread" || row->unit.empty() ? "" : " " + row->unit)) +
                  (row->basis == "memory" ? " (from memory)" : "");
          if (source.find(row->source) == std::string::npos) source += (source.empty() ? "" : "; ") + row->source;
          is_about_belts = is_about_belts || row->regulation != "49 CFR 571.302";
        }
      }
      note(line, Severity::Note, says + ". " + (is_about_belts ? belt_advice(tables()).caution : "Local codes and licensed practice decide."), std::move(source));
    }
  }

  std::string name_of(PartId part) const { return "`" + rules_.part_keys[part.index] + "`"; }
  void add(Check check) { answer_.checks.push_back(std::move(check)); }

  const CoverModel& model_;
  const Rules& rules_;
  Answer& answer_;
  std::vector<ListedLine> listed_;
};

}  // namespace

void add_limit_checks(const CoverModel& model, Answer& answer) { LimitChecker(model, answer).check(); }

}  // namespace kitgap
