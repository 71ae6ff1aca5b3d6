#include <algorithm>

#include "condition/evaluator.h"

// OMG DMN 10.3.4.2 and 10.3.4.4.
namespace kitgap {
namespace {

using Arguments = std::span<const FeelValue>;

FeelValue needs_list(Evaluator& evaluator) { return evaluator.problem("the function needs a list"); }

// A value that is no list counts as a list of one (10.3.2.14).
std::optional<FeelList> list_at(Evaluator& evaluator, Arguments arguments, std::size_t index) {
  if (index >= arguments.size() || arguments[index].is_null()) return std::nullopt;
  if (const FeelList* items = arguments[index].list()) {
    evaluator.charge(items->size() + arguments[index].weight() / 16);
    return *items;
  }
  return FeelList{arguments[index]};
}

// `f([1, 2])` and `f(1, 2)` are the same.
std::optional<FeelList> items_of(Evaluator& evaluator, Arguments arguments) {
  if (arguments.size() == 1) return list_at(evaluator, arguments, 0);
  evaluator.charge(arguments.size());
  return FeelList(arguments.begin(), arguments.end());
}

std::optional<std::vector<Decimal>> numbers_of(Evaluator& evaluator, Arguments arguments) {
  const auto items = items_of(evaluator, arguments);
  if (!items) return std::nullopt;
  std::vector<Decimal> numbers;
  for (const FeelValue& item : *items) {
    const Decimal* number = item.as<Decimal>();
    if (number == nullptr) return std::nullopt;
    numbers.push_back(*number);
  }
  return numbers;
}

FeelValue needs_numbers(Evaluator& evaluator) { return evaluator.problem("the function needs a list of numbers"); }

// The place that a position names: from 1 from the front, from -1 from the back.
std::optional<std::size_t> place_of(const FeelValue& position, std::size_t count) {
  const Decimal* number = position.as<Decimal>();
  const auto whole = number != nullptr ? number->to_integer_toward_zero() : std::nullopt;
  if (!whole || *whole == 0) return std::nullopt;
  const std::int64_t place = *whole > 0 ? *whole - 1 : static_cast<std::int64_t>(count) + *whole;
  if (place < 0) return std::nullopt;
  return static_cast<std::size_t>(place);
}

FeelValue list_contains(Evaluator& evaluator, Arguments arguments) {
  const auto items = list_at(evaluator, arguments, 0);
  if (!items) return needs_list(evaluator);
  return FeelValue(std::any_of(items->begin(), items->end(), [&](const FeelValue& item) { return equal(item, arguments[1]) == true; }));
}

FeelValue list_replace(Evaluator& evaluator, Arguments arguments) {
  auto items = list_at(evaluator, arguments, 0);
  if (!items) return needs_list(evaluator);
  if (const auto* function = arguments[1].function()) {
    for (FeelValue& item : *items) {
      const FeelValue pair[2] = {item, arguments[2]};
      const FeelValue replaced = evaluator.call(**function, pair);
      if (replaced.as<bool>() == nullptr) return evaluator.problem("the function of `list replace` gives no true or false");
      if (replaced.is_true()) item = arguments[2];
    }
    return FeelValue::of(std::move(*items));
  }
  const auto place = place_of(arguments[1], items->size());
  if (!place || *place >= items->size()) return evaluator.problem("there is no item at that place");
  (*items)[*place] = arguments[2];
  return FeelValue::of(std::move(*items));
}

FeelValue count(Evaluator& evaluator, Arguments arguments) {
  const auto items = list_at(evaluator, arguments, 0);
  return items ? FeelValue(Decimal(static_cast<std::int64_t>(items->size()))) : needs_list(evaluator);
}

FeelValue extreme(Evaluator& evaluator, Arguments arguments, bool least) {
  const auto items = items_of(evaluator, arguments);
  if (!items) return needs_list(evaluator);
  if (items->empty()) return {};
  const FeelValue* best = nullptr;
  for (const FeelValue& item : *items) {
    const auto order = compare(item, best == nullptr ? item : *best);
    if (!order) return evaluator.problem("the list holds values that have no order");
    if (best == nullptr || (least ? *order < 0 : *order > 0)) best = &item;
  }
  return *best;
}

FeelValue least(Evaluator& evaluator, Arguments arguments) { return extreme(evaluator, arguments, true); }
FeelValue greatest(Evaluator& evaluator, Arguments arguments) { return extreme(evaluator, arguments, false); }

FeelValue sum(Evaluator& evaluator, Arguments arguments) {
  const auto items = items_of(evaluator, arguments);
  if (!items) return needs_list(evaluator);
  if (items->empty()) return {};
  FeelValue total = items->front();
  const bool is_summable = total.as<Decimal>() != nullptr || total.as<MonthsDuration>() != nullptr || total.as<TimeDuration>() != nullptr;
  for (std::size_t index = 1; index < items->size() && is_summable; ++index) {
    if ((*items)[index].data().index() != total.data().index()) return needs_numbers(evaluator);
    total = add_values(evaluator, total, (*items)[index]);
  }
  return is_summable ? total : needs_numbers(evaluator);
}

FeelValue mean(Evaluator& evaluator, Arguments arguments) {
  const FeelValue total = sum(evaluator, arguments);
  const auto items = items_of(evaluator, arguments);
  if (total.is_null() || !items || items->empty()) return {};
  return divide_values(evaluator, total, Decimal(static_cast<std::int64_t>(items->size())));
}

FeelValue product(Evaluator& evaluator, Arguments arguments) {
  const auto numbers = numbers_of(evaluator, arguments);
  if (!numbers || numbers->empty()) return needs_numbers(evaluator);
  std::optional<Decimal> result = Decimal(1);
  for (const Decimal& number : *numbers) result = result ? multiply(*result, number, evaluator.rounded()) : result;
  return evaluator.number(result);
}

FeelValue median(Evaluator& evaluator, Arguments arguments) {
  auto numbers = numbers_of(evaluator, arguments);
  if (!numbers) return needs_numbers(evaluator);
  if (numbers->empty()) return {};
  std::sort(numbers->begin(), numbers->end());
  const std::size_t middle = numbers->size() / 2;
  if (numbers->size() % 2 == 1) return (*numbers)[middle];
  const auto total = add((*numbers)[middle - 1], (*numbers)[middle], evaluator.rounded());
  return evaluator.number(total ? divide(*total, Decimal(2), evaluator.rounded()) : std::nullopt);
}

// Of a sample: divided by one less than the count.
FeelValue deviation(Evaluator& evaluator, Arguments arguments) {
  const auto numbers = numbers_of(evaluator, arguments);
  if (!numbers || numbers->size() < 2) return needs_numbers(evaluator);
  *evaluator.rounded() = true;
  const auto size = static_cast<std::int64_t>(numbers->size());
  std::optional<Decimal> total = Decimal();
  for (const Decimal& number : *numbers) total = total ? add(*total, number) : total;
  const auto middle = total ? divide(*total, Decimal(size)) : std::nullopt;
  std::optional<Decimal> squares = middle ? std::optional(Decimal()) : std::nullopt;
  for (const Decimal& number : *numbers) {
    const auto apart = squares ? subtract(number, *middle) : std::nullopt;
    const auto square = apart ? multiply(*apart, *apart) : std::nullopt;
    squares = square ? add(*squares, *square) : std::nullopt;
  }
  const auto variance = squares ? divide(*squares, Decimal(size - 1)) : std::nullopt;
  return evaluator.number(variance ? square_root(*variance) : std::nullopt);
}

FeelValue mode(Evaluator& evaluator, Arguments arguments) {
  auto numbers = numbers_of(evaluator, arguments);
  if (!numbers) return needs_numbers(evaluator);
  std::sort(numbers->begin(), numbers->end());
  std::size_t most = 0;
  FeelList result;
  for (std::size_t begin = 0; begin < numbers->size();) {
    std::size_t end = begin;
    while (end < numbers->size() && (*numbers)[end] == (*numbers)[begin]) ++end;
    if (end - begin > most) result.clear();
    if (end - begin >= most) result.emplace_back((*numbers)[begin]);
    most = std::max(most, end - begin);
    begin = end;
  }
  return FeelValue::of(std::move(result));
}

FeelValue all_or_any(Evaluator& evaluator, Arguments arguments, bool decides) {
  const auto items = items_of(evaluator, arguments);
  if (!items) return arguments.size() == 1 ? needs_list(evaluator) : FeelValue();
  bool is_open = false;
  for (const FeelValue& item : *items) {
    if (decides ? item.is_true() : item.is_false()) return FeelValue(decides);
    if (!item.is_null() && item.as<bool>() == nullptr) evaluator.problem("the list holds what is neither true nor false");
    is_open = is_open || item.as<bool>() == nullptr;
  }
  return is_open ? FeelValue() : FeelValue(!decides);
}

FeelValue all(Evaluator& evaluator, Arguments arguments) { return all_or_any(evaluator, arguments, false); }
FeelValue any(Evaluator& evaluator, Arguments arguments) { return all_or_any(evaluator, arguments, true); }

FeelValue sublist(Evaluator& evaluator, Arguments arguments) {
  const auto items = list_at(evaluator, arguments, 0);
  if (!items) return needs_list(evaluator);
  const auto place = place_of(arguments[1], items->size());
  if (!place || *place >= items->size()) return evaluator.problem("the start position is outside the list");
  std::size_t taken = items->size() - *place;
  if (arguments.size() > 2 && !arguments[2].is_null()) {
    const Decimal* wanted = arguments[2].as<Decimal>();
    const auto whole = wanted != nullptr ? wanted->to_integer_toward_zero() : std::nullopt;
    if (!whole || *whole < 0 || static_cast<std::uint64_t>(*whole) > taken) return evaluator.problem("the list is shorter than that");
    taken = static_cast<std::size_t>(*whole);
  }
  const auto begin = items->begin() + static_cast<std::ptrdiff_t>(*place);
  return FeelValue::of(FeelList(begin, begin + static_cast<std::ptrdiff_t>(taken)));
}

FeelValue append(Evaluator& evaluator, Arguments arguments) {
  auto items = list_at(evaluator, arguments, 0);
  if (!items) return needs_list(evaluator);
  items->insert(items->end(), arguments.begin() + 1, arguments.end());
  return FeelValue::of(std::move(*items));
}

FeelValue concatenate(Evaluator& evaluator, Arguments arguments) {
  FeelList result;
  for (std::size_t index = 0; index < arguments.size(); ++index) {
    const auto items = list_at(evaluator, arguments, index);
    if (!items) return needs_list(evaluator);
    result.insert(result.end(), items->begin(), items->end());
  }
  return FeelValue::of(std::move(result));
}

FeelValue insert_before(Evaluator& evaluator, Arguments arguments) {
  auto items = list_at(evaluator, arguments, 0);
  if (!items) return needs_list(evaluator);
  const auto place = place_of(arguments[1], items->size());
  if (!place || *place > items->size()) return evaluator.problem("the position is outside the list");
  items->insert(items->begin() + static_cast<std::ptrdiff_t>(*place), arguments[2]);
  return FeelValue::of(std::move(*items));
}

FeelValue remove(Evaluator& evaluator, Arguments arguments) {
  auto items = list_at(evaluator, arguments, 0);
  if (!items) return needs_list(evaluator);
  const auto place = place_of(arguments[1], items->size());
  if (!place || *place >= items->size()) return evaluator.problem("the position is outside the list");
  items->erase(items->begin() + static_cast<std::ptrdiff_t>(*place));
  return FeelValue::of(std::move(*items));
}

FeelValue reverse(Evaluator& evaluator, Arguments arguments) {
  auto items = list_at(evaluator, arguments, 0);
  if (!items) return needs_list(evaluator);
  std::reverse(items->begin(), items->end());
  return FeelValue::of(std::move(*items));
}

FeelValue index_of(Evaluator& evaluator, Arguments arguments) {
  const auto items = list_at(evaluator, arguments, 0);
  if (!items) return needs_list(evaluator);
  FeelList result;
  for (std::size_t index = 0; index < items->size(); ++index) {
    if (equal((*items)[index], arguments[1]) == true) result.emplace_back(Decimal(static_cast<std::int64_t>(index) + 1));
  }
  return FeelValue::of(std::move(result));
}

// One of each, in the order of their first standing.
FeelList distinct(Evaluator& evaluator, const FeelList& items, bool repeated_only) {
  FeelList result;
  std::vector<std::size_t> times;
  for (const FeelValue& item : items) {
    evaluator.charge((result.size() + 1) * std::max<std::uint64_t>(item.weight() / 4, 1) / 4 + 1);
    const auto same = std::find_if(result.begin(), result.end(), [&](const FeelValue& other) { return equal(item, other) == true; });
    if (same == result.end()) {
      result.push_back(item);
      times.push_back(1);
    } else {
      ++times[static_cast<std::size_t>(same - result.begin())];
    }
  }
  if (!repeated_only) return result;
  FeelList repeated;
  for (std::size_t index = 0; index < result.size(); ++index) {
    if (times[index] > 1) repeated.push_back(result[index]);
  }
  return repeated;
}

FeelValue unite(Evaluator& evaluator, Arguments arguments) {
  const FeelValue all_items = concatenate(evaluator, arguments);
  return all_items.list() != nullptr ? FeelValue::of(distinct(evaluator, *all_items.list(), false)) : FeelValue();
}

FeelValue distinct_values(Evaluator& evaluator, Arguments arguments) {
  const auto items = list_at(evaluator, arguments, 0);
  return items ? FeelValue::of(distinct(evaluator, *items, false)) : needs_list(evaluator);
}

FeelValue duplicate_values(Evaluator& evaluator, Arguments arguments) {
  const auto items = list_at(evaluator, arguments, 0);
  return items ? FeelValue::of(distinct(evaluator, *items, true)) : needs_list(evaluator);
}

void append_flat(Evaluator& evaluator, FeelList& result, const FeelList& items, int depth) {
  evaluator.charge(items.size());
  if (depth > kMaxNesting) throw Evaluator::Exhausted();
  for (const FeelValue& item : items) {
    if (item.list() != nullptr) {
      append_flat(evaluator, result, *item.list(), depth + 1);
    } else {
      result.push_back(item);
    }
  }
}

FeelValue flatten(Evaluator& evaluator, Arguments arguments) {
  const auto items = list_at(evaluator, arguments, 0);
  if (!items) return needs_list(evaluator);
  FeelList result;
  append_flat(evaluator, result, *items, 0);
  return FeelValue::of(std::move(result));
}

FeelValue sort(Evaluator& evaluator, Arguments arguments) {
  auto items = list_at(evaluator, arguments, 0);
  const auto* precedes = arguments.size() > 1 ? arguments[1].function() : nullptr;
  if (!items || (arguments.size() > 1 && precedes == nullptr)) return needs_list(evaluator);
  bool is_ordered = true;
  const auto before = [&](const FeelValue& a, const FeelValue& b) {
    if (precedes == nullptr) {
      const auto order = compare(a, b);
      is_ordered = is_ordered && order;
      return order && *order < 0;
    }
    const FeelValue pair[2] = {a, b};
    return evaluator.call(**precedes, pair).is_true();
  };
  // Merging from the bottom: an order that is none harms nothing but itself, which std::sort does not promise.
  FeelList other(items->size());
  for (std::size_t width = 1; width < items->size(); width *= 2) {
    for (std::size_t low = 0; low < items->size(); low += 2 * width) {
      const std::size_t middle = std::min(low + width, items->size());
      const std::size_t high = std::min(low + 2 * width, items->size());
      std::size_t left = low, right = middle;
      for (std::size_t out = low; out < high; ++out) {
        const bool take_right = left >= middle || (right < high && before((*items)[right], (*items)[left]));
        other[out] = (*items)[take_right ? right++ : left++];
      }
    }
    std::swap(*items, other);
  }
  return is_ordered ? FeelValue::of(std::move(*items)) : evaluator.problem("the list holds values that have no order");
}

FeelValue negate(Evaluator& evaluator, Arguments arguments) {
  if (const bool* truth = arguments[0].as<bool>()) return !*truth;
  return arguments[0].is_null() ? FeelValue() : evaluator.problem("`not` needs true or false");
}

}  // namespace

std::span<const BuiltIn> list_functions() {
  static constexpr auto kFunctions = std::to_array<BuiltIn>({
      {"not", "negand", negate},
      {"list contains", "list,element", list_contains},
      {"list replace", "list,position,newItem", list_replace},
      {"list replace", "list,match,newItem", list_replace},
      {"count", "list", count},
      {"min", "list...", least},
      {"max", "list...", greatest},
      {"sum", "list...", sum},
      {"mean", "list...", mean},
      {"product", "list...", product},
      {"median", "list...", median},
      {"stddev", "list...", deviation},
      {"mode", "list...", mode},
      {"all", "list...", all},
      {"any", "list...", any},
      {"sublist", "list,start position,length?", sublist},
      {"append", "list,item...", append},
      {"concatenate", "list...", concatenate},
      {"insert before", "list,position,newItem", insert_before},
      {"remove", "list,position", remove},
      {"reverse", "list", reverse},
      {"index of", "list,match", index_of},
      {"union", "list...", unite},
      {"distinct values", "list", distinct_values},
      {"duplicate values", "list", duplicate_values},
      {"flatten", "list", flatten},
      {"sort", "list,precedes?", sort},
  });
  return kFunctions;
}

}  // namespace kitgap
