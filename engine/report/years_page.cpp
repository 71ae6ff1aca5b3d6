#include <algorithm>

#include "report/page.h"
#include "report/report.h"
#include "report/years.h"
#include "report/years_words.h"

namespace kitgap {
namespace {

// One figure of a table of years, over the columns it holds for.
struct Stretch {
  std::size_t columns = 0;
  std::string figure;
  std::string beside;  // how to buy it
  bool turns = false;  // another figure than that to its left
};

// Cars that the years' columns do not tell apart, and their figures from left to right.
struct YearsTableRow {
  std::string who;
  std::vector<Stretch> stretches;
};

struct YearsTable {
  std::vector<std::string> columns;
  std::vector<YearsTableRow> rows;
};

// The stretches of the run into which all these sets cut it, in order.
std::vector<ValueSet> columns_of(const std::vector<ValueSet>& sets) {
  std::vector<ValueSet> columns;
  for (const ValueSet& set : sets) {
    for (const ValueSet::Interval& interval : set.intervals()) {
      ValueSet rest = ValueSet::of(set.domain(), interval);
      std::vector<ValueSet> cut;
      for (const ValueSet& column : columns) {
        for (ValueSet part : {column & rest, column - rest}) {
          if (!part.is_empty()) cut.push_back(std::move(part));
        }
        rest = rest - column;
      }
      if (!rest.is_empty()) cut.push_back(rest);
      columns = std::move(cut);
    }
  }
  std::vector<ValueSet> whole;
  for (const ValueSet& column : columns) {
    for (const ValueSet::Interval& interval : column.intervals()) whole.push_back(ValueSet::of(column.domain(), interval));
  }
  std::ranges::sort(whole, [](const ValueSet& a, const ValueSet& b) { return a.intervals().front().lo < b.intervals().front().lo; });
  return whole;
}

class YearsPage {
 public:
  explicit YearsPage(const Years& years) : years_(years), words_(years) {}

  std::string write() {
    begin_main(page_, "wide");
    head();
    clashes();
    changing();
    differing();
    lasting();
    to_buy();
    page_.close();
    return page_of({.title = "Needs across " + words_.subject()}, page_);
  }

 private:
  void head() {
    page_.open("header", {{"class", "top"}}).put("h1", "Needs across " + words_.subject());
    page_.put("p", {{"class", "by"}}, "by the tables of " + words_.packs() + (years_.held.empty() ? "" : ", for cars with " + words_.held()));
    page_.put("p", {{"class", "lead"}}, "What one car calls for, whatever is in hand. Where other facts decide too, the least and the most.");
    page_.put("p", "A heavy bar and \"from here\" stand where a figure becomes another one; the row that changes it is named below.").close();
  }

  void clashes() {
    if (years_.clashes.empty()) return;
    begin("wrong", "Where the tables are wrong");
    page_.open("ul", {{"class", "checks"}});
    for (const YearsRow& row : years_.clashes) page_.put("li", row.file + ":" + std::to_string(row.line) + ": " + row.says);
    page_.close().put("p", "Figures that hang on them are not to be trusted; `kitgap rules check` names the cars.").close();
  }

  void begin(std::string_view id, std::string_view title) {
    page_.open("section", {{"aria-labelledby", id}}).put("h2", {{"id", id}}, title);
  }

  // Lays cells out: a row per kind of car, a column per stretch of years.
  template <class Cell, class Figure, class Beside>
  YearsTable table_of(const std::vector<Cell>& cells, Figure figure, Beside beside) const {
    YearsTable table;
    std::vector<ValueSet> columns;
    if (words_.run()) {
      std::vector<ValueSet> sets;
      for (const Cell& cell : cells) sets.push_back(cell.values[*words_.run()]);
      columns = columns_of(sets);
      for (const ValueSet& column : columns) table.columns.push_back(values_text(years_, *words_.run(), column));
    } else {
      table.columns.push_back("figure");
    }
    for (const Cell& cell : cells) {
      const std::string who = words_.who(cell.values);
      if (std::ranges::find(table.rows, who, &YearsTableRow::who) != table.rows.end()) continue;
      YearsTableRow row{who, {}};
      for (std::size_t at = 0; at < table.columns.size(); ++at) {
        const auto of = std::ranges::find_if(cells, [&](const Cell& other) {
          return words_.who(other.values) == who && (columns.empty() || other.values[*words_.run()].contains(columns[at]));
        });
        Stretch next{1, of == cells.end() ? "" : figure(*of), of == cells.end() ? "" : beside(*of), false};
        Stretch* last = row.stretches.empty() ? nullptr : &row.stretches.back();
        next.turns = last != nullptr && last->figure != next.figure;
        if (last != nullptr && last->figure == next.figure && last->beside == next.beside) ++last->columns;
        else row.stretches.push_back(std::move(next));
      }
      table.rows.push_back(std::move(row));
    }
    return table;
  }

