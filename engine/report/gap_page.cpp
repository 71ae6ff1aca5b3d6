#include <algorithm>
#include <set>

#include "report/line_rows.h"
#include "report/page.h"
#include "report/pages.h"
#include "report/panel_tables.h"
#include "report/pictures.h"

namespace kitgap {
namespace {

class GapPage {
 public:
  GapPage(const Report& report, const Overview& overview) : report_(report), overview_(overview), rows_(report, page_) {}

  std::string write(const std::vector<Change>* changes) {
    picture_patterns(page_);
    begin_main(page_);
    top();
    filter();
    if (changes != nullptr) changed(*changes);
    cautions();
    contradictions();
    stops();
    keep();
    look();
    ask();
    buy();
    steps();
    all_right();
    not_used();
    panels();
    page_.close();
    return page_of({.title = title(), .script = kGapScript}, page_);
  }

 private:
  std::string title() const { return (report_.is_half_page ? "Fitting day, " : "Gap report for ") + report_.car; }

  void begin(std::string_view id, std::string_view heading) {
    page_.open("section", {{"id", id}, {"aria-labelledby", std::string(id) + "-heading"}});
    page_.put("h2", {{"id", std::string(id) + "-heading"}}, heading);
  }

  template <class Wanted>
  std::vector<std::size_t> lines_where(Wanted wanted) const {
    std::vector<std::size_t> lines;
    for (std::size_t index = 0; index < report_.lines.size(); ++index) {
      if (wanted(report_.lines[index])) lines.push_back(index);
    }
    return lines;
  }
  bool is_shown_alone(const ReportLine& line) const { return report_.is_half_page || line.folded_under.empty(); }

  void top() {
    const ReportSummary& summary = report_.summary;
    const auto count = [&](Status status) { return std::to_string(summary.by_status[static_cast<std::size_t>(status)]); };
    page_.open("header", {{"class", "top"}}).put("h1", title());
    std::string packs;
    for (const PackText& pack : report_.packs) packs += (packs.empty() ? "" : ", ") + pack.name + (pack.version.empty() ? "" : " " + pack.version);
    page_.put("p", {{"class", "by"}}, "by the tables of " + packs);
    page_.open("p", {{"class", "lead"}});
    page_.text(report_.is_half_page ? "Of the whole car: " : "").text(plural(summary.needs, "need", "needs") + ": " + count(Status::Covered) + " covered, " + count(Status::MoveOver) + " to move over, " +
               count(Status::ToSettle) + " to settle, " + count(Status::Short) + " short, " + count(Status::Missing) + " missing, " +
               count(Status::DoesNotFit) + " planned for another car. ");
    page_.put("strong", summary.stops_work ? plural(summary.stopping, "of them stops the work.", "of them stop the work.") : "Nothing stops the work.").close();
    facts();
    page_.close();
  }

  void facts() {
    std::string unknown;
    for (const FactText& fact : report_.facts) {
      if (!fact.is_known) unknown += (unknown.empty() ? "" : ", ") + fact.name + (fact.value == "-" ? "" : " (" + fact.value + ")");
    }
    if (!unknown.empty()) page_.put("p", {{"class", "unknown"}}, "Not known of this car: " + unknown + ".");
    page_.open("details", {{"class", "screen"}}).put("summary", "What is known of it").open("dl");
    for (const FactText& fact : report_.facts) {
      if (fact.is_known) page_.open("div").put("dt", fact.name).put("dd", fact.value).close();
    }
    page_.close().close();
  }

  // Shown by the script, which does the filtering.
  void filter() {
    page_.open("div", {{"id", "filter"}, {"class", "filter"}, {"role", "search"}, {"hidden", ""}});
    page_.put("label", {{"for", "words"}}, "Find").empty("input", {{"id", "words"}, {"type", "search"}, {"autocomplete", "off"}, {"spellcheck", "false"}});
    page_.put("label", {{"for", "status"}}, "Only").open("select", {{"id", "status"}}).put("option", {{"value", ""}}, "every state");
    page_.put("option", {{"value", "stops"}}, "stops the work");
    for (const StatusWord& word : kStatusWords) page_.put("option", {{"value", word.word}}, word.word);
    page_.close();
    page_.put("label", {{"for", "place"}}, "At").open("select", {{"id", "place"}}).put("option", {{"value", ""}}, "every place");
    for (const PlaceText& place : overview_.places) page_.put("option", {{"value", place.position}}, place_name(place.position));
    page_.close().put("output", {{"id", "found"}, {"for", "words status place"}}, "").close();
  }

