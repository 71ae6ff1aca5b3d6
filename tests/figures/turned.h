// Included ahead of everything in the build that tests/figures/mutants.mjs makes: operators that can be turned round while
// the program runs. The script writes `a < kitgap_turned::Less<17>{} < b` for `a < b`; the environment's KITGAP_TURNED
// names the one that is turned. `<` stays where it stood, so that what binds closer still does.
#pragma once
#include <algorithm>
#include <concepts>
#include <cstdlib>
#include <initializer_list>
#include <type_traits>
#include <utility>

namespace kitgap_turned {

inline const int kTurned = std::getenv("KITGAP_TURNED") ? std::atoi(std::getenv("KITGAP_TURNED")) : 0;

template <int Number>
constexpr bool is_on() {
  return !std::is_constant_evaluated() && kTurned == Number;
}

// A binary operator and what it becomes. What has no such other form, or another type then, does not compile: no mutant.
#define KITGAP_TURNED(Name, op, other)                                                                                  \
  template <int Number>                                                                                                 \
  struct Name {};                                                                                                       \
  template <int Number, class Left>                                                                                     \
  struct Name##Left {                                                                                                   \
    Left&& left;                                                                                                        \
  };                                                                                                                    \
  template <class Left, int Number>                                                                                     \
  constexpr Name##Left<Number, Left> operator op(Left&& left, Name<Number>&&) {                                         \
    return {std::forward<Left>(left)};                                                                                  \
  }                                                                                                                     \
  template <int Number, class Left, class Right>                                                                        \
    requires requires(Left&& a, Right&& b) {                                                                            \
      { std::forward<Left>(a) other std::forward<Right>(b) } -> std::same_as<decltype(std::forward<Left>(a) op std::forward<Right>(b))>; \
    }                                                                                                                   \
  constexpr decltype(auto) operator op(Name##Left<Number, Left>&& a, Right&& b) {                                       \
    return is_on<Number>() ? std::forward<Left>(a.left) other std::forward<Right>(b)                                    \
                           : std::forward<Left>(a.left) op std::forward<Right>(b);                                      \
  }

KITGAP_TURNED(Less, <, <=)
KITGAP_TURNED(LessEqual, <=, <)
KITGAP_TURNED(Greater, >, >=)
KITGAP_TURNED(GreaterEqual, >=, >)
KITGAP_TURNED(Equal, ==, !=)
KITGAP_TURNED(Unequal, !=, ==)
KITGAP_TURNED(Plus, +, -)
KITGAP_TURNED(Minus, -, +)
KITGAP_TURNED(Times, *, +)
#undef KITGAP_TURNED

// `a += Add<17>{} = b` and `a -= Take<17>{} = b`: the right side is bound first.
#define KITGAP_TURNED(Name, op, other)                                                      \
  template <int Number, class Right>                                                        \
  struct Name##Right {                                                                      \
    Right&& right;                                                                          \
  };                                                                                        \
  template <int Number>                                                                     \
  struct Name {                                                                             \
    template <class Right>                                                                  \
    constexpr Name##Right<Number, Right> operator=(Right&& right) && {                      \
      return {std::forward<Right>(right)};                                                  \
    }                                                                                       \
  };                                                                                        \
  template <class Left, int Number, class Right>                                            \
    requires requires(Left& a, Right&& b) { a other std::forward<Right>(b); }               \
  constexpr Left& operator op(Left& left, Name##Right<Number, Right>&& by) {                \
    if (is_on<Number>()) left other std::forward<Right>(by.right);                          \
    else left op std::forward<Right>(by.right);                                             \
    return left;                                                                            \
  }

KITGAP_TURNED(Add, +=, -=)
KITGAP_TURNED(Take, -=, +=)
#undef KITGAP_TURNED

template <int Number, class Value, class... Order>
constexpr const Value& min(const Value& a, const Value& b, Order... order) {
  return is_on<Number>() ? std::max(a, b, order...) : std::min(a, b, order...);
}
template <int Number, class Value>
constexpr Value min(std::initializer_list<Value> values) {
  return is_on<Number>() ? std::max(values) : std::min(values);
}
template <int Number, class Value, class... Order>
constexpr const Value& max(const Value& a, const Value& b, Order... order) {
  return is_on<Number>() ? std::min(a, b, order...) : std::max(a, b, order...);
}
template <int Number, class Value>
constexpr Value max(std::initializer_list<Value> values) {
  return is_on<Number>() ? std::min(values) : std::max(values);
}

}  // namespace kitgap_turned
