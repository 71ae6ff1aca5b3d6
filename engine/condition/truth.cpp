#include "condition/truth.h"

#include <algorithm>

#include "condition/evaluator.h"

namespace kitgap {
namespace {

constexpr std::uint64_t kMaxListed = 4096;  // values tried one by one

// The statement's value where it is `factor * fact + constant`, exactly.
struct Linear {
  Fraction factor;
  Fraction constant;
};

Comparison mirrored(Comparison comparison) {
  switch (comparison) {
    case Comparison::Less: return Comparison::Greater;
    case Comparison::LessOrEqual: return Comparison::GreaterOrEqual;
    case Comparison::Greater: return Comparison::Less;
    case Comparison::GreaterOrEqual: return Comparison::LessOrEqual;
    default: return comparison;
  }
}

class Sets {
 public:
  Sets(const Expression& expression, std::uint32_t fact, std::uint32_t input, std::size_t scope_size,
       const FactDomain& domain, const KnownValue& known)
      : expression_(expression), fact_(fact), input_(input), scope_size_(scope_size), known_(known), domain_(domain) {}

  std::optional<Truth> statement(std::uint32_t index) {
    const Node& node = expression_.nodes[index];
    switch (node.kind) {
      case NodeKind::And:
      case NodeKind::Or: return logical(node);
      case NodeKind::Any: return Truth{ValueSet::all(domain_), ValueSet::none(domain_)};
      case NodeKind::Tests:
      case NodeKind::NotTests:
        if (input_ == fact_) return tests(node);
        break;
      case NodeKind::Test:
        if (input_ == fact_) return comparison(static_cast<Comparison>(node.op), nullptr, node.first);
        break;
      case NodeKind::Compare: {
        const auto found = compared(node);
        if (found) return found;
        break;
      }
      case NodeKind::Between: {
        if (!is_fact(expression_.child(node, 0))) break;
        const auto above = comparison(Comparison::GreaterOrEqual, nullptr, node.first + 1);
        const auto below = comparison(Comparison::LessOrEqual, nullptr, node.first + 2);
        if (above && below) return both(*above, *below);
        break;
      }
      case NodeKind::In:
        if (is_fact(expression_.child(node, 0))) return tested(expression_.children[node.first + 1]);
        break;
      case NodeKind::Call: {
        const bool is_not = node.count == 2 && expression_.child(node, 0).kind == NodeKind::Name &&
                            expression_.names[expression_.child(node, 0).data] == "not";
        if (is_not) {
          const auto inner = statement(expression_.children[node.first + 1]);
          if (inner) return Truth{inner->no, inner->yes};
        }
        break;
      }
      case NodeKind::Name:
      case NodeKind::Input:
        if (is_fact(node) && domain_.type == FactType::Boolean) {
          return Truth{ValueSet::of(domain_, true), ValueSet::of(domain_, false)};
        }
        break;
      default: break;
    }
    return listed(index, false);
  }

  // A test of the fact's own value: a value, a range, a list, a comparison or a statement about `?`.
  std::optional<Truth> tested(std::uint32_t index) {
    const Node& node = expression_.nodes[index];
    switch (node.kind) {
      case NodeKind::Any: return Truth{ValueSet::all(domain_), ValueSet::none(domain_)};
      case NodeKind::Tests:
      case NodeKind::NotTests: return tests(node);
      case NodeKind::Test: return comparison(static_cast<Comparison>(node.op), nullptr, node.first);
      case NodeKind::Interval: {
        const auto above = comparison((node.op & 1) != 0 ? Comparison::GreaterOrEqual : Comparison::Greater, nullptr, node.first);
        const auto below = comparison((node.op & 2) != 0 ? Comparison::LessOrEqual : Comparison::Less, nullptr, node.first + 1);
        if (above && below) return both(*above, *below);
        break;
      }
      case NodeKind::Constant: {
        const auto set = set_in(expression_.constants[node.data]);
        if (set) return set;
        break;
      }
      case NodeKind::List: {
        Truth any{ValueSet::none(domain_), ValueSet::all(domain_)};
        for (const std::uint32_t child : expression_.children_of(node)) {
          const auto kind = expression_.nodes[child].kind;
          if (kind != NodeKind::Constant && kind != NodeKind::Interval) return listed(index, true);
          const auto item = tested(child);
          if (!item) return listed(index, true);
          any = Truth{any.yes | item->yes, any.no - item->yes};
        }
        return any;
      }
      default:
        // A statement about `?`, or one that cannot be a value of the fact.
        if (mentions_input(node) || (is_statement(node.kind) && domain_.type != FactType::Boolean)) return statement(index);
        // What can be worked out beforehand (`date("1970-03-01")`) is a constant like any other.
        if (const auto value = fixed_value(index)) {
          if (const auto set = set_in(*value)) return set;
        }
        break;
    }
    return listed(index, true);
  }

