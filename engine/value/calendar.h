#pragma once

#include <compare>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

namespace kitgap {

// Dates, times and durations of the expression language (OMG DMN 10.3.2.3.4 to 10.3.2.3.8; lexical forms of
// XML Schema part 2 and ISO 8601). The calendar is the proleptic Gregorian one.

inline constexpr std::int64_t kNanosecondsPerSecond = 1'000'000'000;
inline constexpr std::int64_t kNanosecondsPerDay = 86'400 * kNanosecondsPerSecond;

struct CalendarDate {
  std::int32_t year = 1970;  // -999,999,999 .. 999,999,999
  std::uint8_t month = 1;
  std::uint8_t day = 1;
  friend auto operator<=>(const CalendarDate&, const CalendarDate&) = default;
};

// Nothing when there is no such day.
std::optional<CalendarDate> date_of(std::int64_t year, std::int64_t month, std::int64_t day);
std::int64_t day_number_of(const CalendarDate& date);  // days since 1970-01-01
std::optional<CalendarDate> date_of_day_number(std::int64_t day_number);
int days_in_month(std::int64_t year, int month);
// From Monday = 1 to Sunday = 7; the ISO week; the day of the year from 1.
int weekday_of(const CalendarDate& date);
int iso_week_of(const CalendarDate& date);
int day_of_year_of(const CalendarDate& date);
// The day is cut down to the last of its month where needed.
std::optional<CalendarDate> plus_months(const CalendarDate& date, std::int64_t months);

// Where a clock stands: nowhere said, so far from UTC, or by a named zone of the tz database.
struct Zone {
  enum class Kind : std::uint8_t { None, Offset, Named };
  Kind kind = Kind::None;
  std::int32_t offset_seconds = 0;           // of kind Offset
  std::shared_ptr<const std::string> name;   // of kind Named
  friend bool operator==(const Zone& a, const Zone& b) {
    return a.kind == b.kind && a.offset_seconds == b.offset_seconds && (a.kind != Kind::Named || *a.name == *b.name);
  }
};

struct ClockTime {
  std::int64_t nanoseconds = 0;  // since midnight
  Zone zone;
  friend bool operator==(const ClockTime&, const ClockTime&) = default;
};

struct DateAndTime {
  CalendarDate date;
  ClockTime time;
  friend bool operator==(const DateAndTime&, const DateAndTime&) = default;
};

struct MonthsDuration {
  std::int64_t months = 0;
  friend auto operator<=>(const MonthsDuration&, const MonthsDuration&) = default;
};

struct TimeDuration {
  __int128 nanoseconds = 0;
  friend auto operator<=>(const TimeDuration&, const TimeDuration&) = default;
};

// Nothing for more than can be held: 10^18 months, or as many days, either way.
std::optional<MonthsDuration> months_duration_of(__int128 months);
std::optional<TimeDuration> time_duration_of(__int128 nanoseconds);

std::optional<CalendarDate> parse_date(std::string_view text);
std::optional<ClockTime> parse_time(std::string_view text);
std::optional<DateAndTime> parse_date_and_time(std::string_view text);  // a date alone is its midnight
std::optional<MonthsDuration> parse_months_duration(std::string_view text);
std::optional<TimeDuration> parse_time_duration(std::string_view text);

std::string text_of(const CalendarDate& date);
std::string text_of(const ClockTime& time);
std::string text_of(const DateAndTime& moment);
std::string text_of(const MonthsDuration& duration);
std::string text_of(const TimeDuration& duration);

// Seconds from UTC at that moment of the clock; nothing for no zone, or a name that the machine's tz database lacks.
// A time without a date takes the zone's standard offset of 1970-01-01.
std::optional<std::int32_t> offset_of(const DateAndTime& moment);
std::optional<std::int32_t> offset_of(const ClockTime& time);
bool is_known_zone(std::string_view name);

// Nanoseconds since 1970-01-01 UTC; without a zone, of the clock itself.
__int128 instant_of(const DateAndTime& moment);
std::optional<DateAndTime> moment_of(__int128 clock_nanoseconds, Zone zone);

}  // namespace kitgap
