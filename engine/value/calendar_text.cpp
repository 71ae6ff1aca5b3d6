#include <array>
#include <cstdio>

#include "value/calendar.h"

// The written forms of dates, times and durations.
namespace kitgap {
namespace {

// Takes characters from the front of a text; once something fails, everything fails.
class Reader {
 public:
  explicit Reader(std::string_view text) : text_(text) {}
  bool is_done() const { return text_.empty(); }
  char peek() const { return text_.empty() ? '\0' : text_[0]; }
  std::string_view rest() const { return text_; }
  bool take(char c) {
    if (peek() != c || text_.empty()) return false;
    text_.remove_prefix(1);
    return true;
  }
  // Between `least` and `most` digits; nothing (and nothing taken) otherwise.
  std::optional<std::int64_t> digits(std::size_t least, std::size_t most) {
    std::size_t count = 0;
    std::int64_t value = 0;
    while (count < text_.size() && text_[count] >= '0' && text_[count] <= '9') {
      if (count == most) return std::nullopt;
      value = value * 10 + (text_[count++] - '0');
    }
    if (count < least) return std::nullopt;
    text_.remove_prefix(count);
    return value;
  }
  // The digits after a point as nanoseconds; further ones are cut off.
  std::optional<std::int64_t> fraction(bool may_be_empty) {
    std::int64_t value = 0;
    std::size_t count = 0;
    for (; count < text_.size() && text_[count] >= '0' && text_[count] <= '9'; ++count) {
      if (count < 9) value = value * 10 + (text_[count] - '0');
    }
    if (count == 0 && !may_be_empty) return std::nullopt;
    for (std::size_t place = count; place < 9; ++place) value *= 10;
    text_.remove_prefix(count);
    return value;
  }

