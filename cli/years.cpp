#include "report/years.h"

#include <algorithm>

#include "need/car.h"
#include "output.h"
#include "packs.h"
#include "session.h"
#include "stated_facts.h"
#include "text/file.h"

namespace kitgap {
namespace {

std::optional<FactId> fact_of(const std::string& name, const Rules& rules, Terminal& terminal) {
  if (const auto fact = rules.find_fact(name)) return fact;
  std::vector<std::string> names;
  for (const Fact& fact : rules.facts) names.push_back(fact.name);
  const std::string near = nearest(name, names);
  terminal.say("kitgap years: no fact of these packs is called `" + printable(name) + "`\n" + (near.empty() ? "" : "did you mean `" + near + "`?\n"));
  return std::nullopt;
}

// The facts that figures are laid out across: those asked for, else model year and body style.
std::optional<std::vector<FactId>> facts_across(const Arguments& arguments, const Rules& rules, Terminal& terminal) {
  std::vector<std::string> names = arguments.values("--across");
  if (names.empty()) {
    for (const char* name : {"model year", "body style"}) {
      if (rules.find_fact(name)) names.emplace_back(name);
    }
  }
  if (names.empty()) {
    terminal.say("kitgap years: these packs know neither `model year` nor `body style`: name the facts to look across with `--across FACT`\n");
    return std::nullopt;
  }
  std::vector<FactId> facts;
  for (const std::string& name : names) {
    const auto fact = fact_of(name, rules, terminal);
    if (!fact) return std::nullopt;
    if (std::ranges::find(facts, *fact) == facts.end()) facts.push_back(*fact);
  }
  return facts;
}

bool is_known_place(const std::string& word, const Rules& rules, Terminal& terminal) {
  if (rules.positions.find(word) || rules.find_part(word)) return true;
  std::vector<std::string> names = rules.positions.paths();
  names.insert(names.end(), rules.part_keys.begin(), rules.part_keys.end());
  const std::string near = nearest(word, names);
  terminal.say("kitgap years: `" + printable(word) + "` is neither a position nor a part of these packs\n" + (near.empty() ? "" : "did you mean `" + near + "`?\n"));
  return false;
}

int run_years(const Arguments& arguments, Terminal& terminal) {
  const auto output = output_of(arguments, {"text", "json", "csv", "html"}, terminal);
  if (!output) return kBadInput;
  Sources sources;
  Diagnostics diagnostics;
  const auto csv = stated_facts(arguments.values("--with"), "years", terminal);
  if (!csv) return kBadInput;
  const auto rules = read_packs(arguments.values("--rules"), sources, diagnostics);
  std::optional<Car> car;
  if (rules) {
    sources.lay_in("--with", *csv);
    car = arguments.has("--with") ? read_car("--with", *rules, sources, diagnostics) : Car{};
  }
  std::optional<Knowledge> knowledge;
  if (car) knowledge = Knowledge::of(*car, *rules, diagnostics);
  if (!knowledge || diagnostics.has_errors()) {
    terminal.say(layout(diagnostics, sources));
    return kBadInput;
  }
  if (!knowledge->contradictions().empty()) {
    terminal.say("kitgap years: no car is like that: the tables derive another value of `" +
                 rules->facts[knowledge->contradictions().front().fact.index].name + "`\n");
    return kBadInput;
  }
  const auto across = facts_across(arguments, *rules, terminal);
  const std::string only = arguments.value("--only").value_or("");
  if (!across || (!only.empty() && !is_known_place(only, *rules, terminal))) return kBadInput;
  const NeedModel model = NeedModel::of(*knowledge, *car, Found{});
  const Years years = years_of(model, {.across = *across, .only = only});
  if (output->is("json")) deliver(*output, years_json(years), terminal);
  else if (output->is("csv")) deliver(*output, years_csv(years), terminal);
  else if (output->is("html")) deliver(*output, years_html(years), terminal);
  else deliver(*output, years_text(years, output->width(terminal)), terminal);
  return kDone;
}

}  // namespace

Command years_command() {
  return {.name = "years",
          .group = Group::YourRules,
          .answers = "What cars of each model year and body style call for and what is to be bought for one, where that changes and by which row, and what is the same throughout.",
          .positionals = {},
          .options = {{"--rules", "DIR", "a pack of rules; general first", true, true},
                      {"--with", "FACT=VALUE", "only cars of which this is true: a value or a unary test", false, true},
                      {"--across", "FACT", "lay the figures out across this fact instead of model year and body style", false, true},
                      {"--only", "POSITION|PART", "one place or part", false, false},
                      {"--format", "text|json|csv|html", "how to write it", false, false}, out_option()},
          .examples = {{"kitgap years --rules rules/demo --only rear.left --with market=home", "what a rear left door of the home market takes, year by year"}},
          .run = run_years};
}

}  // namespace kitgap
