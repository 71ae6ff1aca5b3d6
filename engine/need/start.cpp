#include "need/start.h"

#include <algorithm>
#include <set>

#include "need/knowledge.h"
#include "pack/fact_value.h"
#include "text/ascii.h"
#include "text/csv.h"
#include "text/json.h"

namespace kitgap {
namespace {

// What a fact without listed values takes: `1966..1974`, `a whole number, 1 or more`, `a day such as 1970-03-31`.
std::string any_of_range(const FactDomain& domain) {
  const auto end = [&](const std::optional<Fraction>& number) { return text_of(FactValue(*number), domain.type); };
  if (domain.least && domain.greatest) return end(domain.least) + ".." + end(domain.greatest);
  const bool is_date = domain.type == FactType::Date;
  if (is_date && !domain.least && !domain.greatest) return "a day such as 1970-03-31";
  std::string any = is_date ? "a day" : domain.whole ? "a whole number" : "a number";
  if (domain.least) any += is_date ? ", " + end(domain.least) + " or later" : ", " + end(domain.least) + " or more";
  if (domain.greatest) any += is_date ? ", " + end(domain.greatest) + " or earlier" : ", " + end(domain.greatest) + " or less";
  return any;
}

}  // namespace

std::vector<FactId> facts_to_ask(const Rules& rules) {
  std::vector<FactId> facts;
  std::vector<FactId> derived;
  for (std::uint32_t index = 0; index < rules.facts.size(); ++index) {
    const FactId fact{index};
    const bool is_derived = std::ranges::any_of(rules.fact_rows, [&](const FactRow& row) { return row.fact == fact; });
    const bool is_group = std::ranges::any_of(rules.patterns, [&](const FactPattern& pattern) {
      return std::ranges::any_of(pattern.groups, [&](const auto& group) { return group.second == fact; });
    });
    if (!is_group) (is_derived ? derived : facts).push_back(fact);
  }
  facts.insert(facts.end(), derived.begin(), derived.end());
  return facts;
}

bool is_worked_out(const Rules& rules, FactId fact, const std::vector<std::pair<FactId, std::string>>& answers) {
  Car car;
  for (const auto& [known, answer] : answers) {
    const FactDomain& domain = rules.facts[known.index].domain;
    const auto value = parse_fact_value(answer, domain.type);
    if (!answer.empty() && value && rules.fact_spaces[known.index].contains(*value)) {
      car.statements.push_back({.fact = known, .values = ValueSet::of(domain, *value), .span = {}});
    }
  }
  Diagnostics diagnostics;
  const auto knowledge = Knowledge::of(car, rules, diagnostics);
  return knowledge && knowledge->sets()[fact.index].is_single();
}

std::string choices_of(const Rules& rules, FactId id) {
  const FactDomain& domain = rules.facts[id.index].domain;
  if (domain.type == FactType::Boolean) return "yes, no";
  std::string choices;
  for (const FactValue& value : domain.allowed) {
    if (rules.fact_spaces[id.index].contains(value)) choices += (choices.empty() ? "" : ", ") + text_of(value, domain.type);
  }
  return choices.empty() && domain.type != FactType::Text ? any_of_range(domain) : choices;
}

AnswerReading read_answer(const Rules& rules, FactId id, std::string_view typed) {
  typed = trimmed(typed);
  if (typed.empty() || typed == "?") return {};
  const Fact& fact = rules.facts[id.index];
  const ValueSet& space = rules.fact_spaces[id.index];
  if (const auto value = parse_fact_value(typed, fact.domain.type); value && space.contains(*value)) return {text_of(*value, fact.domain.type), {}};
  Sources sources;
  Diagnostics diagnostics;
  const SourceId source = sources.add("your answer", std::string(typed));
  Condition condition;
  if (add_cell(condition, id, typed, {.source = source, .line = 1, .column = 1}, rules.facts, diagnostics) && !condition.tests.empty() &&
      !(condition.tests[0].values & space).is_empty()) {
    return {std::string(typed), {}};
  }
  std::vector<std::string> words;
  for (const FactValue& value : fact.domain.allowed) words.push_back(text_of(value, fact.domain.type));
  const std::string near = nearest(typed, words);
  const std::string choices = choices_of(rules, id);
  const std::string wrong = "`" + std::string(typed) + "` is no value of " + fact.name + (choices.empty() ? "" : "; expected " + choices);
  return {{}, wrong + (near.empty() ? "" : "; did you mean `" + near + "`?")};
}

std::string car_json(const Rules& rules, std::string_view name, const std::vector<std::pair<FactId, std::string>>& answers,
                     const std::vector<std::string>& work) {
  JsonWriter json;
  json.plain().begin_object().key("name").string(name).key("facts").begin_object();
  for (const auto& [id, answer] : answers) {
    const Fact& fact = rules.facts[id.index];
    json.key(fact.name);
    const auto value = parse_fact_value(answer, fact.domain.type);
    if (answer.empty()) json.null();
    else if (value && fact.domain.type == FactType::Boolean) json.boolean(std::get<bool>(*value));
    else if (value && fact.domain.type == FactType::Number) json.number(answer);
    else json.string(answer);
  }
  json.end_object().key("work");
  if (work.empty()) {
    json.null();
  } else {
    json.begin_array();
    for (const std::string& word : work) json.string(word);
    json.end_array();
  }
  json.key("dates").null().end_object();
  return json.take();
}

std::vector<std::pair<std::string, std::string>> templates_of(const Rules& rules) {
  std::string counts = "parent,position,part,count,counted in,condition,bag,photo,date,by,note\n";
  // What is worth counting on any car: the lines that the packs can only estimate, each once whatever it hangs on.
  constexpr std::size_t kMostShown = 40;
  std::set<std::string> shown;
  const auto show = [&](const NeedRow& row, const std::string& position) {
    std::string line;
    append_csv_cell(line, rules.part_keys[row.parent.index]);
    line += ',';
    append_csv_cell(line, position);
    line += ',';
    append_csv_cell(line, rules.part_keys[row.part.index]);
    if (shown.size() < kMostShown && shown.insert(line).second) counts += line + ",,shell,,,,,,the tables only estimate this: count it\n";
  };
  for (const NeedRow& row : rules.needs) {
    if (row.basis != Basis::Estimate || row.effect != Effect::Sets) continue;
    const std::vector<PositionId>& at = rules.places_of(row.at);
    if (at.empty()) show(row, "");
    for (const PositionId position : at) show(row, rules.positions.path(position));
  }
  return {
      {"list.csv", "part number,description,quantity,position,supplier,bag,due,note\n,,,,,,,\"what you mean to use: one row for each number; quantity counts what the number buys\"\n"},
      {"stock.csv", "part number,description,quantity,position,supplier,bag,due,note\n,,,,,,,\"what lies here: quantity counts single pieces; bag says where\"\n"},
      {"order.csv", "id,part number,description,quantity,position,supplier,due,note\n,,,,,,,\"what is on its way\"\n"},
      {"found.csv", counts},
      {"counts.csv", "part number,part,position,counted,damaged,note\n,,,,,\"what you counted out of a parcel\"\n"},
  };
}

}  // namespace kitgap