 private:
  std::string_view text_;
};

std::optional<CalendarDate> read_date(Reader& reader) {
  const bool negative = reader.take('-');
  const char first = reader.peek();
  const std::string_view before = reader.rest();
  const auto year = reader.digits(4, 9);
  const bool has_spare_zero = first == '0' && before.size() - reader.rest().size() > 4;
  if (!year || has_spare_zero || !reader.take('-')) return std::nullopt;
  const auto month = reader.digits(2, 2);
  if (!month || !reader.take('-')) return std::nullopt;
  const auto day = reader.digits(2, 2);
  return day ? date_of(negative ? -*year : *year, *month, *day) : std::nullopt;
}

std::optional<Zone> read_zone(Reader& reader) {
  if (reader.is_done()) return Zone{};
  if (reader.take('Z')) return reader.is_done() ? std::optional(Zone{Zone::Kind::Offset, 0, nullptr}) : std::nullopt;
  if (reader.take('@')) {
    if (!is_known_zone(reader.rest())) return std::nullopt;
    return Zone{Zone::Kind::Named, 0, std::make_shared<const std::string>(reader.rest())};
  }
  const bool negative = reader.peek() == '-';
  if (!reader.take('+') && !reader.take('-')) return std::nullopt;
  const auto hours = reader.digits(2, 2);
  if (!hours || !reader.take(':')) return std::nullopt;
  const auto minutes = reader.digits(2, 2);
  std::optional<std::int64_t> seconds = 0;
  if (reader.take(':')) seconds = reader.digits(2, 2);
  if (!minutes || !seconds || !reader.is_done() || *minutes > 59 || *seconds > 59) return std::nullopt;
  const std::int64_t offset = *hours * 3600 + *minutes * 60 + *seconds;
  if (offset > 18 * 3600) return std::nullopt;
  return Zone{Zone::Kind::Offset, static_cast<std::int32_t>(negative ? -offset : offset), nullptr};
}

// `is_next_day` is set for 24:00:00, the midnight at the end of the day.
std::optional<ClockTime> read_time(Reader& reader, bool* is_next_day) {
  const auto hour = reader.digits(2, 2);
  if (!hour || !reader.take(':')) return std::nullopt;
  const auto minute = reader.digits(2, 2);
  if (!minute || !reader.take(':')) return std::nullopt;
  const auto second = reader.digits(2, 2);
  std::optional<std::int64_t> fraction = 0;
  if (second && reader.take('.')) fraction = reader.fraction(false);
  if (!second || !fraction || *hour > 24 || *minute > 59 || *second > 59) return std::nullopt;
  const bool is_24 = *hour == 24;
  if (is_24 && (*minute != 0 || *second != 0 || *fraction != 0)) return std::nullopt;
  if (is_24 && is_next_day != nullptr) *is_next_day = true;
  const auto zone = read_zone(reader);
  if (!zone) return std::nullopt;
  const std::int64_t seconds = (is_24 ? 0 : *hour) * 3600 + *minute * 60 + *second;
  return ClockTime{seconds * kNanosecondsPerSecond + *fraction, *zone};
}

std::string two_digits(std::int64_t value) {
  return std::string{static_cast<char>('0' + value / 10), static_cast<char>('0' + value % 10)};
}

std::string fraction_text(std::int64_t nanoseconds) {
  if (nanoseconds == 0) return "";
  std::string digits = std::to_string(nanoseconds);
  digits.insert(0, 9 - digits.size(), '0');
  digits.erase(digits.find_last_not_of('0') + 1);
  return "." + digits;
}

std::string text_of(const Zone& zone) {
  if (zone.kind == Zone::Kind::None) return "";
  if (zone.kind == Zone::Kind::Named) return "@" + *zone.name;
  if (zone.offset_seconds == 0) return "Z";
  const std::int64_t size = zone.offset_seconds < 0 ? -std::int64_t{zone.offset_seconds} : zone.offset_seconds;
  std::string text = (zone.offset_seconds < 0 ? "-" : "+") + two_digits(size / 3600) + ":" + two_digits(size / 60 % 60);
  if (size % 60 != 0) text += ":" + two_digits(size % 60);
  return text;
}

struct DurationPart {
  char unit;
  std::int64_t nanoseconds;  // of one
};

}  // namespace

std::optional<CalendarDate> parse_date(std::string_view text) {
  Reader reader(text);
  const auto date = read_date(reader);
  return reader.is_done() ? date : std::nullopt;
}

std::optional<ClockTime> parse_time(std::string_view text) {
  Reader reader(text);
  const auto time = read_time(reader, nullptr);
  return reader.is_done() || (time && time->zone.kind == Zone::Kind::Named) ? time : std::nullopt;
}

std::optional<DateAndTime> parse_date_and_time(std::string_view text) {
  Reader reader(text);
  auto date = read_date(reader);
  if (!date) return std::nullopt;
  if (reader.is_done()) return DateAndTime{*date, ClockTime{}};
  if (!reader.take('T')) return std::nullopt;
  bool is_next_day = false;
  auto time = read_time(reader, &is_next_day);
  if (!time) return std::nullopt;
  if (is_next_day) date = date_of_day_number(day_number_of(*date) + 1);
  return date ? std::optional(DateAndTime{*date, std::move(*time)}) : std::nullopt;
}

std::optional<MonthsDuration> parse_months_duration(std::string_view text) {
  Reader reader(text);
  const bool negative = reader.take('-');
  if (!reader.take('P')) return std::nullopt;
  std::int64_t months = 0;
  int last = 0;
  while (!reader.is_done()) {
    const auto value = reader.digits(1, 15);
    if (!value) return std::nullopt;
    if (last < 1 && reader.take('Y')) {
      last = 1;
      months += *value * 12;
    } else if (last < 2 && reader.take('M')) {
      last = 2;
      months += *value;
    } else {
      return std::nullopt;
    }
  }
  if (last == 0) return std::nullopt;
  return months_duration_of(negative ? -months : months);
}

std::optional<TimeDuration> parse_time_duration(std::string_view text) {
  constexpr std::array<DurationPart, 4> kParts{{{'D', kNanosecondsPerDay},
                                                {'H', 3600 * kNanosecondsPerSecond},
                                                {'M', 60 * kNanosecondsPerSecond},
                                                {'S', kNanosecondsPerSecond}}};
  Reader reader(text);
  const bool negative = reader.take('-');
  if (!reader.take('P')) return std::nullopt;
  __int128 total = 0;
  std::size_t next = 0;
  bool any = false;
  bool after_t = false;
  while (!reader.is_done()) {
    if (!after_t && reader.take('T')) {
      after_t = true;
      next = next < 1 ? 1 : next;
      if (reader.is_done()) return std::nullopt;
    }
    const auto value = reader.digits(1, 18);
    if (!value) return std::nullopt;
    std::optional<std::int64_t> fraction;
    if (reader.take('.')) {
      fraction = reader.fraction(true);
    }
    std::size_t part = next;
    while (part < kParts.size() && kParts[part].unit != reader.peek()) ++part;
    if (part == kParts.size() || (part == 0) == after_t || (fraction && kParts[part].unit != 'S')) return std::nullopt;
    reader.take(kParts[part].unit);
    total += static_cast<__int128>(*value) * kParts[part].nanoseconds + fraction.value_or(0);
    next = part + 1;
    any = true;
  }
  if (!any) return std::nullopt;
  return time_duration_of(negative ? -total : total);
}

std::string text_of(const CalendarDate& date) {
  std::array<char, 32> text{};
  const long year = date.year < 0 ? -long{date.year} : date.year;
  std::snprintf(text.data(), text.size(), "%s%04ld-%02d-%02d", date.year < 0 ? "-" : "", year, int{date.month},
                int{date.day});
  return text.data();
}

std::string text_of(const ClockTime& time) {
  const std::int64_t seconds = time.nanoseconds / kNanosecondsPerSecond;
  return two_digits(seconds / 3600) + ":" + two_digits(seconds / 60 % 60) + ":" + two_digits(seconds % 60) +
         fraction_text(time.nanoseconds % kNanosecondsPerSecond) + text_of(time.zone);
}

std::string text_of(const DateAndTime& moment) { return text_of(moment.date) + "T" + text_of(moment.time); }

std::string text_of(const MonthsDuration& duration) {
  if (duration.months == 0) return "P0M";
  const std::int64_t size = duration.months < 0 ? -duration.months : duration.months;
  std::string text = duration.months < 0 ? "-P" : "P";
  if (size >= 12) text += std::to_string(size / 12) + "Y";
  if (size % 12 != 0) text += std::to_string(size % 12) + "M";
  return text;
}

std::string text_of(const TimeDuration& duration) {
  if (duration.nanoseconds == 0) return "PT0S";
  const __int128 size = duration.nanoseconds < 0 ? -duration.nanoseconds : duration.nanoseconds;
  const auto days = static_cast<std::int64_t>(size / kNanosecondsPerDay);
  const auto rest = static_cast<std::int64_t>(size % kNanosecondsPerDay);
  const std::int64_t seconds = rest / kNanosecondsPerSecond;
  std::string text = duration.nanoseconds < 0 ? "-P" : "P";
  if (days != 0) text += std::to_string(days) + "D";
  if (rest == 0) return text;
  text += "T";
  if (seconds >= 3600) text += std::to_string(seconds / 3600) + "H";
  if (seconds / 60 % 60 != 0) text += std::to_string(seconds / 60 % 60) + "M";
  const std::string fraction = fraction_text(rest % kNanosecondsPerSecond);
  if (seconds % 60 != 0 || !fraction.empty()) text += std::to_string(seconds % 60) + fraction + "S";
  return text;
}

}  // namespace kitgap
