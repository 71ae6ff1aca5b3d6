#include <algorithm>

#include "condition/cell_message.h"
#include "condition/condition.h"
#include "condition/evaluator.h"
#include "condition/truth.h"

// Quantity cells: worked out in exact fractions, never rounded (DESIGN section 2).
namespace kitgap {
namespace {

std::string_view name_of_fact(const void* facts, std::size_t index) { return static_cast<const Fact*>(facts)[index].name; }

// Thrown inside, told as QuantityResult::error.
struct NoValue {
  std::string says;
};

constexpr std::string_view kRounds = "it has no exact value";

class ExactWorker {
 public:
  ExactWorker(const std::shared_ptr<const Expression>& expression, const std::vector<FeelValue>& scope,
              const std::vector<Fraction>& exact, std::span<const char> is_exact)
      : expression_(expression), scope_(scope), exact_(exact), is_exact_(is_exact) {}

  Fraction number(std::uint32_t index) {
    const Node& node = expression_->nodes[index];
    switch (node.kind) {
      case NodeKind::Constant:
        if (const Decimal* value = expression_->constants[node.data].as<Decimal>()) return value->to_fraction();
        break;
      case NodeKind::Name:
        if (node.first < is_exact_.size() && is_exact_[node.first] != 0) return exact_[node.first];
        break;
      case NodeKind::Negate: return -number(expression_->children[node.first]);
      case NodeKind::Add:
      case NodeKind::Multiply: return chain(node);
      case NodeKind::Power: return power(node);
      case NodeKind::If: return number(expression_->children[node.first + (statement(expression_->children[node.first]) == true ? 1 : 2)]);
      case NodeKind::Call:
        if (const auto result = called(node)) return *result;
        break;
      default: break;
    }
    const FeelValue result = plainly(index);
    if (const Decimal* value = result.as<Decimal>()) return value->to_fraction();
    throw NoValue{result.is_null() ? "it is null" + problem_ : "it is a " + std::string(kind_of(result)) + ", not a number"};
  }

 private:
  Fraction chain(const Node& node) {
    Fraction result = number(expression_->children[node.first]);
    for (std::uint32_t place = 1; place < node.count; ++place) {
      const Fraction next = number(expression_->children[node.first + place]);
      const bool inverted = expression_->inverted[node.first + place] != 0;
      if (node.kind == NodeKind::Add) {
        result = inverted ? result - next : result + next;
      } else if (!inverted) {
        result = result * next;
      } else {
        if (next.is_zero()) throw NoValue{"division by zero"};
        result = result / next;
      }
    }
    return result;
  }

  Fraction power(const Node& node) {
    Fraction base = number(expression_->children[node.first]);
    const auto exponent = number(expression_->children[node.first + 1]).to_integer();
    if (!exponent || *exponent > 512 || *exponent < -512) throw NoValue{std::string(kRounds)};
    if (*exponent < 0 && base.is_zero()) throw NoValue{"division by zero"};
    Fraction result(1);
    for (std::int64_t step = 0; step < (*exponent < 0 ? -*exponent : *exponent); ++step) result = result * base;
    return *exponent < 0 ? Fraction(1) / result : result;
  }

  // Functions that stay exact; nothing for the others.
  std::optional<Fraction> called(const Node& node) {
    const Node& callee = expression_->child(node, 0);
    if (callee.kind != NodeKind::Name) return std::nullopt;
    const std::string& name = expression_->names[callee.data];
    const auto argument = [&](std::uint32_t place) { return number(expression_->children[node.first + place]); };
    const std::uint32_t given = node.count - 1;
    if (given == 1 && name == "floor") return argument(1).floor();
    if (given == 1 && name == "ceiling") return argument(1).ceil();
    if (given == 1 && name == "abs") {
      const Fraction value = argument(1);
      return value.sign() < 0 ? -value : value;
    }
    if (given == 2 && name == "modulo") {
      const Fraction left = argument(1);
      const Fraction right = argument(2);
      if (right.is_zero()) throw NoValue{"division by zero"};
      return left - right * (left / right).floor();
    }
    if (given == 2 && (name == "round up" || name == "round down" || name == "floor" || name == "ceiling" ||
                       name == "round half up" || name == "round half down" || name == "decimal")) {
      return rounded(name, argument(1), argument(2));
    }
    if (name == "min" || name == "max" || name == "sum" || name == "product" || name == "mean") return aggregate(name, node);
    return std::nullopt;
  }

