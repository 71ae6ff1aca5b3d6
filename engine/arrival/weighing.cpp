#include "arrival/weighing.h"

#include <algorithm>

namespace kitgap {
namespace {

constexpr std::int64_t kMaxPieces = 1'000'000'000;

// How far one reading may be off, either way.
Fraction error_of_reading(const Weighing& weighing) { return weighing.resolution / Fraction(2) + weighing.uncertainty; }

}  // namespace

std::string what_is_wrong_with(const Weighing& weighing) {
  if (weighing.sample_pieces < 1) return "the sample needs one piece or more, counted by hand";
  if (weighing.sample_weight.sign() <= 0) return "the sample's weight is not above zero";
  if (weighing.resolution.sign() <= 0) return "the scale's step is not above zero";
  if (weighing.uncertainty.sign() < 0) return "the scale's uncertainty is below zero";
  if (weighing.spread.sign() < 0 || weighing.spread >= Fraction(1)) return "the spread of the pieces is no share from 0 to 1";
  if (weighing.tare_weight && weighing.tare_weight->sign() < 0) return "the bag's weight is below zero";
  if (weighing.gross_weight < weighing.tare_weight.value_or(0)) return "the bag alone weighs more than the full bag";
  if (weighing.sample_weight <= error_of_reading(weighing)) return "the sample weighs no more than the scale may be off; take a larger one";
  return "";
}

std::optional<WeightCount> count_by_weight(const Weighing& weighing) {
  const Fraction error = error_of_reading(weighing);
  const Fraction net = weighing.gross_weight - weighing.tare_weight.value_or(0);
  const Fraction net_error = weighing.tare_weight ? error + error : error;
  const Fraction pieces = weighing.sample_pieces;
  // The lightest and the heaviest mean piece that the sample allows, then that the others may have.
  const Fraction lightest = (weighing.sample_weight - error) / pieces / (Fraction(1) + weighing.spread) * (Fraction(1) - weighing.spread);
  const Fraction heaviest = (weighing.sample_weight + error) / pieces / (Fraction(1) - weighing.spread) * (Fraction(1) + weighing.spread);
  const Fraction lo = std::max((net - net_error) / heaviest, Fraction(0)).ceil();
  const Fraction hi = ((net + net_error) / lightest).floor();
  if (lo > hi || hi > Fraction(kMaxPieces)) return std::nullopt;
  return WeightCount{*lo.to_integer(), *hi.to_integer()};
}

WeightVerdict verdict_on(const std::optional<WeightCount>& count, std::int64_t expected) {
  if (!count) return WeightVerdict::CountByHand;
  if (count->lo >= expected) return WeightVerdict::AllThere;
  return count->hi < expected ? WeightVerdict::Short : WeightVerdict::CountByHand;
}

std::string says_of(const std::optional<WeightCount>& count, std::int64_t expected) {
  if (!count) return "no whole number of such pieces has this weight: count by hand";
  std::string says = std::to_string(count->lo);
  if (count->hi != count->lo) says += ".." + std::to_string(count->hi);
  says += " by weight; " + std::to_string(expected) + " expected: ";
  switch (verdict_on(count, expected)) {
    case WeightVerdict::AllThere: return says + "all there";
    case WeightVerdict::Short: return says + "short";
    case WeightVerdict::CountByHand: break;
  }
  return says + "count by hand, the weight could hide a gap";
}

}  // namespace kitgap
