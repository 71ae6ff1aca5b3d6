#include "value/value_set.h"

#include <algorithm>
#include <bit>
#include <utility>

#include "value/calendar.h"

namespace kitgap {

namespace {

using Interval = ValueSet::Interval;

bool is_ordered(const FactDomain& domain) { return domain.type == FactType::Number || domain.type == FactType::Date; }
bool is_whole(const FactDomain& domain) { return domain.type == FactType::Date || domain.whole; }

std::uint64_t full_mask(const FactDomain& domain) {
  const std::size_t count = domain.type == FactType::Boolean ? 2 : domain.allowed.size();
  return count >= 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << count) - 1;
}

bool is_empty(const Interval& interval) {
  if (!interval.lo || !interval.hi) return false;
  const auto order = *interval.lo <=> *interval.hi;
  return order > 0 || (order == 0 && !(interval.lo_closed && interval.hi_closed));
}

// Whole numbers have closed whole ends, and an absent end is closed: one set has one form only.
Interval normalised(Interval interval, bool whole) {
  if (!interval.lo) interval.lo_closed = true;
  if (!interval.hi) interval.hi_closed = true;
  if (!whole) return interval;
  if (interval.lo && !(interval.lo->is_whole() && interval.lo_closed)) {
    interval.lo = interval.lo->is_whole() ? *interval.lo + 1 : interval.lo->ceil();
    interval.lo_closed = true;
  }
  if (interval.hi && !(interval.hi->is_whole() && interval.hi_closed)) {
    interval.hi = interval.hi->is_whole() ? *interval.hi - 1 : interval.hi->floor();
    interval.hi_closed = true;
  }
  return interval;
}

// Ends in order: where does `a` begin before `b`, where does it end before `b` ends.
bool begins_before(const Interval& a, const Interval& b) {
  if (!a.lo || !b.lo) return !a.lo && b.lo;
  const auto order = *a.lo <=> *b.lo;
  return order < 0 || (order == 0 && a.lo_closed && !b.lo_closed);
}
bool ends_before(const Interval& a, const Interval& b) {
  if (!a.hi || !b.hi) return a.hi && !b.hi;
  const auto order = *a.hi <=> *b.hi;
  return order < 0 || (order == 0 && !a.hi_closed && b.hi_closed);
}

// Whether nothing lies between the end of `a` and the beginning of `b`, where `a` begins first.
bool touches(const Interval& a, const Interval& b, bool whole) {
  if (!a.hi || !b.lo) return true;
  const auto order = *b.lo <=> *a.hi;
  if (order < 0) return true;
  if (order == 0) return a.hi_closed || b.lo_closed;
  return whole && *b.lo == *a.hi + 1;
}

std::vector<Interval> merged(std::vector<Interval> intervals, bool whole) {
  std::sort(intervals.begin(), intervals.end(), begins_before);
  std::vector<Interval> result;
  for (Interval& interval : intervals) {
    if (is_empty(interval)) continue;
    if (!result.empty() && touches(result.back(), interval, whole)) {
      if (ends_before(result.back(), interval)) {
        result.back().hi = interval.hi;
        result.back().hi_closed = interval.hi_closed;
      }
    } else {
      result.push_back(std::move(interval));
    }
  }
  return result;
}

Interval both(const Interval& a, const Interval& b) {
  Interval result = begins_before(a, b) ? b : a;
  const Interval& ending = ends_before(a, b) ? a : b;
  result.hi = ending.hi;
  result.hi_closed = ending.hi_closed;
  return result;
}

std::vector<Interval> intersection(const std::vector<Interval>& a, const std::vector<Interval>& b) {
  std::vector<Interval> result;
  for (std::size_t left = 0, right = 0; left < a.size() && right < b.size();) {
    const Interval common = both(a[left], b[right]);
    if (!is_empty(common)) result.push_back(common);
    if (ends_before(a[left], b[right])) {
      ++left;
    } else {
      ++right;
    }
  }
  return result;
}

std::vector<Interval> complement(const std::vector<Interval>& intervals, bool whole) {
  std::vector<Interval> result;
  Interval rest;
  bool open_ended = true;
  for (const Interval& interval : intervals) {
    if (interval.lo) {
      Interval before = rest;
      before.hi = interval.lo;
      before.hi_closed = !interval.lo_closed;
      before = normalised(before, whole);
      if (!is_empty(before)) result.push_back(before);
    }
    open_ended = !interval.hi.has_value();
    rest = Interval{interval.hi, std::nullopt, !interval.hi_closed, true};
  }
  if (open_ended && !intervals.empty()) return result;
  result.push_back(normalised(rest, whole));
  return result;
}

std::vector<Interval> domain_intervals(const FactDomain& domain) {
  const bool whole = is_whole(domain);
  const Interval range = normalised({domain.least, domain.greatest, true, true}, whole);
  if (domain.allowed.empty()) return is_empty(range) ? std::vector<Interval>{} : std::vector<Interval>{range};
  std::vector<Interval> points;
  for (const FactValue& value : domain.allowed) {
    if (const auto* number = std::get_if<Fraction>(&value)) {
      points.push_back(both(range, normalised({*number, *number, true, true}, whole)));
    }
  }
  return merged(std::move(points), whole);
}

std::string end_text(const Fraction& end, FactType type) { return literal_of(end, type); }

std::string interval_text(const Interval& interval, FactType type) {
  if (!interval.lo) return (interval.hi_closed ? "<= " : "< ") + end_text(*interval.hi, type);
  if (!interval.hi) return (interval.lo_closed ? ">= " : "> ") + end_text(*interval.lo, type);
  if (*interval.lo == *interval.hi) return end_text(*interval.lo, type);
  return (interval.lo_closed ? "[" : "(") + end_text(*interval.lo, type) + ".." + end_text(*interval.hi, type) +
         (interval.hi_closed ? "]" : ")");
}

std::string joined(const std::vector<std::string>& texts) {
  std::string result;
  for (const std::string& text : texts) result += (result.empty() ? "" : ", ") + text;
  return result;
}

std::vector<std::string> string_union(const std::vector<std::string>& a, const std::vector<std::string>& b) {
  std::vector<std::string> result;
  std::set_union(a.begin(), a.end(), b.begin(), b.end(), std::back_inserter(result));
  return result;
}
std::vector<std::string> string_intersection(const std::vector<std::string>& a, const std::vector<std::string>& b) {
  std::vector<std::string> result;
  std::set_intersection(a.begin(), a.end(), b.begin(), b.end(), std::back_inserter(result));
  return result;
}
std::vector<std::string> string_difference(const std::vector<std::string>& a, const std::vector<std::string>& b) {
  std::vector<std::string> result;
  std::set_difference(a.begin(), a.end(), b.begin(), b.end(), std::back_inserter(result));
  return result;
}

std::optional<FactValue> interval_witness(const Interval& interval) {
  if (interval.lo && interval.lo_closed) return *interval.lo;
  if (interval.hi && interval.hi_closed) return *interval.hi;
  if (interval.lo && interval.hi) return (*interval.lo + *interval.hi) / 2;
  if (interval.lo) return *interval.lo + 1;
  if (interval.hi) return *interval.hi - 1;
  return Fraction(0);
}

}  // namespace

