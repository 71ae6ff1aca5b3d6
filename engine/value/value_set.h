#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "text/archive.h"
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

void visit_fields(auto& archive, Is<FactDomain> auto& domain) {
  archive(domain.type, domain.whole, domain.allowed, domain.least, domain.greatest);
}

// A set of values of one fact, exact: intervals with open and closed ends for numbers and dates (whole numbers are
// normalised to closed whole ends, so [1..4) and [1..3] are equal), a finite or co-finite set of strings for text,
// any of {false, true} for booleans. Never holds a value its domain does not have: what is built is cut down to the
// domain first. Sets of one domain only are combined. Immutable within, so that a copy shares and costs next to nothing.
class ValueSet {
 public:
  struct Interval {
    std::optional<Fraction> lo;  // empty: no lower end
    std::optional<Fraction> hi;
    bool lo_closed = true;
    bool hi_closed = true;
    friend bool operator==(const Interval&, const Interval&) = default;
  };

  ValueSet() = default;  // of no domain; only to be assigned to
  static ValueSet all(const FactDomain& domain);  // every value the domain has
  static ValueSet none(const FactDomain& domain);
  static ValueSet of(const FactDomain& domain, const FactValue& value);
  static ValueSet of(const FactDomain& domain, Interval interval);

  bool is_empty() const;
  bool contains(const FactValue& value) const;
  bool contains(const ValueSet& other) const;
  bool meets(const ValueSet& other) const;  // some value is in both
  // How many values; nothing when there is no end to them.
  std::optional<std::uint64_t> size() const;
  bool is_single() const { return size() == 1; }
  // Some value of the set, the same every time: the first allowed one, the least whole number, ... Nothing if empty.
  std::optional<FactValue> witness() const;
  // Every value in order; only for sets with a size.
  std::vector<FactValue> values() const;
  const std::vector<Interval>& intervals() const;
  const FactDomain& domain() const { return *domain_; }

  friend ValueSet operator&(const ValueSet& a, const ValueSet& b);
  friend ValueSet operator|(const ValueSet& a, const ValueSet& b);
  friend ValueSet operator-(const ValueSet& a, const ValueSet& b);
  friend bool operator==(const ValueSet& a, const ValueSet& b);

  // As unary tests that a person could type: `[1968..1971]`, `"estate", "saloon"`, `>= 30500`, `-`, `not("van")`.
  // The empty set is `null`, which no car is.
  std::string to_unary_test() const;

 private:
  struct Parts {
    std::vector<Interval> intervals;   // numbers and dates: sorted, disjoint, merged where they touch
    std::vector<std::string> strings;  // text: sorted
    bool complement = false;           // text without allowed values: all strings but `strings`
  };
  friend void visit_fields(auto& archive, Is<Parts> auto& parts) { archive(parts.intervals, parts.strings, parts.complement); }
  friend void visit_fields(auto& archive, Is<ValueSet> auto& set) { archive(set.domain_, set.mask_, set.parts_); }
  static ValueSet from(const FactDomain& domain, Parts parts);
  bool is_mask() const;
  const Parts& parts() const;

  const FactDomain* domain_ = nullptr;   // outlives every set of it
  std::uint64_t mask_ = 0;               // booleans and up to 64 allowed texts: a bit for each
  std::shared_ptr<const Parts> parts_;   // all else
};

// The value as the expression language writes it: `1971`, `"estate"`, `true`, `1970-03-01`.
std::string literal_of(const FactValue& value, FactType type);
// The value as a person writes it: as `literal_of`, text without quotes.
std::string text_of(const FactValue& value, FactType type);

// The day number of an ISO date (`1970-03-01`), and back. Nothing when the text is no date of the calendar.
std::optional<std::int64_t> day_number_of(std::string_view iso_date);
std::string iso_date_of(std::int64_t day_number);

}  // namespace kitgap
