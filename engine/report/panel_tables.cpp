#include "report/panel_tables.h"

#include "report/page.h"
#include "report/pages.h"
#include "report/pictures.h"

namespace kitgap {
namespace {

void table_row(Markup& page, const ReportLine& line, std::optional<std::size_t> shape) {
  const bool is_estimate = line.basis == Basis::Estimate;
  page.open("tr", {{"class", "line"}, {"data-status", word_of(line.status)}}).open("th", {{"scope", "row"}}).text(line.part_name);
  const auto tally = shape ? tally_of(line) : std::nullopt;
  if (tally) tally_picture(page, *tally, *shape);
  page.close();
  page.put("td", {{"class", is_estimate ? "number estimate" : "number"}}, (is_estimate ? "about " : "") + shown(line.need, line.unit, is_estimate));
  page.put("td", {{"class", "number"}}, shown(line.have, line.unit, is_estimate));
  page.put("td", {{"class", line.gap.hi.is_zero() ? "number" : "number lacks"}}, shown(line.gap, line.unit, is_estimate));
  page.put("td", {{"class", "known"}}, word_of(line.basis)).close();
}

}  // namespace

void panel_table(Markup& page, const Report& report, const PanelText& panel, const LineRows& rows) {
  const std::string title = panel.part_name + ", " + place_name(panel.position);
  page.open("article", {{"class", "panel"}, {"data-place", panel.position}}).put("h3", title);
  const bool has_picture = !panel.fixings.empty() || !panel.openings.empty();
  if (has_picture) panel_picture(page, report, panel);
  page.open("table", {{"class", "counts"}}).open("thead").open("tr");
  page.put("th", {{"scope", "col"}}, "piece");
  for (const std::string_view head : {"wanted", "have", "lack"}) page.put("th", {{"scope", "col"}, {"class", "number"}}, head);
  page.put("th", {{"scope", "col"}, {"class", "known"}}, "how known").close().close().open("tbody");
  for (std::size_t at = 0; at < panel.fixings.size(); ++at) table_row(page, report.lines[panel.fixings[at]], at < kMostRings ? std::optional(at) : std::nullopt);
  for (const std::size_t index : panel.openings) table_row(page, report.lines[index], std::nullopt);
  for (const std::size_t index : panel.others) table_row(page, report.lines[index], std::nullopt);
  page.close().close();
  for (const std::string& sum : panel.arithmetic) page.put("p", {{"class", "sum"}}, sum);
  if (const ReportLine* itself = rows.find(panel.itself); itself != nullptr && !itself->action.empty()) {
    page.put("p", {{"class", "after"}}, "The panel itself: " + std::string(word_of(itself->status)) + "; " + itself->action + ".");
  }
  page.close();
}

std::string counts_html(const Report& report, const Overview& overview) {
  Markup page;
  picture_patterns(page);
  begin_main(page);
  const LineRows rows(report, page);
  page.open("header", {{"class", "top"}}).put("h1", "Counts for " + report.car);
  page.put("p", {{"class", "lead"}}, "Clips, seals, holes and fasteners of each panel, to be checked by hand.").close();
  for (const PanelText& panel : overview.panels) panel_table(page, report, panel, rows);
  page.close();
  return page_of({.title = "Counts for " + report.car}, page);
}

}  // namespace kitgap