 private:
  static bool is_statement(NodeKind kind) {
    return kind == NodeKind::And || kind == NodeKind::Or || kind == NodeKind::Compare || kind == NodeKind::Between ||
           kind == NodeKind::In || kind == NodeKind::InstanceOf || kind == NodeKind::Some || kind == NodeKind::Every;
  }

  bool mentions_input(const Node& node) const {
    if (node.kind == NodeKind::Input) return true;
    const auto children = expression_.children_of(node);
    return std::any_of(children.begin(), children.end(),
                       [&](std::uint32_t child) { return mentions_input(expression_.nodes[child]); });
  }

  bool is_fact(const Node& node) const {
    return (node.kind == NodeKind::Name && node.first == fact_) || (node.kind == NodeKind::Input && input_ == fact_);
  }

  static Truth both(const Truth& a, const Truth& b) { return {a.yes & b.yes, a.no | b.no}; }
  static Truth either(const Truth& a, const Truth& b) { return {a.yes | b.yes, a.no & b.no}; }

  std::optional<Truth> logical(const Node& node) {
    std::optional<Truth> result;
    for (const std::uint32_t child : expression_.children_of(node)) {
      const auto part = statement(child);
      if (!part) return std::nullopt;
      result = !result ? *part : node.kind == NodeKind::And ? both(*result, *part) : either(*result, *part);
    }
    return result;
  }

  std::optional<Truth> tests(const Node& node) {
    std::optional<Truth> any;
    for (const std::uint32_t child : expression_.children_of(node)) {
      const auto part = tested(child);
      if (!part) return std::nullopt;
      any = any ? either(*any, *part) : *part;
    }
    if (any && node.kind == NodeKind::NotTests) return Truth{any->no, any->yes};
    return any;
  }

  // Whether the node reads the fact itself, or something that is not known.
  bool is_fixed(const Node& node) const {
    if (is_fact(node) || node.kind == NodeKind::Input) return false;
    // A name out of scope is a function's, and has no children.
    if (node.kind == NodeKind::Name) return node.first == kNotInScope || known_(node.first).has_value();
    return std::all_of(expression_.children_of(node).begin(), expression_.children_of(node).end(),
                       [&](std::uint32_t child) { return is_fixed(expression_.nodes[child]); });
  }

  std::vector<FeelValue> scope_values() const {
    std::vector<FeelValue> values(scope_size_);
    for (const std::uint32_t read : expression_.reads) {
      if (read != fact_ && read < values.size()) values[read] = known_(read).value_or(FeelValue());
    }
    return values;
  }

  std::optional<FeelValue> fixed_value(std::uint32_t index) const {
    const Node& node = expression_.nodes[index];
    if (node.kind == NodeKind::Constant) return expression_.constants[node.data];
    if (!is_fixed(node)) return std::nullopt;
    return value_with(index, scope_values(), nullptr);
  }

  // The tree outlives every call; the evaluator only shares it.
  std::shared_ptr<const Expression> borrowed() const { return {std::shared_ptr<const Expression>(), &expression_}; }

  FeelValue value_with(std::uint32_t index, const std::vector<FeelValue>& values, const FeelValue* input) const {
    EvaluationReport report;
    return evaluate_part(borrowed(), index, values, input, report);
  }

  // The fact compared with a fixed value, which stands at `place` of the children, or is given.
  std::optional<Truth> comparison(Comparison comparison, const FeelValue* given, std::uint32_t place) {
    const auto fixed = given != nullptr ? std::optional(*given) : fixed_value(expression_.children[place]);
    if (!fixed) return std::nullopt;
    const Truth never{ValueSet::none(domain_), ValueSet::none(domain_)};
    const bool is_equality = comparison == Comparison::Equal || comparison == Comparison::NotEqual;
    if (fixed->is_null()) {  // no fact is null
      if (!is_equality) return never;
      return comparison == Comparison::Equal ? Truth{ValueSet::none(domain_), ValueSet::all(domain_)}
                                             : Truth{ValueSet::all(domain_), ValueSet::none(domain_)};
    }
    std::optional<FactValue> value;
    try {
      value = fact_value_of(*fixed, domain_.type);
    } catch (const FigureOverflow&) {
      return std::nullopt;
    }
    if (!value) return never;
    return against(comparison, *value);
  }