  void write_table(const YearsTable& table, const std::string& title) {
    page_.open("div", {{"class", "years-frame"}, {"tabindex", "0"}, {"role", "group"}, {"aria-label", title}});
    page_.open("table", {{"class", "years"}}).open("thead").open("tr").put("th", {{"scope", "col"}}, "cars");
    for (const std::string& column : table.columns) page_.put("th", {{"scope", "col"}}, column);
    page_.close().close().open("tbody");
    for (const YearsTableRow& row : table.rows) {
      page_.open("tr").put("th", {{"scope", "row"}}, row.who);
      for (const Stretch& stretch : row.stretches) {
        const std::string columns = std::to_string(stretch.columns);
        page_.open("td", {{stretch.columns > 1 ? "colspan" : "", columns}, {stretch.turns ? "class" : "", "turn"}});
        page_.put("b", stretch.figure);
        if (stretch.turns) page_.text(" ").put("small", "from here");
        if (!stretch.beside.empty()) page_.open("span", {{"class", "known"}}).text(stretch.beside).close();
        page_.close();
      }
      page_.close();
    }
    page_.close().close().close();
  }

  static std::string need_of(const YearsCell& cell) { return range_text(cell.need); }
  static std::string nothing(const YearsCell&) { return {}; }

  void changing() {
    begin("changes", "What changes");
    bool any = false;
    for (const YearsGroup& group : words_.groups()) {
      if (group.line->changes.empty()) continue;
      any = true;
      page_.open("article").put("h3", words_.title(group));
      page_.put("p", {{"class", "after"}}, "at " + in_one(group.positions, "; ") + words_.hanging(group));
      write_table(table_of(group.line->cells, need_of, nothing), words_.title(group));
      page_.open("ul", {{"class", "checks"}});
      for (const std::string& change : words_.changes(group)) page_.put("li", change);
      page_.close().close();
    }
    if (!any) page_.put("p", "Nothing changes.");
    page_.close();
  }

  void differing() {
    bool any = false;
    for (const YearsGroup& group : words_.groups()) {
      if (!group.line->changes.empty() || group.line->same) continue;
      if (!any) begin("steady", "Steady, but not the same on all");
      any = true;
      page_.open("article").put("h3", words_.title(group));
      page_.put("p", {{"class", "after"}}, "at " + in_one(group.positions, "; ") + words_.hanging(group));
      write_table(table_of(group.line->cells, need_of, nothing), words_.title(group));
      page_.close();
    }
    if (any) page_.close();
  }

  void lasting() {
    bool any = false;
    for (const YearsGroup& group : words_.groups()) {
      if (!group.line->same) continue;
      if (!any) begin("same", "The same on every one of these cars"), page_.open("ul", {{"class", "sums"}});
      any = true;
      page_.open("li").put("span", {{"class", "sum"}}, range_text(*group.line->same));
      page_.open("span").text(words_.title(group) + words_.hanging(group) + " ").put("span", {{"class", "known"}}, "at " + in_one(group.positions, ", ")).close().close();
    }
    if (any) page_.close().close();
  }

  void to_buy() {
    if (years_.orders.empty()) return;
    begin("buy", "To buy for one car, with nothing in hand");
    for (const YearsOrder& order : years_.orders) {
      page_.open("article").put("h3", words_.title(order));
      write_table(table_of(order.cells, [](const YearsOrderCell& cell) { return range_text(cell.quantity); },
                           [&](const YearsOrderCell& cell) { return words_.how_to_buy(cell); }),
                  words_.title(order));
      page_.close();
    }
    page_.put("p", "Whole packs, the cheapest offer of the part alone first. Kits, shipping and spares for breakage are left to `kitgap order`.").close();
  }

  const Years& years_;
  YearsWords words_;
  Markup page_;
};

}  // namespace

std::string years_html(const Years& years) { return YearsPage(years).write(); }

}  // namespace kitgap
