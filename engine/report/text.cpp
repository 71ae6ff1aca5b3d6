#include <algorithm>
#include <map>

#include "report/layout.h"
#include "report/overview.h"
#include "report/report.h"
#include "text/file.h"

namespace kitgap {
namespace {

std::string figure(const Range& range, const std::string& unit) {
  return range_text(range) + (unit == "each" ? "" : " " + unit);
}

// An estimate looks different from a count.
std::string need_text(const ReportLine& line) {
  const std::string text = figure(line.need, line.unit);
  if (line.basis == Basis::Estimate) return "about " + text;
  return text;
}

std::string basis_text(const ReportLine& line) {
  if (line.basis == Basis::Estimate) return "an estimate, count it";
  return std::string(word_of(line.basis));
}

// Where the cover comes from, each source with its figure: what is here before what is on its way and what is planned.
std::string where_from(const ReportLine& line) {
  std::string text;
  for (const SourceSum& source : sources_of(line)) {
    text += (text.empty() ? "" : "; ") + figure(source.quantity, line.unit) + " " + source.says + (source.bag.empty() ? "" : ", in " + source.bag);
  }
  return text;
}

class CheckText80 {
 public:
  CheckText80(const Report& report, int width, bool colour) : report_(report), width_(static_cast<std::size_t>(width)), colour_(colour) {}

  std::string write(const std::vector<Change>* changes) {
    top();
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
    return std::move(out_);
  }

 private:
  void title(std::string_view text) { out_ += heading(text, colour_); }
  void para(std::string_view text, std::size_t indent) { out_ += paragraph(text, indent, width_); }

  void top() {
    const ReportSummary& summary = report_.summary;
    const auto count = [&](Status status) { return std::to_string(summary.by_status[static_cast<std::size_t>(status)]); };
    out_ += heading("Gap report for " + printable(report_.car), colour_).substr(1);
    std::string packs;
    for (const PackText& pack : report_.packs) packs += (packs.empty() ? "" : ", ") + pack.name + (pack.version.empty() ? "" : " " + pack.version);
    para("by the tables of " + packs, 0);
    const std::size_t stopping = summary.stopping;
    para(std::to_string(summary.needs) + (summary.needs == 1 ? " need: " : " needs: ") + count(Status::Covered) + " covered, " + count(Status::MoveOver) + " to move over, " +
             count(Status::ToSettle) + " to settle, " + count(Status::Short) + " short, " + count(Status::Missing) + " missing, " +
             count(Status::DoesNotFit) + " planned for another car.",
         0);
    para(summary.stops_work ? std::to_string(stopping) + (stopping == 1 ? " of them stops the work." : " of them stop the work.") : "Nothing stops the work.", 0);
    std::string unknown;
    for (const FactText& fact : report_.facts) {
      if (!fact.is_known) unknown += (unknown.empty() ? "" : ", ") + fact.name + (fact.value == "-" ? "" : " (" + fact.value + ")");
    }
    if (!unknown.empty()) para("Not known of this car: " + unknown + ".", 0);
  }

  void changed(const std::vector<Change>& changes) {
    title("What changed");
    if (changes.empty()) para("Nothing.", 2);
    const auto state = [](const std::optional<ReportLine>& line) {
      if (!line) return std::string("not called for");
      return std::string(word_of(line->status)) + ", need " + figure(line->need, line->unit) + (line->gap.hi.is_zero() ? "" : ", gap " + range_text(line->gap));
    };
    for (const Change& change : changes) out_ += beside(change.id, 2, 34, state(change.was) + " -> " + state(change.now), width_);
  }

  void cautions() {
    if (report_.cautions.empty()) return;
    title("Cautions");
    for (const CautionText& caution : report_.cautions) {
      para((caution.part.empty() ? caution.step : caution.part) + ": " + caution.text, 2);
    }
    para("Local codes and licensed practice decide.", 2);
  }

