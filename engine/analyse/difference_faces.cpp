#include <algorithm>

#include "analyse/difference.h"
#include "text/json.h"

namespace kitgap {
namespace {

std::string_view word_of(OldUse old) { return old == OldUse::Must ? "must" : old == OldUse::MustNot ? "must not" : "may"; }

std::string range_text(const Range& range) { return range.lo == range.hi ? range.lo.to_text() : range.lo.to_text() + ".." + range.hi.to_text(); }

std::string tests_text(const PackDifference::Tests& tests) {
  std::string text;
  for (const auto& [fact, test] : tests) text += (text.empty() ? "" : ", ") + fact + " " + test;
  return text.empty() ? "every car" : text;
}

std::string rows_text(const std::vector<YearsRow>& rows) {
  std::string text;
  for (const YearsRow& row : rows) text += (text.empty() ? "" : ", ") + row.file + ":" + std::to_string(row.line);
  return text;
}

std::string packs_text(const std::vector<Years::Pack>& packs) {
  std::string text;
  for (const Years::Pack& pack : packs) text += (text.empty() ? "" : ", ") + pack.name + " " + pack.version;
  return text;
}

std::string figure_text(const PackDifference::Figure& figure, const PackDifference::Figure& other) {
  std::string text = range_text(figure.need);
  if (figure.need.hi.is_zero() || figure.need != other.need) return text;
  if (figure.stops != other.stops) text += figure.stops ? ", stops the work" : ", does not stop the work";
  if (figure.old != other.old) text += ", old one " + std::string(word_of(figure.old));
  return text;
}

void add_needs(const PackDifference& difference, std::string& out) {
  if (difference.needs.empty()) return;
  out += "\nWhat cars call for\n";
  std::size_t following = 0;
  std::vector<bool> said(difference.needs.size(), false);
  for (std::size_t at = 0; at < difference.needs.size(); ++at) {
    const auto& change = difference.needs[at];
    following += change.follows ? 1 : 0;
    if (change.follows || said[at]) continue;
    // The same change at several places is told once.
    std::string places;
    for (std::size_t later = at; later < difference.needs.size(); ++later) {
      const auto& other = difference.needs[later];
      if (other.follows || other.part != change.part || other.parent != change.parent || other.box != change.box || other.was.need != change.was.need ||
          other.now.need != change.now.need || other.was.because != change.was.because || other.now.because != change.now.because) {
        continue;
      }
      said[later] = true;
      places += (places.empty() ? "" : ", ") + other.position;
    }
    out += "  " + change.part_name + (change.unit == "each" ? "" : ", " + change.unit) + (change.parent == "car" ? "" : ", on " + change.parent) + ", at " + places + "\n";
    out += "    " + tests_text(change.box) + ": " + figure_text(change.was, change.now) + " becomes " + figure_text(change.now, change.was) + (change.is_exact ? "" : " (bounds only)") + "\n";
    if (!change.witness.empty()) out += "      for example a car with " + tests_text(change.witness) + "\n";
    const std::string was = rows_text(change.was.because);
    const std::string now = rows_text(change.now.because);
    if (was == now && !was.empty()) out += "      by " + was + " in both\n";
    else out += "      " + (was.empty() ? "" : "by old " + was + (now.empty() ? "" : "; ")) + (now.empty() ? "" : "by new " + now) + "\n";
  }
  if (following > 0) out += "  and " + std::to_string(following) + " lines below these, which follow them; `--format json` lists them\n";
}

void add_rows(const PackDifference& difference, std::string& out) {
  std::string_view kind;
  for (const auto& change : difference.rows) {
    if (change.kind != kind) out += "\nTables of " + change.kind + "\n";
    kind = change.kind;
    out += "  " + (change.key.empty() ? std::string("a row") : change.key) + ": ";
    if (change.is_added) out += "new for " + tests_text(change.box) + ", " + rows_text(change.now_rows);
    else if (change.is_gone) out += "gone for " + tests_text(change.box) + ", old " + rows_text(change.was_rows);
    else out += "differs for " + tests_text(change.box) + ", old " + rows_text(change.was_rows) + ", new " + rows_text(change.now_rows);
    out += "\n";
    for (const auto& [column, cell] : change.was) out += "    - " + column + " `" + cell + "`\n";
    for (const auto& [column, cell] : change.now) out += "    + " + column + " `" + cell + "`\n";
  }
}

class DifferenceJson {
 public:
  explicit DifferenceJson(const PackDifference& difference) : difference_(difference) { json_.plain(); }

