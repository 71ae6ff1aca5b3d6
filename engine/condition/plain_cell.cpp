#include "condition/plain_cell.h"

#include <algorithm>

#include "condition/scanner.h"

namespace kitgap {
namespace {

class PlainReader {
 public:
  PlainReader(std::string_view cell, const FactDomain& domain) : cell_(cell), domain_(domain) {}

  std::optional<ValueSet> read() {
    skip();
    if (at_ == cell_.size()) return std::nullopt;
    std::optional<ValueSet> result;
    do {
      skip();
      auto test = one();
      if (!test) return std::nullopt;
      result = result ? *result | *test : std::move(test);
      skip();
    } while (take(','));
    return at_ == cell_.size() ? result : std::nullopt;
  }

 private:
  void skip() {
    while (at_ < cell_.size() && cell_[at_] == ' ') ++at_;
  }
  bool take(char c) {
    if (at_ >= cell_.size() || cell_[at_] != c) return false;
    ++at_;
    return true;
  }
  bool is_digit(std::size_t at) const { return at < cell_.size() && cell_[at] >= '0' && cell_[at] <= '9'; }

  // Up to 15 digits before the point and none after it, not followed by what would make it something else.
  std::optional<Fraction> number() {
    const bool negative = take('-');
    const std::size_t begin = at_;
    std::int64_t value = 0;
    while (is_digit(at_) && at_ - begin < 16) value = value * 10 + (cell_[at_++] - '0');
    if (at_ == begin || at_ - begin > 15) return std::nullopt;
    if (at_ < cell_.size() && cell_[at_] == '.' && is_digit(at_ + 1)) return std::nullopt;
    if (is_name_part(cell_, at_)) return std::nullopt;
    return Fraction(negative ? -value : value);
  }

  std::optional<ValueSet> one() {
    if (domain_.type == FactType::Number) return numeric();
    return domain_.type == FactType::Text ? textual() : std::nullopt;
  }

  std::optional<ValueSet> numeric() {
    ValueSet::Interval interval;
    if (take('[') || take('(')) {
      interval.lo_closed = cell_[at_ - 1] == '[';
      skip();
      interval.lo = number();
      skip();
      if (!interval.lo || !take('.') || !take('.')) return std::nullopt;
      skip();
      interval.hi = number();
      skip();
      if (!interval.hi || at_ >= cell_.size() || *interval.lo > *interval.hi) return std::nullopt;
      const char end = cell_[at_++];
      if (end != ']' && end != ')') return std::nullopt;
      interval.hi_closed = end == ']';
      return only(ValueSet::of(domain_, interval));
    }
    if (take('<') || take('>')) {
      const bool is_upper = cell_[at_ - 1] == '<';
      const bool closed = take('=');
      skip();
      (is_upper ? interval.hi : interval.lo) = number();
      if (!interval.hi && !interval.lo) return std::nullopt;
      (is_upper ? interval.hi_closed : interval.lo_closed) = closed;
      return only(ValueSet::of(domain_, interval));
    }
    const auto value = number();
    return value ? only(ValueSet::of(domain_, *value)) : std::nullopt;
  }

  // A test ends at a comma or the end; anything else (an operator, a bracket) makes it an expression.
  std::optional<ValueSet> only(ValueSet set) {
    skip();
    if (at_ < cell_.size() && cell_[at_] != ',') return std::nullopt;
    return set;
  }

  std::optional<ValueSet> textual() {
    std::string value;
    if (take('"')) {
      const std::size_t end = cell_.find('"', at_);
      if (end == std::string_view::npos) return std::nullopt;
      value = cell_.substr(at_, end - at_);
      if (value.find('\\') != std::string::npos) return std::nullopt;
      at_ = end + 1;
    } else {
      const std::size_t end = std::min(cell_.find(',', at_), cell_.size());
      std::string_view word = cell_.substr(at_, end - at_);
      while (!word.empty() && word.back() == ' ') word.remove_suffix(1);
      // A longer allowed value with a comma in it is the parser's affair.
      value = word;
      at_ = end;
      const auto longer = [&](const FactValue& allowed) {
        const auto* text = std::get_if<std::string>(&allowed);
        return text != nullptr && text->size() > value.size() && text->find(',') != std::string::npos;
      };
      if (value.empty() || std::any_of(domain_.allowed.begin(), domain_.allowed.end(), longer)) return std::nullopt;
    }
    const auto is_it = [&](const FactValue& allowed) {
      const auto* text = std::get_if<std::string>(&allowed);
      return text != nullptr && *text == value;
    };
    if (std::none_of(domain_.allowed.begin(), domain_.allowed.end(), is_it)) return std::nullopt;
    return only(ValueSet::of(domain_, FactValue(std::move(value))));
  }

  std::string_view cell_;
  const FactDomain& domain_;
  std::size_t at_ = 0;
};

}  // namespace

std::optional<ValueSet> plain_cell(std::string_view cell, const FactDomain& domain) {
  if (cell.size() > 4096) return std::nullopt;
  return PlainReader(cell, domain).read();
}

}  // namespace kitgap