  void contradictions() {
    if (report_.contradictions.empty()) return;
    title("Contradictions");
    for (const ContradictionText& contradiction : report_.contradictions) para(contradiction.says, 2);
  }

  // Pieces of a missing assembly stand under it, but for the half page of a place.
  bool is_shown_alone(const ReportLine& line) const { return report_.is_half_page || line.folded_under.empty(); }

  std::size_t folded_below(const ReportLine& line) const {
    return static_cast<std::size_t>(std::ranges::count(report_.lines, line.id, &ReportLine::folded_under));
  }

  // Lines under the heading of their position.
  template <class Wanted, class Say>
  void by_position(Wanted wanted, Say say) {
    std::string position;
    for (const ReportLine& line : report_.lines) {
      if (!wanted(line)) continue;
      if (line.position != position) {
        position = line.position;
        out_ += "  " + printable(position == "car" ? "the car" : position) + "\n";
      }
      say(line);
    }
  }

  void gap_line(const ReportLine& line) {
    const std::string on = line.parent == "car" ? "" : " on " + line.parent;
    std::string says = std::string(word_of(line.status)) + ": need " + need_text(line);
    if (!line.have.hi.is_zero()) says += ", have " + figure(line.have, line.unit);
    says += "; " + line.action;
    if (const std::size_t folded = folded_below(line); folded != 0) says += "; " + std::to_string(folded) + (folded == 1 ? " piece of it comes" : " pieces of it come") + " with it if bought complete";
    if (line.basis == Basis::Estimate) says += "; " + basis_text(line);
    out_ += beside(line.part_name + on, 4, 30, says, width_);
    stands_over(line);
  }

  // What is to be changed for a stand-in, where the line's action is not told.
  void stand_in(const ReportLine& line) {
    if (!line.stand_in.empty()) para(line.stand_in, 8);
  }

  // Other figures for the line: a count against a table, a table of a higher pack against one below.
  void stands_over(const ReportLine& line) {
    for (const OtherCount& other : line.other_counts) {
      para((other.basis.starts_with("counted") ? other.basis + ": " : "the " + other.basis + " says ") + other.quantity.to_text() + " to each; " +
               std::string(word_of(line.basis)) + " it is another figure", 8);
    }
    for (const ReasonText& reason : line.because) {
      for (const std::string& below : reason.overrides) para(reason.pack + " " + reason.file + ":" + std::to_string(reason.line) + " stands over " + below, 8);
    }
  }

  void stops() {
    const auto wanted = [&](const ReportLine& line) { return line.stops_work && is_shown_alone(line); };
    if (std::ranges::none_of(report_.lines, wanted)) return;
    title("Stops the work");
    by_position(wanted, [&](const ReportLine& line) { gap_line(line); });
  }

  void keep() {
    const auto wanted = [](const ReportLine& line) {
      return most_from_old(line).sign() > 0;
    };
    if (std::ranges::none_of(report_.lines, wanted)) return;
    title("Take off and keep before the bin");
    by_position(wanted, [&](const ReportLine& line) {
      const Fraction most = most_from_old(line);
      std::string says = line.from_old == most ? figure({most, most}, line.unit) : "up to " + figure({most, most}, line.unit);
      if (line.take_off) {
        if (!line.take_off->held_by.empty()) says += "; held by " + line.take_off->held_by;
        if (!line.take_off->tool.empty()) says += "; tool: " + line.take_off->tool;
        if (!line.take_off->breaks.empty()) says += "; breaks: " + line.take_off->breaks;
      }
      out_ += beside(line.part_name + (line.parent == "car" ? "" : " from the old " + line.parent), 4, 30, says, width_);
      stand_in(line);
    });
    para("No old part goes before the new one is in hand and laid over it, its pieces are off, counts, photos and pattern are taken, "
         "the trial fit is done and the return window is known.", 2);
  }