bool ValueSet::is_mask() const {
  return domain_->type == FactType::Boolean ||
         (domain_->type == FactType::Text && !domain_->allowed.empty() && domain_->allowed.size() <= 64);
}

const ValueSet::Parts& ValueSet::parts() const {
  static const Parts kEmpty;
  return parts_ ? *parts_ : kEmpty;
}

const std::vector<ValueSet::Interval>& ValueSet::intervals() const { return parts().intervals; }

ValueSet ValueSet::from(const FactDomain& domain, Parts parts) {
  ValueSet set;
  set.domain_ = &domain;
  const bool is_nothing = parts.intervals.empty() && parts.strings.empty() && !parts.complement;
  if (!is_nothing) set.parts_ = std::make_shared<const Parts>(std::move(parts));
  return set;
}

ValueSet ValueSet::none(const FactDomain& domain) {
  ValueSet set;
  set.domain_ = &domain;
  return set;
}

ValueSet ValueSet::all(const FactDomain& domain) {
  ValueSet set = none(domain);
  if (set.is_mask()) {
    set.mask_ = full_mask(domain);
    return set;
  }
  if (is_ordered(domain)) return from(domain, {domain_intervals(domain), {}, false});
  Parts parts;
  parts.complement = domain.allowed.empty();
  for (const FactValue& value : domain.allowed) {
    if (const auto* text = std::get_if<std::string>(&value)) parts.strings.push_back(*text);
  }
  std::sort(parts.strings.begin(), parts.strings.end());
  parts.strings.erase(std::unique(parts.strings.begin(), parts.strings.end()), parts.strings.end());
  return from(domain, std::move(parts));
}

ValueSet ValueSet::of(const FactDomain& domain, const FactValue& value) {
  if (const auto* number = std::get_if<Fraction>(&value)) return of(domain, Interval{*number, *number, true, true});
  ValueSet set = none(domain);
  if (domain.type == FactType::Boolean) {
    if (const auto* boolean = std::get_if<bool>(&value)) set.mask_ = *boolean ? 2 : 1;
    return set;
  }
  const auto* text = std::get_if<std::string>(&value);
  if (text == nullptr || domain.type != FactType::Text) return set;
  const auto place = std::find(domain.allowed.begin(), domain.allowed.end(), value);
  if (!domain.allowed.empty() && place == domain.allowed.end()) return set;
  if (set.is_mask()) {
    set.mask_ = std::uint64_t{1} << (place - domain.allowed.begin());
    return set;
  }
  return from(domain, {{}, {*text}, false});
}