  static Fraction rounded(const std::string& name, const Fraction& value, const Fraction& places) {
    const auto scale = places.to_integer();
    if (!scale || *scale > 30 || *scale < -30) throw NoValue{"the scale is too large"};
    Fraction unit(1);
    for (std::int64_t step = 0; step < (*scale < 0 ? -*scale : *scale); ++step) unit = unit * 10;
    const Fraction moved = *scale < 0 ? value / unit : value * unit;
    const Fraction size = moved.sign() < 0 ? -moved : moved;
    const Fraction half = Fraction::of(1, 2);
    const Fraction rest = size - size.floor();
    Fraction result = size.floor();
    if (name == "round up") result = size.ceil();
    if (name == "round half up") result = (size + half).floor();
    if (name == "round half down") result = (size - half).ceil();
    if (name == "decimal") {
      const bool is_odd = result.numerator() % 2 != 0;
      if (rest > half || (rest == half && is_odd)) result += 1;
    }
    if (moved.sign() < 0) result = -result;
    if (name == "floor") result = moved.floor();
    if (name == "ceiling") result = moved.ceil();
    return *scale < 0 ? result * unit : result / unit;
  }

  std::optional<Fraction> aggregate(const std::string& name, const Node& node) {
    std::vector<Fraction> numbers;
    const bool is_list = node.count == 2 && expression_->child(node, 1).kind == NodeKind::List;
    const Node& from = is_list ? expression_->child(node, 1) : node;
    if (!is_list && node.count == 2) return std::nullopt;
    for (std::uint32_t place = is_list ? 0 : 1; place < from.count; ++place) {
      numbers.push_back(number(expression_->children[from.first + place]));
    }
    if (numbers.empty()) return std::nullopt;
    Fraction result = numbers[0];
    for (std::size_t index = 1; index < numbers.size(); ++index) {
      if (name == "min") result = std::min(result, numbers[index]);
      if (name == "max") result = std::max(result, numbers[index]);
      if (name == "sum" || name == "mean") result += numbers[index];
      if (name == "product") result *= numbers[index];
    }
    return name == "mean" ? result / static_cast<std::int64_t>(numbers.size()) : result;
  }

  // Statements over exact numbers; null is nothing.
  std::optional<bool> statement(std::uint32_t index) {
    const Node& node = expression_->nodes[index];
    if (node.kind == NodeKind::And || node.kind == NodeKind::Or) {
      bool is_open = false;
      for (const std::uint32_t child : expression_->children_of(node)) {
        const auto part = statement(child);
        if (part == (node.kind == NodeKind::Or)) return part;
        is_open = is_open || !part;
      }
      return is_open ? std::nullopt : std::optional(node.kind == NodeKind::And);
    }
    if (node.kind == NodeKind::Compare && is_arithmetic(node, 0) && is_arithmetic(node, 1)) {
      const auto order = number(expression_->children[node.first]) <=> number(expression_->children[node.first + 1]);
      switch (static_cast<Comparison>(node.op)) {
        case Comparison::Equal: return order == 0;
        case Comparison::NotEqual: return order != 0;
        case Comparison::Less: return order < 0;
        case Comparison::LessOrEqual: return order <= 0;
        case Comparison::Greater: return order > 0;
        case Comparison::GreaterOrEqual: return order >= 0;
      }
    }
    const FeelValue result = plainly(index);
    return result.as<bool>() != nullptr ? std::optional(*result.as<bool>()) : std::nullopt;
  }

  bool is_arithmetic(const Node& node, std::size_t place) const {
    const Node& side = expression_->child(node, place);
    switch (side.kind) {
      case NodeKind::Add:
      case NodeKind::Multiply:
      case NodeKind::Power:
      case NodeKind::Negate: return true;
      case NodeKind::Constant: return expression_->constants[side.data].as<Decimal>() != nullptr;
      case NodeKind::Name: return side.first < is_exact_.size() && is_exact_[side.first] != 0;
      default: return false;
    }
  }