  std::optional<Truth> against(Comparison comparison, const FactValue& value) {
    ValueSet yes = ValueSet::none(domain_);
    if (comparison == Comparison::Equal || comparison == Comparison::NotEqual) {
      yes = ValueSet::of(domain_, value);
      const ValueSet no = ValueSet::all(domain_) - yes;
      return comparison == Comparison::Equal ? Truth{yes, no} : Truth{no, yes};
    }
    if (const auto* number = std::get_if<Fraction>(&value)) {
      ValueSet::Interval interval;
      const bool is_lower_end = comparison == Comparison::Greater || comparison == Comparison::GreaterOrEqual;
      const bool closed = comparison == Comparison::GreaterOrEqual || comparison == Comparison::LessOrEqual;
      (is_lower_end ? interval.lo : interval.hi) = *number;
      (is_lower_end ? interval.lo_closed : interval.hi_closed) = closed;
      yes = ValueSet::of(domain_, interval);
      return Truth{yes, ValueSet::all(domain_) - yes};
    }
    const auto* text = std::get_if<std::string>(&value);
    if (text == nullptr) return Truth{ValueSet::none(domain_), ValueSet::none(domain_)};
    if (domain_.allowed.empty()) return std::nullopt;  // the strings below one have no form here
    for (const FactValue& allowed : domain_.allowed) {
      const auto* other = std::get_if<std::string>(&allowed);
      if (other != nullptr && compare_values(comparison, FeelValue(*other), FeelValue(*text)) == true) {
        yes = yes | ValueSet::of(domain_, allowed);
      }
    }
    return Truth{yes, ValueSet::all(domain_) - yes};
  }

  // The fact is the value, lies in the range, or stands in the list.
  std::optional<Truth> in_value(const FeelValue& value) {
    if (const FeelRange* range = value.range()) {
      if (range->form != FeelRange::Form::Interval) return std::nullopt;
      Truth all{ValueSet::all(domain_), ValueSet::none(domain_)};
      if (!range->start.is_null()) {
        const auto above = comparison(range->start_included ? Comparison::GreaterOrEqual : Comparison::Greater, &range->start, 0);
        if (!above) return std::nullopt;
        all = both(all, *above);
      }
      if (range->end.is_null()) return all;
      const auto below = comparison(range->end_included ? Comparison::LessOrEqual : Comparison::Less, &range->end, 0);
      return below ? std::optional(both(all, *below)) : std::nullopt;
    }
    const FeelList* items = value.list();
    if (items == nullptr) return set_in(value);
    Truth any{ValueSet::none(domain_), ValueSet::all(domain_)};
    for (const FeelValue& item : *items) {
      const auto part = in_value(item);
      if (!part) return std::nullopt;
      any = Truth{any.yes | part->yes, any.no - part->yes};
    }
    return any;
  }

  std::optional<Truth> set_in(const FeelValue& value) { return comparison(Comparison::Equal, &value, 0); }

  std::optional<Truth> compared(const Node& node) {
    const auto op = static_cast<Comparison>(node.op);
    if (is_fact(expression_.child(node, 0))) return comparison(op, nullptr, node.first + 1);
    if (is_fact(expression_.child(node, 1))) return comparison(mirrored(op), nullptr, node.first);
    if (domain_.type != FactType::Number) return std::nullopt;
    try {
      const auto left = linear(expression_.children[node.first]);
      const auto right = linear(expression_.children[node.first + 1]);
      if (!left || !right) return std::nullopt;
      const Fraction factor = left->factor - right->factor;
      const Fraction constant = right->constant - left->constant;
      if (factor.is_zero()) return std::nullopt;
      return against(factor.sign() < 0 ? mirrored(op) : op, constant / factor);
    } catch (const FigureOverflow&) {
      return std::nullopt;
    }
  }

  std::optional<Linear> linear(std::uint32_t index) {
    const Node& node = expression_.nodes[index];
    if (is_fact(node)) return Linear{Fraction(1), Fraction(0)};
    if (node.kind == NodeKind::Negate) {
      const auto inner = linear(expression_.children[node.first]);
      if (!inner) return std::nullopt;
      return Linear{-inner->factor, -inner->constant};
    }
    if (node.kind == NodeKind::Add || node.kind == NodeKind::Multiply) return linear_chain(node);
    const auto fixed = fixed_value(index);
    const Decimal* number = fixed ? fixed->as<Decimal>() : nullptr;
    if (number == nullptr) return std::nullopt;
    return Linear{Fraction(0), number->to_fraction()};
  }

  std::optional<Linear> linear_chain(const Node& node) {
    auto result = linear(expression_.children[node.first]);
    for (std::uint32_t place = 1; place < node.count && result; ++place) {
      const auto next = linear(expression_.children[node.first + place]);
      const bool inverted = expression_.inverted[node.first + place] != 0;
      if (!next) return std::nullopt;
      if (node.kind == NodeKind::Add) {
        result->factor = inverted ? result->factor - next->factor : result->factor + next->factor;
        result->constant = inverted ? result->constant - next->constant : result->constant + next->constant;
      } else if (inverted) {
        if (!next->factor.is_zero() || next->constant.is_zero()) return std::nullopt;
        result = Linear{result->factor / next->constant, result->constant / next->constant};
      } else if (next->factor.is_zero() || result->factor.is_zero()) {
        const Linear& moving = next->factor.is_zero() ? *result : *next;
        const Fraction by = next->factor.is_zero() ? next->constant : result->constant;
        result = Linear{moving.factor * by, moving.constant * by};
      } else {
        return std::nullopt;
      }
    }
    return result;
  }