ValueSet ValueSet::of(const FactDomain& domain, Interval interval) {
  if (!is_ordered(domain)) return none(domain);
  interval = normalised(std::move(interval), is_whole(domain));
  if (kitgap::is_empty(interval)) return none(domain);
  Parts parts;
  if (domain.allowed.empty()) {
    interval = both(interval, normalised({domain.least, domain.greatest, true, true}, is_whole(domain)));
    if (!kitgap::is_empty(interval)) parts.intervals.push_back(std::move(interval));
  } else {
    parts.intervals = intersection(domain_intervals(domain), {interval});
  }
  return from(domain, std::move(parts));
}

bool ValueSet::is_empty() const { return mask_ == 0 && !parts_; }

bool ValueSet::contains(const FactValue& value) const {
  if (const auto* number = std::get_if<Fraction>(&value)) {
    const auto& all = intervals();
    if (!is_ordered(*domain_)) return false;
    for (const Interval& interval : all) {
      if (!kitgap::is_empty(both(interval, Interval{*number, *number, true, true}))) {
        return number->is_whole() || !is_whole(*domain_);
      }
    }
    return false;
  }
  if (is_mask()) return (mask_ & of(*domain_, value).mask_) != 0;
  const auto* text = std::get_if<std::string>(&value);
  if (text == nullptr || domain_->type != FactType::Text) return false;
  return std::binary_search(parts().strings.begin(), parts().strings.end(), *text) != parts().complement;
}

bool ValueSet::contains(const ValueSet& other) const { return (other - *this).is_empty(); }

bool ValueSet::meets(const ValueSet& other) const {
  if (mask_ != 0 || other.mask_ != 0) return (mask_ & other.mask_) != 0;
  if (!parts_ || !other.parts_) return false;
  if (parts_ == other.parts_) return true;
  return !(*this & other).is_empty();
}

std::optional<std::uint64_t> ValueSet::size() const {
  if (is_mask()) return static_cast<std::uint64_t>(std::popcount(mask_));
  if (!is_ordered(*domain_)) {
    return parts().complement ? std::nullopt : std::optional<std::uint64_t>(parts().strings.size());
  }
  Fraction total(0);
  for (const Interval& interval : intervals()) {
    if (!interval.lo || !interval.hi) return std::nullopt;
    if (!is_whole(*domain_) && *interval.lo != *interval.hi) return std::nullopt;
    total += *interval.hi - *interval.lo + 1;
  }
  const auto whole = total.to_integer();
  return whole ? std::optional<std::uint64_t>(static_cast<std::uint64_t>(*whole)) : std::nullopt;
}

std::optional<FactValue> ValueSet::witness() const {
  if (is_empty()) return std::nullopt;
  if (domain_->type == FactType::Boolean) return FactValue((mask_ & 1) == 0);
  if (is_mask()) return domain_->allowed[static_cast<std::size_t>(std::countr_zero(mask_))];
  if (is_ordered(*domain_)) {
    for (const FactValue& value : domain_->allowed) {
      if (contains(value)) return value;
    }
    return interval_witness(intervals().front());
  }
  for (const FactValue& value : domain_->allowed) {
    if (contains(value)) return value;
  }
  if (!parts().complement) return parts().strings.front();
  for (int number = 1;; ++number) {
    std::string other = number == 1 ? "other" : "other " + std::to_string(number);
    if (!std::binary_search(parts().strings.begin(), parts().strings.end(), other)) return other;
  }
}

std::vector<FactValue> ValueSet::values() const {
  std::vector<FactValue> result;
  if (domain_->type == FactType::Boolean) {
    if ((mask_ & 1) != 0) result.emplace_back(false);
    if ((mask_ & 2) != 0) result.emplace_back(true);
    return result;
  }
  if (!domain_->allowed.empty()) {
    for (const FactValue& value : domain_->allowed) {
      if (contains(value)) result.push_back(value);
    }
    return result;
  }
  if (!size()) return result;
  for (const Interval& interval : intervals()) {
    for (Fraction number = *interval.lo; number <= *interval.hi; number += 1) result.emplace_back(number);
  }
  for (const std::string& text : parts().strings) result.emplace_back(text);
  return result;
}

ValueSet operator&(const ValueSet& a, const ValueSet& b) {
  ValueSet set = ValueSet::none(*a.domain_);
  set.mask_ = a.mask_ & b.mask_;
  if (!a.parts_ || !b.parts_) return set;
  if (a.parts_ == b.parts_) return a;
  const auto& x = *a.parts_;
  const auto& y = *b.parts_;
  ValueSet::Parts parts;
  parts.intervals = intersection(x.intervals, y.intervals);
  parts.complement = x.complement && y.complement;
  parts.strings = x.complement ? (y.complement ? string_union(x.strings, y.strings)
                                               : string_difference(y.strings, x.strings))
                               : (y.complement ? string_difference(x.strings, y.strings)
                                               : string_intersection(x.strings, y.strings));
  return ValueSet::from(*a.domain_, std::move(parts));
}

