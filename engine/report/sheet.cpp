#include "report/sheet.h"

#include <algorithm>
#include <span>

#include "report/line_rows.h"
#include "report/page.h"
#include "text/sha256.h"

namespace kitgap {
namespace {

// Names the lines: what was counted for one order is never taken for another's.
std::string digest_of(const CountingSheet& sheet) {
  Sha256 sha;
  for (const SheetLine& line : sheet.lines) {
    for (const std::string* text : {&line.part_number, &line.part, &line.position, &line.parent}) {
      sha.add(*text);
      sha.add(std::string_view("\0", 1));
    }
    sha.add(range_text(line.expected));
  }
  return sha.hex().substr(0, 16);
}

class SheetPage {
 public:
  explicit SheetPage(const CountingSheet& sheet) : sheet_(sheet), is_arrival_(sheet.kind == CountingSheet::Kind::Arrival) {}

  std::string write() {
    page_.put("a", {{"class", "skip"}, {"href", "#lines"}}, "To the lines");
    page_.open("main", {{"id", "sheet"}, {"class", "counting"}, {"data-kind", is_arrival_ ? "arrival" : "found"}, {"data-sheet", digest_of(sheet_)}});
    top();
    lines();
    if (is_arrival_) unexpected();
    as_text();
    bar();
    page_.close();
    return page_of({.title = sheet_.title, .script = kSheetScript, .style = kSheetStyle}, page_);
  }

 private:
  void top() {
    page_.open("header", {{"class", "top"}}).put("h1", sheet_.title);
    page_.put("p", {{"class", "screen"}}, is_arrival_
        ? "Count each thing as it comes out of the parcel. This page works without a net and remembers what you counted on this device; save it, and give the file to `kitgap receive`."
        : "Count what is on the car, before it comes off. Lines that you leave alone stay unknown. This page works without a net and remembers what you counted on this device; save it, and give the file to `kitgap found`, or to any command with `--found`.");
    page_.open("p", {{"class", "paper-only"}}).text(is_arrival_ ? "Delivery note: ____________________   " : "").text("Date: ______________   Counted by: ____________________").close();
    page_.open("p", {{"class", "who controls"}});
    page_.put("label", {{"for", "by"}}, "Counted by").empty("input", {{"id", "by"}, {"autocomplete", "name"}}).close();
    page_.close();
  }

  void lines() {
    page_.open("div", {{"id", "lines"}});
    std::string_view place;
    bool is_open = false;
    for (std::size_t index = 0; index < sheet_.lines.size(); ++index) {
      const SheetLine& line = sheet_.lines[index];
      if (!is_open || line.place != place) {
        if (is_open) page_.close().close();
        is_open = true;
        place = line.place;
        const std::string id = "at" + std::to_string(index);
        page_.open("section", {{"aria-labelledby", id}}).put("h2", {{"id", id}}, line.place).open("ul", {{"class", "cards"}});
      }
      card(line, "n" + std::to_string(index));
    }
    if (is_open) page_.close().close();
    if (sheet_.lines.empty()) page_.put("p", "There is nothing to count.");
    page_.close();
  }

  void card(const SheetLine& line, const std::string& id) {
    page_.open("li", {{"class", "card"}, {"id", id}, {"data-number", line.part_number}, {"data-part", line.part}, {"data-position", line.position},
                      {"data-parent", line.parent}, {"data-lo", line.expected.lo.to_text()}, {"data-hi", line.expected.hi.to_text()},
                      {"data-seen", line.is_opening ? "shell" : ""}});
    page_.open("div", {{"class", "name"}}).put("b", line.name);
    if (!line.detail.empty()) page_.text(" ").put("span", {{"class", "on"}}, line.detail);
    page_.close();
    const std::string figure = range_text(line.expected) + (line.unit == "each" ? "" : " " + line.unit);
    page_.put("div", {{"class", "expect"}}, is_arrival_ ? figure + " should come" : "the tables say " + figure);
    counter("count", is_arrival_ ? "came" : "counted", line.name, true);
    if (line.expected.is_exact_value()) {
      page_.open("button", {{"type", "button"}, {"class", "all controls"}, {"data-all", line.expected.lo.to_text()}}).text("All " + figure).put("span", {{"class", "unseen"}}, " " + line.name).close();
    }
    page_.open("output", {{"class", "difference"}, {"aria-live", "polite"}}).close();
    further(line, id);
    page_.close();
  }

  void further(const SheetLine& line, const std::string& id) {
    if (is_arrival_) {
      counter("damaged", "damaged", line.name, false);
    } else {
      counter("broken", "of these broken", line.name, false);
      counter("restorable", "to restore", line.name, false);
      page_.open("label", {{"class", "seen"}}).put("span", "how seen").open("select", {{"data-field", "seen"}});
      static constexpr std::pair<std::string_view, std::string_view> kSeen[] = {
          {"", "only what is left of them"}, {"old part", "on the old part: so many belong there"}, {"shell", "in the shell: so many belong there"}};
      for (const auto& [value, word] : kSeen) {
        const bool is_default = value == (line.is_opening ? "shell" : "");
        page_.open("option", {{"value", value}, {is_default ? "selected" : "", ""}}).text(word).close();
      }
      page_.close().close();
      field("bag", "bag", id);
    }
    field("note", "note", id);
  }