  // Every value of the fact tried, where there are few.
  std::optional<Truth> listed(std::uint32_t index, bool is_test) {
    const ValueSet everything = ValueSet::all(domain_);
    const Node& node = expression_.nodes[index];
    if (!other_names_known(node)) return std::nullopt;
    if (is_fixed(node) && !is_test) {
      const FeelValue value = value_with(index, scope_values(), nullptr);
      const ValueSet none = ValueSet::none(domain_);
      return value.is_true() ? Truth{everything, none} : value.is_false() ? Truth{none, everything} : Truth{none, none};
    }
    const auto count = everything.size();
    if (!count || *count > kMaxListed) return std::nullopt;
    Truth result{ValueSet::none(domain_), ValueSet::none(domain_)};
    std::vector<FeelValue> values = scope_values();
    for (const FactValue& value : everything.values()) {
      const FeelValue input = feel_value_of(value, domain_.type);
      if (fact_ < values.size()) values[fact_] = input;
      const auto truth = is_test ? test_with(index, values, input) : truth_with(index, values, input);
      if (!truth) continue;
      ValueSet& set = *truth ? result.yes : result.no;
      set = set | ValueSet::of(domain_, value);
    }
    return result;
  }

  bool other_names_known(const Node& node) const {
    if (node.kind == NodeKind::Name && node.first != kNotInScope && node.first != fact_) {
      return known_(node.first).has_value();
    }
    if (node.kind == NodeKind::Input && input_ != fact_) return false;
    return std::all_of(expression_.children_of(node).begin(), expression_.children_of(node).end(),
                       [&](std::uint32_t child) { return other_names_known(expression_.nodes[child]); });
  }

  std::optional<bool> truth_with(std::uint32_t index, const std::vector<FeelValue>& values, const FeelValue& input) const {
    const FeelValue value = value_with(index, values, &input);
    return value.as<bool>() != nullptr ? std::optional(*value.as<bool>()) : std::nullopt;
  }

  std::optional<bool> test_with(std::uint32_t index, const std::vector<FeelValue>& values, const FeelValue& input) const {
    EvaluationReport report;
    return test_part(borrowed(), index, values, input, report);
  }

  const Expression& expression_;
  std::uint32_t fact_;
  std::uint32_t input_;
  std::size_t scope_size_;
  const KnownValue& known_;
  const FactDomain& domain_;
};

}  // namespace

std::optional<Truth> truth_of(const Expression& expression, std::uint32_t node, FactId fact, std::uint32_t input,
                              std::span<const Fact> facts, const KnownValue& known) {
  return Sets(expression, fact.index, input, facts.size(), facts[fact.index].domain, known).statement(node);
}

FeelValue feel_value_of(const FactValue& value, FactType type) {
  if (const auto* text = std::get_if<std::string>(&value)) return *text;
  if (const auto* truth = std::get_if<bool>(&value)) return *truth;
  const auto& number = std::get<Fraction>(value);
  if (type == FactType::Date) {
    const auto day = number.to_integer();
    const auto date = day ? date_of_day_number(*day) : std::nullopt;
    return date ? FeelValue(*date) : FeelValue();
  }
  const auto decimal = Decimal::of(number);
  return decimal ? FeelValue(*decimal) : FeelValue();
}

std::optional<FactValue> fact_value_of(const FeelValue& value, FactType type) {
  switch (type) {
    case FactType::Number:
      if (const auto* number = value.as<Decimal>()) return FactValue(number->to_fraction());
      return std::nullopt;
    case FactType::Text:
      if (const auto* text = value.as<std::string>()) return FactValue(*text);
      return std::nullopt;
    case FactType::Boolean:
      if (const auto* truth = value.as<bool>()) return FactValue(*truth);
      return std::nullopt;
    case FactType::Date:
      if (const auto* date = value.as<CalendarDate>()) return FactValue(Fraction(day_number_of(*date)));
      return std::nullopt;
  }
  return std::nullopt;
}

std::optional<ValueSet> set_of_unary_tests(std::string_view text, const FactDomain& domain) {
  SyntaxError error;
  const auto tests = parse_unary_tests(text, Scope{}, error);
  if (!tests || !tests->unknown.empty()) return std::nullopt;
  const KnownValue nothing_known = [](std::uint32_t) { return std::optional<FeelValue>(); };
  const auto truth = Sets(*tests, 0, 0, 0, domain, nothing_known).statement(tests->root);
  return truth ? std::optional(truth->yes) : std::nullopt;
}

}  // namespace kitgap
