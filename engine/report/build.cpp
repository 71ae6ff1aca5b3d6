#include <algorithm>
#include <unordered_set>

#include "report/report.h"
#include "report/wording.h"

namespace kitgap {
namespace {

class ReportBuilder {
 public:
  ReportBuilder(const Car& car, const CoverModel& model, const Found& found, const Answer& answer)
      : car_(car), model_(model), rules_(model.rules()), found_(found), answer_(answer), words_(model) {}

  Report build(bool has_list) {
    report_.car = car_.name;
    report_.work = car_.work;
    report_.has_list = has_list;
    for (const PackInfo& pack : rules_.packs) report_.packs.push_back({pack.name, pack.version, pack.hash});
    add_facts();
    add_contradictions();
    report_.lines.reserve(answer_.lines.size());
    for (const LineAnswer& line : answer_.lines) add_line(line);
    add_spare();
    add_checks();
    add_questions();
    add_list();
    add_cautions();
    add_steps();
    summarise();
    return std::move(report_);
  }

 private:
  void add_facts() {
    for (std::uint32_t index = 0; index < rules_.facts.size(); ++index) {
      const ValueSet& set = model_.needs().knowledge().sets()[index];
      const Fact& fact = rules_.facts[index];
      FactText text{.name = fact.name, .value = set.to_unary_test(), .is_known = set.is_single(), .type = fact.domain.type};
      if (set.is_single()) text.value = fact.domain.type == FactType::Text ? std::get<std::string>(*set.witness()) : literal_of(*set.witness(), fact.domain.type);
      report_.facts.push_back(std::move(text));
    }
  }

  void add_contradictions() {
    for (const FactContradiction& contradiction : model_.needs().knowledge().contradictions()) {
      const Fact& fact = rules_.facts[contradiction.fact.index];
      ContradictionText text;
      text.says = "the " + fact.name + " is stated as " + contradiction.stated.to_unary_test() + ", but " +
                  (contradiction.from ? "the " + rules_.facts[contradiction.from->index].name + " says " : std::string("the tables derive ")) +
                  contradiction.derived.to_unary_test() + "; both cars are reckoned with until someone looks";
      text.facts.push_back(fact.name);
      if (contradiction.from) text.facts.push_back(rules_.facts[contradiction.from->index].name);
      for (const RowPlace place : contradiction.because) text.because.push_back(words_.reason(place));
      report_.contradictions.push_back(std::move(text));
    }
  }

  void add_line(const LineAnswer& answer) {
    const Line& line = model_.needs().line(answer.line);
    const PartRow& part = model_.needs().part_row(line.part);
    ReportLine text;
    text.id = model_.needs().id_of(answer.line);
    text.status = answer.status;
    text.part = rules_.part_keys[line.part.index];
    text.part_name = part.name;
    text.position = rules_.positions.path(line.position);
    text.parent = rules_.part_keys[line.parent.index];
    text.area = part.area;
    text.kind = part.kind;
    text.is_exact = answer.is_exact;
    text.need = answer.need;
    text.have = answer.have;
    text.gap = answer.gap;
    text.unit = std::string(word_of(part.unit));
    text.in_hand = answer.in_hand;
    text.on_order = answer.on_order;
    text.planned = answer.planned;
    text.from_old = answer.from_old;
    text.by_work = answer.by_work;
    text.basis = answer.basis;
    text.stops_work = answer.stops;
    if (answer.folded_under) text.folded_under = model_.needs().id_of(*answer.folded_under);
    for (const Covered& covered : answer.covered_by) text.covered_by.push_back(words_.covered(covered));
    for (const Contribution& contribution : answer.because) text.because.push_back(words_.reason(contribution));
    add_other_counts(text, answer);
    text.promises = promises_of(answer);
    if (answer.rivals) text.rivals = words_.rivals(*answer.rivals);
    text.take_off = words_.take_off(line);
    text.remedy = words_.remedy(line);
    text.stand_in = words_.stand_in(answer);
    text.action = words_.action(answer, text);
    if (!text.stand_in.empty() && answer.status != Status::Covered) text.action += "; " + text.stand_in;
    report_.lines.push_back(std::move(text));
  }