  void changed(const std::vector<Change>& changes) {
    begin("changed", "What changed");
    if (changes.empty()) page_.put("p", "Nothing.");
    const auto state = [](const std::optional<ReportLine>& line) {
      if (!line) return std::string("not called for");
      return std::string(word_of(line->status)) + ", need " + shown(line->need, line->unit, false) + (line->gap.hi.is_zero() ? "" : ", gap " + range_text(line->gap));
    };
    page_.open("ul", {{"class", "plain"}});
    for (const Change& change : changes) {
      page_.open("li", {{"data-find", ""}});
      rows_.link(change.id);
      page_.text(": " + state(change.was) + " → " + state(change.now)).close();
    }
    page_.close().close();
  }

  void cautions() {
    if (report_.cautions.empty()) return;
    begin("cautions", "Cautions");
    page_.open("ul", {{"class", "cautions"}});
    for (const CautionText& caution : report_.cautions) {
      page_.open("li", {{"data-find", ""}}).put("b", caution.part.empty() ? caution.step : rows_.part_name(caution.part));
      page_.text(": " + caution.text).close();
    }
    page_.close().put("p", {{"class", "after"}}, "Local codes and licensed practice decide.").close();
  }

  void contradictions() {
    if (report_.contradictions.empty()) return;
    begin("contradictions", "Contradictions");
    page_.open("ul", {{"class", "plain"}});
    for (const ContradictionText& contradiction : report_.contradictions) {
      page_.open("li", {{"data-find", ""}}).open("details").put("summary", contradiction.says).open("ul");
      for (const ReasonText& reason : contradiction.because) page_.put("li", reason.says + " (" + reason.file + " line " + std::to_string(reason.line) + ")");
      page_.close().close().close();
    }
    page_.close().close();
  }

  void stops() {
    begin("stops", "Stops the work");
    car_picture(page_, report_, overview_);
    const auto lines = lines_where([&](const ReportLine& line) { return line.stops_work && is_shown_alone(line); });
    if (lines.empty()) page_.put("p", "Nothing does.");
    rows_.by_place(lines, RowFor::Gap);
    page_.close();
  }

  void keep() {
    const auto lines = lines_where([](const ReportLine& line) { return most_from_old(line).sign() > 0; });
    if (lines.empty()) return;
    begin("keep", "Take off and keep before the bin");
    page_.put("p", {{"class", "after"}}, "No old part goes before the new one is in hand and laid over it, its pieces are off, counts, photos and pattern are taken, "
                                         "the trial fit is done and the return window is known.");
    rows_.by_place(lines, RowFor::Keep);
    page_.close();
  }

  void look() {
    const auto open = lines_where([&](const ReportLine& line) { return line.status == Status::ToSettle && is_shown_alone(line); });
    if (report_.to_settle.empty() && open.empty()) return;
    begin("look", "Look at the car");
    page_.put("p", {{"class", "after"}}, "Five minutes. Each answer settles so many lines at once.");
    page_.open("ul", {{"class", "questions"}});
    std::size_t not_alone = 0;
    std::set<std::string> said;
    for (const SettleText& settle : report_.to_settle) {
      if (settle.settles == 0) ++not_alone;
      else if (settle.about != "old part") question(settle);
      else if (said.insert(settle.part).second) old_part(settle.part);
    }
    page_.close();
    if (not_alone != 0) page_.put("p", {{"class", "after"}}, plural(not_alone, "more question settles", "more questions settle") + " nothing alone.");
    fold(open, RowFor::Open, plural(open.size(), "line is", "lines are") + " open until then");
    page_.close();
  }

  void question(const SettleText& settle) {
    page_.open("li", {{"data-find", ""}}).put("span", {{"class", "tick"}, {"aria-hidden", "true"}}, "").open("details");
    page_.open("summary").open("span", {{"class", "what"}}).text(settle.ask).close();
    if (!settle.look_at.empty()) page_.text(" ").put("span", {{"class", "act"}}, "Look at: " + settle.look_at + ".");
    if (!settle.distance.empty()) page_.text(" ").put("span", {{"class", "act"}}, settle.distance + ".");
    if (settle.line) page_.text(" ").put("span", {{"class", "act"}}, "Line " + std::to_string(*settle.line) + " of the list.");
    page_.text(" ").put("span", {{"class", "status"}}, "settles " + std::to_string(settle.settles)).close();
    lines_of(settle.lines, "Hangs on it");
    page_.close().close();
  }

