#include <algorithm>
#include <array>

#include "condition/evaluator.h"

// OMG DMN 10.3.4.5, and `number` of 10.3.4.1.
namespace kitgap {
namespace {

using Arguments = std::span<const FeelValue>;

const Decimal* number_at(Arguments arguments, std::size_t index) {
  return index < arguments.size() ? arguments[index].as<Decimal>() : nullptr;
}

FeelValue needs_number(Evaluator& evaluator) { return evaluator.problem("the function needs a number"); }

// `scale` is cut to a whole number; from -6111 to 6176 (10.3.4.5).
FeelValue round_it(Evaluator& evaluator, Arguments arguments, RoundingMode mode) {
  const Decimal* value = number_at(arguments, 0);
  const Decimal zero;
  const Decimal* scale = arguments.size() > 1 ? number_at(arguments, 1) : &zero;
  if (value == nullptr || scale == nullptr) return needs_number(evaluator);
  const auto places = scale->to_integer_toward_zero();
  if (!places || *places < -6111 || *places > 6176) return evaluator.problem("the scale is past -6111..6176");
  return evaluator.number(value->rounded(*places, mode));
}

template <RoundingMode mode>
FeelValue round_to(Evaluator& evaluator, Arguments arguments) {
  return round_it(evaluator, arguments, mode);
}

FeelValue absolute(Evaluator& evaluator, Arguments arguments) {
  if (const Decimal* value = number_at(arguments, 0)) return value->magnitude();
  if (const auto* months = arguments[0].as<MonthsDuration>()) {
    return MonthsDuration{months->months < 0 ? -months->months : months->months};
  }
  if (const auto* time = arguments[0].as<TimeDuration>()) {
    return TimeDuration{time->nanoseconds < 0 ? -time->nanoseconds : time->nanoseconds};
  }
  return needs_number(evaluator);
}

FeelValue modulo_of(Evaluator& evaluator, Arguments arguments) {
  const Decimal* dividend = number_at(arguments, 0);
  const Decimal* divisor = number_at(arguments, 1);
  if (dividend == nullptr || divisor == nullptr) return needs_number(evaluator);
  if (divisor->is_zero()) return evaluator.problem("division by zero");
  return evaluator.number(modulo(*dividend, *divisor));
}

FeelValue root(Evaluator& evaluator, Arguments arguments) {
  const Decimal* value = number_at(arguments, 0);
  return value == nullptr ? needs_number(evaluator) : evaluator.number(square_root(*value, evaluator.rounded()));
}

FeelValue logarithm(Evaluator& evaluator, Arguments arguments) {
  const Decimal* value = number_at(arguments, 0);
  if (value == nullptr) return needs_number(evaluator);
  *evaluator.rounded() = true;
  return evaluator.number(natural_logarithm(*value));
}

FeelValue exponent(Evaluator& evaluator, Arguments arguments) {
  const Decimal* value = number_at(arguments, 0);
  if (value == nullptr) return needs_number(evaluator);
  *evaluator.rounded() = true;
  return evaluator.number(exponential(*value));
}

FeelValue is_multiple_of_two(Evaluator& evaluator, Arguments arguments, bool wanted) {
  const Decimal* value = number_at(arguments, 0);
  if (value == nullptr) return needs_number(evaluator);
  if (!value->is_whole()) return FeelValue(false);
  const auto rest = modulo(*value, Decimal(2));
  return FeelValue(rest && rest->is_zero() == wanted);
}

FeelValue even(Evaluator& evaluator, Arguments arguments) { return is_multiple_of_two(evaluator, arguments, true); }
FeelValue odd(Evaluator& evaluator, Arguments arguments) { return is_multiple_of_two(evaluator, arguments, false); }

// number("1.000,5", ".", ","): grouping is a blank, a comma, a point or null; decimal a point, a comma or null.
FeelValue number_from(Evaluator& evaluator, Arguments arguments) {
  const auto* text = arguments[0].as<std::string>();
  if (text == nullptr) return evaluator.problem("`number` needs a string");
  std::array<std::string, 2> separators;
  for (std::size_t index = 1; index < arguments.size(); ++index) {
    if (arguments[index].is_null()) continue;
    const auto* separator = arguments[index].as<std::string>();
    const std::string_view allowed = index == 1 ? " .," : ".,";
    if (separator == nullptr || separator->size() != 1 || allowed.find(*separator) == std::string_view::npos) {
      return evaluator.problem("a separator of `number` is none of those allowed");
    }
    separators[index - 1] = *separator;
  }
  if (!separators[0].empty() && separators[0] == separators[1]) {
    return evaluator.problem("both separators of `number` are the same");
  }
  std::string digits;
  for (const char c : *text) {
    if (!separators[0].empty() && c == separators[0][0]) continue;
    if (!separators[1].empty() && separators[1] != "." && c == '.') return evaluator.problem("the text is no number");
    digits.push_back(!separators[1].empty() && c == separators[1][0] ? '.' : c);
  }
  const auto value = digits.starts_with("+") ? std::nullopt : Decimal::parse(digits);
  return value ? FeelValue(*value) : evaluator.problem("the text is no number");
}

FeelValue number_from_text(Evaluator& evaluator, Arguments arguments) {
  if (arguments[0].as<Decimal>() != nullptr) return arguments[0];
  return number_from(evaluator, arguments);
}

}  // namespace

std::span<const BuiltIn> number_functions() {
  static constexpr auto kFunctions = std::to_array<BuiltIn>({
      {"number", "from", number_from_text},
      {"number", "from,grouping separator,decimal separator", number_from},
      {"decimal", "n,scale", round_to<RoundingMode::HalfEven>},
      {"floor", "n,scale?", round_to<RoundingMode::Floor>},
      {"ceiling", "n,scale?", round_to<RoundingMode::Ceiling>},
      {"round up", "n,scale", round_to<RoundingMode::Up>},
      {"round down", "n,scale", round_to<RoundingMode::Down>},
      {"round half up", "n,scale", round_to<RoundingMode::HalfUp>},
      {"round half down", "n,scale", round_to<RoundingMode::HalfDown>},
      {"abs", "n", absolute},
      {"modulo", "dividend,divisor", modulo_of},
      {"sqrt", "number", root},
      {"log", "number", logarithm},
      {"exp", "number", exponent},
      {"odd", "number", odd},
      {"even", "number", even},
  });
  return kFunctions;
}

}  // namespace kitgap
