#include "condition/condition.h"

#include <algorithm>

#include "condition/cell_message.h"
#include "condition/plain_cell.h"
#include "condition/truth.h"
#include "condition/typed_instead.h"
#include "text/codes.h"

namespace kitgap {
namespace {

std::string_view name_of_fact(const void* facts, std::size_t index) { return static_cast<const Fact*>(facts)[index].name; }

std::string_view word_of(const void* values, std::size_t index) {
  const auto* text = std::get_if<std::string>(&static_cast<const FactValue*>(values)[index]);
  return text != nullptr ? std::string_view(*text) : std::string_view();
}

Scope scope_of(std::span<const Fact> facts) {
  Scope scope;
  scope.names = NameView(facts.data(), facts.size(), name_of_fact);
  scope.iso_dates = true;
  return scope;
}

// Of a cell in the column of `column`, whose allowed values may stand as bare words.
Scope scope_of(std::span<const Fact> facts, const Fact& column) {
  Scope scope = scope_of(facts);
  const auto& allowed = column.domain.allowed;
  const bool is_text = column.domain.type == FactType::Text;
  if (is_text) scope.words = NameView(allowed.data(), allowed.size(), word_of);
  scope.any_word = is_text && allowed.empty();
  return scope;
}

void add_test(Condition& condition, FactId fact, ValueSet values, const Span& span) {
  const auto place = std::lower_bound(condition.tests.begin(), condition.tests.end(), fact,
                                      [](const Condition::Test& test, FactId id) { return test.fact < id; });
  if (place != condition.tests.end() && place->fact == fact) {
    place->values = place->values & values;
  } else {
    condition.tests.insert(place, {fact, std::move(values), span});
  }
}

void collect_facts(const Expression& expression, const Node& node, std::vector<FactId>& facts) {
  if (node.kind == NodeKind::Name && node.first != kNotInScope) facts.push_back(FactId{node.first});
  if (node.kind == NodeKind::Input && expression.input != kNotInScope) facts.push_back(FactId{expression.input});
  for (const std::uint32_t child : expression.children_of(node)) collect_facts(expression, expression.nodes[child], facts);
}

std::vector<FactId> facts_of(const Expression& expression, std::uint32_t node) {
  std::vector<FactId> facts;
  collect_facts(expression, expression.nodes[node], facts);
  if (expression.input != kNotInScope && node == expression.root) facts.push_back(FactId{expression.input});
  std::sort(facts.begin(), facts.end());
  facts.erase(std::unique(facts.begin(), facts.end()), facts.end());
  return facts;
}

// Values that a statement compares a fact with, and that the fact cannot have or that are of another kind.
class ValueCheck {
 public:
  ValueCheck(const Expression& expression, const Fact* column, std::span<const Fact> facts, CellMessages& messages)
      : expression_(expression), column_(column), facts_(facts), messages_(messages) {}

  bool check(std::uint32_t index) {
    const Node& node = expression_.nodes[index];
    bool is_right = true;
    if (node.kind == NodeKind::Tests || node.kind == NodeKind::NotTests || node.kind == NodeKind::Test) {
      is_right = check_tests(node, column_);
    } else if (node.kind == NodeKind::Compare) {
      const Fact* fact = fact_of(expression_.child(node, 0));
      const std::size_t other = fact != nullptr ? 1 : 0;
      if (fact == nullptr) fact = fact_of(expression_.child(node, 1));
      is_right = check_constant(expression_.child(node, other), fact, static_cast<Comparison>(node.op));
    } else if (node.kind == NodeKind::In) {
      is_right = check_tested(expression_.child(node, 1), fact_of(expression_.child(node, 0)));
    }
    for (const std::uint32_t child : expression_.children_of(node)) is_right = check(child) && is_right;
    return is_right;
  }

 private:
  const Fact* fact_of(const Node& node) const {
    if (node.kind == NodeKind::Input) return column_;
    return node.kind == NodeKind::Name && node.first < facts_.size() ? &facts_[node.first] : nullptr;
  }

  bool check_tests(const Node& tests, const Fact* fact) {
    bool is_right = true;
    if (tests.kind == NodeKind::Test) {
      return check_constant(expression_.child(tests, 0), fact, static_cast<Comparison>(tests.op));
    }
    for (const std::uint32_t child : expression_.children_of(tests)) is_right = check_tested(expression_.nodes[child], fact) && is_right;
    return is_right;
  }

  bool check_tested(const Node& node, const Fact* fact) {
    if (node.kind == NodeKind::Constant) return check_constant(node, fact, Comparison::Equal);
    if (node.kind != NodeKind::Interval && node.kind != NodeKind::List) return true;
    bool is_right = true;
    for (const std::uint32_t child : expression_.children_of(node)) {
      const Comparison as = node.kind == NodeKind::List ? Comparison::Equal : Comparison::Less;
      is_right = check_constant(expression_.nodes[child], fact, as) && is_right;
    }
    return is_right;
  }

