#include "condition/feel_value.h"

#include <algorithm>

namespace kitgap {
namespace {

// Two moments have an order when both say where their clocks stand, or neither does.
template <class Moment>
bool are_comparable(const Moment& a, const Moment& b) {
  return offset_of(a).has_value() == offset_of(b).has_value();
}

__int128 instant_of(const ClockTime& time) {
  return static_cast<__int128>(time.nanoseconds) -
         static_cast<__int128>(offset_of(time).value_or(0)) * kNanosecondsPerSecond;
}

template <class T>
std::weak_ordering order_of(const T& a, const T& b) {
  return a < b ? std::weak_ordering::less : b < a ? std::weak_ordering::greater : std::weak_ordering::equivalent;
}

bool are_same(const FeelValue& a, const FeelValue& b) { return equal(a, b) == true; }

bool equal_lists(const FeelList& a, const FeelList& b) { return std::equal(a.begin(), a.end(), b.begin(), b.end(), are_same); }

bool equal_contexts(const FeelContext& a, const FeelContext& b) {
  return a.size() == b.size() && std::all_of(a.begin(), a.end(), [&](const auto& entry) {
    const FeelValue* other = find_entry(b, entry.first);
    return other != nullptr && are_same(entry.second, *other);
  });
}

bool equal_ranges(const FeelRange& a, const FeelRange& b) {
  return a.form == b.form && a.start_included == b.start_included && a.end_included == b.end_included &&
         are_same(a.start, b.start) && are_same(a.end, b.end);
}

std::string quoted(const std::string& text) {
  std::string result = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') result.push_back('\\');
    result.push_back(c);
  }
  return result + "\"";
}

void append_text(std::string& out, const FeelValue& value, bool outermost);

void append_range(std::string& out, const FeelRange& range) {
  if (range.form != FeelRange::Form::Interval) {
    out += range.form == FeelRange::Form::Equal ? "= " : "!= ";
    append_text(out, range.start, false);
  } else if (!range.written_with_ends) {
    const bool has_start = !range.start.is_null();
    out += has_start ? (range.start_included ? ">= " : "> ") : (range.end_included ? "<= " : "< ");
    append_text(out, has_start ? range.start : range.end, false);
  } else {
    out += range.start_included ? "[" : "(";
    append_text(out, range.start, false);
    out += "..";
    append_text(out, range.end, false);
    out += range.end_included ? "]" : ")";
  }
}

void append_text(std::string& out, const FeelValue& value, bool outermost) {
  if (const auto* text = value.as<std::string>()) {
    out += outermost ? *text : quoted(*text);
  } else if (const FeelList* items = value.list()) {
    out += "[";
    for (std::size_t item = 0; item < items->size(); ++item) {
      if (item != 0) out += ", ";
      append_text(out, (*items)[item], false);
    }
    out += "]";
  } else if (const FeelContext* entries = value.context()) {
    out += "{";
    for (std::size_t entry = 0; entry < entries->size(); ++entry) {
      if (entry != 0) out += ", ";
      const std::string& key = (*entries)[entry].first;
      const bool is_plain = !key.empty() && std::all_of(key.begin(), key.end(), [](char c) {
        return c != '"' && c != '\\' && c != ':' && c != ',' && c != '{' && c != '}';
      });
      out += (is_plain ? key : quoted(key)) + ": ";
      append_text(out, (*entries)[entry].second, false);
    }
    out += "}";
  } else if (const FeelRange* range = value.range()) {
    append_range(out, *range);
  } else if (const bool* truth = value.as<bool>()) {
    out += *truth ? "true" : "false";
  } else if (const Decimal* number = value.as<Decimal>()) {
    out += number->to_text();
  } else if (const auto* date = value.as<CalendarDate>()) {
    out += text_of(*date);
  } else if (const auto* time = value.as<ClockTime>()) {
    out += text_of(*time);
  } else if (const auto* moment = value.as<DateAndTime>()) {
    out += text_of(*moment);
  } else if (const auto* months = value.as<MonthsDuration>()) {
    out += text_of(*months);
  } else if (const auto* duration = value.as<TimeDuration>()) {
    out += text_of(*duration);
  } else if (value.function() != nullptr) {
    out += "function";
  } else {
    out += "null";
  }
}

const FeelValue& value_in(const FeelValue& item) { return item; }
const FeelValue& value_in(const std::pair<std::string, FeelValue>& entry) { return entry.second; }

template <class Parts>
std::shared_ptr<const FeelShared<Parts>> shared(Parts parts) {
  FeelShared<Parts> result;
  for (const auto& part : parts) {
    result.weight += value_in(part).weight();
    result.depth = std::max(result.depth, value_in(part).depth() + 1);
  }
  if (result.weight > kMaxFeelWeight || result.depth > kMaxFeelDepth) throw FeelTooLarge();
  result.parts = std::move(parts);
  return std::make_shared<const FeelShared<Parts>>(std::move(result));
}

}  // namespace