  void field(std::string_view name, std::string_view label, const std::string&) {
    page_.open("label", {{"class", "field"}}).put("span", label).empty("input", {{"data-field", name}, {"autocomplete", "off"}}).close();
  }

  void counter(std::string_view field, std::string_view word, const std::string& name, bool is_main) {
    page_.open("div", {{"class", is_main ? "counter main" : "counter"}, {"role", "group"}, {"aria-label", std::string(word) + ": " + name}});
    page_.put("span", {{"class", "word"}}, word);
    page_.open("button", {{"type", "button"}, {"class", "controls"}, {"data-step", "-1"}, {"aria-label", "one less"}}).text("−").close();
    page_.empty("input", {{"data-field", field}, {"inputmode", "decimal"}, {"autocomplete", "off"}, {"aria-label", std::string(word) + ": " + name}});
    page_.open("button", {{"type", "button"}, {"class", "controls"}, {"data-step", "1"}, {"aria-label", "one more"}}).text("+").close();
    page_.close();
  }

  // What came and was not ordered; the script takes copies of the template.
  void unexpected() {
    page_.open("section", {{"aria-labelledby", "more-heading"}}).put("h2", {{"id", "more-heading"}}, "Came, but was not ordered");
    page_.open("ul", {{"class", "cards"}, {"id", "more"}}).close();
    page_.open("p", {{"class", "controls"}}).put("label", {{"for", "number"}}, "Part number on it").empty("input", {{"id", "number"}, {"autocomplete", "off"}});
    page_.open("button", {{"type", "button"}, {"id", "add"}}).text("Add a line").close().close();
    page_.put("p", {{"class", "paper-only"}}, "______________________  came ______   ______________________  came ______");
    page_.open("template", {{"id", "another"}});
    card({.place = {}, .name = {}, .detail = "not ordered", .expected = {}, .unit = "each", .part_number = {}, .part = {}, .position = {}, .parent = {}, .is_opening = false}, "another-card");
    page_.close().close();
  }

  void as_text() {
    page_.open("details", {{"class", "controls as-text"}}).put("summary", "As text");
    page_.put("label", {{"for", "text"}}, "The table as `kitgap` reads it; copy it by hand where the button cannot.");
    page_.open("textarea", {{"id", "text"}, {"readonly", ""}, {"rows", "8"}, {"spellcheck", "false"}}).close().close();
  }

  void bar() {
    page_.open("div", {{"class", "bar controls"}, {"role", "region"}, {"aria-label", "So far"}});
    page_.open("output", {{"id", "sum"}, {"aria-live", "polite"}}).close();
    page_.open("div", {{"class", "buttons"}});
    for (const auto& [id, word] : {std::pair("undo", "Undo"), std::pair("copy", "Copy as text"), std::pair("save", "Save")}) {
      page_.open("button", {{"type", "button"}, {"id", id}}).text(word).close();
    }
    page_.close().open("output", {{"id", "said"}, {"aria-live", "polite"}}).close().close();
  }

  const CountingSheet& sheet_;
  bool is_arrival_;
  Markup page_;
};

}  // namespace

CountingSheet arrival_sheet_of(const ArrivalAudit& audit, const NeedModel& needs, const std::string& what) {
  CountingSheet sheet{.kind = CountingSheet::Kind::Arrival, .title = "Counting what came: " + what, .lines = {}};
  for (const ArrivalLine& line : audit.lines) {
    SheetLine shown{.place = "Ordered as " + line.part_number, .name = line.part, .detail = {}, .expected = line.expected, .unit = line.unit,
                    .part_number = line.part_number, .part = line.part, .position = line.position, .parent = {}, .is_opening = false};
    if (const auto part = needs.rules().find_part(line.part)) shown.name = needs.part_row(*part).name;
    if (line.part_number.empty()) shown.place = "Ordered";
    shown.detail = line.position.empty() ? "" : place_name(line.position);
    sheet.lines.push_back(std::move(shown));
  }
  return sheet;
}

CountingSheet found_sheet_of(const Report& report) {
  CountingSheet sheet{.kind = CountingSheet::Kind::Found, .title = "Counting on the old car: " + report.car, .lines = {}};
  for (const ReportLine& line : report.lines) {
    if (line.kind == PartKind::Consumable) continue;
    const auto parent = std::ranges::find(report.lines, line.parent, &ReportLine::part);
    const std::string on = parent == report.lines.end() ? line.parent : parent->part_name;
    sheet.lines.push_back({.place = place_name(line.position), .name = line.part_name, .detail = line.parent == "car" ? "" : "on " + on, .expected = line.need,
                           .unit = line.unit, .part_number = {}, .part = line.part, .position = line.position, .parent = line.parent,
                           .is_opening = line.kind == PartKind::Hole || line.kind == PartKind::Opening});
  }
  return sheet;
}

std::string sheet_html(const CountingSheet& sheet) { return SheetPage(sheet).write(); }

}  // namespace kitgap