  void add_other_counts(ReportLine& text, const LineAnswer& answer) const {
    const CountOfLine& count = model_.needs().line(answer.line).count;
    const std::string where = found_.file.empty() ? "counted on this car" : found_.file + " line " + std::to_string(count.line);
    if (count.in_shell || count.on_old_part) {
      text.because.insert(text.because.begin(), {.pack = {}, .file = found_.file, .line = count.line,
                          .says = "counted " + std::string(count.in_shell ? "in the shell" : "on the old part") + ": " +
                                  (count.in_shell ? *count.in_shell : *count.on_old_part).to_text() + " to each " + (text.parent == "car" ? "car" : text.parent),
                          .source = where, .practice = {}, .overrides = {}, .figure = count.in_shell ? count.in_shell : count.on_old_part});
    }
    if (count.in_shell && count.on_old_part && *count.in_shell != *count.on_old_part) {
      text.other_counts.push_back({"counted on the old part", *count.on_old_part, where});
    }
    if (answer.table_figure) {
      const std::string source = answer.because.empty() ? "" : std::string(rules_.source_of(answer.because.front().place));
      text.other_counts.push_back({"table", *answer.table_figure, source});
    }
  }

  std::optional<Promises> promises_of(const LineAnswer& answer) const {
    if (!model_.needs().is_assembly(model_.needs().line(answer.line).part)) return std::nullopt;
    for (const Covered& covered : answer.covered_by) {
      if (covered.from != CoverPiece::From::Item) continue;
      const SupplyItem& item = model_.supplies().items[covered.item];
      Promises promises;
      for (const auto row : {item.offer_row, item.kit_row}) {
        if (!row) continue;
        const OfferRow& offer = rules_.offers[*row];
        const bool is_complete = offer.supplied_as == SuppliedAs::Complete;
        const bool is_bare = offer.supplied_as == SuppliedAs::Bare;
        const auto said = [](const std::optional<bool>& stated, std::optional<bool> by_default) { return stated ? stated : by_default; };
        const std::optional<bool> whole = is_complete ? std::optional(true) : std::nullopt;
        if (!promises.outline) promises.outline = said(offer.promises.outline, true);
        if (!promises.openings) promises.openings = said(offer.promises.openings, whole);
        if (!promises.holes) promises.holes = said(offer.promises.holes, whole);
        if (!promises.hardware) promises.hardware = said(offer.promises.hardware, is_bare ? std::optional(false) : whole);
      }
      return promises;
    }
    return std::nullopt;
  }

  void add_spare() {
    for (const SpareAnswer& spare : answer_.spare) {
      const PartRow& part = model_.needs().part_row(spare.part);
      report_.spare.push_back({.part = rules_.part_keys[spare.part.index], .part_name = part.name, .hand = std::string(hand_word(spare.hand)),
                               .unit = std::string(word_of(part.unit)), .quantity = spare.quantity, .meant = spare.meant,
                               .from_bags = spare.from_bags, .over = spare.over});
    }
  }

  std::vector<std::string> ids_of(const std::vector<LineId>& lines) const {
    std::vector<std::string> ids;
    std::unordered_set<std::string> met;
    for (const LineId line : lines) {
      std::string id = model_.needs().id_of(line);
      if (met.insert(id).second) ids.push_back(std::move(id));
    }
    return ids;
  }

  void add_checks() {
    for (const Check& check : answer_.checks) {
      static constexpr auto kSeverities = std::to_array<std::string_view>({"error", "warning", "note"});
      report_.checks.push_back({.kind = std::string(kCheckWords[static_cast<std::size_t>(check.kind)]),
                                .severity = std::string(kSeverities[static_cast<std::size_t>(check.severity)]),
                                .part = check.part == Rules::kCar ? "" : rules_.part_keys[check.part.index],
                                .position = check.position ? rules_.positions.path(*check.position) : "",
                                .says = check.says, .source = check.source, .lines = ids_of(check.lines)});
    }
  }

