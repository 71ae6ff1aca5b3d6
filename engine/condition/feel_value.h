#pragma once

#include <array>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

#include "value/calendar.h"
#include "value/decimal.h"

namespace kitgap {

class FeelValue;
struct FeelFunction;

using FeelList = std::vector<FeelValue>;
// In the order written; a key stands once.
using FeelContext = std::vector<std::pair<std::string, FeelValue>>;
struct FeelRange;

// Lists and contexts share their parts, so that a short expression can make one which holds itself a billion times
// over. What is deeper or larger than this, shared parts counted as often as they stand, is refused when it is made.
struct FeelTooLarge {};
inline constexpr std::uint64_t kMaxFeelWeight = 2'000'000;
inline constexpr std::uint32_t kMaxFeelDepth = 100;

template <class Parts>
struct FeelShared {
  Parts parts;
  std::uint64_t weight = 0;  // values inside
  std::uint32_t depth = 0;
};

// A value of the expression language (OMG DMN 10.3.2). `null` is a value, and what a wrong operation gives.
// Lists, contexts, ranges and functions are shared and never change.
class FeelValue {
 public:
  struct Null {
    friend bool operator==(Null, Null) = default;
  };
  using Data = std::variant<Null, bool, Decimal, std::string, CalendarDate, ClockTime, DateAndTime, MonthsDuration,
                            TimeDuration, std::shared_ptr<const FeelShared<FeelList>>,
                            std::shared_ptr<const FeelShared<FeelContext>>, std::shared_ptr<const FeelRange>,
                            std::shared_ptr<const FeelFunction>>;

  FeelValue() = default;
  template <class T>
    requires(!std::is_same_v<std::remove_cvref_t<T>, FeelValue> && std::is_constructible_v<Data, T>)
  FeelValue(T&& value) : data_(std::forward<T>(value)) {}  // NOLINT: any of the kinds is a value
  // Both throw FeelTooLarge.
  static FeelValue of(FeelList list);
  static FeelValue of(FeelContext context);
  static FeelValue of(FeelRange range);

  const Data& data() const { return data_; }
  bool is_null() const { return std::holds_alternative<Null>(data_); }
  template <class T>
  const T* as() const {
    return std::get_if<T>(&data_);
  }
  const FeelList* list() const {
    const auto* shared = as<std::shared_ptr<const FeelShared<FeelList>>>();
    return shared == nullptr ? nullptr : &(*shared)->parts;
  }
  const FeelContext* context() const {
    const auto* shared = as<std::shared_ptr<const FeelShared<FeelContext>>>();
    return shared == nullptr ? nullptr : &(*shared)->parts;
  }
  const FeelRange* range() const {
    const auto* shared = as<std::shared_ptr<const FeelRange>>();
    return shared == nullptr ? nullptr : shared->get();
  }
  const std::shared_ptr<const FeelFunction>* function() const { return as<std::shared_ptr<const FeelFunction>>(); }
  // How many values stand inside, this one with them.
  std::uint64_t weight() const;
  std::uint32_t depth() const;
  bool is_true() const { return as<bool>() != nullptr && *as<bool>(); }
  bool is_false() const { return as<bool>() != nullptr && !*as<bool>(); }

 private:
  Data data_;
};

// Values between two ends, or those that pass one comparison (`< 10`, `= 10`, `!= 10`). An end that is not given at
// all (`< 10` has no start) is null and open.
struct FeelRange {
  enum class Form : std::uint8_t { Interval, Equal, NotEqual };
  Form form = Form::Interval;
  FeelValue start;  // of Equal and NotEqual: the value itself
  FeelValue end;
  bool start_included = false;
  bool end_included = false;
  bool written_with_ends = true;  // `[1..3]`, not `>= 1`
};

inline FeelValue FeelValue::of(FeelRange range) { return std::make_shared<const FeelRange>(std::move(range)); }

// The value of a context's key, or nullptr.
const FeelValue* find_entry(const FeelContext& context, std::string_view key);

// Three-valued equality (OMG DMN 10.3.2.13, table 53): nothing when the kinds differ.
std::optional<bool> equal(const FeelValue& a, const FeelValue& b);
// Nothing when the two have no order: other kinds, null, booleans, lists.
std::optional<std::weak_ordering> compare(const FeelValue& a, const FeelValue& b);
// Whether `value` lies in the range; nothing when its ends and the value have no order.
std::optional<bool> contains(const FeelRange& range, const FeelValue& value);
// The kind in the standard's words: `number`, `date and time`, `list`.
std::string_view kind_of(const FeelValue& value);
// As the function `string` writes it; strings inside lists and contexts stand in quotes.
std::string text_of(const FeelValue& value);

}  // namespace kitgap
