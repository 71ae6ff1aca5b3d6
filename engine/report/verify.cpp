#include "report/verify.h"

#include <algorithm>
#include <set>

#include "report/proof.h"
#include "report/report.h"
#include "text/codes.h"

namespace kitgap {
namespace {

// What a reader of the report meets that is not of its form.
struct NotAReport {
  const Json* at;
};

const Json& member(const Json& object, std::string_view name) {
  const Json* found = object.find(name);
  if (found == nullptr) throw NotAReport{&object};
  return *found;
}

const std::string& text(const Json& object, std::string_view name) {
  const Json& found = member(object, name);
  if (!found.is_string()) throw NotAReport{&found};
  return found.text;
}

Fraction figure_of(const Json& json) {
  try {
    const auto value = json.is_number() ? Fraction::parse(json.text) : std::nullopt;
    if (value) return *value;
  } catch (const FigureOverflow&) {  // no figure of a report
  }
  throw NotAReport{&json};
}

Fraction figure(const Json& object, std::string_view name) { return figure_of(member(object, name)); }

Range range(const Json& object, std::string_view name) {
  const Json& found = member(object, name);
  return {figure(found, "lo"), figure(found, "hi")};
}

const std::vector<Json>& items(const Json& object, std::string_view name) {
  const Json& found = member(object, name);
  if (!found.is_array()) throw NotAReport{&found};
  return found.items;
}

std::string one_line_without_seal(const Json& entry) {
  Json bare = entry;
  std::erase_if(bare.members, [](const Json::Member& of) { return of.first == "seal"; });
  JsonWriter writer(JsonWriter::Layout::OneLine);
  writer.value(bare);
  return writer.take();
}

class Verifier {
 public:
  Verifier(const Json& report, const Rules& rules) : report_(report), rules_(rules) {}

  void read_lines() {
    index_rows();
    for (const Json& entry : items(report_, "lines")) lines_.push_back(read_line(entry));
    for (const WrittenLine& line : lines_) by_id_[line.id] = &line;
  }

  ReportProof verify(const Knowledge& knowledge, const Car& car) {
    check_packs();
    const bool is_free = !items(report_, "contradictions").empty();
    FactSets known = is_free ? rules_.fact_spaces : knowledge.sets();
    if (is_free) {
      for (const Car::Statement& statement : car.statements) known[statement.fact.index] = known[statement.fact.index] & statement.values;
    }
    NeedProof proof(knowledge, std::move(known), lines_, is_free);
    result_.lines = lines_.size();
    check_seals();
    for (const WrittenLine& line : lines_) {
      check_sums(line);
      check_status(line);
      prove_need(proof, line);
      if (!member(*line.json, "rivals").is_null()) prove_gap(line);
      else if (line.gap.lo.sign() > 0 && member(*line.json, "exact").boolean) fault(line.id, "it has a gap, but names no rivals for it");
    }
    check_spare();
    check_summary();
    return std::move(result_);
  }

 private:
  void fault(std::string where, std::string says) { result_.faults.push_back({std::move(where), std::move(says)}); }

  static std::string key_of(std::string_view pack, std::string_view file, std::uint32_t line) {
    return std::string(pack) + "\n" + std::string(file) + "\n" + std::to_string(line);
  }

  std::string key_of(RowPlace place) const {
    const TableInfo& info = rules_.tables[place.table];
    return key_of(rules_.packs[info.pack].name, info.file, rules_.line_of(place));
  }

  void index_rows() {
    for (std::size_t row = 0; row < rules_.needs.size(); ++row) needs_[key_of(rules_.needs[row].place)] = row;
    for (std::size_t row = 0; row < rules_.consumes.size(); ++row) consumes_[key_of(rules_.consumes[row].place)] = row;
  }

