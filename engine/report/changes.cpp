#include <algorithm>

#include "report/report.h"
#include "text/codes.h"
#include "text/json.h"

namespace kitgap {
namespace {

std::optional<Range> range_of(const Json* json) {
  if (json == nullptr) return std::nullopt;
  const Json* lo = json->find("lo");
  const Json* hi = json->find("hi");
  if (lo == nullptr || hi == nullptr || !lo->is_number() || !hi->is_number()) return std::nullopt;
  try {
    const auto least = Fraction::parse(lo->text);
    const auto greatest = Fraction::parse(hi->text);
    if (!least || !greatest) return std::nullopt;
    return Range{*least, *greatest};
  } catch (const FigureOverflow&) {
    return std::nullopt;
  }
}

std::optional<ReportLine> line_of(const Json& json) {
  const Json* id = json.find("id");
  const Json* status = json.find("status");
  const auto need = range_of(json.find("need"));
  const auto gap = range_of(json.find("gap"));
  if (id == nullptr || status == nullptr || !id->is_string() || !status->is_string() || !need || !gap) return std::nullopt;
  const auto word = std::ranges::find(kStatusWords, std::string_view(status->text), &StatusWord::word);
  if (word == kStatusWords.end()) return std::nullopt;
  ReportLine line;
  line.id = id->text;
  line.status = word->status;
  line.need = *need;
  line.gap = *gap;
  const Json* unit = json.find("need")->find("unit");
  line.unit = unit != nullptr && unit->is_string() ? unit->text : "each";
  return line;
}

bool is_same(const ReportLine& a, const ReportLine& b) { return a.status == b.status && a.need == b.need && a.gap == b.gap; }

std::vector<Change> differences(std::map<std::string, Change> paired, const Report& now) {
  for (const ReportLine& line : now.lines) {
    Change& change = paired[line.id];
    change.id = line.id;
    change.now = line;
  }
  std::vector<Change> result;
  for (auto& [id, change] : paired) {
    if (change.was && change.now && is_same(*change.was, *change.now)) continue;
    result.push_back(std::move(change));
  }
  return result;
}

}  // namespace

std::vector<Change> changes_between(const Report& was, const Report& now) {
  std::map<std::string, Change> paired;
  for (const ReportLine& line : was.lines) paired[line.id] = {.id = line.id, .was = line, .now = {}};
  return differences(std::move(paired), now);
}

std::optional<std::vector<Change>> changes_since(SourceId earlier, const Sources& sources, const Report& now, Diagnostics& diagnostics) {
  const auto json = parse_json(earlier, sources, diagnostics);
  if (!json) return std::nullopt;
  const auto refuse = [&](const Json& at) {
    diagnostics.add({.code = code::kInvalidJson, .span = {.source = earlier, .line = at.line, .column = at.column},
                     .says = "this is no gap report", .expected = "what `kitgap check ... --format json` wrote"});
    return std::nullopt;
  };
  const Json* format = json->find("format");
  const Json* lines = json->find("lines");
  if (format == nullptr || format->text != "check/1" || lines == nullptr || !lines->is_array()) return refuse(*json);
  std::map<std::string, Change> changes;
  for (const Json& entry : lines->items) {
    auto line = line_of(entry);
    if (!line) return refuse(entry);
    changes[line->id] = {.id = line->id, .was = line, .now = {}};
  }
  return differences(std::move(changes), now);
}

}  // namespace kitgap