  void look() {
    if (report_.to_settle.empty()) return;
    title("Look at the car (five minutes)");
    std::size_t not_alone = 0;
    for (const SettleText& settle : report_.to_settle) {
      if (settle.settles == 0) {
        // A row of a person's own file is theirs to mend, whatever else stays open.
        if (settle.line) out_ += beside("line " + std::to_string(*settle.line), 2, 11, settle.ask, width_);
        else ++not_alone;
        continue;
      }
      std::string says = settle.ask;
      if (!settle.look_at.empty()) says += " Look at: " + settle.look_at + ".";
      if (!settle.distance.empty()) says += " " + settle.distance + ".";
      if (settle.line) says += " (line " + std::to_string(*settle.line) + ")";
      out_ += beside("settles " + std::to_string(settle.settles), 2, 11, says, width_);
    }
    still_open();
    if (not_alone != 0)
      para(std::to_string(not_alone) + (not_alone == 1 ? " more question settles" : " more questions settle") + " nothing alone; `--format json` lists " + (not_alone == 1 ? "it." : "them."), 2);
  }

  // What the answers decide: the lines with their ranges, and rival practices with their sources.
  void still_open() {
    const auto wanted = [](const ReportLine& line) { return line.status == Status::ToSettle && line.folded_under.empty(); };
    if (std::ranges::none_of(report_.lines, wanted)) return;
    out_ += "  Open until then\n";
    by_position(wanted, [&](const ReportLine& line) {
      out_ += beside(line.part_name + (line.parent == "car" ? "" : " on " + line.parent), 4, 30,
                     "need " + need_text(line) + ", have " + figure(line.have, line.unit) + ", lack " + range_text(line.gap), width_);
      stand_in(line);
      for (const ReasonText& reason : line.because) {
        if (!reason.practice.empty()) para("practice " + reason.practice + ": " + reason.says + (reason.source.empty() ? "" : " (" + reason.source + ")"), 8);
      }
    });
  }

  void ask() {
    if (report_.ask_supplier.empty()) return;
    title("Ask the supplier");
    std::string supplier;
    for (const SupplierQuestion& question : report_.ask_supplier) {
      if (question.supplier != supplier) {
        supplier = question.supplier;
        out_ += "  " + printable(supplier) + "\n";
      }
      para(question.question + " (" + std::to_string(question.lines.size()) + (question.lines.size() == 1 ? " line hangs on it)" : " lines hang on it)"), 4);
    }
  }

  // What to buy, summed over the car.
  void buy() {
    struct Sum {
      Range gap;
      std::string unit;
      bool is_estimate = false;
    };
    std::map<std::string, Sum> sums;
    for (const ReportLine& line : report_.lines) {
      if (line.gap.lo.is_zero() || !line.folded_under.empty() || line.kind == PartKind::Opening || line.kind == PartKind::Hole) continue;
      Sum& sum = sums[line.part_name];
      sum.gap.lo += line.gap.lo;
      sum.gap.hi += line.gap.hi;
      sum.unit = line.unit;
      sum.is_estimate = sum.is_estimate || line.basis == Basis::Estimate;
    }
    if (sums.empty()) return;
    title("To buy");
    for (const auto& [name, sum] : sums) out_ += beside(name, 4, 44, (sum.is_estimate ? "about " : "") + figure(sum.gap, sum.unit), width_);
  }

  // On fitting day: what comes before, with which tools.
  void steps() {
    if (!report_.is_half_page || report_.steps.empty()) return;
    title("Steps and tools");
    for (const StepText& step : report_.steps) {
      std::string says = step.tools.empty() ? "" : "tools: " + step.tools;
      const auto say = [&](const std::string& text) { says += (says.empty() ? "" : "; ") + text; };
      if (step.minutes) say(range_text(*step.minutes) + " minutes");
      std::string after;
      for (const std::string& before : step.after) after += (after.empty() ? "" : ", ") + before;
      if (!after.empty()) say("after " + after);
      if (!step.hold.empty()) say("hold: " + step.hold);
      out_ += beside(step.step, 4, 30, says, width_);
    }
  }

