#include <algorithm>

#include "report/layout.h"
#include "report/report.h"
#include "report/years.h"
#include "report/years_words.h"
#include "text/file.h"

namespace kitgap {
namespace {

class YearsText {
 public:
  YearsText(const Years& years, std::size_t width) : years_(years), words_(years), width_(width) {}

  std::string run() {
    for (const YearsLine& line : years_.lines) {
      for (const YearsCell& entry : line.cells) runs_width_ = std::max(runs_width_, display_width(words_.when(entry.values)));
    }
    for (const YearsOrder& order : years_.orders) {
      for (const YearsOrderCell& entry : order.cells) runs_width_ = std::max(runs_width_, display_width(words_.when(entry.values)));
    }
    runs_width_ = std::min<std::size_t>(runs_width_, 24);
    head();
    changing();
    differing();
    lasting();
    to_buy();
    return std::move(out_);
  }

 private:
  void head() {
    out_ += paragraph("Needs across " + words_.subject(), 0, width_);
    out_ += paragraph("by the tables of " + words_.packs(), 0, width_);
    if (!years_.held.empty()) out_ += paragraph("for cars with " + words_.held(), 0, width_);
    out_ += paragraph("What one car calls for, whatever is in hand. Where other facts decide too, the least and the most.", 0, width_);
    if (years_.clashes.empty()) return;
    out_ += heading("Where the tables are wrong", false);
    for (const YearsRow& row : years_.clashes) out_ += paragraph(row.file + ":" + std::to_string(row.line) + ": " + row.says, 2, width_);
    out_ += paragraph("Figures that hang on them are not to be trusted; `kitgap rules check` names the cars.", 2, width_);
  }

  // `saloon, estate     1966..1968  9`: the cars once, then a run to a line.
  void cell(const std::vector<ValueSet>& values, const std::string& figure, const std::string& right, std::string& last_who) {
    constexpr std::size_t kCars = 22;
    const std::string cars = words_.who(values);
    const bool is_new = cars != last_who;
    const bool is_long = display_width(printable(cars)) > kCars;
    last_who = cars;
    if (is_new && is_long) out_ += paragraph(cars, 4, width_);
    std::string left = padded(is_new && !is_long ? cars : "", kCars) + " " + run_text(values) + " " + (right.empty() ? figure : padded(figure, 8));
    if (right.empty()) out_ += std::string(4, ' ') + left + "\n";
    else out_ += beside(left, 4, std::max<std::size_t>(43, display_width(left)), right, width_);
  }

  std::string run_text(const std::vector<ValueSet>& values) const {
    const std::string run = words_.when(values);
    return display_width(run) > runs_width_ ? run : padded(run, runs_width_);
  }

  static bool is_steady(const YearsGroup& group) { return group.line->changes.empty(); }

  void changing() {
    bool any = false;
    for (const YearsGroup& group : words_.groups()) {
      if (is_steady(group)) continue;
      if (!any) out_ += heading("What changes", false);
      any = true;
      out_ += paragraph(words_.title(group), 2, width_);
      out_ += paragraph("at " + in_one(group.positions, "; "), 4, width_);
      std::string last_who;
      bool is_range = false;
      for (const YearsCell& entry : group.line->cells) {
        cell(entry.values, range_text(entry.need), "", last_who);
        is_range = is_range || entry.need.lo != entry.need.hi;
      }
      if (is_range && !group.line->hangs_on.empty()) out_ += paragraph("hangs on " + in_one(group.line->hangs_on, ", ") + " too", 4, width_);
      for (const std::string& change : words_.changes(group)) out_ += paragraph(change, 6, width_);
    }
    if (!any) out_ += heading("Nothing changes", false);
  }

  // Lines without a change, which differ from car to car in the facts that have no order.
  void differing() {
    bool any = false;
    for (const YearsGroup& group : words_.groups()) {
      if (!is_steady(group) || group.line->same) continue;
      if (!any) out_ += heading("What is steady, but not the same on all", false);
      any = true;
      std::string right;
      for (const YearsCell& entry : group.line->cells) right += (right.empty() ? "" : "; ") + words_.who(entry.values) + " " + range_text(entry.need);
      right += words_.hanging(group) + "; at " + in_one(group.positions, ", ");
      out_ += beside(words_.title(group), 2, 36, right, width_);
    }
  }

  void lasting() {
    bool any = false;
    for (const YearsGroup& group : words_.groups()) {
      if (!group.line->same) continue;
      if (!any) out_ += heading("The same on every one of these cars", false);
      any = true;
      out_ += beside(words_.title(group), 2, 36, range_text(*group.line->same) + words_.hanging(group) + "; at " + in_one(group.positions, ", "), width_);
    }
  }

  void to_buy() {
    if (years_.orders.empty()) return;
    out_ += heading("To buy for one car, with nothing in hand", false);
    for (const YearsOrder& order : years_.orders) {
      out_ += paragraph(words_.title(order), 2, width_);
      std::string last_who;
      for (const YearsOrderCell& entry : order.cells) cell(entry.values, range_text(entry.quantity), words_.how_to_buy(entry), last_who);
    }
    out_ += paragraph("Whole packs, the cheapest offer of the part alone first. Kits, shipping and spares for breakage are left to `kitgap order`.", 2, width_);
  }

  const Years& years_;
  YearsWords words_;
  std::size_t width_;
  std::size_t runs_width_ = 11;  // of the column of years
  std::string out_;
};

}  // namespace

std::string values_text(const Years& years, std::size_t at, const ValueSet& values) {
  const Fact& fact = years.rules->facts[years.across[at].index];
  if (fact.domain.type == FactType::Number || fact.domain.type == FactType::Date) {
    std::string text;
    for (const ValueSet::Interval& interval : values.intervals()) {
      if (!interval.lo || !interval.hi || !interval.lo_closed || !interval.hi_closed) return years.test_of(at, values);
      text += (text.empty() ? "" : ", ") + text_of(*interval.lo, fact.domain.type);
      if (*interval.lo != *interval.hi) text += ".." + text_of(*interval.hi, fact.domain.type);
    }
    return text;
  }
  if (values == years.spaces[at]) return "any " + fact.name;
  if (!values.size() || *values.size() > 50) return years.test_of(at, values);
  std::string text;
  for (const FactValue& value : values.values()) text += (text.empty() ? "" : ", ") + text_of(value, fact.domain.type);
  return text;
}

std::string years_text(const Years& years, int width) { return YearsText(years, static_cast<std::size_t>(width)).run(); }

}  // namespace kitgap
