#include "analyse/keyed_rows.h"
#include "analyse/pack_check.h"
#include "analyse/row_merges.h"
#include "text/file.h"
#include "text/json.h"

#include <algorithm>
#include <map>

namespace kitgap {
namespace {

const FindingWord& word_of(std::string_view code) {
  return *std::find_if(kFindingWords.begin(), kFindingWords.end(), [&](const FindingWord& word) { return word.code == code; });
}

std::string value_text(const Rules& rules, FactId fact, const FactValue& value) { return text_of(value, rules.facts[fact.index].domain.type); }

class FindingsJson {
 public:
  FindingsJson(const Rules& rules, const PackFindings& findings, std::span<const TableReport> tables)
      : rules_(rules), findings_(findings), tables_(tables), merges_(find_merges(rules)) {
    json_.plain();
  }

  std::string run() {
    json_.begin_object().key("format").string("rules-check/1").key("packs").begin_array();
    for (const PackInfo& pack : rules_.packs) {
      json_.begin_object().key("name").string(pack.name).key("version").string(pack.version).key("hash").string(pack.hash).end_object();
    }
    json_.end_array().key("findings").begin_array();
    for (const Finding& finding : findings_.findings) add(finding);
    json_.end_array().key("left_out").number(static_cast<std::int64_t>(findings_.left_out)).key("tables").begin_array();
    for (const TableReport& table : tables_) add(table);
    json_.end_array().end_object();
    return json_.take();
  }

 private:
  void add(RowPlace place) {
    json_.begin_object().key("pack").string(rules_.packs[rules_.layer(place)].name).key("file").string(rules_.tables[place.table].file);
    json_.key("line").number(std::int64_t{rules_.line_of(place)}).key("source");
    if (const std::string_view source = rules_.source_of(place); source.empty()) json_.null();
    else json_.string(source);
    json_.end_object();
  }
  void add(std::string_view key, const std::vector<RowPlace>& rows) {
    json_.key(key).begin_array();
    for (const RowPlace place : rows) add(place);
    json_.end_array();
  }

  void add(const WitnessCar& witness) {
    json_.key("witness").begin_object();
    for (const auto& [fact, value] : witness) {
      json_.key(rules_.facts[fact.index].name);
      const auto* number = std::get_if<Fraction>(&value);
      const auto* boolean = std::get_if<bool>(&value);
      if (boolean != nullptr) json_.boolean(*boolean);
      else if (number != nullptr && rules_.facts[fact.index].domain.type == FactType::Number && number->to_decimal()) json_.number(*number->to_decimal());
      else json_.string(value_text(rules_, fact, value));
    }
    json_.end_object();
  }

  void add(const TableReport::Tests& box) {
    json_.key("box").begin_object();
    for (const auto& [fact, test] : box) json_.key(fact).string(test);
    json_.end_object();
  }

  void add(const Finding& finding) {
    json_.begin_object().key("code").string(finding.code).key("severity").string(word_of(finding.code).is_wrong ? "wrong" : "remark");
    json_.key("says").string(finding.says);
    add("rows", finding.rows);
    add(finding.witness);
    json_.key("repair").string(finding.repair).key("page").string(guide_page_of(finding.code)).end_object();
  }

  void add(const TableReport& report) {
    const TableInfo& info = rules_.tables[report.table];
    json_.begin_object().key("pack").string(rules_.packs[info.pack].name).key("file").string(info.file);
    json_.key("kind").string(kitgap::word_of(info.kind).word).key("rows").number(static_cast<std::int64_t>(info.table.row_count()));
    json_.key("holes").begin_array();
    for (const auto& hole : report.holes) {
      json_.begin_object().key("key").string(hole.key);
      add(hole.box);
      add(hole.witness);
      json_.end_object();
    }
    json_.end_array().key("overlaps").begin_array();
    for (const auto& overlap : report.overlaps) {
      json_.begin_object();
      add("rows", {overlap.first, overlap.second});
      add(overlap.box);
      add(overlap.witness);
      json_.key("same_output").boolean(overlap.same_output).end_object();
    }
    json_.end_array();
    add("never_apply", report.never_apply);
    json_.key("hidden").begin_array();
    for (const auto& hidden : report.hidden) {
      json_.begin_object().key("row");
      add(hidden.row);
      add("by", hidden.by);
      json_.end_object();
    }
    json_.end_array().key("mergeable").begin_array();
    for (const RowMerge& merge : merges_) {
      if (merge.rows.front().table != report.table) continue;
      json_.begin_object();
      add("rows", merge.rows);
      json_.key("column").string(merge.column).key("cell").string(merge.cell).end_object();
    }
    json_.end_array().key("truncated").boolean(report.truncated).end_object();
  }

  const Rules& rules_;
  const PackFindings& findings_;
  std::span<const TableReport> tables_;
  std::vector<RowMerge> merges_;
  JsonWriter json_;
};

std::string wrong_in_words(const Rules& rules, const Finding& finding) {
  std::string out = row_in_words(rules, finding.rows.front()) + ": " + finding.says + " [" + std::string(finding.code) + "]\n";
  constexpr std::size_t kRows = 6;
  for (std::size_t at = 1; at < finding.rows.size() && at < kRows; ++at) out += "    and " + row_in_words(rules, finding.rows[at]) + "\n";
  if (finding.rows.size() > kRows) out += "    and " + std::to_string(finding.rows.size() - kRows) + " rows more\n";
  if (!finding.witness.empty()) {
    out += "    for example a car with ";
    for (std::size_t at = 0; at < finding.witness.size(); ++at) {
      const auto& [fact, value] = finding.witness[at];
      out += (at == 0 ? "" : ", ") + rules.facts[fact.index].name + " " + value_text(rules, fact, value);
    }
    out += "\n";
  }
  return out + "    " + finding.repair + "\n    More: " + guide_page_of(finding.code) + "\n\n";
}

}  // namespace

std::string pack_findings_json(const Rules& rules, const PackFindings& findings, std::span<const TableReport> tables) {
  return FindingsJson(rules, findings, tables).run();
}

std::string pack_findings_text(const Rules& rules, const PackFindings& findings) {
  std::string out;
  bool has_remarks = false;
  for (const Finding& finding : findings.findings) {
    if (word_of(finding.code).is_wrong) out += wrong_in_words(rules, finding);
    else has_remarks = true;
  }
  if (out.empty()) out += "nothing in these packs is left out, contradicts itself or is out of reach\n";
  if (has_remarks) {
    out += "Remarks, no faults as long as they are meant:\n";
    constexpr std::size_t kShown = 5;  // of one kind
    std::map<std::string_view, std::size_t> seen;
    for (const Finding& finding : findings.findings) {
      if (word_of(finding.code).is_wrong || ++seen[finding.code] > kShown) continue;
      out += "  " + row_in_words(rules, finding.rows.front()) + ": " + finding.says + " [" + std::string(finding.code) + "]\n";
    }
    for (const auto& [code, count] : seen) {
      if (count > kShown) out += "  ... and " + std::to_string(count - kShown) + " more [" + std::string(code) + "]; `--format json` lists them\n";
    }
    for (const auto& [code, count] : seen) out += "  More on [" + std::string(code) + "]: " + guide_page_of(code) + "\n";
  }
  if (findings.left_out > 0) out += "... and " + std::to_string(findings.left_out) + " more of the same kinds\n";
  return out;
}

}  // namespace kitgap