ValueSet operator|(const ValueSet& a, const ValueSet& b) {
  ValueSet set = ValueSet::none(*a.domain_);
  set.mask_ = a.mask_ | b.mask_;
  if (!a.parts_ && !b.parts_) return set;
  if (!a.parts_) return b;
  if (!b.parts_ || a.parts_ == b.parts_) return a;
  const auto& x = *a.parts_;
  const auto& y = *b.parts_;
  ValueSet::Parts parts;
  parts.intervals = x.intervals;
  parts.intervals.insert(parts.intervals.end(), y.intervals.begin(), y.intervals.end());
  parts.intervals = merged(std::move(parts.intervals), is_whole(*a.domain_));
  parts.complement = x.complement || y.complement;
  parts.strings = x.complement ? (y.complement ? string_intersection(x.strings, y.strings)
                                               : string_difference(x.strings, y.strings))
                               : (y.complement ? string_difference(y.strings, x.strings)
                                               : string_union(x.strings, y.strings));
  return ValueSet::from(*a.domain_, std::move(parts));
}

ValueSet operator-(const ValueSet& a, const ValueSet& b) {
  ValueSet set = ValueSet::none(*a.domain_);
  set.mask_ = a.mask_ & ~b.mask_;
  if (!a.parts_) return set;
  if (!b.parts_) return a;
  if (a.parts_ == b.parts_) return set;
  const auto& x = *a.parts_;
  const auto& y = *b.parts_;
  ValueSet::Parts parts;
  parts.intervals = intersection(x.intervals, complement(y.intervals, is_whole(*a.domain_)));
  parts.complement = x.complement && !y.complement;
  parts.strings = x.complement ? (y.complement ? string_difference(y.strings, x.strings)
                                               : string_union(x.strings, y.strings))
                               : (y.complement ? string_intersection(x.strings, y.strings)
                                               : string_difference(x.strings, y.strings));
  return ValueSet::from(*a.domain_, std::move(parts));
}

bool operator==(const ValueSet& a, const ValueSet& b) {
  if (a.mask_ != b.mask_) return false;
  if (a.parts_ == b.parts_) return true;
  const auto& x = a.parts();
  const auto& y = b.parts();
  return x.complement == y.complement && x.intervals == y.intervals && x.strings == y.strings;
}

std::string ValueSet::to_unary_test() const {
  if (is_empty()) return "null";
  const ValueSet everything = all(*domain_);
  if (*this == everything) return "-";
  std::vector<std::string> texts;
  if (is_ordered(*domain_)) {
    for (const Interval& interval : intervals()) texts.push_back(interval_text(interval, domain_->type));
    return joined(texts);
  }
  if (!is_mask() && parts().complement) {
    for (const std::string& text : parts().strings) texts.push_back(literal_of(text, FactType::Text));
    return "not(" + joined(texts) + ")";
  }
  const ValueSet rest = everything - *this;
  const bool says_not = !domain_->allowed.empty() && *rest.size() * 2 < *size();
  for (const FactValue& value : (says_not ? rest : *this).values()) texts.push_back(literal_of(value, domain_->type));
  return says_not ? "not(" + joined(texts) + ")" : joined(texts);
}

std::string literal_of(const FactValue& value, FactType type) {
  const auto* text = std::get_if<std::string>(&value);
  if (text == nullptr) return text_of(value, type);
  std::string result = "\"";
  for (const char c : *text) {
    if (c == '"' || c == '\\') result.push_back('\\');
    if (c == '\n') {
      result += "\\n";
    } else {
      result.push_back(c);
    }
  }
  return result + "\"";
}

std::string text_of(const FactValue& value, FactType type) {
  if (const auto* text = std::get_if<std::string>(&value)) return *text;
  if (const auto* boolean = std::get_if<bool>(&value)) return *boolean ? "true" : "false";
  const auto& number = std::get<Fraction>(value);
  const auto day = number.to_integer();
  return type == FactType::Date && day ? iso_date_of(*day) : number.to_text();
}

std::optional<std::int64_t> day_number_of(std::string_view iso_date) {
  const auto date = iso_date.size() == 10 ? parse_date(iso_date) : std::nullopt;
  return date ? std::optional(day_number_of(*date)) : std::nullopt;
}

std::string iso_date_of(std::int64_t day_number) {
  const auto date = date_of_day_number(day_number);
  return date ? text_of(*date) : std::to_string(day_number);
}

}  // namespace kitgap
