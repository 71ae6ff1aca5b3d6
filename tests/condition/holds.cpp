#include <doctest/doctest.h>

#include <random>

#include "condition/condition.h"
#include "condition/evaluator.h"
#include "condition/plain_cell.h"
#include "condition/truth.h"

using namespace kitgap;

namespace {

std::vector<Fact> facts() {
  return {
      {"a", {FactType::Number, true, {}, Fraction(0), Fraction(6)}},
      {"b", {FactType::Number, true, {}, Fraction(0), Fraction(6)}},
      {"c", {FactType::Text, true, {std::string("x"), std::string("y"), std::string("z")}, {}, {}}},
      {"d", {FactType::Boolean, true, {}, {}, {}}},
  };
}

FactSets everything(const std::vector<Fact>& all) {
  FactSets sets;
  for (const Fact& fact : all) sets.push_back(ValueSet::all(fact.domain));
  return sets;
}

constexpr const char* kSigns[] = {"<", "<=", "=", "!=", ">=", ">", ""};  // the last, none, in cells only

// Sums, products and quotients of `a` and numbers, most of them linear in it.
std::string linear(std::mt19937& random, int depth) {
  if (depth == 0 || random() % 4 == 0) return random() % 2 == 0 ? "a" : std::to_string(random() % 8);
  const std::string left = linear(random, depth - 1), right = linear(random, depth - 1);
  switch (random() % 5) {
    case 0: return "(" + left + " + " + right + ")";
    case 1: return "(" + left + " - " + right + ")";
    case 2: return left + " * " + right;
    case 3: return left + " / " + right;
    default: return "-" + left;
  }
}

// A random cell of the column of `a`.
std::string cell_of(std::mt19937& random) {
  const auto number = [&] { return std::to_string(random() % 8); };
  std::string cell;
  for (auto tests = 1 + random() % 3; tests > 0; --tests) {
    switch (random() % 8) {
      case 0: cell += "[" + number() + ".." + number() + ")"; break;
      case 1: cell += "? " + std::string(kSigns[random() % 6]) + " " + linear(random, 1); break;
      case 2: cell += std::string(kSigns[random() % 7]) + " " + number() + " + 1"; break;
      case 3: cell += "null"; break;
      case 4: cell += "[" + number() + ", " + number() + ", [1..2]]"; break;
      case 5: cell += "? + ? " + std::string(kSigns[random() % 6]) + " " + number(); break;
      case 6: cell += "modulo(?, 2) = 1"; break;
      default: cell += std::string(kSigns[random() % 7]) + " " + number();
    }
    if (tests > 1) cell += ", ";
  }
  return random() % 4 == 0 ? "not(" + cell + ")" : cell;
}

// A random statement over the four facts.
std::string statement(std::mt19937& random, int depth) {
  const auto number = [&] { return std::to_string(random() % 8); };
  const auto name = [&] { return random() % 2 == 0 ? "a" : "b"; };
  if (depth > 0 && random() % 2 == 0) {
    const std::string left = statement(random, depth - 1);
    const std::string right = statement(random, depth - 1);
    switch (random() % 5) {
      case 0: return "(" + left + " and " + right + ")";
      case 1: return "(" + left + " or " + right + ")";
      case 2: return "any(" + left + ")";
      case 3: return "all(" + left + ", " + right + ")";
      default: return "not(" + left + ")";
    }
  }
  const auto text = [&] { return std::string("\"") + "xyz"[random() % 3] + "\""; };
  switch (random() % 18) {
    case 8: return linear(random, 2) + " " + kSigns[random() % 6] + " " + linear(random, 2);
    case 9: return linear(random, 2) + " between " + linear(random, 1) + " and " + number();
    case 10: return std::string("c ") + kSigns[random() % 6] + " " + text();
    case 11: return "c in (" + text() + ", " + text() + ")";
    case 12: return std::string("d ") + kSigns[random() % 6] + (random() % 2 == 0 ? " true" : " false");
    case 13: return std::string(random() % 2 == 0 ? name() : "c") + " " + kSigns[random() % 6] + " null";
    case 14: return std::string(name()) + " in [" + number() + ", " + number() + "]";
    case 15: return std::string(name()) + " in (" + "([("[random() % 3] + number() + ".." + number() + ")]"[random() % 2] + ")";
    case 16: return number() + " " + kSigns[random() % 6] + " " + name();
    case 17: return text() + " " + kSigns[random() % 6] + " c";
    case 0: return std::string("c = \"") + "xyz"[random() % 3] + "\"";
    case 1: return "d";
    case 2: return std::string(name()) + " between " + number() + " and " + number();
    case 3: return std::string(name()) + " in (" + number() + ", [" + number() + ".." + "7], < " + number() + ")";
    case 4: return std::string("a ") + kSigns[random() % 6] + " b";
    case 5: return std::string(name()) + " * 2 - 1 " + kSigns[random() % 6] + " " + number();
    case 6: return "modulo(" + std::string(name()) + ", 2) = " + std::to_string(random() % 2);
    default: return std::string(name()) + " " + kSigns[random() % 6] + " " + number();
  }
}

// Read by the parser alone, the four facts in sight.
std::shared_ptr<const Expression> parsed(const std::string& text, decltype(parse_expression)& parse = parse_expression) {
  static const std::vector<std::string> kNames{"a", "b", "c", "d"};
  Scope scope;
  scope.names = NameView(std::span(kNames));
  SyntaxError error;
  auto tree = parse(text, scope, error);
  REQUIRE(tree != nullptr);
  return tree;
}

bool is_true(const std::string& text, const std::vector<FeelValue>& values) {
  EvaluationReport report;
  return evaluate(parsed(text), values, nullptr, report).is_true();
}

}  // namespace

