#include "report/report.h"
#include "text/json.h"
#include "text/sha256.h"

namespace kitgap {
namespace {

class CheckJson {
 public:
  std::string write(const Report& report, const std::vector<Change>* changes) {
    json_.begin_object();
    json_.key("format").string("check/1");
    each_sealed("packs", report.packs, [&](const PackText& pack) { text("name", pack.name).text("version", pack.version).text("hash", pack.hash); });
    json_.key("car");
    sealed([&] { car_members(report); });
    each_sealed("contradictions", report.contradictions, [&](const ContradictionText& contradiction) {
      text("says", contradiction.says);
      strings("facts", contradiction.facts);
      because(contradiction.because);
    });
    json_.key("summary");
    sealed([&] { write_summary(json_, report.summary); });
    each_sealed("lines", report.lines, [&](const ReportLine& entry) { line_members(entry); });
    each_sealed("spare", report.spare, [&](const SpareText& entry) { spare_members(entry); });
    each_sealed("checks", report.checks, [&](const CheckText& check) {
      text("kind", check.kind).text("severity", check.severity).optional("part", check.part).optional("position", check.position);
      text("says", check.says).optional("source", check.source);
      strings("lines", check.lines);
    });
    each_sealed("to_settle", report.to_settle, [&](const SettleText& entry) { settle_members(entry); });
    each_sealed("ask_supplier", report.ask_supplier, [&](const SupplierQuestion& question) {
      text("supplier", question.supplier).text("part_number", question.part_number).text("question", question.question);
      strings("lines", question.lines);
    });
    each_sealed("list", report.list, [&](const ListText& entry) { list_members(entry); });
    each_sealed("cautions", report.cautions, [&](const CautionText& caution) {
      optional("part", caution.part).optional("step", caution.step);
      text("text", caution.text).optional("source", caution.source);
      strings("lines", caution.lines);
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

  template <class Entries, class Members>
  void each_sealed(std::string_view name, const Entries& entries, Members members) {
    each(name, entries, [&](const auto& entry) { sealed([&] { members(entry); }); });
  }

  // The entry once on one line for its seal, then with it.
  template <class Members>
  void sealed(Members members) {
    JsonWriter outer(JsonWriter::Layout::OneLine);
    std::swap(json_, outer);
    json_.begin_object();
    members();
    json_.end_object();
    const std::string seal = seal_of(json_.take());
    std::swap(json_, outer);
    json_.begin_object();
    members();
    text("seal", seal);
    json_.end_object();
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

  void car_members(const Report& report) {
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
    if (!report.work.empty()) strings("work", report.work);
    json_.key("partly_known").begin_object();
    for (const FactText& fact : report.facts) {
      if (!fact.is_known && fact.value != "-") text(fact.name, fact.value);
    }
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
      if (reason.figure) figure("figure", *reason.figure);
      json_.end_object();
    });
  }

  void promise(std::string_view name, const std::optional<bool>& said) {
    json_.key(name);
    said ? json_.boolean(*said) : json_.null();
  }

  void line_members(const ReportLine& line) {
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
      each("given", line.rivals->given, [&](const CoveredText& given) {
        json_.begin_object();
        text("from", given.from);
        json_.key("line");
        given.line ? json_.number(static_cast<std::int64_t>(*given.line)) : json_.null();
        optional("part_number", given.part_number);
        figure("pieces", given.quantity);
        json_.end_object();
      });
      figure("wanted", line.rivals->wanted);
      figure("from_above", line.rivals->from_above);
      figure("pieces", line.rivals->pieces);
      figure("others_lack", line.rivals->others_lack);
      json_.end_object();
    } else {
      json_.null();
    }
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

  void spare_members(const SpareText& spare) {
    text("part", spare.part).optional("hand", spare.hand);
    range("quantity", spare.quantity);
    figure("meant", spare.meant);
    figure("from_bags", spare.from_bags);
    figure("over", spare.over);
  }

  void settle_members(const SettleText& settle) {
    text("about", settle.about).optional("fact", settle.fact).optional("part", settle.part).optional("position", settle.position);
    json_.key("line");
    settle.line ? json_.number(static_cast<std::int64_t>(*settle.line)) : json_.null();
    json_.key("settles").number(static_cast<std::int64_t>(settle.settles));
    text("ask", settle.ask).optional("look_at", settle.look_at);
    if (!settle.distance.empty()) text("distance", settle.distance);
    strings("lines", settle.lines);
  }

  void list_members(const ListText& entry) {
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

std::string seal_of(std::string_view one_line) {
  Sha256 hash;
  hash.add(one_line);
  return hash.hex().substr(0, 32);
}

void write_summary(JsonWriter& json, const ReportSummary& summary) {
  static constexpr auto kNames = std::to_array<std::string_view>({"covered", "move_over", "to_settle", "short", "missing", "does_not_fit"});
  json.key("needs").number(static_cast<std::int64_t>(summary.needs));
  for (std::size_t status = 0; status < kNames.size(); ++status) json.key(kNames[status]).number(static_cast<std::int64_t>(summary.by_status[status]));
  json.key("spare_lines").number(static_cast<std::int64_t>(summary.spare_lines));
  json.key("stops_work").boolean(summary.stops_work);
}

std::string check_json(const Report& report, const std::vector<Change>* changes) { return CheckJson().write(report, changes); }

}  // namespace kitgap