  // One question for a part that may be there at several places.
  void old_part(const std::string& part) {
    std::vector<const SettleText*> places;
    for (const SettleText& settle : report_.to_settle) {
      if (settle.about == "old part" && settle.part == part && settle.settles != 0) places.push_back(&settle);
    }
    if (places.size() == 1) return question(*places.front());
    page_.open("li", {{"data-find", ""}}).put("span", {{"class", "tick"}, {"aria-hidden", "true"}}, "").open("details");
    page_.open("summary").put("span", {{"class", "what"}}, "is the old " + rows_.part_name(part) + " there and good, at each place?");
    if (const std::string& look_at = places.front()->look_at; !look_at.empty()) page_.text(" ").put("span", {{"class", "act"}}, "Look at: " + look_at + ".");
    for (const SettleText* place : places) {
      page_.text(" ").put("span", {{"class", "status"}}, place_name(place->position) + " settles " + std::to_string(place->settles));
    }
    page_.close().open("div");
    for (const SettleText* place : places) lines_of(place->lines, place_name(place->position));
    page_.close().close().close();
  }

  void lines_of(const std::vector<std::string>& ids, std::string_view label) {
    page_.open("div", {{"class", "why"}}).put("p", {{"class", "label"}}, label).open("ul");
    for (const std::string& id : ids) {
      page_.open("li");
      rows_.link(id);
      page_.close();
    }
    page_.close().close();
  }

  void ask() {
    if (report_.ask_supplier.empty()) return;
    begin("ask", "Ask the supplier");
    std::string supplier;
    bool is_open = false;
    for (const SupplierQuestion& question : report_.ask_supplier) {
      if (!is_open || question.supplier != supplier) {
        if (is_open) page_.close();
        supplier = question.supplier;
        is_open = true;
        page_.put("h3", supplier).open("ul", {{"class", "questions"}});
      }
      page_.open("li", {{"data-find", ""}}).put("span", {{"class", "tick"}, {"aria-hidden", "true"}}, "").open("details");
      page_.open("summary").put("span", {{"class", "what"}}, question.question).text(" ");
      page_.put("span", {{"class", "status"}}, plural(question.lines.size(), "line hangs on it", "lines hang on it")).close();
      lines_of(question.lines, "Hangs on it");
      page_.close().close();
    }
    if (is_open) page_.close();
    page_.close();
  }

  void buy() {
    const auto rest = lines_where([&](const ReportLine& line) { return state_of(line) == PlaceText::State::Lacking && is_shown_alone(line); });
    if (overview_.to_buy.empty() && rest.empty()) return;
    begin("buy", "To buy");
    page_.open("ul", {{"class", "sums"}});
    for (const BuyText& buy : overview_.to_buy) {
      page_.open("li", {{"data-find", ""}}).put("span", {{"class", "tick"}, {"aria-hidden", "true"}}, "");
      page_.put("span", {{"class", buy.is_estimate ? "sum estimate" : "sum"}}, (buy.is_estimate ? "about " : "") + shown(buy.gap, buy.unit, buy.is_estimate));
      page_.open("details").put("summary", buy.part_name);
      std::vector<std::string> ids;
      for (const std::size_t index : buy.lines) ids.push_back(report_.lines[index].id);
      lines_of(ids, "For");
      page_.close().close();
    }
    page_.close();
    fold(rest, RowFor::Gap, plural(rest.size(), "line lacks", "lines lack") + " something, but the work can go on");
    page_.close();
  }

  // Rows that most readers pass over: shown when asked for, and by the filter.
  void fold(const std::vector<std::size_t>& lines, RowFor purpose, const std::string& title) {
    if (lines.empty()) return;
    page_.open("details", {{"class", "fold screen"}}).put("summary", title);
    rows_.by_place(lines, purpose);
    page_.close();
  }