TEST_CASE("holds: the boxes and residues of a statement say what evaluating it says, for all cars") {
  const unsigned seed = 1971;
  MESSAGE("seed " << seed);
  std::mt19937 random(seed);
  const auto all = facts();
  for (int round = 0; round < 400; ++round) {
    const std::string text = statement(random, 3);
    CAPTURE(text);
    Condition condition;
    Diagnostics diagnostics;
    REQUIRE(add_when(condition, text, Span{}, all, diagnostics));
    bool any = false;
    bool every = true;
    for (const FactValue& a : ValueSet::all(all[0].domain).values()) {
      for (const FactValue& b : ValueSet::all(all[1].domain).values()) {
        for (const FactValue& c : all[2].domain.allowed) {
          for (const bool d : {false, true}) {
            const std::vector<FactValue> car{a, b, c, d};
            FactSets sets;
            std::vector<FeelValue> values;
            for (std::size_t fact = 0; fact < all.size(); ++fact) {
              sets.push_back(ValueSet::of(all[fact].domain, car[fact]));
              values.push_back(feel_value_of(car[fact], all[fact].domain.type));
            }
            const bool expected = is_true(text, values);
            any = any || expected;
            every = every && expected;
            REQUIRE(holds(condition, sets, all) == ternary_of(expected));
          }
        }
      }
    }
    // With nothing known: exactly whether some, all or none of the cars pass.
    const Ternary expected = every ? Ternary::Yes : any ? Ternary::Open : Ternary::No;
    REQUIRE(holds(condition, everything(all), all) == expected);
  }
}

TEST_CASE("holds: the values of a cell are those whose test comes out true") {
  const unsigned seed = 1972;
  MESSAGE("seed " << seed);
  std::mt19937 random(seed);
  const auto all = facts();
  int read = 0;
  for (int round = 0; round < 3000; ++round) {
    const std::string cell = cell_of(random);
    CAPTURE(cell);
    Condition condition;
    Diagnostics diagnostics;
    if (!add_cell(condition, FactId{0}, cell, Span{}, all, diagnostics)) continue;
    ++read;
    const auto tests = parsed(cell, parse_unary_tests);
    for (const FactValue& a : ValueSet::all(all[0].domain).values()) {
      FactSets sets = everything(all);
      sets[0] = ValueSet::of(all[0].domain, a);
      const FeelValue value = feel_value_of(a, FactType::Number);
      EvaluationReport report;
      const std::vector<FeelValue> values{value, FeelValue(), FeelValue(), FeelValue()};
      CAPTURE(value.as<Decimal>()->to_text());
      REQUIRE(holds(condition, sets, all) == ternary_of(matches(tests, values, value, report) == true));
    }
  }
  CHECK(read > 1000);
}

TEST_CASE("holds: a residue over a fact with endless values is cut, not guessed") {
  std::vector<Fact> all = facts();
  all.push_back({"serial", {FactType::Number, true, {}, {}, {}}});
  Condition condition;
  Diagnostics diagnostics;
  REQUIRE(add_when(condition, "serial > a * 100", Span{}, all, diagnostics));
  REQUIRE(condition.residues.size() == 1);
  FactSets sets = everything(all);
  CHECK(holds(condition, sets, all) == Ternary::Open);
  sets[4] = ValueSet::of(all[4].domain, ValueSet::Interval{Fraction(601), {}, true, true});
  CHECK(holds(condition, sets, all) == Ternary::Yes);
  sets[4] = ValueSet::of(all[4].domain, ValueSet::Interval{{}, Fraction(0), true, true});
  CHECK(holds(condition, sets, all) == Ternary::No);
  sets[0] = ValueSet::of(all[0].domain, Fraction(3));
  const auto passing = values_that_pass(condition.residues[0], FactId{4}, sets, all);
  REQUIRE(passing.has_value());
  CHECK(passing->to_unary_test() == ">= 301");
}

