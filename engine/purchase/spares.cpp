#include "purchase/spares.h"

#include <boost/multiprecision/cpp_int.hpp>
#include <limits>

namespace kitgap {
namespace {

using Big = boost::multiprecision::cpp_int;

// Past this many broken pieces the figures are no plan any more, and the sums would run to millions of digits.
constexpr std::int64_t kMostFailures = 1'000'000;

Big big(Fraction::Wide value) {
  if (value < 0 || value > std::numeric_limits<std::int64_t>::max()) throw FigureOverflow();
  return Big(static_cast<std::int64_t>(value));
}

// P(at most f failures before the `needed`-th success), f growing by one: numerators over one common denominator.
class EnoughSum {
 public:
  EnoughSum(std::int64_t needed, const Fraction& break_rate, const Fraction& confidence)
      : needed_(needed),
        breaks_(big(break_rate.numerator())),
        all_(big(break_rate.denominator())),
        wanted_(big(confidence.numerator())),
        wanted_of_(big(confidence.denominator())),
        term_(boost::multiprecision::pow(Big(all_ - breaks_), static_cast<unsigned>(needed))),
        sum_(term_),
        scale_(boost::multiprecision::pow(all_, static_cast<unsigned>(needed))) {}

  bool is_enough() const { return sum_ * wanted_of_ >= wanted_ * scale_; }

  void one_failure_more() {
    ++failures_;
    term_ *= breaks_ * (needed_ - 1 + failures_);  // C(needed - 1 + f, f) from f - 1: times (needed - 1 + f) / f
    term_ /= failures_;
    sum_ = sum_ * all_ + term_;
    scale_ *= all_;
  }

 private:
  std::int64_t needed_;
  Big breaks_;
  Big all_;
  Big wanted_;
  Big wanted_of_;
  Big term_;
  Big sum_;
  Big scale_;
  std::int64_t failures_ = 0;
};

void check(std::int64_t needed, const Fraction& break_rate, const Fraction& confidence) {
  const bool rate_holds = break_rate.sign() >= 0 && break_rate < Fraction(1);
  const bool confidence_holds = confidence.sign() > 0 && confidence < Fraction(1);
  if (needed < 0 || needed > kMostFailures || !rate_holds || !confidence_holds) throw FigureOverflow();
}

}  // namespace

std::int64_t pieces_to_buy(std::int64_t needed, const Fraction& break_rate, const Fraction& confidence) {
  check(needed, break_rate, confidence);
  if (needed == 0 || break_rate.is_zero()) return needed;
  EnoughSum sum(needed, break_rate, confidence);
  std::int64_t failures = 0;
  for (; !sum.is_enough(); ++failures) {
    if (failures >= kMostFailures) throw FigureOverflow();
    sum.one_failure_more();
  }
  return needed + failures;
}

bool are_enough(std::int64_t bought, std::int64_t needed, const Fraction& break_rate, const Fraction& confidence) {
  check(needed, break_rate, confidence);
  if (bought < needed) return false;
  if (needed == 0 || break_rate.is_zero()) return true;
  EnoughSum sum(needed, break_rate, confidence);
  for (std::int64_t failures = 0; failures < bought - needed; ++failures) {
    if (sum.is_enough()) return true;
    sum.one_failure_more();
  }
  return sum.is_enough();
}

}  // namespace kitgap
