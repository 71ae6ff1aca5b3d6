#include "report/report.h"
#include "text/json.h"

namespace kitgap {
namespace {

class CheckJson {
 public:
  std::string write(const Report& report, const std::vector<Change>* changes) {
    json_.begin_object();
    json_.key("format").string("check/1");
    each("packs", report.packs, [&](const PackText& pack) {
      json_.begin_object();
      text("name", pack.name).text("version", pack.version).text("hash", pack.hash);
      json_.end_object();
    });
    car(report);
    each("contradictions", report.contradictions, [&](const ContradictionText& contradiction) {
      json_.begin_object();
      text("says", contradiction.says);
      strings("facts", contradiction.facts);
      because(contradiction.because);
      json_.end_object();
    });
    summary(report.summary);
    each("lines", report.lines, [&](const ReportLine& entry) { line(entry); });
    each("spare", report.spare, [&](const SpareText& entry) { spare(entry); });
    each("checks", report.checks, [&](const CheckText& check) {
      json_.begin_object();
      text("kind", check.kind).text("severity", check.severity).optional("part", check.part).optional("position", check.position);
      text("says", check.says).optional("source", check.source);
      strings("lines", check.lines);
      json_.end_object();
    });
    each("to_settle", report.to_settle, [&](const SettleText& entry) { settle(entry); });
    each("ask_supplier", report.ask_supplier, [&](const SupplierQuestion& question) {
      json_.begin_object();
      text("supplier", question.supplier).text("part_number", question.part_number).text("question", question.question);
      strings("lines", question.lines);
      json_.end_object();
    });
    each("list", report.list, [&](const ListText& entry) { list(entry); });
    each("cautions", report.cautions, [&](const CautionText& caution) {
      json_.begin_object();
      optional("part", caution.part).optional("step", caution.step);
      text("text", caution.text).optional("source", caution.source);
      strings("lines", caution.lines);
      json_.end_object();
    });
    if (changes != nullptr) each("changes", *changes, [&](const Change& change) { this->change(change); });
    json_.end_object();
    return json_.take();
  }

 private:
  template <class Entries, class Write>
  void each(std::string_view name, const Entries& entries, Write write) {
    json_.key(name).begin_array();
    for (const auto& entry : entries) write(entry);
    json_.end_array();
  }

  CheckJson& text(std::string_view name, const std::string& value) {
    json_.key(name).string(value);
    return *this;
  }

  // Empty: null.
  CheckJson& optional(std::string_view name, const std::string& value) {
    json_.key(name);
    value.empty() ? json_.null() : json_.string(value);
    return *this;
  }

  void strings(std::string_view name, const std::vector<std::string>& values) {
    each(name, values, [&](const std::string& value) { json_.string(value); });
  }

  void figure(std::string_view name, const Fraction& value) { json_.key(name).number(value.to_text()); }

  void range(std::string_view name, const Range& value, const std::string* unit = nullptr) {
    json_.key(name).begin_object();
    figure("lo", value.lo);
    figure("hi", value.hi);
    if (unit != nullptr) text("unit", *unit);
    json_.end_object();
  }

  void car(const Report& report) {
    json_.key("car").begin_object();
    text("name", report.car);
    json_.key("facts").begin_object();
    for (const FactText& fact : report.facts) {
      if (!fact.is_known) continue;
      json_.key(fact.name);
      if (fact.type == FactType::Number) json_.number(fact.value);
      else if (fact.type == FactType::Boolean) json_.boolean(fact.value == "true");
      else json_.string(fact.value);
    }
    json_.end_object();
    each("unknown", report.facts, [&](const FactText& fact) {
      if (!fact.is_known) json_.string(fact.name);
    });
    json_.end_object();
  }

  void summary(const ReportSummary& summary) {
    static constexpr auto kNames = std::to_array<std::string_view>({"covered", "move_over", "to_settle", "short", "missing", "does_not_fit"});
    json_.key("summary").begin_object();
    json_.key("needs").number(static_cast<std::int64_t>(summary.needs));
    for (std::size_t status = 0; status < kNames.size(); ++status) json_.key(kNames[status]).number(static_cast<std::int64_t>(summary.by_status[status]));
    json_.key("spare_lines").number(static_cast<std::int64_t>(summary.spare_lines));
    json_.key("stops_work").boolean(summary.stops_work);
    json_.end_object();
  }

  void because(const std::vector<ReasonText>& reasons) {
    each("because", reasons, [&](const ReasonText& reason) {
      json_.begin_object();
      optional("pack", reason.pack).text("file", reason.file);
      json_.key("line").number(static_cast<std::int64_t>(reason.line));
      text("says", reason.says).optional("source", reason.source);
      if (!reason.practice.empty()) text("practice", reason.practice);
      if (!reason.overrides.empty()) strings("overrides", reason.overrides);
      json_.end_object();
    });
  }