TEST_CASE("cell: what is read straight is what the parser reads") {
  const unsigned seed = 31;
  MESSAGE("seed " << seed);
  std::mt19937 random(seed);
  const auto all = facts();
  const char* pieces[] = {"1", "4", "-2", "10", "[1..3]", "(0..4)", "[2..2]", ">= 3", "<2", "> -1", ", ", ",", " ", "x", "\"y\"", "z",
                          "x y", "..", "[", "1.5", "not(2)", "-", R"("\u0078")", R"("x\\")"};
  int straight = 0;
  for (int round = 0; round < 20000; ++round) {
    std::string cell;
    for (unsigned piece = 1 + random() % 4; piece > 0; --piece) cell += pieces[random() % std::size(pieces)];
    const std::uint32_t fact = random() % 2 == 0 ? 0 : 2;
    const auto plain = plain_cell(cell, all[fact].domain);
    if (!plain) continue;
    ++straight;
    CAPTURE(cell);
    // The same test behind a comment, which only the parser reads.
    Condition condition;
    Diagnostics diagnostics;
    REQUIRE(add_cell(condition, FactId{fact}, "/* */ " + cell, Span{}, all, diagnostics));
    REQUIRE(condition.tests.size() == 1);
    REQUIRE(condition.tests[0].values == *plain);
  }
  CHECK(straight > 1000);
}

TEST_CASE("quantity: exact fractions, and no value rather than a rounded one") {
  const auto all = facts();
  const std::vector<std::string> sizes{"width", "perimeter"};
  const std::vector<Fraction> inputs{Fraction::of(1, 3), Fraction(250)};
  const auto work_out = [&](const std::string& cell) {
    Diagnostics diagnostics;
    Span span;
    const auto quantity = parse_quantity(cell, span, all, sizes, diagnostics);
    if (!quantity) return std::string("refused");
    const auto result = evaluate(*quantity, [](FactId) { return FactValue(Fraction(2)); }, inputs);
    return result.value ? result.value->to_text() : result.error;
  };
  CHECK(work_out("9") == "9");
  CHECK(work_out("width * 3") == "1");
  CHECK(work_out("perimeter / 7") == "250/7");
  CHECK(work_out("ceiling(perimeter / 100) * a") == "6");
  CHECK(work_out("1 / 3 + 1 / 3 + 1 / 3") == "1");
  CHECK(work_out("if perimeter > 200 then 4 else 2") == "4");
  CHECK(work_out("max(1, width, 1 / 2)") == "1");
  CHECK(work_out("round half up(width, 2)") == "0.33");
  for (const auto& [cell, value] : {std::pair("min(3, width, a)", "1/3"), {"max(a, 3)", "3"}, {"sum(a, 1, width)", "10/3"}, {"product(a, 3, 4)", "24"},
                                    {"mean(a, 3)", "2.5"}, {"min([4, a])", "2"}, {"floor(width)", "0"}, {"floor(-width)", "-1"}, {"ceiling(width)", "1"},
                                    {"abs(-width)", "1/3"}, {"abs(width)", "1/3"}, {"modulo(7, a)", "1"}, {"modulo(-7, a + 1)", "2"}, {"floor(width, 1)", "0.3"},
                                    {"floor(-width, 1)", "-0.4"}, {"ceiling(width, 1)", "0.4"}, {"ceiling(-width, 1)", "-0.3"}, {"round up(width, 1)", "0.4"},
                                    {"round down(-width, 1)", "-0.3"}, {"round up(0.3, 1)", "0.3"}, {"round half up(0.25, 1)", "0.3"}, {"round half up(-0.25, 1)", "-0.3"},
                                    {"round half down(0.25, 1)", "0.2"}, {"round half down(0.26, 1)", "0.3"}, {"decimal(0.25, 1)", "0.2"}, {"decimal(0.35, 1)", "0.4"},
                                    {"decimal(perimeter, -2)", "200"}, {"decimal(350, -2)", "400"}, {"a ** 3", "8"}, {"a - 3", "-1"}, {"-a", "-2"},
                                    {"if a >= 2 then 1 else 0", "1"}, {"if a > 2 then 1 else 0", "0"}, {"if a <= 1 then 1 else 0", "0"}, {"if a < 2 then 1 else 0", "0"},
                                    {"if a = 2 and perimeter = 250 then 1 else 0", "1"}, {"if a = 2 and perimeter = 251 then 1 else 0", "0"},
                                    {"if a = 3 or perimeter = 250 then 1 else 0", "1"}, {"if a != 2 then 1 else 0", "0"}, {"if not(a = 3) then 1 else 0", "1"}}) {
    CAPTURE(cell);
    CHECK(work_out(cell) == value);
  }
  CHECK(work_out("modulo(1, a - 2)") == "division by zero");
  for (const char* const rounds : {"sqrt(2)", "log(2)", "exp(1)", "2 ** 0.5", "stddev([1, 2, 4])"}) {
    CAPTURE(std::string(rounds));
    CHECK(work_out(rounds) == "refused");
  }
  CHECK(work_out("sqrt(perimeter)") == "it has no exact value");
  CHECK(work_out("perimeter / (a - 2)") == "division by zero");
  CHECK(work_out("\"nine\"") == "refused");
  CHECK(work_out("widht") == "refused");
}

