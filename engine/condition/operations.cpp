#include <algorithm>

#include "condition/evaluator.h"

// Arithmetic, order and the properties of values.
namespace kitgap {
namespace {

FeelValue wrong_kinds(Evaluator& evaluator, const char* verb, const FeelValue& a, const FeelValue& b) {
  return evaluator.problem("cannot " + std::string(verb) + " a " + std::string(kind_of(a)) + " and a " + std::string(kind_of(b)));
}

FeelValue moment_or_null(Evaluator& evaluator, std::optional<DateAndTime> moment) {
  return moment ? FeelValue(std::move(*moment)) : evaluator.problem("the result is past the years that are held");
}

FeelValue date_or_null(Evaluator& evaluator, std::optional<CalendarDate> date) {
  return date ? FeelValue(*date) : evaluator.problem("the result is past the years that are held");
}

template <class Duration>
FeelValue duration_or_null(Evaluator& evaluator, const std::optional<Duration>& duration) {
  return duration ? FeelValue(*duration) : evaluator.problem("the result is no duration that can be held");
}

std::optional<FeelValue> shifted(Evaluator& evaluator, const FeelValue& a, const FeelValue& b, int sign) {
  if (const auto* months = b.as<MonthsDuration>()) {
    const std::int64_t by = sign * months->months;
    if (const auto* date = a.as<CalendarDate>()) return date_or_null(evaluator, plus_months(*date, by));
    if (const auto* moment = a.as<DateAndTime>()) {
      const auto date = plus_months(moment->date, by);
      return moment_or_null(evaluator, date ? std::optional(DateAndTime{*date, moment->time}) : std::nullopt);
    }
    if (const auto* other = a.as<MonthsDuration>()) return duration_or_null(evaluator, months_duration_of(other->months + by));
    return std::nullopt;
  }
  const auto* duration = b.as<TimeDuration>();
  if (duration == nullptr) return std::nullopt;
  const __int128 by = sign * duration->nanoseconds;
  if (const auto* date = a.as<CalendarDate>()) {
    const auto moved = moment_of(static_cast<__int128>(day_number_of(*date)) * kNanosecondsPerDay + by, Zone{});
    return date_or_null(evaluator, moved ? std::optional(moved->date) : std::nullopt);
  }
  if (const auto* moment = a.as<DateAndTime>()) {
    const __int128 clock = static_cast<__int128>(day_number_of(moment->date)) * kNanosecondsPerDay + moment->time.nanoseconds;
    return moment_or_null(evaluator, moment_of(clock + by, moment->time.zone));
  }
  if (const auto* time = a.as<ClockTime>()) {
    __int128 clock = (time->nanoseconds + by) % kNanosecondsPerDay;
    if (clock < 0) clock += kNanosecondsPerDay;
    return FeelValue(ClockTime{static_cast<std::int64_t>(clock), time->zone});
  }
  if (const auto* other = a.as<TimeDuration>()) return duration_or_null(evaluator, time_duration_of(other->nanoseconds + by));
  return std::nullopt;
}

// A date counts as its midnight in UTC (OMG DMN 10.3.2.3.6).
std::optional<DateAndTime> as_moment(const FeelValue& value) {
  if (const auto* moment = value.as<DateAndTime>()) return *moment;
  if (const auto* date = value.as<CalendarDate>()) return DateAndTime{*date, ClockTime{0, Zone{Zone::Kind::Offset, 0, nullptr}}};
  return std::nullopt;
}

FeelValue difference_of_moments(Evaluator& evaluator, const FeelValue& a, const FeelValue& b) {
  auto left = as_moment(a);
  auto right = as_moment(b);
  if (offset_of(*left).has_value() != offset_of(*right).has_value()) {
    return evaluator.problem("one of two moments says where its clock stands and the other does not");
  }
  return FeelValue(TimeDuration{instant_of(*left) - instant_of(*right)});
}

std::optional<Decimal> decimal_of(__int128 value) {
  // 38 digits at most; past 34 it is rounded as any result is.
  return Decimal::of(value, 0);
}

FeelValue scaled(Evaluator& evaluator, const FeelValue& duration, const Decimal& factor, bool divide_it) {
  const auto* months = duration.as<MonthsDuration>();
  const auto* time = duration.as<TimeDuration>();
  const auto size = months != nullptr ? decimal_of(months->months) : decimal_of(time->nanoseconds);
  auto result = !size ? std::nullopt : divide_it ? divide(*size, factor) : multiply(*size, factor);
  if (result) result = result->rounded(0, RoundingMode::Down);
  constexpr int kMostDigits = 33;  // that a fraction holds; a duration has fewer
  if (result && result->magnitude() >= *Decimal::of(1, kMostDigits)) result.reset();
  const __int128 whole = result ? result->to_fraction().numerator() : 0;
  if (months != nullptr) return duration_or_null(evaluator, result ? months_duration_of(whole) : std::nullopt);
  return duration_or_null(evaluator, result ? time_duration_of(whole) : std::nullopt);
}

bool is_duration(const FeelValue& value) { return value.as<MonthsDuration>() != nullptr || value.as<TimeDuration>() != nullptr; }

}  // namespace

FeelValue add_values(Evaluator& evaluator, const FeelValue& a, const FeelValue& b) {
  const Decimal* x = a.as<Decimal>();
  const Decimal* y = b.as<Decimal>();
  if (x != nullptr && y != nullptr) return evaluator.number(add(*x, *y, evaluator.rounded()));
  if (a.as<std::string>() != nullptr && b.as<std::string>() != nullptr) {
    evaluator.charge((a.as<std::string>()->size() + b.as<std::string>()->size()) / 16);
    return FeelValue(*a.as<std::string>() + *b.as<std::string>());
  }
  if (auto moved = shifted(evaluator, a, b, 1)) return *moved;
  if (auto moved = shifted(evaluator, b, a, 1)) return *moved;
  return wrong_kinds(evaluator, "add", a, b);
}

FeelValue subtract_values(Evaluator& evaluator, const FeelValue& a, const FeelValue& b) {
  const Decimal* x = a.as<Decimal>();
  const Decimal* y = b.as<Decimal>();
  if (x != nullptr && y != nullptr) return evaluator.number(subtract(*x, *y, evaluator.rounded()));
  if (as_moment(a) && as_moment(b)) return difference_of_moments(evaluator, a, b);
  const auto* time = a.as<ClockTime>();
  const auto* other = b.as<ClockTime>();
  if (time != nullptr && other != nullptr) {
    if (offset_of(*time).has_value() != offset_of(*other).has_value()) {
      return evaluator.problem("one of two times says where its clock stands and the other does not");
    }
    const std::int64_t apart = time->nanoseconds - offset_of(*time).value_or(0) * kNanosecondsPerSecond -
                               (other->nanoseconds - offset_of(*other).value_or(0) * kNanosecondsPerSecond);
    return FeelValue(TimeDuration{apart});
  }
  if (auto moved = shifted(evaluator, a, b, -1)) return *moved;
  return wrong_kinds(evaluator, "subtract", a, b);
}

FeelValue multiply_values(Evaluator& evaluator, const FeelValue& a, const FeelValue& b) {
  const Decimal* x = a.as<Decimal>();
  const Decimal* y = b.as<Decimal>();
  if (x != nullptr && y != nullptr) return evaluator.number(multiply(*x, *y, evaluator.rounded()));
  if (x != nullptr && is_duration(b)) return scaled(evaluator, b, *x, false);
  if (y != nullptr && is_duration(a)) return scaled(evaluator, a, *y, false);
  return wrong_kinds(evaluator, "multiply", a, b);
}

FeelValue divide_values(Evaluator& evaluator, const FeelValue& a, const FeelValue& b) {
  const Decimal* x = a.as<Decimal>();
  const Decimal* y = b.as<Decimal>();
  if (y != nullptr && y->is_zero() && (x != nullptr || is_duration(a))) return evaluator.problem("division by zero");
  if (x != nullptr && y != nullptr) return evaluator.number(divide(*x, *y, evaluator.rounded()));
  if (y != nullptr && is_duration(a)) return scaled(evaluator, a, *y, true);
  const auto ratio = [&](__int128 top, __int128 bottom) {
    if (bottom == 0) return evaluator.problem("division by a duration of nothing");
    return evaluator.number(divide(*decimal_of(top), *decimal_of(bottom), evaluator.rounded()));
  };
  const auto* months = a.as<MonthsDuration>();
  if (months != nullptr && b.as<MonthsDuration>() != nullptr) return ratio(months->months, b.as<MonthsDuration>()->months);
  const auto* time = a.as<TimeDuration>();
  if (time != nullptr && b.as<TimeDuration>() != nullptr) return ratio(time->nanoseconds, b.as<TimeDuration>()->nanoseconds);
  return wrong_kinds(evaluator, "divide", a, b);
}

FeelValue power_values(Evaluator& evaluator, const FeelValue& a, const FeelValue& b) {
  const Decimal* x = a.as<Decimal>();
  const Decimal* y = b.as<Decimal>();
  if (x == nullptr || y == nullptr) return wrong_kinds(evaluator, "raise", a, b);
  return evaluator.number(power(*x, *y, evaluator.rounded()));
}

FeelValue Evaluator::arithmetic(const Node& node) {
  FeelValue result = value(expression_->children[node.first]);
  if (node.kind == NodeKind::Negate) {
    if (const Decimal* number = result.as<Decimal>()) return -*number;
    if (const auto* months = result.as<MonthsDuration>()) return MonthsDuration{-months->months};
    if (const auto* time = result.as<TimeDuration>()) return TimeDuration{-time->nanoseconds};
    return problem("a " + std::string(kind_of(result)) + " has no sign");
  }
  for (std::uint32_t index = 1; index < node.count; ++index) {
    const FeelValue operand = value(expression_->children[node.first + index]);
    const bool inverted = expression_->inverted[node.first + index] != 0;
    if (node.kind == NodeKind::Power) {
      result = power_values(*this, result, operand);
    } else if (node.kind == NodeKind::Add) {
      result = inverted ? subtract_values(*this, result, operand) : add_values(*this, result, operand);
    } else {
      result = inverted ? divide_values(*this, result, operand) : multiply_values(*this, result, operand);
    }
  }
  return result;
}

std::optional<bool> compare_values(Comparison comparison, const FeelValue& a, const FeelValue& b) {
  if (comparison == Comparison::Equal) return equal(a, b);
  if (comparison == Comparison::NotEqual) {
    const auto same = equal(a, b);
    return same ? std::optional(!*same) : same;
  }
  const auto order = compare(a, b);
  if (!order) return std::nullopt;
  switch (comparison) {
    case Comparison::Less: return *order < 0;
    case Comparison::LessOrEqual: return *order <= 0;
    case Comparison::Greater: return *order > 0;
    default: return *order >= 0;
  }
}

namespace {

std::optional<FeelValue> date_property(const CalendarDate& date, std::string_view name) {
  if (name == "year") return FeelValue(Decimal(date.year));
  if (name == "month") return FeelValue(Decimal(date.month));
  if (name == "day") return FeelValue(Decimal(date.day));
  if (name == "weekday") return FeelValue(Decimal(weekday_of(date)));
  return std::nullopt;
}

std::optional<FeelValue> time_property(const ClockTime& time, std::optional<std::int32_t> offset, std::string_view name) {
  const std::int64_t seconds = time.nanoseconds / kNanosecondsPerSecond;
  if (name == "hour") return FeelValue(Decimal(seconds / 3600));
  if (name == "minute") return FeelValue(Decimal(seconds / 60 % 60));
  if (name == "second") {
    return FeelValue(*Decimal::of(time.nanoseconds % (60 * kNanosecondsPerSecond), -9));
  }
  if (name == "time offset") {
    return offset ? FeelValue(TimeDuration{static_cast<__int128>(*offset) * kNanosecondsPerSecond}) : FeelValue();
  }
  if (name == "timezone") return time.zone.kind == Zone::Kind::Named ? FeelValue(*time.zone.name) : FeelValue();
  return std::nullopt;
}

std::optional<FeelValue> range_property(const FeelRange& range, std::string_view name) {
  const bool is_interval = range.form == FeelRange::Form::Interval;
  if (name == "start") return range.form == FeelRange::Form::NotEqual ? FeelValue() : range.start;
  if (name == "end") return is_interval ? range.end : range.form == FeelRange::Form::Equal ? range.start : FeelValue();
  if (name == "start included") return FeelValue(is_interval ? range.start_included : range.form == FeelRange::Form::Equal);
  if (name == "end included") return FeelValue(is_interval ? range.end_included : range.form == FeelRange::Form::Equal);
  return std::nullopt;
}

}  // namespace

std::optional<FeelValue> property_of(const FeelValue& value, std::string_view name) {
  if (const auto* date = value.as<CalendarDate>()) return date_property(*date, name);
  if (const auto* time = value.as<ClockTime>()) return time_property(*time, offset_of(*time), name);
  if (const auto* moment = value.as<DateAndTime>()) {
    if (auto found = date_property(moment->date, name)) return found;
    return time_property(moment->time, offset_of(*moment), name);
  }
  if (const auto* months = value.as<MonthsDuration>()) {
    if (name == "years") return FeelValue(Decimal(months->months / 12));
    if (name == "months") return FeelValue(Decimal(months->months % 12));
    return std::nullopt;
  }
  if (const auto* time = value.as<TimeDuration>()) {
    const __int128 size = time->nanoseconds;
    if (name == "days") return FeelValue(Decimal(static_cast<std::int64_t>(size / kNanosecondsPerDay)));
    if (name == "hours") return FeelValue(Decimal(static_cast<std::int64_t>(size / (3600 * kNanosecondsPerSecond) % 24)));
    if (name == "minutes") return FeelValue(Decimal(static_cast<std::int64_t>(size / (60 * kNanosecondsPerSecond) % 60)));
    if (name == "seconds") return FeelValue(*Decimal::of(size % (60 * kNanosecondsPerSecond), -9));
    return std::nullopt;
  }
  if (const FeelRange* range = value.range()) return range_property(*range, name);
  return std::nullopt;
}

}  // namespace kitgap
