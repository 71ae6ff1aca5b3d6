#include "report/line_rows.h"
#include "report/page.h"
#include "report/pages.h"

namespace kitgap {

std::string cut_html(const StripJob& job, const CutPlan& plan) {
  const auto size = [](const Fraction& value) { return value.to_decimal().value_or(value.to_text()); };
  Markup page;
  begin_main(page);
  page.open("header", {{"class", "top"}}).put("h1", "Cutting plan");
  page.put("p", {{"class", "lead"}}, "Roll " + size(job.strip_width) + " wide: cut off " + size(plan.length) + " for " + plural(plan.pieces.size(), "piece.", "pieces."));
  page.put("p", plan.status == CutStatus::Optimal ? "No shorter length holds them." : "Not proven to be the least: nothing below " + size(plan.bound) + " holds them.");
  page.put("p", job.may_turn ? "Pieces may be turned." : "No piece is turned: the arrows show the way of pile and grain.").close();
  // The picture is ours, its words are escaped where it is drawn.
  page.open("figure", {{"class", "cut-picture"}}).own(cut_svg(job, plan)).close();
  page.open("section", {{"aria-labelledby", "pieces"}}).put("h2", {{"id", "pieces"}}, "Piece by piece");
  page.open("table", {{"class", "counts"}}).open("thead").open("tr").put("th", {{"scope", "col"}}, "piece");
  for (const std::string_view head : {"across", "along", "from the left", "from the start"}) page.put("th", {{"scope", "col"}, {"class", "number"}}, head);
  page.close().close().open("tbody");
  for (const StripPiece& piece : plan.pieces) {
    const StripPanel& panel = job.panels[piece.panel];
    page.open("tr").open("th", {{"scope", "row"}}).put("span", {{"class", "tick"}, {"aria-hidden", "true"}}, "").text(panel.panel + (piece.turned ? " (turned)" : "")).close();
    for (const Fraction& figure : {piece.turned ? panel.height : panel.width, piece.turned ? panel.width : panel.height, piece.x, piece.y}) {
      page.put("td", {{"class", "number"}}, size(figure));
    }
    page.close();
  }
  page.close().close().close().close();
  return page_of({.title = "Cutting plan"}, page);
}

}  // namespace kitgap
