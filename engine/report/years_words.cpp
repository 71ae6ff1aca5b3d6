#include "report/years_words.h"

#include <algorithm>

#include "report/report.h"
#include "report/years.h"

namespace kitgap {
namespace {

bool say_the_same(const YearsLine& a, const YearsLine& b) {
  const auto same_change = [](const YearsChange& x, const YearsChange& y) {
    return std::tie(x.fact, x.at, x.where, x.was, x.now, x.because, x.was_because) == std::tie(y.fact, y.at, y.where, y.was, y.now, y.because, y.was_because);
  };
  return a.part == b.part && a.parent == b.parent && a.is_exact == b.is_exact && a.cells == b.cells && a.same == b.same &&
         a.hangs_on == b.hangs_on && std::ranges::equal(a.changes, b.changes, same_change);
}

std::string rows_text(const std::vector<YearsRow>& rows) {
  std::vector<std::string> words;
  for (const YearsRow& row : rows)
    words.push_back(row.file + ":" + std::to_string(row.line) + (row.source.empty() ? "" : " (" + row.source + ")"));
  return in_one(words, ", ");
}

bool is_ordered(const Fact& fact) { return fact.domain.type == FactType::Number || fact.domain.type == FactType::Date; }

}  // namespace

YearsWords::YearsWords(const Years& years) : years_(years) {
  for (const YearsLine& line : years.lines) {
    const auto known = std::ranges::find_if(groups_, [&](const YearsGroup& group) { return say_the_same(*group.line, line); });
    if (known == groups_.end()) groups_.push_back({&line, {line.position}});
    else known->positions.push_back(line.position);
  }
  for (std::size_t at = years.across.size(); at-- > 0;) {
    if (is_ordered(years.rules->facts[years.across[at].index])) run_ = at;
  }
}

std::string YearsWords::subject() const {
  std::vector<std::string> names;
  for (const FactId fact : years_.across) names.push_back(years_.rules->facts[fact.index].name);
  return in_one(names, " and ");
}

std::string YearsWords::packs() const {
  std::vector<std::string> packs;
  for (const Years::Pack& pack : years_.packs) packs.push_back(pack.name + " " + pack.version);
  return in_one(packs, ", ");
}

std::string YearsWords::held() const {
  std::vector<std::string> held;
  for (const auto& [fact, test] : years_.held) held.push_back(fact + " " + test);
  return in_one(held, ", ");
}

std::string YearsWords::title(const YearsGroup& group) const {
  const YearsLine& line = *group.line;
  std::string text = line.part_name + (line.unit == "each" ? "" : ", " + line.unit);
  if (line.parent != "car") text += ", on " + line.parent;
  if (!line.is_exact) text += " (bounds only)";
  return text;
}

std::string YearsWords::title(const YearsOrder& order) const {
  std::string name = order.part_name + (order.place.empty() ? "" : ", " + order.place) + (order.unit == "each" ? "" : ", " + order.unit);
  const bool is_sold = std::ranges::any_of(order.cells, [](const YearsOrderCell& entry) { return !entry.offers.empty(); });
  if (!order.is_exact) name += " (bounds only)";
  if (!is_sold) name += order.kits.empty() ? ": no offer" : ": only in " + in_one(order.kits, ", ");
  return name;
}

std::string YearsWords::who(const std::vector<ValueSet>& values) const {
  std::string text;
  for (std::size_t at = 0; at < values.size(); ++at) {
    if (at == run_ || values[at] == years_.spaces[at]) continue;
    text += (text.empty() ? "" : ", ") + values_text(years_, at, values[at]);
  }
  return text.empty() ? "all" : text;
}

std::string YearsWords::when(const std::vector<ValueSet>& values) const {
  return run_ ? values_text(years_, *run_, values[*run_]) : "";
}

std::string YearsWords::hanging(const YearsGroup& group) const {
  const bool is_range = std::ranges::any_of(group.line->cells, [](const YearsCell& entry) { return entry.need.lo != entry.need.hi; });
  return is_range && !group.line->hangs_on.empty() ? " (hangs on " + in_one(group.line->hangs_on, ", ") + " too)" : "";
}

std::vector<std::string> YearsWords::changes(const YearsGroup& group) const {
  std::vector<std::string> all;
  for (const YearsChange& each : group.line->changes) {
    if (!each.mirrors) all.push_back(change(each));
  }
  return all;
}

std::string YearsWords::change(const YearsChange& change) const {
  const Fact& fact = years_.rules->facts[change.fact.index];
  std::string text = "at " + fact.name + " " + text_of(change.at, fact.domain.type);
  const std::string cars = who(change.where);
  if (cars != "all") text += ", " + cars;
  text += ": " + range_text(change.was) + " becomes " + range_text(change.now);
  if (!change.because.empty()) text += ", by " + rows_text(change.because);
  if (change.because.empty() && !change.was_because.empty()) text += ": " + rows_text(change.was_because) + " speaks of no later one";
  if (!change.follows.empty()) text += (change.because.empty() && change.was_because.empty() ? ", as " : ", and ") + in_one(change.follows, ", ") + " changes";
  return text;
}

std::string YearsWords::how_to_buy(const YearsOrderCell& cell) const {
  if (cell.offers.empty()) return "";
  const YearsOffer& best = cell.offers.front();
  std::string text = best.pack_size == Fraction(1) ? "" : range_text(best.packs) + (best.packs.hi == Fraction(1) ? " pack of " : " packs of ") + best.pack_size.to_text() + ": ";
  text += best.part_number + " of " + best.supplier;
  if (best.is_open) text += ", fit open";
  if (cell.offers.size() > 1) text += "; " + std::to_string(cell.offers.size() - 1) + " more";
  return text;
}

std::string in_one(const std::vector<std::string>& words, std::string_view between) {
  std::string text;
  for (const std::string& word : words) text += (text.empty() ? "" : std::string(between)) + word;
  return text;
}

}  // namespace kitgap