  bool check_constant(const Node& node, const Fact* fact, Comparison comparison) {
    if (fact == nullptr || node.kind != NodeKind::Constant) return true;
    const FeelValue& value = expression_.constants[node.data];
    const FactDomain& domain = fact->domain;
    if (value.is_null()) return true;
    const bool is_kind = (domain.type == FactType::Number && value.as<Decimal>() != nullptr) ||
                         (domain.type == FactType::Text && value.as<std::string>() != nullptr) ||
                         (domain.type == FactType::Boolean && value.as<bool>() != nullptr) ||
                         (domain.type == FactType::Date && value.as<CalendarDate>() != nullptr);
    if (!is_kind) {
      messages_.wrong_kind(node.begin, node.end, kind_of(value), *fact);
      return false;
    }
    const auto* text = value.as<std::string>();
    const bool is_equality = comparison == Comparison::Equal || comparison == Comparison::NotEqual;
    if (text == nullptr || !is_equality || domain.allowed.empty()) return true;
    const FactValue wanted(*text);
    if (std::find(domain.allowed.begin(), domain.allowed.end(), wanted) != domain.allowed.end()) return true;
    messages_.unknown_value(node.begin, node.end, *text, *fact);
    return false;
  }

  const Expression& expression_;
  const Fact* column_;
  std::span<const Fact> facts_;
  CellMessages& messages_;
};

bool is_any(std::string_view cell) {
  const std::size_t first = cell.find_first_not_of(" \t");
  return first == std::string_view::npos || (cell[first] == '-' && cell.find_last_not_of(" \t") == first);
}

// Turns a statement into tests and residues; conjunctions part by part.
class Splitter {
 public:
  Splitter(Condition& condition, std::shared_ptr<const Expression> expression, const Span& span, std::span<const Fact> facts)
      : condition_(condition), expression_(std::move(expression)), span_(span), facts_(facts) {}

  void add(std::uint32_t index) {
    const Node& node = expression_->nodes[index];
    if (node.kind == NodeKind::And) {
      for (const std::uint32_t child : expression_->children_of(node)) add(child);
      return;
    }
    const std::vector<FactId> read = facts_of(*expression_, index);
    if (read.size() == 1) {
      const KnownValue nothing_known = [](std::uint32_t) { return std::optional<FeelValue>(); };
      const auto truth = truth_of(*expression_, index, read[0], expression_->input, facts_, nothing_known);
      if (truth) return add_test(condition_, read[0], truth->yes, span_);
    }
    auto part = std::make_shared<Expression>(*expression_);
    part->root = index;
    condition_.residues.push_back({std::move(part), read, span_});
  }

 private:
  Condition& condition_;
  std::shared_ptr<const Expression> expression_;
  const Span& span_;
  std::span<const Fact> facts_;
};

}  // namespace

bool add_cell(Condition& condition, FactId fact, std::string_view cell, const Span& span, std::span<const Fact> facts,
              Diagnostics& diagnostics) {
  if (is_any(cell)) return true;
  const Fact& column = facts[fact.index];
  if (auto plain = plain_cell(cell, column.domain)) {
    add_test(condition, fact, std::move(*plain), span);
    return true;
  }
  CellMessages messages(cell, span, facts, diagnostics);
  if (const auto instead = find_typed_instead(cell, column)) {
    messages.write_instead(instead->write, instead->says, instead->help);
    return false;
  }
  SyntaxError error;
  const auto tests = parse_unary_tests(cell, scope_of(facts, column), error);
  if (!tests) {
    messages.syntax(error);
    return false;
  }
  for (const std::uint32_t node : tests->unknown) messages.unknown_name(*tests, tests->nodes[node], &column);
  if (!tests->unknown.empty()) return false;
  if (!ValueCheck(*tests, &column, facts, messages).check(tests->root)) return false;
  auto owned = std::make_shared<Expression>(*tests);
  owned->input = fact.index;
  const std::uint32_t root = owned->root;
  Splitter(condition, std::move(owned), span, facts).add(root);
  return true;
}

bool add_when(Condition& condition, std::string_view cell, const Span& span, std::span<const Fact> facts,
              Diagnostics& diagnostics) {
  if (is_any(cell)) return true;
  CellMessages messages(cell, span, facts, diagnostics);
  SyntaxError error;
  const auto statement = parse_expression(cell, scope_of(facts), error);
  if (!statement) {
    messages.syntax(error);
    return false;
  }
  for (const std::uint32_t node : statement->unknown) messages.unknown_name(*statement, statement->nodes[node], nullptr);
  if (!statement->unknown.empty()) return false;
  if (!ValueCheck(*statement, nullptr, facts, messages).check(statement->root)) return false;
  const Node& root = statement->nodes[statement->root];
  if (root.kind == NodeKind::Constant && statement->constants[root.data].as<bool>() == nullptr) {
    messages.invalid(root.begin, root.end, "`when` holds a value, not a statement", "a statement that is true or false");
    return false;
  }
  if (statement->reads_input) {
    messages.invalid(0, cell.size(), "`?` stands for nothing in `when`", "the name of a fact");
    return false;
  }
  Splitter(condition, statement, span, facts).add(statement->root);
  return true;
}

ResidueText text_of(const Condition::Residue& residue) {
  const Expression& expression = *residue.expression;
  ResidueText text{.cell = expression.source, .column = {}, .root = expression.root};
  if (expression.input != kNotInScope) text.column = FactId{expression.input};
  return text;
}

std::shared_ptr<const Expression> read_again(const ResidueText& text, std::span<const Fact> facts) {
  if (text.column && text.column->index >= facts.size()) return nullptr;
  SyntaxError error;
  const auto whole = text.column ? parse_unary_tests(text.cell, scope_of(facts, facts[text.column->index]), error)
                                 : parse_expression(text.cell, scope_of(facts), error);
  if (!whole || text.root >= whole->nodes.size()) return nullptr;
  auto part = std::make_shared<Expression>(*whole);
  if (text.column) part->input = text.column->index;
  part->root = text.root;
  return part;
}

}  // namespace kitgap