  WrittenLine read_line(const Json& entry) {
    WrittenLine line{.json = &entry, .id = text(entry, "id"), .status = text(entry, "status"), .part = text(entry, "part"),
                     .position = text(entry, "position"), .parent = text(entry, "parent"), .need = range(entry, "need"),
                     .gap = range(entry, "gap"), .have = range(entry, "have"), .stops_work = member(entry, "stops_work").boolean,
                     .needs = {}, .consumes = {}, .counted = {}};
    for (const Json& reason : items(entry, "because")) {
      if (const Json* counted = reason.find("figure")) {
        line.counted = figure_of(*counted);
        continue;
      }
      const Json& pack = member(reason, "pack");
      const auto number = figure(reason, "line").to_integer().value_or(0);
      const std::string key = key_of(pack.text, text(reason, "file"), static_cast<std::uint32_t>(number));
      if (const auto need = needs_.find(key); need != needs_.end()) line.needs.push_back(need->second);
      else if (const auto consumes = consumes_.find(key); consumes != consumes_.end()) line.consumes.push_back(consumes->second);
      else fault(line.id, "it names " + text(reason, "file") + ":" + std::to_string(number) + ", and no row of that kind stands there");
    }
    return line;
  }

  void check_packs() {
    const std::vector<Json>& packs = items(report_, "packs");
    for (std::size_t at = 0; at < packs.size(); ++at) {
      const std::string& name = text(packs[at], "name");
      if (at >= rules_.packs.size() || rules_.packs[at].name != name) fault("packs", "the report was made with the pack `" + name + "` as number " + std::to_string(at + 1));
      else if (rules_.packs[at].hash != text(packs[at], "hash")) fault("packs", "the tables of `" + name + "` are not those that the report was made with");
    }
    if (packs.size() < rules_.packs.size()) fault("packs", "the report was made with fewer packs");
  }

  // Every entry of the report has its seal, so that one changed by hand is named.
  void check_seals() {
    for (const auto& [name, value] : report_.members) {
      if (value.is_object()) check_seal(name, value);
      if (!value.is_array() || name == "changes") continue;
      for (std::size_t at = 0; at < value.items.size(); ++at) {
        const Json* id = value.items[at].find("id");
        check_seal(id != nullptr ? id->text : name + " " + std::to_string(at + 1), value.items[at]);
      }
    }
  }

  void check_seal(const std::string& where, const Json& entry) {
    const Json* seal = entry.find("seal");
    if (seal == nullptr || seal->text != seal_of(one_line_without_seal(entry))) fault(where, "it was changed after kitgap wrote it: its seal is another");
  }

  void check_sums(const WrittenLine& line) {
    const Json& have = member(*line.json, "have");
    Fraction parts;
    for (const std::string_view part : {"in_hand", "on_order", "planned", "from_old", "by_work"}) parts += figure(have, part);
    Fraction covered, covered_hi;
    for (const Json& by : items(*line.json, "covered_by")) {
      covered += figure(by, "quantity");
      covered_hi += figure(by, "quantity_hi");
    }
    const auto wrong = [&](const std::string& says) { fault(line.id, says); };
    if (line.need.lo > line.need.hi || line.have.lo > line.have.hi || line.gap.lo > line.gap.hi || line.gap.lo.sign() < 0 || line.have.lo.sign() < 0) {
      return wrong("a least figure is above the greatest, or below zero");
    }
    // have + gap = need on every car.
    if (line.have.lo + line.gap.lo > line.need.lo || line.have.hi + line.gap.hi < line.need.hi || line.have.lo + line.gap.hi > line.need.hi ||
        line.have.hi + line.gap.lo > line.need.hi || line.need.lo > line.have.hi + line.gap.lo || line.need.lo > line.have.lo + line.gap.hi) {
      wrong("need " + range_text(line.need) + ", have " + range_text(line.have) + " and gap " + range_text(line.gap) + " do not go together");
    }
    if (parts > line.have.lo) wrong("its pieces in hand, on order, planned, from the old part and by work are " + parts.to_text() + ", more than the " + line.have.lo.to_text() + " it has");
    if (line.have.lo == line.have.hi && covered == covered_hi && covered != line.have.lo) wrong("what covers it comes to " + covered.to_text() + ", it says " + line.have.lo.to_text());
    if (covered > line.have.lo || covered_hi < line.have.hi) wrong("what covers it, " + range_text({covered, covered_hi}) + ", does not give what it has, " + range_text(line.have));
  }