  void promise(std::string_view name, const std::optional<bool>& said) {
    json_.key(name);
    said ? json_.boolean(*said) : json_.null();
  }

  void line(const ReportLine& line) {
    json_.begin_object();
    text("id", line.id);
    json_.key("status").string(word_of(line.status));
    text("part", line.part).text("name", line.part_name).text("position", line.position).text("parent", line.parent);
    json_.key("exact").boolean(line.is_exact);
    range("need", line.need, &line.unit);
    range("gap", line.gap);
    json_.key("have").begin_object();
    figure("lo", line.have.lo);
    figure("hi", line.have.hi);
    figure("in_hand", line.in_hand);
    figure("on_order", line.on_order);
    figure("planned", line.planned);
    figure("from_old", line.from_old);
    figure("by_work", line.by_work);
    json_.end_object();
    json_.key("basis").string(word_of(line.basis));
    each("other_counts", line.other_counts, [&](const OtherCount& count) {
      json_.begin_object();
      text("basis", count.basis);
      figure("quantity", count.quantity);
      optional("source", count.source);
      json_.end_object();
    });
    json_.key("stops_work").boolean(line.stops_work);
    text("action", line.action);
    json_.key("promises");
    if (line.promises) {
      json_.begin_object();
      promise("outline", line.promises->outline);
      promise("openings", line.promises->openings);
      promise("holes", line.promises->holes);
      promise("hardware", line.promises->hardware);
      json_.end_object();
    } else {
      json_.null();
    }
    optional("folded_under", line.folded_under);
    each("covered_by", line.covered_by, [&](const CoveredText& covered) { this->covered(covered); });
    because(line.because);
    json_.key("rivals");
    if (line.rivals) {
      json_.begin_object();
      strings("needs", line.rivals->needs);
      strings("supplies", line.rivals->supplies);
      figure("wanted", line.rivals->wanted);
      figure("pieces", line.rivals->pieces);
      json_.end_object();
    } else {
      json_.null();
    }
    json_.end_object();
  }

  void covered(const CoveredText& covered) {
    json_.begin_object();
    text("from", covered.from);
    json_.key("line");
    covered.line ? json_.number(static_cast<std::int64_t>(*covered.line)) : json_.null();
    optional("part_number", covered.part_number);
    figure("quantity", covered.quantity);
    figure("quantity_hi", covered.quantity_hi);
    optional("bag", covered.bag);
    json_.end_object();
  }

  void spare(const SpareText& spare) {
    json_.begin_object();
    text("part", spare.part).optional("hand", spare.hand);
    range("quantity", spare.quantity);
    figure("meant", spare.meant);
    figure("from_bags", spare.from_bags);
    figure("over", spare.over);
    json_.end_object();
  }

  void settle(const SettleText& settle) {
    json_.begin_object();
    text("about", settle.about).optional("fact", settle.fact).optional("part", settle.part).optional("position", settle.position);
    json_.key("line");
    settle.line ? json_.number(static_cast<std::int64_t>(*settle.line)) : json_.null();
    json_.key("settles").number(static_cast<std::int64_t>(settle.settles));
    text("ask", settle.ask).optional("look_at", settle.look_at);
    if (!settle.distance.empty()) text("distance", settle.distance);
    strings("lines", settle.lines);
    json_.end_object();
  }

  void list(const ListText& entry) {
    json_.begin_object();
    text("file", entry.file);
    json_.key("line").number(static_cast<std::int64_t>(entry.line));
    text("as_typed", entry.as_typed);
    optional("reading", entry.reading);
    json_.key("read_as");
    if (entry.set_aside.empty()) {
      json_.begin_object();
      text("says", entry.read_as);
      strings("parts", entry.parts);
      text("quantity", entry.quantity);
      json_.end_object();
    } else {
      json_.null();
    }
    json_.key("fit");
    if (!entry.fit) json_.null();
    else json_.string(*entry.fit == Fit::Yes ? "yes" : *entry.fit == Fit::No ? "no" : "open");
    strings("fails", entry.fails);
    strings("hangs_on", entry.hangs_on);
    optional("set_aside", entry.set_aside);
    strings("nearest", entry.nearest);
    strings("doubts", entry.doubts);
    json_.end_object();
  }

  void state(std::string_view name, const std::optional<ReportLine>& line) {
    json_.key(name);
    if (!line) {
      json_.null();
      return;
    }
    json_.begin_object();
    json_.key("status").string(word_of(line->status));
    range("need", line->need, &line->unit);
    range("gap", line->gap);
    json_.end_object();
  }

  void change(const Change& change) {
    json_.begin_object();
    text("id", change.id);
    state("was", change.was);
    state("now", change.now);
    json_.end_object();
  }

  JsonWriter json_;
};

}  // namespace

std::string check_json(const Report& report, const std::vector<Change>* changes) { return CheckJson().write(report, changes); }

}  // namespace kitgap