  void add_questions() {
    for (const OpenQuestion& question : answer_.questions) {
      if (question.unknown.kind == Unknown::Kind::Promise) {
        report_.ask_supplier.push_back(words_.supplier_question(question, ids_of(question.lines)));
      } else if (question.unknown.kind != Unknown::Kind::Opaque) {
        SettleText settle = words_.question(question);
        settle.lines = ids_of(question.lines);
        // One question per list line, whatever of it is open.
        const auto same = std::ranges::find_if(report_.to_settle, [&](const SettleText& other) {
          return other.about == "list line" && other.about == settle.about && other.line == settle.line && other.ask == settle.ask;
        });
        if (same == report_.to_settle.end()) report_.to_settle.push_back(std::move(settle));
        else same->settles += settle.settles;
      }
    }
    std::ranges::stable_sort(report_.to_settle, [](const SettleText& a, const SettleText& b) { return a.settles > b.settles; });
    std::ranges::stable_sort(report_.ask_supplier, {}, [](const SupplierQuestion& question) { return std::pair(question.supplier, question.part_number); });
  }

  void add_list() {
    report_.rows = rows_of(model_.supplies(), found_);
    for (std::uint32_t file = 0; file < model_.supplies().lists.size(); ++file) {
      const ReadList& list = model_.supplies().lists[file];
      for (const std::string& remark : list.remarks) report_.remarks.push_back(list.file + ": " + remark);
      for (std::uint32_t row = 0; row < list.lines.size(); ++row) add_list_line(list, file, row);
    }
    for (const Found::SetAside& aside : found_.set_aside) {
      if (aside.is_silent) continue;
      report_.list.push_back({.file = found_.file, .line = aside.line, .as_typed = aside.as_typed, .read_as = {}, .part_number = {}, .supplier = {}, .reading = {},
                              .parts = {}, .quantity = {}, .fit = {}, .fails = {}, .hangs_on = {}, .set_aside = aside.reason, .nearest = {}, .doubts = {}});
    }
  }

  void add_list_line(const ReadList& list, std::uint32_t file, std::uint32_t row) {
    const ReadLine& read = list.lines[row];
    ListText text{.file = list.file, .line = read.line, .as_typed = read.as_typed, .read_as = read.read_as, .part_number = read.part_number,
                  .supplier = read.supplier, .reading = read.read_as, .parts = {}, .quantity = {}, .fit = {}, .fails = {}, .hangs_on = {}, .set_aside = read.set_aside, .nearest = {},
                  .doubts = read.doubts, .is_blank = read.is_blank};
    for (const std::string& question : read.questions) text.doubts.push_back(question);
    // The lines stand in the order of files and rows.
    const std::vector<SupplyLine>& lines = model_.supplies().lines;
    const auto found = std::ranges::lower_bound(lines, std::pair(file, row), {}, [](const SupplyLine& line) { return std::pair(line.file, line.row); });
    if (found != lines.end() && found->file == file && found->row == row) {
      const auto index = static_cast<std::uint32_t>(found - lines.begin());
      text.set_aside = found->set_aside;
      text.nearest = found->nearest;
      if (!found->meanings.empty()) {
        const LineFit& fit = answer_.fits[index];
        text.fit = fit.fit;
        text.fails = fit.fails;
        for (const FactId fact : fit.hangs_on) text.hangs_on.push_back(rules_.facts[fact.index].name);
        words_.read_as(index, text);
      }
    }
    report_.list.push_back(std::move(text));
  }

  void add_cautions() {
    for (const CautionAnswer& caution : answer_.cautions) {
      const CautionRow& row = rules_.cautions[caution.row];
      report_.cautions.push_back({.part = row.part ? rules_.part_keys[row.part->index] : "", .step = row.step, .text = row.text,
                                  .source = std::string(rules_.source_of(row.place)), .lines = ids_of(caution.lines)});
    }
  }

  void add_steps() {
    for (const StepRow& row : rules_.steps) {
      if (holds(rules_.condition(row.condition), model_.needs().knowledge().sets(), rules_.facts) == Ternary::No) continue;
      StepText text{.step = row.step, .tools = row.tools, .hold = row.hold, .parts = {}, .after = row.after, .minutes = row.minutes};
      for (const PartId part : row.fits) text.parts.push_back(rules_.part_keys[part.index]);
      report_.steps.push_back(std::move(text));
    }
  }

