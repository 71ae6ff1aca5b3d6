#include <algorithm>

#include "report/layout.h"
#include "report/report.h"
#include "report/years.h"
#include "text/file.h"

namespace kitgap {
namespace {

// Lines that say the same at several positions.
struct Group {
  const YearsLine* line = nullptr;
  std::vector<std::string> positions;
};

bool say_the_same(const YearsLine& a, const YearsLine& b) {
  const auto same_change = [](const YearsChange& x, const YearsChange& y) {
    return std::tie(x.fact, x.at, x.where, x.was, x.now, x.because, x.was_because) == std::tie(y.fact, y.at, y.where, y.was, y.now, y.because, y.was_because);
  };
  return a.part == b.part && a.parent == b.parent && a.is_exact == b.is_exact && a.cells == b.cells && a.same == b.same &&
         a.hangs_on == b.hangs_on && std::ranges::equal(a.changes, b.changes, same_change);
}

std::string joined(const std::vector<std::string>& words, std::string_view between) {
  std::string text;
  for (const std::string& word : words) text += (text.empty() ? "" : std::string(between)) + word;
  return text;
}

std::string row_text(const YearsRow& row) {
  return row.file + ":" + std::to_string(row.line) + (row.source.empty() ? "" : " (" + row.source + ")");
}

std::string rows_text(const std::vector<YearsRow>& rows) {
  std::vector<std::string> words;
  for (const YearsRow& row : rows) words.push_back(row_text(row));
  return joined(words, ", ");
}

class YearsText {
 public:
  YearsText(const Years& years, std::size_t width) : years_(years), width_(width) {
    for (const YearsLine& line : years.lines) {
      const auto known = std::ranges::find_if(groups_, [&](const Group& group) { return say_the_same(*group.line, line); });
      if (known == groups_.end()) groups_.push_back({&line, {line.position}});
      else known->positions.push_back(line.position);
    }
  }