FeelValue FeelValue::of(FeelList list) { return shared(std::move(list)); }
FeelValue FeelValue::of(FeelContext context) { return shared(std::move(context)); }

std::uint64_t FeelValue::weight() const {
  if (const auto* list = as<std::shared_ptr<const FeelShared<FeelList>>>()) return (*list)->weight + 1;
  if (const auto* context = as<std::shared_ptr<const FeelShared<FeelContext>>>()) return (*context)->weight + 1;
  if (const auto* text = as<std::string>()) return 1 + text->size() / 64;
  return 1;
}

std::uint32_t FeelValue::depth() const {
  if (const auto* list = as<std::shared_ptr<const FeelShared<FeelList>>>()) return (*list)->depth;
  if (const auto* context = as<std::shared_ptr<const FeelShared<FeelContext>>>()) return (*context)->depth;
  return 0;
}

const FeelValue* find_entry(const FeelContext& context, std::string_view key) {
  for (const auto& entry : context) {
    if (entry.first == key) return &entry.second;
  }
  return nullptr;
}

std::optional<bool> equal(const FeelValue& a, const FeelValue& b) {
  if (a.is_null() || b.is_null()) return a.is_null() && b.is_null();
  if (a.data().index() != b.data().index()) return std::nullopt;
  if (const bool* truth = a.as<bool>()) return *truth == *b.as<bool>();
  if (const auto* text = a.as<std::string>()) return *text == *b.as<std::string>();
  if (a.list() != nullptr) return equal_lists(*a.list(), *b.list());
  if (a.context() != nullptr) return equal_contexts(*a.context(), *b.context());
  if (a.range() != nullptr) return equal_ranges(*a.range(), *b.range());
  if (a.function() != nullptr) return *a.function() == *b.function();
  const auto order = compare(a, b);
  return order ? *order == std::weak_ordering::equivalent : false;
}

std::optional<std::weak_ordering> compare(const FeelValue& a, const FeelValue& b) {
  if (a.data().index() != b.data().index()) return std::nullopt;
  if (const Decimal* number = a.as<Decimal>()) return *number <=> *b.as<Decimal>();
  if (const auto* text = a.as<std::string>()) return order_of(*text, *b.as<std::string>());
  if (const auto* date = a.as<CalendarDate>()) return *date <=> *b.as<CalendarDate>();
  if (const auto* months = a.as<MonthsDuration>()) return *months <=> *b.as<MonthsDuration>();
  if (const auto* duration = a.as<TimeDuration>()) return order_of(duration->nanoseconds, b.as<TimeDuration>()->nanoseconds);
  if (const auto* time = a.as<ClockTime>()) {
    const auto& other = *b.as<ClockTime>();
    if (!are_comparable(*time, other)) return std::nullopt;
    return order_of(instant_of(*time), instant_of(other));
  }
  if (const auto* moment = a.as<DateAndTime>()) {
    const auto& other = *b.as<DateAndTime>();
    if (!are_comparable(*moment, other)) return std::nullopt;
    return order_of(instant_of(*moment), instant_of(other));
  }
  return std::nullopt;
}

std::optional<bool> contains(const FeelRange& range, const FeelValue& value) {
  if (range.form != FeelRange::Form::Interval) {
    const auto same = equal(range.start, value);
    return same ? std::optional(*same == (range.form == FeelRange::Form::Equal)) : same;
  }
  bool is_in = true;
  if (!range.start.is_null()) {
    const auto order = compare(value, range.start);
    if (!order) return std::nullopt;
    is_in = *order > 0 || (range.start_included && *order == 0);
  }
  if (!range.end.is_null()) {
    const auto order = compare(value, range.end);
    if (!order) return std::nullopt;
    is_in = is_in && (*order < 0 || (range.end_included && *order == 0));
  }
  return is_in;
}

std::string_view kind_of(const FeelValue& value) {
  static constexpr std::array<std::string_view, 13> kKinds{
      "null", "boolean", "number", "string", "date", "time", "date and time", "years and months duration",
      "days and time duration", "list", "context", "range", "function"};
  return kKinds[value.data().index()];
}

std::string text_of(const FeelValue& value) {
  std::string out;
  append_text(out, value, true);
  return out;
}

}  // namespace kitgap
