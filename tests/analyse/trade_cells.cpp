#include <doctest/doctest.h>

#include <array>
#include <cstdio>
#include <filesystem>
#include <map>
#include <set>

#include "match/grid.h"
#include "need/needs.h"
#include "text/diagnostics.h"

using namespace kitgap;

// Every cell of facts that the shipped trade pack tells apart, walked car by car. What is said of a line
// hangs on the facts that its own rows and those of the assemblies above it name: lines that hang on the same
// facts are asked together, in every combination of those facts' cells. A car of a cell knows these facts and
// no others.
namespace {

constexpr std::size_t kMostCells = 1'000'000;

struct Trade {
  Sources sources;
  Diagnostics diagnostics;
  std::optional<Rules> rules =
      read_rules(std::array{std::filesystem::path(KITGAP_SOURCE_DIR "/rules/trade")}, sources, diagnostics);
};

void add_facts(const Rules& rules, ConditionId condition, std::set<FactId>& facts) {
  for (const Condition::Test& test : rules.condition(condition).tests) facts.insert(test.fact);
  for (const Condition::Residue& residue : rules.condition(condition).residues)
    facts.insert(residue.facts.begin(), residue.facts.end());
}

// The cells of a fact's values that some row of the pack tells apart.
std::vector<ValueSet> cells_of(const Rules& rules, FactId fact) {
  std::vector<ValueSet> asked;
  for (const Condition& condition : rules.conditions) {
    for (const Condition::Test& test : condition.tests) {
      if (test.fact == fact) asked.push_back(test.values);
    }
  }
  const ColumnCells column(rules.fact_spaces[fact.index], asked);
  std::vector<ValueSet> cells;
  for (std::uint32_t cell = 0; cell < column.column().cell_count; ++cell)
    cells.push_back(column.values(std::array{CellRange{cell, cell}}));
  return cells;
}

// The facts that decide whether and how often a line is called for.
std::set<FactId> facts_of(const NeedModel& model, LineId id,
                          std::map<std::uint32_t, std::set<FactId>>& known) {
  if (const auto found = known.find(id.index); found != known.end()) return found->second;
  known[id.index];
  std::set<FactId> facts;
  const Line& line = model.line(id);
  const Rules& rules = model.rules();
  for (const std::uint32_t row : line.rows) add_facts(rules, rules.needs[row].condition, facts);
  for (const std::uint32_t row : line.consumes) add_facts(rules, rules.consumes[row].condition, facts);
  if (line.parent != Rules::kCar) {
    for (const LineId above : model.lines_of(line.parent, line.position))
      facts.merge(facts_of(model, above, known));
  }
  return known[id.index] = facts;
}

struct Walk {
  const Rules& rules;
  std::set<std::uint32_t> cautions_reached = {};
  std::vector<std::string> wrong = {};
  std::size_t cells = 0;

  void add(const std::string& what, const Car& car) {
    std::string text = what;
    for (const Car::Statement& fact : car.statements)
      text += ", " + rules.facts[fact.fact.index].name + " " + fact.values.to_unary_test();
    wrong.push_back(text);
  }
};

// The clips of a panel in this completion: their number is the number of holes, and no seal stands without a
// clip.
void check_panel(Needs& needs, const NeedModel& model, LineId seal, const Car& car, Walk& walk) {
  const Line& line = model.line(seal);
  const auto count = [&](std::string_view part) {
    const auto id = model.find(line.parent, line.position, *walk.rules.find_part(part));
    return id ? needs.figure(*id).need : Fraction(0);
  };
  const Fraction seals = count("clip-seal"), clips = count("panel-clip"), holes = count("clip-hole");
  if (seals > clips)
    walk.add(model.id_of(seal) + ": " + seals.to_text() + " seals for " + clips.to_text() + " clips", car);
  if (clips != holes)
    walk.add(model.id_of(seal) + ": " + clips.to_text() + " clips for " + holes.to_text() + " holes", car);
}

void check_cell(const Car& car, const std::vector<std::string>& lines, Walk& walk) {
  Diagnostics diagnostics;
  const auto knowledge = Knowledge::of(car, walk.rules, diagnostics);
  REQUIRE(knowledge.has_value());
  if (!knowledge->contradictions().empty()) return;  // no such car
  ++walk.cells;
  const Found found;
  const NeedModel model = NeedModel::of(*knowledge, car, found);
  std::map<std::string, LineId> by_id;
  for (std::uint32_t line = 0; line < model.lines().size(); ++line)
    by_id[model.id_of(LineId{line})] = LineId{line};
  Problems problems(diagnostics);
  Remembered<LineFigure> remembered(Asked::Kind::Figure);
  Recall recall(*knowledge);
  for (const std::string& id : lines) {
    const auto at = by_id.find(id);
    if (at == by_id.end()) continue;
    const Line& line = model.line(at->second);
    const bool is_whole = Explorer(recall).explore([&](Completion& completion) {
      Needs needs(model, completion, problems, remembered);
      const LineFigure& figure = needs.figure(at->second);
      if (figure.need.sign() < 0) walk.add(id + " is negative", car);
      if (walk.rules.part_keys[line.part.index] == "clip-seal")
        check_panel(needs, model, at->second, car, walk);
      if (figure.need.sign() <= 0) return;
      for (std::uint32_t caution = 0; caution < walk.rules.cautions.size(); ++caution) {
        const CautionRow& row = walk.rules.cautions[caution];
        if (row.part == line.part && completion.holds(row.condition)) walk.cautions_reached.insert(caution);
      }
    });
    if (!is_whole) walk.add(id + ": more ways than can be walked", car);
  }
  for (const Diagnostic& diagnostic : diagnostics.sorted()) walk.add(diagnostic.says, car);
}

// All cars of the product of the facts' cells.
void walk_cells(const std::set<FactId>& facts, const std::vector<std::string>& lines, Walk& walk) {
  std::vector<std::vector<ValueSet>> cells;
  std::size_t count = 1;
  for (const FactId fact : facts) {
    cells.push_back(cells_of(walk.rules, fact));
    count *= cells.back().size();
    REQUIRE(count <= kMostCells);
  }
  for (std::size_t cell = 0; cell < count; ++cell) {
    Car car;
    std::size_t rest = cell, column = 0;
    for (const FactId fact : facts) {
      car.statements.push_back({fact, cells[column][rest % cells[column].size()], Span{}});
      rest /= cells[column++].size();
    }
    check_cell(car, lines, walk);
  }
}

// Cars in which the step of a caution is worked and the caution is shown.
void walk_steps(Walk& walk) {
  Diagnostics diagnostics;
  const auto knowledge = Knowledge::of(Car{}, walk.rules, diagnostics);
  REQUIRE(knowledge.has_value());
  Recall recall(*knowledge);
  for (std::uint32_t caution = 0; caution < walk.rules.cautions.size(); ++caution) {
    const CautionRow& row = walk.rules.cautions[caution];
    for (const StepRow& step : walk.rules.steps) {
      if (row.step.empty() || step.step != row.step) continue;
      Explorer(recall).explore([&](Completion& completion) {
        if (completion.holds(step.condition) && completion.holds(row.condition))
          walk.cautions_reached.insert(caution);
      });
    }
  }
}

}  // namespace