namespace {

// A random amount over `a` (2) and `b` (5).
std::string amount(std::mt19937& random, int depth) {
  static const char* kRounding[] = {"round up", "round down", "round half up", "round half down", "floor", "ceiling", "decimal"};
  static const char* kOfMany[] = {"min", "max", "sum", "mean", "product"};
  if (depth == 0) {
    const auto leaf = random() % 6;
    return leaf == 0 ? "a" : leaf == 1 ? "b" : leaf == 2 ? "0.25" : leaf == 3 ? "-3" : std::to_string(random() % 8);
  }
  const auto one = [&] { return amount(random, depth - 1); };
  const auto test = [&] { return one() + " " + kSigns[random() % 6] + " " + one(); };
  switch (random() % 12) {
    case 0: return "(" + one() + " + " + one() + ")";
    case 1: return "(" + one() + " - " + one() + ")";
    case 2: return "(" + one() + ") * (" + one() + ")";
    case 3: return "(" + one() + ") / (" + one() + ")";
    case 4: return "(" + one() + ") ** " + std::to_string(static_cast<int>(random() % 5) - 2);
    case 5: return "abs(" + one() + ")";
    case 6: return std::string(kRounding[random() % 7]) + "(" + one() + ", " + std::to_string(static_cast<int>(random() % 4) - 1) + ")";
    case 7: return std::string(kOfMany[random() % 5]) + "(" + one() + ", " + one() + ", " + one() + ")";
    case 8: return "modulo(" + one() + ", " + one() + ")";
    case 9: return "if " + test() + " then " + one() + " else " + one();
    case 10: return "if " + test() + (random() % 2 == 0 ? " and " : " or ") + test() + " then " + one() + " else " + one();
    default: return "(-(" + one() + "))";
  }
}

}  // namespace

// Where the ordinary evaluator did not round, it and the exact one say the same; where it did, nothing
// is compared. A division by zero leaves an amount without a value, also in a test, which the language would take as not met.
TEST_CASE("quantity: exact amounts are what the language says they are") {
  const unsigned seed = 1973;
  MESSAGE("seed " << seed);
  std::mt19937 random(seed);
  const auto all = facts();
  int exact = 0, none = 0;
  for (int round = 0; round < 6000; ++round) {
    const std::string cell = amount(random, 1 + static_cast<int>(random() % 3));
    CAPTURE(cell);
    Diagnostics diagnostics;
    const auto quantity = parse_quantity(cell, Span{}, all, {}, diagnostics);
    // A constant without a value is refused when it is read.
    const auto result = quantity ? evaluate(*quantity, [](FactId id) { return FactValue(Fraction(id.index == 0 ? 2 : 5)); }, {}) : QuantityResult{};
    EvaluationReport report;
    const std::vector<FeelValue> values{FeelValue(Decimal(2)), FeelValue(Decimal(5)), FeelValue(), FeelValue()};
    const FeelValue plain = evaluate(parsed(cell), values, nullptr, report);
    const Decimal* number = plain.as<Decimal>();
    if (report.rounded) continue;
    if (result.value) {
      REQUIRE(number != nullptr);
      REQUIRE(*result.value == number->to_fraction());
    } else {
      CHECK((number == nullptr || !report.problem.empty()));
    }
    ++(number != nullptr ? exact : none);
  }
  CHECK(exact > 3000);
  CHECK(none > 50);
}

TEST_CASE("quantity: days stand in it as ISO writes them") {
  const std::vector<Fact> all{{"built on", {FactType::Date, true, {}, {}, {}}}};
  Diagnostics diagnostics;
  const auto quantity = parse_quantity("if built on >= 1970-03-01 then 9 else 7", Span{}, all, {}, diagnostics);
  REQUIRE(quantity);
  const auto on = [&](const CalendarDate& day) {
    return evaluate(*quantity, [&](FactId) { return FactValue(Fraction(day_number_of(day))); }, {}).value;
  };
  CHECK(on(*date_of(1970, 2, 28)) == Fraction(7));
  CHECK(on(*date_of(1970, 3, 1)) == Fraction(9));
}