  void check_status(const WrittenLine& line) {
    const bool has_old = std::ranges::any_of(items(*line.json, "covered_by"), [](const Json& by) { return text(by, "from") == "old"; });
    std::set<std::string> may_be;
    if (line.gap.hi.is_zero()) may_be = {has_old ? "move over" : "covered"};
    else if (line.gap.lo.is_zero()) may_be = {"to settle"};
    else if (!line.have.hi.is_zero()) may_be = {"short"};
    else may_be = {"does not fit", "missing"};
    if (!may_be.contains(line.status)) fault(line.id, "`" + line.status + "` does not follow from its figures");
    if (line.stops_work && line.gap.lo.is_zero()) fault(line.id, "it stops the work without a gap");
  }

  void prove_need(NeedProof& proof, const WrittenLine& line) {
    std::string why_not;
    const auto need = proof.need_of(line, why_not);
    const bool is_limited = member(report_, "car").find("work") != nullptr;
    if (!need || (is_limited && *need != line.need)) {
      result_.not_proven.push_back({line.id, need ? "its assembly may lie outside the work" : why_not});
      if (!need && line.needs.empty()) check_small(line);
    } else if (*need != line.need) {
      fault(line.id, "need " + range_text(line.need) + " does not follow: the rows it names give " + range_text(*need));
    } else {
      ++result_.needs_proven;
    }
  }

  // What moving pieces over uses up: never more than the table says for all that is moved there.
  void check_small(const WrittenLine& line) {
    Fraction most;
    for (const MoveOverRow& row : rules_.move_over) {
      if (rules_.part_keys[row.sub_part.index] != line.parent) continue;
      for (const Takes& takes : row.takes) {
        if (rules_.part_keys[takes.part.index] != line.part) continue;
        for (const WrittenLine& moved : lines_) {
          if (moved.part != line.parent || moved.position != line.position || moved.parent != rules_.part_keys[row.assembly.index]) continue;
          for (const Json& by : items(*moved.json, "covered_by")) {
            if (text(by, "from") == "old") most += figure(by, "quantity_hi") * takes.quantity;
          }
        }
      }
    }
    if (line.need.hi > most.ceil()) fault(line.id, "it calls for " + range_text(line.need) + ", what is moved there takes at most " + most.to_text());
  }

  // The gap is what the rivals want, less what assemblies bring them, less all loose and old pieces that could serve
  // them, less what the other rivals lack.
  void prove_gap(const WrittenLine& line) {
    ++result_.gaps;
    const Json& rivals = member(*line.json, "rivals");
    const std::size_t before = result_.faults.size();
    Range wanted{Fraction(0), Fraction(0)};
    Range from_above = wanted;
    bool has_line = false;
    for (const Json& id : items(rivals, "needs")) {
      const auto rival = by_id_.find(id.text);
      if (rival == by_id_.end()) {
        fault(line.id, "its rival `" + id.text + "` is no line of the report");
        return;
      }
      has_line = has_line || rival->second == &line;
      wanted = {wanted.lo + rival->second->need.lo, wanted.hi + rival->second->need.hi};
      for (const Json& by : items(*rival->second->json, "covered_by")) {
        const bool is_loose = text(by, "from") == "list" || text(by, "from") == "stock" || text(by, "from") == "order";
        if (!is_loose) from_above.hi += figure(by, "quantity_hi");
      }
    }
    Fraction pieces;
    for (const Json& given : items(rivals, "given")) {
      const Fraction here = figure(given, "pieces");
      pieces += here;
      check_given(line, items(rivals, "needs"), given, here);
    }
    const Fraction says_wanted = figure(rivals, "wanted");
    const Fraction says_above = figure(rivals, "from_above");
    if (!has_line) fault(line.id, "it is not among its own rivals");
    if (says_wanted < wanted.lo || says_wanted > wanted.hi) fault(line.id, "its rivals want " + range_text(wanted) + ", it says " + says_wanted.to_text());
    if (says_above > from_above.hi) fault(line.id, "assemblies bring its rivals at most " + from_above.hi.to_text() + ", it says " + says_above.to_text());
    if (pieces != figure(rivals, "pieces")) fault(line.id, "the pieces there for its rivals come to " + pieces.to_text() + ", it says " + figure(rivals, "pieces").to_text());
    const Fraction others = figure(rivals, "others_lack");
    const Fraction left = says_wanted - says_above - pieces - others;
    if (left != line.gap.lo || others.sign() < 0 || others + line.gap.lo > says_wanted) {
      fault(line.id, "gap " + line.gap.lo.to_text() + " does not follow: " + says_wanted.to_text() + " wanted, " + says_above.to_text() +
                         " with assemblies, " + pieces.to_text() + " there and " + others.to_text() + " lacking elsewhere leave " + left.to_text());
    }
    if (result_.faults.size() == before) ++result_.gaps_proven;
  }

