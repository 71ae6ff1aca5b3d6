#include <array>
#include <chrono>

#include "condition/evaluator.h"

// OMG DMN 10.3.4.1 (conversions), 10.3.4.6 (days, weeks, months) and 10.3.4.10 (now, today).
namespace kitgap {
namespace {

using Arguments = std::span<const FeelValue>;

FeelValue wrong(Evaluator& evaluator, const char* what) { return evaluator.problem("that is no " + std::string(what)); }

std::optional<CalendarDate> date_in(const FeelValue& value) {
  if (const auto* date = value.as<CalendarDate>()) return *date;
  if (const auto* moment = value.as<DateAndTime>()) return moment->date;
  return std::nullopt;
}

FeelValue date_from(Evaluator& evaluator, Arguments arguments) {
  if (const auto date = date_in(arguments[0])) return *date;
  const auto* text = arguments[0].as<std::string>();
  const auto date = text != nullptr ? parse_date(*text) : std::nullopt;
  return date ? FeelValue(*date) : wrong(evaluator, "date");
}

FeelValue date_of_parts(Evaluator& evaluator, Arguments arguments) {
  std::array<std::int64_t, 3> parts{};
  for (std::size_t index = 0; index < parts.size(); ++index) {
    const Decimal* number = arguments[index].as<Decimal>();
    const auto whole = number != nullptr ? number->to_integer() : std::nullopt;
    if (!whole) return wrong(evaluator, "date");
    parts[index] = *whole;
  }
  const auto date = date_of(parts[0], parts[1], parts[2]);
  return date ? FeelValue(*date) : wrong(evaluator, "date");
}

FeelValue time_from(Evaluator& evaluator, Arguments arguments) {
  if (arguments[0].as<ClockTime>() != nullptr) return arguments[0];
  if (const auto* moment = arguments[0].as<DateAndTime>()) return moment->time;
  if (arguments[0].as<CalendarDate>() != nullptr) return ClockTime{0, Zone{Zone::Kind::Offset, 0, nullptr}};
  const auto* text = arguments[0].as<std::string>();
  auto time = text != nullptr ? parse_time(*text) : std::nullopt;
  return time ? FeelValue(std::move(*time)) : wrong(evaluator, "time");
}

FeelValue time_of_parts(Evaluator& evaluator, Arguments arguments) {
  const Decimal* hour = arguments[0].as<Decimal>();
  const Decimal* minute = arguments[1].as<Decimal>();
  const Decimal* second = arguments[2].as<Decimal>();
  if (hour == nullptr || minute == nullptr || second == nullptr) return wrong(evaluator, "time");
  const std::int64_t hours = hour->to_integer().value_or(-1);
  const std::int64_t minutes = minute->to_integer().value_or(-1);
  const Decimal scaled = multiply(*second, Decimal(kNanosecondsPerSecond)).value_or(Decimal(-1));
  const std::int64_t nanoseconds = scaled.to_integer_toward_zero().value_or(-1);
  if (hours < 0 || hours > 23 || minutes < 0 || minutes > 59 || nanoseconds < 0 || nanoseconds >= 60 * kNanosecondsPerSecond) {
    return wrong(evaluator, "time");
  }
  ClockTime time{(hours * 3600 + minutes * 60) * kNanosecondsPerSecond + nanoseconds, Zone{}};
  if (arguments.size() > 3 && !arguments[3].is_null()) {
    const auto* offset = arguments[3].as<TimeDuration>();
    const __int128 seconds = offset != nullptr ? offset->nanoseconds / kNanosecondsPerSecond : 0;
    if (offset == nullptr || seconds > 18 * 3600 || seconds < -18 * 3600) return wrong(evaluator, "time");
    time.zone = Zone{Zone::Kind::Offset, static_cast<std::int32_t>(seconds), nullptr};
  }
  return time;
}

FeelValue moment_from(Evaluator& evaluator, Arguments arguments) {
  if (arguments[0].as<DateAndTime>() != nullptr) return arguments[0];
  if (const auto* date = arguments[0].as<CalendarDate>()) return DateAndTime{*date, ClockTime{}};
  const auto* text = arguments[0].as<std::string>();
  auto moment = text != nullptr ? parse_date_and_time(*text) : std::nullopt;
  return moment ? FeelValue(std::move(*moment)) : wrong(evaluator, "date and time");
}

FeelValue moment_of_parts(Evaluator& evaluator, Arguments arguments) {
  const auto date = date_in(arguments[0]);
  const auto* time = arguments[1].as<ClockTime>();
  if (!date || time == nullptr) return wrong(evaluator, "date and time");
  return DateAndTime{*date, *time};
}

FeelValue duration_from(Evaluator& evaluator, Arguments arguments) {
  if (arguments[0].as<MonthsDuration>() != nullptr || arguments[0].as<TimeDuration>() != nullptr) return arguments[0];
  const auto* text = arguments[0].as<std::string>();
  if (text == nullptr) return wrong(evaluator, "duration");
  if (const auto months = parse_months_duration(*text)) return *months;
  const auto time = parse_time_duration(*text);
  return time ? FeelValue(*time) : wrong(evaluator, "duration");
}

// Whole months from one day to the other; the times of day do not count.
FeelValue months_between(Evaluator& evaluator, Arguments arguments) {
  const auto from = date_in(arguments[0]);
  const auto to = date_in(arguments[1]);
  if (!from || !to) return evaluator.problem("`years and months duration` needs two dates");
  std::int64_t months = (std::int64_t{to->year} - from->year) * 12 + to->month - from->month;
  const int days = to->day - from->day;
  if (months > 0 && days < 0) --months;
  if (months < 0 && days > 0) ++months;
  return MonthsDuration{months};
}

FeelValue day_of_year(Evaluator& evaluator, Arguments arguments) {
  const auto date = date_in(arguments[0]);
  return date ? FeelValue(Decimal(day_of_year_of(*date))) : wrong(evaluator, "date");
}

FeelValue day_of_week(Evaluator& evaluator, Arguments arguments) {
  static constexpr std::array<const char*, 7> kDays{"Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"};
  const auto date = date_in(arguments[0]);
  return date ? FeelValue(std::string(kDays[static_cast<std::size_t>(weekday_of(*date) - 1)])) : wrong(evaluator, "date");
}

FeelValue month_of_year(Evaluator& evaluator, Arguments arguments) {
  static constexpr std::array<const char*, 12> kMonths{"January", "February", "March", "April", "May", "June",
                                                       "July", "August", "September", "October", "November", "December"};
  const auto date = date_in(arguments[0]);
  return date ? FeelValue(std::string(kMonths[static_cast<std::size_t>(date->month - 1)])) : wrong(evaluator, "date");
}

FeelValue week_of_year(Evaluator& evaluator, Arguments arguments) {
  const auto date = date_in(arguments[0]);
  return date ? FeelValue(Decimal(iso_week_of(*date))) : wrong(evaluator, "date");
}

DateAndTime clock_now() {
  const auto since = std::chrono::system_clock::now().time_since_epoch();
  const auto nanoseconds = std::chrono::duration_cast<std::chrono::nanoseconds>(since).count();
  return *moment_of(nanoseconds, Zone{Zone::Kind::Offset, 0, nullptr});
}

FeelValue now(Evaluator&, Arguments) { return clock_now(); }
FeelValue today(Evaluator&, Arguments) { return clock_now().date; }

}  // namespace

std::span<const BuiltIn> temporal_functions() {
  static constexpr auto kFunctions = std::to_array<BuiltIn>({
      {"date", "from", date_from},
      {"date", "year,month,day", date_of_parts},
      {"time", "from", time_from},
      {"time", "hour,minute,second,offset?", time_of_parts},
      {"date and time", "from", moment_from},
      {"date and time", "date,time", moment_of_parts},
      {"duration", "from", duration_from},
      {"years and months duration", "from,to", months_between},
      {"day of year", "date", day_of_year},
      {"day of week", "date", day_of_week},
      {"month of year", "date", month_of_year},
      {"week of year", "date", week_of_year},
      {"now", "", now},
      {"today", "", today},
  });
  return kFunctions;
}

}  // namespace kitgap