  std::string run() {
    for (const YearsLine& line : years_.lines) {
      for (const YearsCell& entry : line.cells) runs_width_ = std::max(runs_width_, display_width(when(entry.values)));
    }
    for (const YearsOrder& order : years_.orders) {
      for (const YearsOrderCell& entry : order.cells) runs_width_ = std::max(runs_width_, display_width(when(entry.values)));
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
  const std::string& fact_name(FactId fact) const { return years_.rules->facts[fact.index].name; }

  void head() {
    std::vector<std::string> names;
    for (const FactId fact : years_.across) names.push_back(fact_name(fact));
    out_ += paragraph("Needs across " + joined(names, " and "), 0, width_);
    std::vector<std::string> packs;
    for (const Years::Pack& pack : years_.packs) packs.push_back(pack.name + " " + pack.version);
    out_ += paragraph("by the tables of " + joined(packs, ", "), 0, width_);
    if (!years_.held.empty()) {
      std::vector<std::string> held;
      for (const auto& [fact, test] : years_.held) held.push_back(fact + " " + test);
      out_ += paragraph("for cars with " + joined(held, ", "), 0, width_);
    }
    out_ += paragraph("What one car calls for, whatever is in hand. Where other facts decide too, the least and the most.", 0, width_);
    if (years_.clashes.empty()) return;
    out_ += heading("Where the tables are wrong", false);
    for (const YearsRow& row : years_.clashes) out_ += paragraph(row.file + ":" + std::to_string(row.line) + ": " + row.says, 2, width_);
    out_ += paragraph("Figures that hang on them are not to be trusted; `kitgap rules check` names the cars.", 2, width_);
  }

  std::string title(const Group& group) const {
    const YearsLine& line = *group.line;
    std::string text = line.part_name + (line.unit == "each" ? "" : ", " + line.unit);
    if (line.parent != "car") text += ", on " + line.parent;
    if (!line.is_exact) text += " (bounds only)";
    return text;
  }

  std::string figure(const Range& range) const { return range_text(range); }

  // The values but those of the last fact across, which has a column of its own.
  std::string who(const std::vector<ValueSet>& values) const {
    std::string text;
    for (std::size_t at = 0; at < values.size(); ++at) {
      if (is_run(at) || values[at] == years_.spaces[at]) continue;
      text += (text.empty() ? "" : ", ") + values_text(years_, at, values[at]);
    }
    return text.empty() ? "all" : text;
  }
  std::string when(const std::vector<ValueSet>& values) const {
    for (std::size_t at = 0; at < values.size(); ++at) {
      if (is_run(at)) return values_text(years_, at, values[at]);
    }
    return "";
  }
  // The first number or date across is what the runs run along.
  bool is_run(std::size_t at) const {
    const auto is_ordered = [&](std::size_t index) {
      const FactType type = years_.rules->facts[years_.across[index].index].domain.type;
      return type == FactType::Number || type == FactType::Date;
    };
    if (!is_ordered(at)) return false;
    for (std::size_t before = 0; before < at; ++before) {
      if (is_ordered(before)) return false;
    }
    return true;
  }

  // `saloon, estate     1966..1968  9`: the cars once, then a run to a line.
  void cell(const std::vector<ValueSet>& values, const std::string& figure, const std::string& right, std::string& last_who) {
    constexpr std::size_t kCars = 22;
    const std::string cars = who(values);
    const bool is_new = cars != last_who;
    const bool is_long = display_width(printable(cars)) > kCars;
    last_who = cars;
    if (is_new && is_long) out_ += paragraph(cars, 4, width_);
    std::string left = padded(is_new && !is_long ? cars : "", kCars) + " " + run_text(values) + " " + (right.empty() ? figure : padded(figure, 8));
    if (right.empty()) out_ += std::string(4, ' ') + left + "\n";
    else out_ += beside(left, 4, std::max<std::size_t>(43, display_width(left)), right, width_);
  }

  std::string run_text(const std::vector<ValueSet>& values) const {
    const std::string run = when(values);
    return display_width(run) > runs_width_ ? run : padded(run, runs_width_);
  }

  static bool is_steady(const Group& group) { return group.line->changes.empty(); }

  void changing() {
    bool any = false;
    for (const Group& group : groups_) {
      if (is_steady(group)) continue;
      if (!any) out_ += heading("What changes", false);
      any = true;
      out_ += paragraph(title(group), 2, width_);
      out_ += paragraph("at " + joined(group.positions, "; "), 4, width_);
      std::string last_who;
      bool is_range = false;
      for (const YearsCell& entry : group.line->cells) {
        cell(entry.values, figure(entry.need), "", last_who);
        is_range = is_range || entry.need.lo != entry.need.hi;
      }
      if (is_range && !group.line->hangs_on.empty()) out_ += paragraph("hangs on " + joined(group.line->hangs_on, ", ") + " too", 4, width_);
      for (const YearsChange& change : group.line->changes) {
        if (!change.mirrors) out_ += paragraph(change_text(change), 6, width_);
      }
    }
    if (!any) out_ += heading("Nothing changes", false);
  }

  // Lines without a change, which differ from car to car in the facts that have no order.
  void differing() {
    bool any = false;
    for (const Group& group : groups_) {
      if (!is_steady(group) || group.line->same) continue;
      if (!any) out_ += heading("What is steady, but not the same on all", false);
      any = true;
      std::string right;
      for (const YearsCell& entry : group.line->cells) right += (right.empty() ? "" : "; ") + who(entry.values) + " " + figure(entry.need);
      right += hanging(group) + "; at " + joined(group.positions, ", ");
      out_ += beside(title(group), 2, 36, right, width_);
    }
  }

  std::string hanging(const Group& group) const {
    const bool is_range = std::ranges::any_of(group.line->cells, [](const YearsCell& entry) { return entry.need.lo != entry.need.hi; });
    return is_range && !group.line->hangs_on.empty() ? " (hangs on " + joined(group.line->hangs_on, ", ") + " too)" : "";
  }

  std::string change_text(const YearsChange& change) const {
    const Fact& fact = years_.rules->facts[change.fact.index];
    std::string text = "at " + fact.name + " " + text_of(change.at, fact.domain.type);
    const std::string cars = who(change.where);
    if (cars != "all") text += ", " + cars;
    text += ": " + figure(change.was) + " becomes " + figure(change.now);
    if (!change.because.empty()) text += ", by " + rows_text(change.because);
    if (change.because.empty() && !change.was_because.empty()) text += ": " + rows_text(change.was_because) + " speaks of no later one";
    if (!change.follows.empty()) text += (change.because.empty() && change.was_because.empty() ? ", as " : ", and ") + joined(change.follows, ", ") + " changes";
    return text;
  }

  void lasting() {
    bool any = false;
    for (const Group& group : groups_) {
      if (!group.line->same) continue;
      if (!any) out_ += heading("The same on every one of these cars", false);
      any = true;
      out_ += beside(title(group), 2, 36, figure(*group.line->same) + hanging(group) + "; at " + joined(group.positions, ", "), width_);
    }
  }

  void to_buy() {
    if (years_.orders.empty()) return;
    out_ += heading("To buy for one car, with nothing in hand", false);
    for (const YearsOrder& order : years_.orders) {
      std::string name = order.part_name + (order.place.empty() ? "" : ", " + order.place) + (order.unit == "each" ? "" : ", " + order.unit);
      const bool is_sold = std::ranges::any_of(order.cells, [](const YearsOrderCell& entry) { return !entry.offers.empty(); });
      if (!order.is_exact) name += " (bounds only)";
      if (!is_sold) name += order.kits.empty() ? ": no offer" : ": only in " + joined(order.kits, ", ");
      out_ += paragraph(name, 2, width_);
      std::string last_who;
      for (const YearsOrderCell& entry : order.cells) cell(entry.values, figure(entry.quantity), how_to_buy(entry), last_who);
    }
    out_ += paragraph("Whole packs, the cheapest offer of the part alone first. Kits, shipping and spares for breakage are left to `kitgap order`.", 2, width_);
  }

  std::string how_to_buy(const YearsOrderCell& entry) const {
    if (entry.offers.empty()) return "";
    const YearsOffer& best = entry.offers.front();
    std::string text = best.pack_size == Fraction(1) ? "" : figure(best.packs) + (best.packs.hi == Fraction(1) ? " pack of " : " packs of ") + best.pack_size.to_text() + ": ";
    text += best.part_number + " of " + best.supplier;
    if (best.is_open) text += ", fit open";
    if (entry.offers.size() > 1) text += "; " + std::to_string(entry.offers.size() - 1) + " more";
    return text;
  }

  const Years& years_;
  std::size_t width_;
  std::size_t runs_width_ = 11;  // of the column of years
  std::vector<Group> groups_;
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
