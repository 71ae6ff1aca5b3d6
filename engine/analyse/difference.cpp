#include "analyse/difference.h"

#include <algorithm>

namespace kitgap {
namespace {

std::string type_word(FactType type) {
  return type == FactType::Number ? "a number" : type == FactType::Date ? "a date" : type == FactType::Boolean ? "true or false" : "a text";
}

void compare_facts(const Rules& before, const Rules& after, PackDifference& out) {
  for (std::uint32_t index = 0; index < before.facts.size(); ++index) {
    const Fact& was = before.facts[index];
    const auto same = after.find_fact(was.name);
    if (!same) {
      out.facts.push_back({was.name, "the new packs do not know it"});
      continue;
    }
    const Fact& now = after.facts[same->index];
    if (was.domain.type != now.domain.type) {
      out.facts.push_back({was.name, "was " + type_word(was.domain.type) + " and is " + type_word(now.domain.type)});
      continue;
    }
    const ValueSet more = after.fact_spaces[same->index] - set_in(now.domain, before.fact_spaces[index]);
    const ValueSet fewer = before.fact_spaces[index] - set_in(was.domain, after.fact_spaces[same->index]);
    if (!more.is_empty()) out.facts.push_back({was.name, "may also be " + more.to_unary_test()});
    if (!fewer.is_empty()) out.facts.push_back({was.name, "may no longer be " + fewer.to_unary_test()});
  }
  for (const Fact& fact : after.facts) {
    if (!before.find_fact(fact.name)) out.facts.push_back({fact.name, "only the new packs know it"});
  }
}

void compare_positions(const Rules& before, const Rules& after, PackDifference& out) {
  for (const std::string& path : before.positions.paths()) {
    if (!after.positions.find(path)) out.positions_gone.push_back(path);
  }
  for (const std::string& path : after.positions.paths()) {
    if (!before.positions.find(path)) out.positions_added.push_back(path);
  }
}

}  // namespace

PackDifference::Tests tests_in_words(const JointFacts& facts, const JointFacts::Box& box) {
  PackDifference::Tests tests;
  for (const auto& [fact, values] : box) tests.emplace_back(facts.name(fact), values.to_unary_test());
  return tests;
}

PackDifference::Car car_in_words(const JointFacts& facts, const std::vector<std::pair<std::size_t, FactValue>>& car) {
  PackDifference::Car words;
  for (const auto& [fact, value] : car) words.emplace_back(facts.name(fact), literal_of(value, facts.type(fact)));
  return words;
}

PackDifference difference_between(const Rules& before, const Rules& after) {
  PackDifference difference;
  for (const PackInfo& pack : before.packs) difference.before.push_back({pack.name, pack.version, pack.hash});
  for (const PackInfo& pack : after.packs) difference.after.push_back({pack.name, pack.version, pack.hash});
  compare_facts(before, after, difference);
  compare_positions(before, after, difference);
  const JointFacts facts(before, after);
  find_need_changes(before, after, facts, difference);
  find_row_changes(before, after, facts, difference);
  return difference;
}

}  // namespace kitgap
