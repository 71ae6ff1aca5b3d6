#include "pack/fact_value.h"

#include <algorithm>
#include <charconv>
#include <chrono>

namespace kitgap {

std::optional<std::int64_t> parse_iso_date(std::string_view text) {
  if (text.size() != 10 || text[4] != '-' || text[7] != '-') return std::nullopt;
  const auto number = [&](std::size_t from, std::size_t count) -> int {
    int value = 0;
    const char* end = text.data() + from + count;
    const auto [stop, failure] = std::from_chars(text.data() + from, end, value);
    return failure == std::errc() && stop == end && value >= 0 ? value : -1;
  };
  const int year = number(0, 4);
  const int month = number(5, 2);
  const int day = number(8, 2);
  if (year < 0 || month < 0 || day < 0) return std::nullopt;
  const std::chrono::year_month_day date{std::chrono::year(year), std::chrono::month(static_cast<unsigned>(month)),
                                         std::chrono::day(static_cast<unsigned>(day))};
  if (!date.ok()) return std::nullopt;
  return std::chrono::sys_days(date).time_since_epoch().count();
}

std::optional<FactValue> parse_fact_value(std::string_view text, FactType type) {
  switch (type) {
    case FactType::Number:
      try {
        if (auto number = Fraction::parse(text)) return FactValue(*number);
      } catch (const FigureOverflow&) {  // more digits than any fact has
      }
      return std::nullopt;
    case FactType::Date:
      if (auto day = parse_iso_date(text)) return FactValue(Fraction(*day));
      return std::nullopt;
    case FactType::Boolean:
      if (text == "true" || text == "yes") return FactValue(true);
      if (text == "false" || text == "no") return FactValue(false);
      return std::nullopt;
    case FactType::Text:
      if (text.size() >= 2 && text.front() == '"' && text.back() == '"') text = text.substr(1, text.size() - 2);
      return FactValue(std::string(text));
  }
  return std::nullopt;
}

std::optional<FactValue> fact_value_of(const Json& json, FactType type) {
  if (json.kind == Json::Kind::Boolean) {
    if (type == FactType::Boolean) return FactValue(json.boolean);
    return std::nullopt;
  }
  if (json.is_number() && type == FactType::Number) return parse_fact_value(json.text, type);
  if (json.is_string() && type != FactType::Number && type != FactType::Boolean) {
    if (type == FactType::Text) return FactValue(json.text);
    return parse_fact_value(json.text, type);
  }
  return std::nullopt;
}

bool is_allowed(const FactDomain& domain, const FactValue& value) {
  if (!domain.allowed.empty() && std::ranges::find(domain.allowed, value) == domain.allowed.end()) return false;
  if (const auto* number = std::get_if<Fraction>(&value)) {
    if (domain.least && *number < *domain.least) return false;
    if (domain.greatest && *number > *domain.greatest) return false;
    if (domain.whole && !number->is_whole()) return false;
  }
  return true;
}

}  // namespace kitgap
