#include "report/line_rows.h"

#include <algorithm>

namespace kitgap {
namespace {

Fraction rounded_up(const Fraction& value) { return (value * Fraction(100)).ceil() / Fraction(100); }

std::string_view head_of(RowFor purpose) {
  switch (purpose) {
    case RowFor::Gap: return "lacks";
    case RowFor::Keep: return "keep";
    case RowFor::Open: return "may lack";
    case RowFor::Right: return "needs";
  }
  return {};
}

}  // namespace

std::string place_name(std::string_view position) {
  if (position == "car") return "the car";
  std::string name(position);
  std::ranges::replace(name, '.', ' ');
  return name;
}

std::string shown(const Range& range, const std::string& unit, bool is_estimate) {
  const bool is_rounded = is_estimate && unit != "each";
  const std::string figure = is_rounded ? range_text({rounded_up(range.lo), rounded_up(range.hi)}) : range_text(range);
  return figure + (unit == "each" ? "" : " " + unit);
}

std::string plural(std::size_t count, std::string_view one, std::string_view many) {
  return std::to_string(count) + " " + std::string(count == 1 ? one : many);
}

LineRows::LineRows(const Report& report, Markup& page) : report_(report), page_(page) {
  for (const ReportLine& line : report.lines) {
    by_id_.emplace(line.id, &line);
    names_.emplace(line.part, line.part_name);
    if (!report.is_half_page && !line.folded_under.empty()) folded_[line.folded_under].push_back(&line);
  }
}

const ReportLine* LineRows::find(const std::string& id) const {
  const auto found = by_id_.find(id);
  return found == by_id_.end() ? nullptr : found->second;
}

std::string LineRows::part_name(const std::string& key) const {
  const auto found = names_.find(key);
  return found == names_.end() ? key : std::string(found->second);
}

std::string LineRows::name_of(const std::string& id) const {
  const ReportLine* line = find(id);
  if (line == nullptr) return id;
  return line->part_name + (line->position == "car" ? "" : ", " + place_name(line->position)) + (line->parent == "car" ? "" : ", on " + part_name(line->parent));
}

std::string LineRows::anchor_of(const ReportLine& line) const { return "l" + std::to_string(&line - report_.lines.data()); }

void LineRows::link(const std::string& id) {
  const ReportLine* line = find(id);
  if (line == nullptr) page_.text(id);
  else page_.put("a", {{"href", "#" + anchor_of(*line)}}, name_of(id));
}

void LineRows::by_place(const std::vector<std::size_t>& lines, RowFor purpose) {
  std::string_view position;
  bool is_open = false;
  for (const std::size_t index : lines) {
    const ReportLine& line = report_.lines[index];
    if (!is_open || line.position != position) {
      if (is_open) page_.close().close();
      is_open = true;
      position = line.position;
      page_.open("table", {{"class", "lines"}, {"data-place", line.position}}).open("thead").open("tr");
      page_.put("th", {{"scope", "col"}, {"class", "figure"}}, head_of(purpose));
      page_.put("th", {{"scope", "col"}, {"class", "place"}}, place_name(line.position));
      page_.close().close().open("tbody");
    }
    row(line, purpose);
  }
  if (is_open) page_.close().close();
}

void LineRows::row(const ReportLine& line, RowFor purpose) {
  const bool is_first = placed_.insert(line.id).second;
  page_.open("tr", {{is_first ? "id" : "", anchor_of(line)}, {"class", line.stops_work ? "line stops" : "line"}, {"data-status", word_of(line.status)}});
  figure(line, purpose);
  page_.open("td").open("details");
  summary(line, purpose);
  page_.open("div", {{"class", "why"}});
  if (purpose == RowFor::Keep && line.take_off) take_off(*line.take_off);
  folded(line);
  why(line);
  page_.close().close().close().close();
}

void LineRows::figure(const ReportLine& line, RowFor purpose) {
  const bool is_estimate = line.basis == Basis::Estimate;
  std::string text;
  if (purpose == RowFor::Keep) {
    const Fraction most = most_from_old(line);
    text = (line.from_old == most ? "" : "up to ") + shown({most, most}, line.unit, is_estimate);
  } else {
    text = (is_estimate ? "about " : "") + shown(purpose == RowFor::Right ? line.need : line.gap, line.unit, is_estimate);
  }
  page_.open("td", {{"class", is_estimate ? "figure estimate" : "figure"}});
  if (purpose != RowFor::Right) page_.put("span", {{"class", "tick"}, {"aria-hidden", "true"}}, "");
  page_.text(text).close();
}

std::string LineRows::what_to_do(const ReportLine& line, RowFor purpose) const {
  std::string says;
  const auto say = [&](const std::string& words) {
    if (!words.empty()) says += (says.empty() ? "" : "; ") + words;
  };
  switch (purpose) {
    case RowFor::Gap:
      say(line.action);
      if (const auto below = folded_.find(line.id); below != folded_.end()) {
        say(plural(below->second.size(), "piece of it comes", "pieces of it come") + " with it if bought complete");
      }
      break;
    case RowFor::Keep:
      if (line.take_off) {
        say(line.take_off->held_by.empty() ? "" : "held by " + line.take_off->held_by);
        say(line.take_off->tool);
      }
      break;
    case RowFor::Open: say("need " + range_text(line.need) + ", have " + range_text(line.have)); break;
    case RowFor::Right:
      for (const SourceSum& source : sources_of(line)) {
        say(shown(source.quantity, line.unit, line.basis == Basis::Estimate) + " " + source.says + (source.bag.empty() ? "" : ", in " + source.bag));
      }
      break;
  }
  if (purpose != RowFor::Gap) say(line.stand_in);  // there the action tells it
  return says;
}

void LineRows::summary(const ReportLine& line, RowFor purpose) {
  page_.open("summary").open("span", {{"class", "what"}}).text(line.part_name).close();
  if (line.parent != "car") page_.put("span", {{"class", "on"}}, (purpose == RowFor::Keep ? " from the old " : " on ") + part_name(line.parent));
  if (purpose == RowFor::Gap) page_.text(" ").put("span", {{"class", "status"}}, word_of(line.status));
  if (const std::string says = what_to_do(line, purpose); !says.empty()) page_.text(" ").put("span", {{"class", purpose == RowFor::Gap ? "act gap" : "act"}}, says);
  if (purpose == RowFor::Keep && line.take_off && !line.take_off->breaks.empty()) page_.put("span", {{"class", "act more"}}, "breaks: " + line.take_off->breaks);
  for (const OtherCount& other : line.other_counts) {
    page_.text(" ").put("span", {{"class", "act differs"}},
                        "the " + other.basis + " says " + other.quantity.to_text() + " to each, " + std::string(word_of(line.basis)) + " it is another figure");
  }
  page_.close();
}

void LineRows::note(std::string_view label, std::string_view text) {
  if (text.empty()) return;
  page_.open("div").put("dt", label).put("dd", text).close();
}

void LineRows::take_off(const TakeOff& take_off) {
  page_.open("dl");
  note("held by", take_off.held_by);
  note("tool", take_off.tool);
  note("breaks", take_off.breaks);
  note("record first", take_off.record_first);
  note("judge", take_off.judge);
  note("if no good", take_off.if_no_good);
  if (take_off.minutes) note("minutes", take_off.minutes->to_text());
  note("source", take_off.source);
  page_.close();
}

void LineRows::folded(const ReportLine& line) {
  const auto below = folded_.find(line.id);
  if (below == folded_.end()) return;
  page_.put("p", {{"class", "label"}}, "Comes with it if bought complete").open("ul", {{"class", "folded"}});
  for (const ReportLine* piece : below->second) {
    const bool is_first = placed_.insert(piece->id).second;
    page_.open("li", {{is_first ? "id" : "", anchor_of(*piece)}}).open("details");
    page_.put("summary", shown(piece->need, piece->unit, piece->basis == Basis::Estimate) + " " + piece->part_name);
    folded(*piece);
    why(*piece);
    page_.close().close();
  }
  page_.close();
}

void LineRows::why(const ReportLine& line) {
  const std::string unit = line.unit == "each" ? "" : " " + line.unit;
  std::string sum = "Need " + range_text(line.need) + unit + ", have " + range_text(line.have) + unit;
  std::string sources;
  for (const SourceSum& source : sources_of(line)) sources += (sources.empty() ? "" : "; ") + range_text(source.quantity) + unit + " " + source.says;
  if (!sources.empty()) sum += " (" + sources + ")";
  sum += ", lack " + range_text(line.gap) + unit + ".";
  if (!line.is_exact) sum += " These are bounds: more is unknown than could be gone through.";
  page_.put("p", sum);
  reasons(line);
  if (line.promises) {
    const auto word = [](const std::optional<bool>& said) { return said ? (*said ? "yes" : "no") : "not stated"; };
    page_.put("p", std::string("As supplied: outline ") + word(line.promises->outline) + ", openings " + word(line.promises->openings) + ", holes " +
                       word(line.promises->holes) + ", hardware " + word(line.promises->hardware) + ".");
  }
  if (line.rivals) rivals(*line.rivals);
}

void LineRows::reasons(const ReportLine& line) {
  page_.put("p", {{"class", "label"}}, "Why " + range_text(line.need) + ", " + std::string(line.basis == Basis::Table ? "by the tables" : line.basis == Basis::Estimate ? "an estimate" : word_of(line.basis)));
  page_.open("ul");
  for (const ReasonText& reason : line.because) {
    page_.open("li").text(reason.practice.empty() ? "" : "practice " + reason.practice + ": ").text(reason.says).text(" ");
    page_.put("span", {{"class", "source"}}, (reason.source.empty() ? "" : reason.source + ", ") + reason.file + " line " + std::to_string(reason.line));
    for (const std::string& over : reason.overrides) page_.text("; stands over ").text(over);
    page_.close();
  }
  page_.close();
}

void LineRows::rivals(const RivalsText& rivals) {
  page_.put("p", {{"class", "label"}}, rivals.wanted.to_text() + " wanted by these, " + rivals.pieces.to_text() + " there for them");
  page_.open("ul");
  for (const std::string& id : rivals.needs) {
    page_.open("li");
    link(id);
    page_.close();
  }
  for (const std::string& supply : rivals.supplies) page_.put("li", "for them: " + supply);
  page_.close();
}

}  // namespace kitgap