  // A supply has no fewer pieces than it is said to cover among the rivals.
  void check_given(const WrittenLine& line, const std::vector<Json>& rivals, const Json& given, const Fraction& pieces) {
    const Json& row = member(given, "line");
    if (!row.is_number()) return;
    const std::string supply = text(given, "from") + " line " + row.text;
    Fraction used;
    for (const Json& id : rivals) {
      for (const Json& by : items(*by_id_.at(id.text)->json, "covered_by")) {
        if (text(by, "from") == text(given, "from") && member(by, "line").text == row.text) used += figure(by, "quantity");
      }
    }
    if (used > pieces) fault(line.id, supply + " covers " + used.to_text() + " pieces, but only " + pieces.to_text() + " are said to be there");
  }

  void check_spare() {
    std::size_t count = 0;
    for (const Json& entry : items(report_, "spare")) {
      const std::string where = "spare " + text(entry, "part");
      const Range quantity = range(entry, "quantity");
      const Fraction sum = figure(entry, "meant") + figure(entry, "from_bags") + figure(entry, "over");
      if (quantity.lo > quantity.hi || sum != quantity.lo) fault(where, "meant, from whole bags and over come to " + sum.to_text() + ", not to " + quantity.lo.to_text());
      ++count;
    }
    if (figure(member(report_, "summary"), "spare_lines") != Fraction(static_cast<std::int64_t>(count))) fault("summary", "the number of spare lines is " + std::to_string(count));
  }

  void check_summary() {
    const Json& summary = member(report_, "summary");
    std::map<std::string, std::size_t, std::less<>> counts;
    bool stops = false;
    for (const WrittenLine& line : lines_) {
      ++counts[line.status];
      stops = stops || line.stops_work;
    }
    const auto check = [&](std::string_view name, std::size_t count) {
      if (figure(summary, name) != Fraction(static_cast<std::int64_t>(count))) {
        fault("summary", "`" + std::string(name) + "` says " + member(summary, name).text + ", the lines give " + std::to_string(count));
      }
    };
    for (const StatusWord& word : kStatusWords) {
      std::string name(word.word);
      std::ranges::replace(name, ' ', '_');
      check(name, counts[std::string(word.word)]);
    }
    check("needs", lines_.size());
    if (member(summary, "stops_work").boolean != stops) fault("summary", "whether the work stops does not follow from the lines");
  }

  const Json& report_;
  const Rules& rules_;
  std::map<std::string, std::size_t> needs_, consumes_;
  std::vector<WrittenLine> lines_;
  std::map<std::string, const WrittenLine*, std::less<>> by_id_;
  ReportProof result_;
};

}  // namespace

std::optional<ReportProof> verify_report(SourceId source, const Rules& rules, Sources& sources, Diagnostics& diagnostics) {
  const auto json = parse_json(source, sources, diagnostics);
  if (!json) return std::nullopt;
  try {
    if (!json->is_object() || text(*json, "format") != "check/1") throw NotAReport{&*json};
    Verifier verifier(*json, rules);
    verifier.read_lines();
    const Json& written = member(*json, "car");
    Car car{.name = text(written, "name"), .statements = {}, .work = {}, .dates = {}};
    read_car_facts(member(written, "facts"), source, rules, sources, car, diagnostics);
    read_car_facts(member(written, "partly_known"), source, rules, sources, car, diagnostics);
    if (diagnostics.has_errors()) return std::nullopt;
    const auto knowledge = Knowledge::of(car, rules, diagnostics);
    if (!knowledge) return std::nullopt;
    return verifier.verify(*knowledge, car);
  } catch (const NotAReport& wrong) {
    diagnostics.add({.code = code::kInvalidJson, .span = {.source = source, .line = wrong.at->line, .column = wrong.at->column},
                     .says = "this is no gap report", .expected = "what `kitgap check ... --format json` wrote"});
    return std::nullopt;
  }
}

}  // namespace kitgap