  void summarise() {
    report_.summary.needs = report_.lines.size();
    for (const ReportLine& line : report_.lines) {
      ++report_.summary.by_status[static_cast<std::size_t>(line.status)];
      report_.summary.stopping += line.stops_work ? 1 : 0;
    }
    report_.summary.spare_lines = report_.spare.size();
    report_.summary.stops_work = answer_.stops_work;
  }

  const Car& car_;
  const CoverModel& model_;
  const Rules& rules_;
  const Found& found_;
  const Answer& answer_;
  Wording words_;
  Report report_;
};

}  // namespace

Report report_of(const Car& car, const CoverModel& model, const Found& found, const Answer& answer, bool has_list) {
  return ReportBuilder(car, model, found, answer).build(has_list);
}

// The names of `steps` and of all that comes before them.
static std::set<std::string> steps_up_to(const std::vector<StepText>& steps, const std::vector<StepText>& all) {
  std::set<std::string> names;
  std::vector<std::string> waiting;
  for (const StepText& step : steps) waiting.push_back(step.step);
  while (!waiting.empty()) {
    const std::string name = std::move(waiting.back());
    waiting.pop_back();
    if (!names.insert(name).second) continue;
    const auto step = std::ranges::find(all, name, &StepText::step);
    if (step != all.end()) waiting.insert(waiting.end(), step->after.begin(), step->after.end());
  }
  return names;
}

bool keep_only(Report& report, std::string_view word) {
  const auto is_meant = [&](const ReportLine& line) {
    return line.part == word || line.parent == word || line.position == word || (line.position.starts_with(word) && line.position[word.size()] == '.');
  };
  if (std::ranges::none_of(report.lines, is_meant)) return false;
  std::erase_if(report.lines, [&](const ReportLine& line) { return !is_meant(line); });
  const auto is_kept = [&](const std::string& id) { return std::ranges::find(report.lines, id, &ReportLine::id) != report.lines.end(); };
  const auto lacks_all = [&](const auto& entry) { return std::ranges::none_of(entry.lines, is_kept); };
  std::erase_if(report.cautions, [&](const CautionText& caution) { return !caution.lines.empty() && lacks_all(caution); });
  std::erase_if(report.checks, [&](const CheckText& check) { return !check.lines.empty() && lacks_all(check); });
  std::erase_if(report.to_settle, lacks_all);
  std::erase_if(report.ask_supplier, lacks_all);
  std::erase_if(report.spare, [&](const SpareText& spare) { return std::ranges::find(report.lines, spare.part, &ReportLine::part) == report.lines.end(); });
  report.list.clear();
  const std::vector<StepText> all_steps = report.steps;
  std::erase_if(report.steps, [&](const StepText& step) {
    return std::ranges::none_of(step.parts, [&](const std::string& part) { return std::ranges::find(report.lines, part, &ReportLine::part) != report.lines.end(); });
  });
  const std::set<std::string> here = steps_up_to(report.steps, all_steps);
  std::erase_if(report.cautions, [&](const CautionText& caution) { return !caution.step.empty() && !here.contains(caution.step); });
  report.is_half_page = true;
  return true;
}

void keep_only(std::vector<Change>& changes, std::string_view word) {
  // An id is position/parent/part.
  std::erase_if(changes, [&](const Change& change) {
    const std::string_view id = change.id;
    const std::size_t first = id.find('/');
    const std::size_t last = id.rfind('/');
    const std::string_view position = id.substr(0, first);
    const bool is_there = position == word || (position.starts_with(word) && position[word.size()] == '.');
    return !is_there && id.substr(first + 1, last - first - 1) != word && id.substr(last + 1) != word;
  });
}

std::string_view word_of(Basis basis) {
  static constexpr auto kWords = std::to_array<std::string_view>({"counted in the shell", "counted on the old part", "table", "estimate"});
  return kWords[static_cast<std::size_t>(basis)];
}

std::string_view word_of(PartKind kind) {
  static constexpr auto kWords = std::to_array<std::string_view>({"piece", "assembly", "opening", "hole", "consumable"});
  return kWords[static_cast<std::size_t>(kind)];
}

std::string range_text(const Range& range) {
  return range.is_exact_value() ? range.lo.to_text() : range.lo.to_text() + ".." + range.hi.to_text();
}

}  // namespace kitgap