  // On fitting day: what comes before, with which tools.
  void steps() {
    if (!report_.is_half_page || report_.steps.empty()) return;
    begin("steps", "Steps and tools");
    page_.open("ul", {{"class", "questions"}});
    for (const StepText& step : report_.steps) {
      page_.open("li").put("span", {{"class", "tick"}, {"aria-hidden", "true"}}, "").open("span").put("b", step.step);
      if (step.minutes) page_.text(", " + range_text(*step.minutes) + " minutes");
      if (!step.tools.empty()) page_.text("; tools: " + step.tools);
      for (std::size_t at = 0; at < step.after.size(); ++at) page_.text((at == 0 ? "; after " : ", ") + step.after[at]);
      if (!step.hold.empty()) page_.text("; hold: " + step.hold);
      page_.close().close();
    }
    page_.close().close();
  }

  void all_right() {
    const auto right = lines_where([](const ReportLine& line) { return line.status == Status::Covered; });
    begin("right", "All right");
    page_.put("p", plural(right.size(), "need is covered.", "needs are covered."));
    if (report_.is_half_page) rows_.by_place(right, RowFor::Right);
    else fold(right, RowFor::Right, "Line by line");
    checks();
    left_over();
    page_.close();
  }

  void checks() {
    if (report_.checks.empty()) return;
    page_.put("h3", "Checks").open("ul", {{"class", "checks"}});
    for (const CheckText& check : report_.checks) {
      page_.open("li", {{"data-find", ""}}).put("b", check.kind).text(": " + check.says);
      if (!check.source.empty()) page_.text(" ").put("span", {{"class", "source screen"}}, check.source);
      page_.close();
    }
    page_.close();
  }

  void left_over() {
    if (report_.spare.empty()) return;
    page_.put("h3", "Left over").open("ul", {{"class", "checks"}});
    for (const SpareText& spare : report_.spare) {
      std::string says = shown(spare.quantity, spare.unit, spare.unit != "each");
      if (spare.meant.sign() > 0) says += ", " + spare.meant.to_text() + " meant as spare";
      if (spare.from_bags.sign() > 0) says += ", from whole bags";
      if (spare.over.sign() > 0) says += ", " + spare.over.to_text() + " more than called for";
      page_.open("li", {{"data-find", ""}}).put("b", spare.part_name + (spare.hand.empty() ? "" : ", " + spare.hand)).text(": " + says).close();
    }
    page_.close();
  }

  void not_used() {
    if (report_.rows.empty()) return;
    begin("unused", "Not used from the list");
    page_.open("ul", {{"class", "checks"}});
    for (const ListText& entry : report_.list) {
      const bool is_misfit = entry.set_aside.empty() && entry.fit && *entry.fit == Fit::No;
      if (entry.is_blank || (entry.set_aside.empty() && !is_misfit)) continue;
      page_.open("li", {{"data-find", ""}}).put("b", "line " + std::to_string(entry.line)).text(": ").put("bdi", is_misfit ? entry.read_as : entry.as_typed);
      page_.text(is_misfit ? " does not fit this car" : ": " + entry.set_aside);
      for (const std::string& fails : entry.fails) page_.text("; " + fails);
      for (const std::string& near : entry.nearest) page_.text("; did you mean `" + near + "`?");
      page_.close();
    }
    page_.close();
    for (const FileRows& file : report_.rows) page_.put("p", (report_.rows.size() == 1 ? "" : file.file + ": ") + in_words(file) + ".");
    page_.open("details", {{"class", "screen"}}).put("summary", "How the files were read").open("ul");
    for (const std::string& remark : report_.remarks) page_.put("li", remark);
    page_.close().close().close();
  }

  void panels() {
    if (overview_.panels.empty()) return;
    page_.open("section", {{"id", "panels"}, {"class", report_.is_half_page ? "" : "screen"}, {"aria-labelledby", "panels-heading"}});
    page_.put("h2", {{"id", "panels-heading"}}, "Panel by panel");
    page_.put("p", {{"class", "after"}}, "To be checked by hand: holes, what goes into them, and what seals it.");
    for (const PanelText& panel : overview_.panels) panel_table(page_, report_, panel, rows_);
    page_.close();
  }

  const Report& report_;
  const Overview& overview_;
  Markup page_;
  LineRows rows_;
};

}  // namespace

std::string check_html(const Report& report, const Overview& overview, const std::vector<Change>* changes) {
  return GapPage(report, overview).write(changes);
}

}  // namespace kitgap
