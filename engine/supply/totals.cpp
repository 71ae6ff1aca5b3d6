#include "supply/totals.h"

#include <optional>
#include <vector>

namespace kitgap {

void Totals::add(const ReadLine& line) {
  const ReadQuantity& quantity = line.quantity;
  if (!quantity.known || quantity.counts == Counts::Measure) {
    uncountable_ = true;
    return;
  }
  const Fraction counted = quantity.counts == Counts::Pairs ? quantity.amount * Fraction(2) : quantity.amount;
  since_total_ += counted;
  all_ += counted;
  ++lines_since_total_;
  ++lines_;
}

Totals::Check Totals::check(std::string_view text, bool decimal_comma) {
  std::vector<std::string> questions, doubts;
  const ReadQuantity quantity = read_quantity(text, decimal_comma, questions, doubts);
  Check check{.says = "a total", .remark = {}};
  if (quantity.known && !uncountable_) {
    const Fraction& total = quantity.amount;
    const bool agrees = total == since_total_ || total == all_ || total == Fraction(lines_) || total == Fraction(lines_since_total_);
    const std::string sum = "the rows above add up to " + since_total_.to_text() +
                            (since_total_ == all_ ? "" : " since the last total and to " + all_.to_text() + " in all");
    check.says += agrees ? " that agrees with the rows above" : " of " + total.to_text() + ", but " + sum;
    if (!agrees) check.remark = "the total says " + total.to_text() + ", " + sum;
  }
  since_total_ = 0;
  lines_since_total_ = 0;
  return check;
}

}  // namespace kitgap