  // By the ordinary evaluator; refused where it had to round.
  FeelValue plainly(std::uint32_t index) {
    EvaluationReport report;
    FeelValue result = evaluate_part(expression_, index, scope_, nullptr, report);
    if (report.gave_up) throw NoValue{"it " + report.problem};
    if (report.rounded) throw NoValue{std::string(kRounds)};
    problem_ = report.problem.empty() ? "" : ": " + report.problem;
    return result;
  }

  const std::shared_ptr<const Expression>& expression_;
  const std::vector<FeelValue>& scope_;
  const std::vector<Fraction>& exact_;
  std::span<const char> is_exact_;
  std::string problem_;
};

QuantityResult work_out(const std::shared_ptr<const Expression>& expression, const std::vector<FeelValue>& scope,
                        const std::vector<Fraction>& exact, std::span<const char> is_exact) {
  try {
    return {ExactWorker(expression, scope, exact, is_exact).number(expression->root), {}};
  } catch (const NoValue& none) {
    return {std::nullopt, none.says};
  } catch (const FigureOverflow& overflow) {
    return {std::nullopt, overflow.what()};
  }
}

}  // namespace

std::string_view text_of(const Quantity& quantity) { return quantity.expression ? std::string_view(quantity.expression->source) : std::string_view(); }

std::optional<Quantity> parse_quantity(std::string_view cell, const Span& span, std::span<const Fact> facts,
                                       std::span<const std::string> names, Diagnostics& diagnostics) {
  CellMessages messages(cell, span, facts, diagnostics);
  Scope scope;
  scope.names = NameView(facts.data(), facts.size(), name_of_fact);
  scope.more_names = NameView(names);
  scope.iso_dates = true;
  SyntaxError error;
  const auto expression = parse_expression(cell, scope, error);
  if (!expression) {
    messages.syntax(error);
    return std::nullopt;
  }
  for (const std::uint32_t node : expression->unknown) {
    messages.unknown_name(*expression, expression->nodes[node], nullptr, names);
  }
  if (!expression->unknown.empty()) return std::nullopt;
  if (expression->reads_input) {
    messages.invalid(0, cell.size(), "`?` stands for nothing in a quantity", "the name of a fact");
    return std::nullopt;
  }
  Quantity quantity;
  quantity.expression = expression;
  for (const std::uint32_t read : expression->reads) {
    if (read < facts.size()) {
      quantity.facts.push_back(FactId{read});
      quantity.types.push_back(facts[read].domain.type);
    } else {
      quantity.inputs.push_back(read - facts.size());
    }
  }
  if (!expression->reads.empty()) return quantity;
  const auto result = work_out(expression, {}, {}, {});
  if (!result.value) {
    messages.invalid(0, cell.size(), "`" + std::string(cell.substr(0, 60)) + "` gives no quantity: " + result.error, "a number");
    return std::nullopt;
  }
  quantity.constant = result.value;
  return quantity;
}

QuantityResult evaluate(const Quantity& quantity, const std::function<FactValue(FactId)>& value_of,
                        std::span<const Fraction> inputs) {
  if (quantity.constant) return {quantity.constant, {}};
  const Expression& expression = *quantity.expression;
  const std::size_t size = expression.reads.back() + 1;
  std::vector<FeelValue> scope(size);
  std::vector<Fraction> exact(size);
  std::vector<char> is_exact(size, 0);
  // The facts come first in the scope; where the further names begin follows from the first of those read.
  const std::size_t first_input = quantity.inputs.empty() ? size : expression.reads[quantity.facts.size()] - quantity.inputs[0];
  for (std::size_t index = 0; index < quantity.facts.size(); ++index) {
    const FactId fact = quantity.facts[index];
    const FactValue value = value_of(fact);
    const auto* number = std::get_if<Fraction>(&value);
    if (number != nullptr && quantity.types[index] == FactType::Number) {
      exact[fact.index] = *number;
      is_exact[fact.index] = 1;
    }
    scope[fact.index] = feel_value_of(value, quantity.types[index]);
  }
  for (const std::size_t input : quantity.inputs) {
    const std::size_t place = first_input + input;
    exact[place] = inputs[input];
    is_exact[place] = 1;
    bool rounded = false;
    const auto decimal = Decimal::of(inputs[input], &rounded);
    scope[place] = decimal && !rounded ? FeelValue(*decimal) : FeelValue();
  }
  return work_out(quantity.expression, scope, exact, is_exact);
}

}  // namespace kitgap
