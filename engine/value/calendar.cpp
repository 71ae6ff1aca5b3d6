#include "value/calendar.h"

#include <array>

namespace kitgap {
namespace {

constexpr std::int64_t kMaxYear = 999'999'999;

std::int64_t floor_div(std::int64_t a, std::int64_t b) { return a / b - (a % b != 0 && (a < 0) != (b < 0) ? 1 : 0); }

bool is_leap(std::int64_t year) { return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0; }

}  // namespace

int days_in_month(std::int64_t year, int month) {
  constexpr std::array kDays{31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  return kDays[static_cast<std::size_t>(month - 1)] + (month == 2 && is_leap(year) ? 1 : 0);
}

std::optional<CalendarDate> date_of(std::int64_t year, std::int64_t month, std::int64_t day) {
  if (year < -kMaxYear || year > kMaxYear || month < 1 || month > 12 || day < 1) return std::nullopt;
  if (day > days_in_month(year, static_cast<int>(month))) return std::nullopt;
  return CalendarDate{static_cast<std::int32_t>(year), static_cast<std::uint8_t>(month), static_cast<std::uint8_t>(day)};
}

// Counted in eras of 400 years (146,097 days) from 1 March of year 0, so that the leap day comes last.
std::int64_t day_number_of(const CalendarDate& date) {
  const std::int64_t year = date.month <= 2 ? std::int64_t{date.year} - 1 : date.year;
  const std::int64_t era = floor_div(year, 400);
  const std::int64_t year_of_era = year - era * 400;
  const std::int64_t day_of_year = (153 * (date.month + (date.month > 2 ? -3 : 9)) + 2) / 5 + date.day - 1;
  return era * 146'097 + year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year - 719'468;
}

std::optional<CalendarDate> date_of_day_number(std::int64_t day_number) {
  if (day_number > 400'000'000'000 || day_number < -400'000'000'000) return std::nullopt;
  const std::int64_t days = day_number + 719'468;
  const std::int64_t era = floor_div(days, 146'097);
  const std::int64_t day_of_era = days - era * 146'097;
  const std::int64_t year_of_era =
      (day_of_era - day_of_era / 1460 + day_of_era / 36'524 - day_of_era / 146'096) / 365;
  const std::int64_t day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
  const std::int64_t shifted = (5 * day_of_year + 2) / 153;
  const std::int64_t month = shifted < 10 ? shifted + 3 : shifted - 9;
  return date_of(year_of_era + era * 400 + (month <= 2 ? 1 : 0), month, day_of_year - (153 * shifted + 2) / 5 + 1);
}

int weekday_of(const CalendarDate& date) {
  const std::int64_t days = day_number_of(date) + 3;  // 1970-01-01 was a Thursday
  return static_cast<int>(days - floor_div(days, 7) * 7) + 1;
}

int day_of_year_of(const CalendarDate& date) {
  return static_cast<int>(day_number_of(date) - day_number_of({date.year, 1, 1})) + 1;
}

// Week 1 is the one with the year's first Thursday (ISO 8601).
int iso_week_of(const CalendarDate& date) {
  const std::int64_t thursday = day_number_of(date) + 4 - weekday_of(date);
  const auto year_of_thursday = date_of_day_number(thursday);
  return year_of_thursday ? (day_of_year_of(*year_of_thursday) - 1) / 7 + 1 : 1;
}

std::optional<CalendarDate> plus_months(const CalendarDate& date, std::int64_t months) {
  if (months > 24'000'000'000 || months < -24'000'000'000) return std::nullopt;
  const std::int64_t total = std::int64_t{date.year} * 12 + date.month - 1 + months;
  const std::int64_t year = floor_div(total, 12);
  const std::int64_t month = total - year * 12 + 1;
  if (year < -kMaxYear || year > kMaxYear) return std::nullopt;
  const int last = days_in_month(year, static_cast<int>(month));
  return date_of(year, month, date.day < last ? date.day : last);
}

namespace {

constexpr __int128 kLongest = 1'000'000'000'000'000'000;  // months or days

bool is_within(__int128 value, __int128 most) { return value >= -most && value <= most; }

}  // namespace

std::optional<MonthsDuration> months_duration_of(__int128 months) {
  if (!is_within(months, kLongest)) return std::nullopt;
  return MonthsDuration{static_cast<std::int64_t>(months)};
}

std::optional<TimeDuration> time_duration_of(__int128 nanoseconds) {
  if (!is_within(nanoseconds, kLongest * kNanosecondsPerDay)) return std::nullopt;
  return TimeDuration{nanoseconds};
}

__int128 instant_of(const DateAndTime& moment) {
  const __int128 clock = static_cast<__int128>(day_number_of(moment.date)) * kNanosecondsPerDay + moment.time.nanoseconds;
  return clock - static_cast<__int128>(offset_of(moment).value_or(0)) * kNanosecondsPerSecond;
}

std::optional<DateAndTime> moment_of(__int128 clock_nanoseconds, Zone zone) {
  __int128 days = clock_nanoseconds / kNanosecondsPerDay;
  if (clock_nanoseconds % kNanosecondsPerDay < 0) --days;
  if (days > 400'000'000'000 || days < -400'000'000'000) return std::nullopt;
  const auto date = date_of_day_number(static_cast<std::int64_t>(days));
  if (!date) return std::nullopt;
  const auto rest = static_cast<std::int64_t>(clock_nanoseconds - days * kNanosecondsPerDay);
  return DateAndTime{*date, ClockTime{rest, std::move(zone)}};
}

}  // namespace kitgap