  void all_right() {
    std::size_t right = 0;
    for (const ReportLine& line : report_.lines) right += line.status == Status::Covered ? 1 : 0;
    title("All right");
    para(std::to_string(right) + (right == 1 ? " need is covered." : " needs are covered."), 2);
    for (const ReportLine& line : report_.lines) {
      if (line.status != Status::Covered) continue;
      out_ += beside(line.part_name + ", " + line.position, 4, 44, (line.basis == Basis::Estimate ? "about " : "") + where_from(line), width_);
      stand_in(line);
      stands_over(line);
    }
    if (!report_.checks.empty()) out_ += "  Checks\n";
    for (const CheckText& check : report_.checks) out_ += beside(check.kind, 4, 9, check.says, width_);
    if (!report_.spare.empty()) out_ += "  Left over\n";
    for (const SpareText& spare : report_.spare) {
      std::string says = figure(spare.quantity, spare.unit);
      if (spare.meant.sign() > 0) says += ", " + spare.meant.to_text() + " meant as spare";
      if (spare.from_bags.sign() > 0) says += ", " + spare.from_bags.to_text() + " from whole bags";
      if (spare.over.sign() > 0) says += ", " + spare.over.to_text() + " more than called for";
      out_ += beside(spare.part_name + (spare.hand.empty() ? "" : ", " + spare.hand), 4, 44, says, width_);
    }
  }

  void not_used() {
    if (report_.rows.empty()) return;
    title("Not used from the list");
    for (const ListText& entry : report_.list) {
      if (entry.is_blank) continue;
      if (!entry.set_aside.empty()) {
        std::string says = entry.set_aside;
        for (const std::string& near : entry.nearest) says += "; did you mean `" + near + "`?";
        out_ += beside("line " + std::to_string(entry.line), 4, 9, cut_to(printable(entry.as_typed), 40) + ": " + says, width_);
      } else if (entry.fit && *entry.fit == Fit::No) {
        std::string says = entry.read_as + " does not fit this car";
        for (const std::string& fails : entry.fails) says += "; " + fails;
        out_ += beside("line " + std::to_string(entry.line), 4, 9, says, width_);
      }
    }
    for (const FileRows& file : report_.rows) para(rows_line(file), 2);
    for (const std::string& remark : report_.remarks) para(remark, 2);
  }

  std::string rows_line(const FileRows& file) const { return (report_.rows.size() == 1 ? "" : file.file + ": ") + in_words(file) + "."; }

  const Report& report_;
  std::size_t width_;
  bool colour_;
  std::string out_;
};

}  // namespace

std::string check_text(const Report& report, const std::vector<Change>* changes, int width, bool colour) {
  return CheckText80(report, width, colour).write(changes);
}

std::string reading_text(const Report& report, int width) {
  std::string out;
  std::string file;
  for (const ListText& entry : report.list) {
    if (entry.file != file) {
      file = entry.file;
      out += printable(file) + "\n";
    }
    const std::string meant = entry.set_aside.empty() ? entry.read_as : "set aside: " + entry.set_aside;
    const std::string says = entry.is_blank ? "blank" : entry.reading.empty() ? meant : entry.reading + " => " + meant;
    out += beside("line " + std::to_string(entry.line), 2, 9, (entry.is_blank ? "" : entry.as_typed + " => ") + says, static_cast<std::size_t>(width));
    for (const std::string& doubt : entry.doubts) out += paragraph(doubt, 14, static_cast<std::size_t>(width));
    for (const std::string& near : entry.nearest) out += paragraph("did you mean `" + near + "`?", 14, static_cast<std::size_t>(width));
  }
  for (const std::string& remark : report.remarks) out += paragraph(remark, 2, static_cast<std::size_t>(width));
  for (const FileRows& rows : report.rows) out += (report.rows.size() == 1 ? "" : printable(rows.file) + ": ") + in_words(rows) + "\n";
  return out;
}

}  // namespace kitgap
