#include "ask.h"

#include <algorithm>
#include <iostream>
#include <set>

#include "need/start.h"
#include "text/json.h"

namespace kitgap {
namespace {

std::string question_of(const Rules& rules, FactId id, const SettleText& settle) {
  std::string question = "\n" + settle.ask + "\n";
  if (!settle.look_at.empty()) question += "  look at: " + settle.look_at + "\n";
  if (!settle.distance.empty()) question += "  " + settle.distance + "\n";
  if (const std::string choices = choices_of(rules, id); !choices.empty()) question += "  " + choices + "\n";
  question += settle.settles == 0 ? "  " + std::to_string(settle.lines.size()) + (settle.lines.size() == 1 ? " line hangs" : " lines hang") + " on it\n"
                                  : "  it settles " + std::to_string(settle.settles) + (settle.settles == 1 ? " line\n" : " lines\n");
  return question + "  (empty: pass over) > ";
}

// The car with the answer, or nothing, said, when it goes against the form of the fact.
bool state(Session& session, FactId id, const std::string& value, Terminal& terminal) {
  const Fact& fact = session.rules->facts[id.index];
  Car car = *session.car;
  std::erase_if(car.statements, [&](const Car::Statement& statement) { return statement.fact == id; });
  JsonWriter facts(JsonWriter::Layout::OneLine);
  facts.begin_object().key(fact.name);
  if (fact.domain.type == FactType::Boolean) facts.boolean(value == "true");
  else facts.string(value);
  facts.end_object();
  Diagnostics diagnostics;
  const SourceId typed = session.sources.add("your answer", facts.take());
  if (const auto json = parse_json(typed, session.sources, diagnostics)) {
    read_car_facts(*json, typed, *session.rules, session.sources, car, diagnostics);
  }
  auto knowledge = diagnostics.has_errors() ? std::nullopt : Knowledge::of(car, *session.rules, diagnostics);
  if (!knowledge) {
    terminal.say(layout(diagnostics, session.sources));
    return false;
  }
  session.car = std::move(car);
  session.knowledge = std::move(knowledge);
  // The lists stay as they were read; who needs what is worked out anew.
  std::vector<ReadList> lists = std::move(session.supplies->lists);
  session.needs = NeedModel::of(*session.knowledge, *session.car, session.found);
  session.supplies = Supplies::of(*session.needs, std::move(lists));
  session.cover.emplace(*session.needs, *session.supplies);
  return true;
}

}  // namespace

bool ask_facts(Session& session, bool has_list, Terminal& terminal) {
  std::set<std::string> passed_over;
  std::vector<std::pair<std::string, std::string>> answers;
  while (true) {
    const auto report = report_of(session, has_list, terminal);
    if (!report) return false;
    const auto next = std::ranges::find_if(report->to_settle, [&](const SettleText& settle) { return settle.about == "fact" && !passed_over.contains(settle.fact); });
    if (next == report->to_settle.end()) break;
    const FactId fact = *session.rules->find_fact(next->fact);
    terminal.say(question_of(*session.rules, fact, *next));
    std::string typed;
    if (!std::getline(std::cin, typed)) {
      terminal.say("\n");
      break;
    }
    const AnswerReading reading = read_answer(*session.rules, fact, typed);
    if (!reading.wrong.empty()) {
      terminal.say("  " + printable(reading.wrong) + "\n");
    } else if (reading.value.empty()) {
      passed_over.insert(next->fact);
    } else if (state(session, fact, reading.value, terminal)) {
      answers.emplace_back(next->fact, reading.value);
      // A test leaves values open: it is asked once.
      if (!session.knowledge->sets()[fact.index].is_single()) passed_over.insert(next->fact);
    }
  }
  if (answers.empty()) return true;
  std::string lines = "\nFor the car file, so that it is not asked again:\n";
  for (const auto& [fact, value] : answers) lines += "  " + printable(fact) + ": " + printable(value) + "\n";
  terminal.say(lines + "\n");
  return true;
}

}  // namespace kitgap
