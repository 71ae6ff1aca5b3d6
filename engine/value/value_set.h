#pragma once

#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "value/fraction.h"

namespace kitgap {

enum class FactType : unsigned char { Number, Text, Boolean, Date };

// One value of a fact. A date is its day number (days since 1970-01-01), so that dates are whole numbers in order.
using FactValue = std::variant<Fraction, std::string, bool>;

// What values a fact can have at all.
struct FactDomain {
  FactType type = FactType::Text;
  bool whole = true;                           // a number without decimals; dates always are
  std::vector<FactValue> allowed = {};         // in the order declared; empty: any
  std::optional<Fraction> least = {};          // numbers and dates: the declared range, ends included
  std::optional<Fraction> greatest = {};
};

// A set of values of one fact, exact: intervals with open and closed ends for numbers and dates (whole numbers are
// normalised to closed whole ends, so [1..4) and [1..3] are equal), a finite or co-finite set of strings for text,
// any of {false, true} for booleans. Sets of one domain only are combined.
class ValueSet {
 public:
  struct Interval {
    std::optional<Fraction> lo;  // empty: no lower end
    std::optional<Fraction> hi;
    bool lo_closed = true;
    bool hi_closed = true;
    friend bool operator==(const Interval&, const Interval&) = default;
  };

  static ValueSet all(const FactDomain& domain);  // every value the domain has
  static ValueSet none(const FactDomain& domain);
  static ValueSet of(const FactDomain& domain, const FactValue& value);
  static ValueSet of(const FactDomain& domain, Interval interval);

  bool is_empty() const;
  bool contains(const FactValue& value) const;
  bool contains(const ValueSet& other) const;
  // How many values; nothing when there is no end to them.
  std::optional<std::uint64_t> size() const;
  bool is_single() const { return size() == 1; }
  // Some value of the set, the same every time: the first allowed one, the least whole number, ... Nothing if empty.
  std::optional<FactValue> witness() const;
  // Every value in order; only for sets with a size.
  std::vector<FactValue> values() const;
  const std::vector<Interval>& intervals() const { return intervals_; }

  friend ValueSet operator&(const ValueSet& a, const ValueSet& b);
  friend ValueSet operator|(const ValueSet& a, const ValueSet& b);
  friend ValueSet operator-(const ValueSet& a, const ValueSet& b);
  friend bool operator==(const ValueSet& a, const ValueSet& b);

  // As unary tests that a person could type: `[1968..1971]`, `"estate", "saloon"`, `>= 30500`, `-`, `not("van")`.
  std::string to_unary_test() const;

 private:
  const FactDomain* domain_ = nullptr;  // outlives every set of it
  std::vector<Interval> intervals_;     // numbers and dates: sorted, disjoint, merged where they touch
  std::vector<std::string> strings_;    // text: sorted
  bool complement_ = false;             // text without allowed values: all strings but `strings_`
  unsigned char booleans_ = 0;          // bit 0 false, bit 1 true
};

// The value as the expression language writes it: `1971`, `"estate"`, `true`, `1970-03-01`.
std::string literal_of(const FactValue& value, FactType type);
// The value as a person writes it: as `literal_of`, text without quotes.
std::string text_of(const FactValue& value, FactType type);

}  // namespace kitgap