  std::string run() {
    json_.begin_object().key("format").string("rules-difference/1");
    packs("old", difference_.before);
    packs("new", difference_.after);
    json_.key("facts").begin_array();
    for (const auto& change : difference_.facts) json_.begin_object().key("fact").string(change.fact).key("says").string(change.says).end_object();
    json_.end_array();
    words("positions_added", difference_.positions_added);
    words("positions_gone", difference_.positions_gone);
    json_.key("needs").begin_array();
    for (const auto& change : difference_.needs) add(change);
    json_.end_array().key("rows").begin_array();
    for (const auto& change : difference_.rows) add(change);
    json_.end_array().key("left_out").number(static_cast<std::int64_t>(difference_.left_out)).end_object();
    return json_.take();
  }

 private:
  void packs(std::string_view key, const std::vector<Years::Pack>& packs) {
    json_.key(key).begin_array();
    for (const Years::Pack& pack : packs) {
      json_.begin_object().key("name").string(pack.name).key("version").string(pack.version).key("hash").string(pack.hash).end_object();
    }
    json_.end_array();
  }
  void words(std::string_view key, const std::vector<std::string>& words) {
    json_.key(key).begin_array();
    for (const std::string& word : words) json_.string(word);
    json_.end_array();
  }
  void tests(std::string_view key, const PackDifference::Tests& tests) {
    json_.key(key).begin_object();
    for (const auto& [fact, test] : tests) json_.key(fact).string(test);
    json_.end_object();
  }
  // Numbers and booleans are those of JSON; texts lose their quotes.
  void car(const PackDifference::Car& car) {
    json_.key("witness").begin_object();
    for (const auto& [fact, value] : car) {
      json_.key(fact);
      if (value == "true" || value == "false") json_.boolean(value == "true");
      else if (value.starts_with('"')) json_.string(std::string_view(value).substr(1, value.size() - 2));
      else if (value.find('-', 1) != std::string::npos || value.find('/') != std::string::npos) json_.string(value);
      else json_.number(value);
    }
    json_.end_object();
  }
  void rows(std::string_view key, const std::vector<YearsRow>& rows) {
    json_.key(key).begin_array();
    for (const YearsRow& row : rows) {
      json_.begin_object().key("pack").string(row.pack).key("file").string(row.file).key("line").number(std::int64_t{row.line}).key("source");
      if (row.source.empty()) json_.null();
      else json_.string(row.source);
      json_.end_object();
    }
    json_.end_array();
  }
  void figure(std::string_view key, const PackDifference::Figure& figure) {
    json_.key(key).begin_object().key("lo").number(figure.need.lo.to_text()).key("hi").number(figure.need.hi.to_text());
    json_.key("stops").boolean(figure.stops).key("old").string(word_of(figure.old));
    rows("because", figure.because);
    json_.end_object();
  }
  void add(const PackDifference::NeedChange& change) {
    json_.begin_object().key("id").string(change.id).key("part").string(change.part).key("position").string(change.position);
    json_.key("parent").string(change.parent).key("unit").string(change.unit);
    tests("box", change.box);
    car(change.witness);
    figure("was", change.was);
    figure("now", change.now);
    json_.key("follows").boolean(change.follows).key("exact").boolean(change.is_exact).end_object();
  }
  void add(const PackDifference::RowChange& change) {
    json_.begin_object().key("kind").string(change.kind).key("key").string(change.key);
    json_.key("change").string(change.is_added ? "new" : change.is_gone ? "gone" : "differs");
    tests("box", change.box);
    car(change.witness);
    tests("was", change.was);
    tests("now", change.now);
    rows("was_rows", change.was_rows);
    rows("now_rows", change.now_rows);
    json_.end_object();
  }

  const PackDifference& difference_;
  JsonWriter json_;
};

}  // namespace

std::string difference_text(const PackDifference& difference) {
  std::string out = "From " + packs_text(difference.before) + " to " + packs_text(difference.after) + "\n";
  if (difference.is_empty()) return out + "They say the same of every car.\n";
  if (!difference.facts.empty()) out += "\nFacts\n";
  for (const auto& change : difference.facts) out += "  " + change.fact + ": " + change.says + "\n";
  if (!difference.positions_added.empty() || !difference.positions_gone.empty()) out += "\nPositions\n";
  for (const std::string& path : difference.positions_added) out += "  " + path + ": new\n";
  for (const std::string& path : difference.positions_gone) out += "  " + path + ": gone\n";
  add_needs(difference, out);
  add_rows(difference, out);
  if (difference.left_out > 0) out += "\n... and " + std::to_string(difference.left_out) + " more that are not listed\n";
  return out;
}

std::string difference_json(const PackDifference& difference) { return DifferenceJson(difference).run(); }

}  // namespace kitgap