TEST_CASE(
    "trade pack: in every cell of facts no rows contradict each other, no seal is without its clip, every "
    "caution is reached") {
  const Trade trade;
  INFO(layout(trade.diagnostics, trade.sources));
  REQUIRE(trade.rules.has_value());
  const Rules& rules = *trade.rules;
  Diagnostics diagnostics;
  const Car anyone;
  const auto knowledge = Knowledge::of(anyone, rules, diagnostics);
  REQUIRE(knowledge.has_value());
  const NeedModel model = NeedModel::of(*knowledge, anyone, Found{});

  std::map<std::uint32_t, std::set<FactId>> known;
  std::map<std::set<FactId>, std::vector<std::string>> lines_by_facts;
  for (std::uint32_t index = 0; index < model.lines().size(); ++index) {
    const LineId id{index};
    std::set<FactId> facts = facts_of(model, id, known);
    for (const CautionRow& caution : rules.cautions) {
      if (caution.part == model.line(id).part) add_facts(rules, caution.condition, facts);
    }
    lines_by_facts[facts].push_back(model.id_of(id));
  }
  Walk walk{rules};
  for (const auto& [facts, lines] : lines_by_facts) walk_cells(facts, lines, walk);
  walk_steps(walk);
  std::printf("trade pack: %zu lines in %zu cells of %zu sets of facts\n", model.lines().size(), walk.cells,
              lines_by_facts.size());
  for (const std::string& wrong : walk.wrong) FAIL_CHECK(wrong);
  for (std::uint32_t caution = 0; caution < rules.cautions.size(); ++caution) {
    CAPTURE(rules.cautions[caution].text);
    CHECK(walk.cautions_reached.contains(caution));
  }
}

TEST_CASE("trade pack: as much of the trade as it promises") {
  const Trade trade;
  REQUIRE(trade.rules.has_value());
  std::set<PartId> assemblies;
  for (const NeedRow& row : trade.rules->needs) assemblies.insert(row.parent);
  for (const SuppliedWithoutRow& row : trade.rules->supplied_without) {
    if (row.assembly) assemblies.insert(*row.assembly);
  }
  std::printf("trade pack: %zu assemblies, %zu needs, %zu pieces to move over, %zu steps\n", assemblies.size(), trade.rules->needs.size(),
              trade.rules->move_over.size(), trade.rules->steps.size());
  CHECK(assemblies.size() >= 60);
  CHECK(trade.rules->needs.size() >= 400);
  CHECK(trade.rules->move_over.size() >= 120);
  CHECK(trade.rules->steps.size() >= 90);
}

TEST_CASE("trade pack: a part has one unit, whichever row describes it") {
  const Trade trade;
  REQUIRE(trade.rules.has_value());
  std::map<PartId, Unit> units;
  for (const PartRow& row : trade.rules->parts) {
    CAPTURE(trade.rules->part_keys[row.part.index]);
    CHECK(units.try_emplace(row.part, row.unit).first->second == row.unit);
  }
}
