#include "arrival/sampling.h"

#include <algorithm>

#include "arrival/natural.h"
#include "measure/standard_table.h"
#include "value/internal_error.h"

namespace kitgap {
namespace {

// The chance as a fraction of two whole numbers, added up by the number of bad pieces in the sample.
struct Chance {
  Natural part;
  Natural whole;
};

Natural power(std::uint32_t base, std::int64_t exponent) {
  Natural value(1);
  for (std::int64_t i = 0; i < exponent; ++i) value.multiply(base);
  return value;
}

Natural choose(std::int64_t from, std::int64_t count) {
  if (count < 0 || count > from) return Natural();
  count = std::min(count, from - count);
  Natural value(1);
  for (std::int64_t i = 1; i <= count; ++i) {
    value.multiply(static_cast<std::uint32_t>(from - count + i));
    value.divide_exactly(static_cast<std::uint32_t>(i));
  }
  return value;
}

void multiply_by_choice(Natural& value, std::int64_t from, std::int64_t count) {
  if (count < 0 || count > from) value = Natural();
  for (std::int64_t i = 1; i <= count && !value.is_zero(); ++i) {
    value.multiply(static_cast<std::uint32_t>(from - count + i));
    value.divide_exactly(static_cast<std::uint32_t>(i));
  }
}

}  // namespace

std::vector<Fraction> SamplingTables::aqls() const {
  std::vector<Fraction> all;
  for (const PlanCell& cell : cells) {
    if (std::find(all.begin(), all.end(), cell.aql_percent) == all.end()) all.push_back(cell.aql_percent);
  }
  std::sort(all.begin(), all.end());
  return all;
}

std::optional<SamplingTables> read_sampling_tables(const std::filesystem::path& folder, Sources& sources, Diagnostics& diagnostics) {
  const std::size_t errors = diagnostics.error_count();
  auto letters = StandardTable::open(folder / "sampling-code-letters.csv", sources, diagnostics);
  auto plans = StandardTable::open(folder / "sampling-plans.csv", sources, diagnostics);
  SamplingTables tables;
  for (std::size_t row = 0; letters && row < letters->rows(); ++row) {
    CodeLetter letter{.lot_from = letters->whole(row, "lot_from"), .lot_to = std::nullopt, .letter = letters->text(row, "letter"),
                      .sample_size = letters->whole(row, "sample_size")};
    if (!letters->text(row, "lot_to").empty()) letter.lot_to = letters->whole(row, "lot_to");
    tables.letters.push_back(std::move(letter));
  }
  for (std::size_t row = 0; plans && row < plans->rows(); ++row) {
    const std::string arrow = plans->text(row, "arrow");
    PlanCell cell{.letter = plans->text(row, "letter"), .aql_percent = plans->figure(row, "aql_percent"),
                  .arrow = arrow == "down" ? Arrow::Down : arrow == "up" ? Arrow::Up : Arrow::None};
    if (cell.arrow == Arrow::None) {
      cell.accept = plans->whole(row, "accept");
      cell.reject = plans->whole(row, "reject");
    }
    tables.cells.push_back(std::move(cell));
  }
  if (diagnostics.error_count() != errors || tables.letters.empty() || tables.cells.empty()) return std::nullopt;
  return tables;
}

std::optional<SamplingPlan> plan_for(const SamplingTables& tables, std::int64_t lot_size, const Fraction& aql_percent) {
  const auto fits = [&](const CodeLetter& each) { return each.lot_from <= lot_size && (!each.lot_to || lot_size <= *each.lot_to); };
  const auto own = std::find_if(tables.letters.begin(), tables.letters.end(), fits);
  if (own == tables.letters.end()) return std::nullopt;
  auto letter = own;
  // An arrow never leads back, so a table with more steps than letters is damaged.
  for (std::size_t step = 0; step <= tables.letters.size(); ++step) {
    const auto cell = std::find_if(tables.cells.begin(), tables.cells.end(), [&](const PlanCell& each) {
      return each.letter == letter->letter && each.aql_percent == aql_percent;
    });
    if (cell == tables.cells.end()) return std::nullopt;
    if (cell->arrow == Arrow::None) {
      SamplingPlan plan{own->letter, letter->letter, letter->sample_size, cell->accept, cell->reject, false};
      plan.inspect_all = plan.sample_size >= lot_size;
      plan.sample_size = std::min(plan.sample_size, lot_size);
      return plan;
    }
    if (cell->arrow == Arrow::Up && letter == tables.letters.begin()) return std::nullopt;
    letter += cell->arrow == Arrow::Down ? 1 : -1;
    if (letter == tables.letters.end()) return std::nullopt;
  }
  return std::nullopt;
}

std::string acceptance_of_share(std::int64_t sample, std::int64_t accept, const Fraction& bad, int digits) {
  require(bad.sign() >= 0 && bad <= Fraction(1) && bad.denominator() <= 1'000'000, "a share is 0..1 and not finer than a millionth");
  require(sample >= 0 && sample <= 2'000 && digits >= 1 && digits <= 15, "a sample has at most 2,000 pieces");
  const auto whole = static_cast<std::uint32_t>(bad.denominator());
  const auto wrong = static_cast<std::uint32_t>(bad.numerator());
  Chance chance{.part = Natural(), .whole = power(whole, sample)};
  for (std::int64_t k = 0; k <= std::min(accept, sample); ++k) {
    Natural term = choose(sample, k);
    for (std::int64_t i = 0; i < k; ++i) term.multiply(wrong);
    for (std::int64_t i = k; i < sample; ++i) term.multiply(whole - wrong);
    chance.part.add(term);
  }
  return decimal_of(std::move(chance.part), chance.whole, digits);
}

std::string acceptance_of_lot(std::int64_t lot, std::int64_t bad, std::int64_t sample, std::int64_t accept, int digits) {
  require(0 <= bad && bad <= lot && lot <= 100'000, "the bad pieces are some of at most 100,000");
  require(0 <= sample && sample <= lot && digits >= 1 && digits <= 15, "the sample is a part of the lot");
  Chance chance{.part = Natural(), .whole = choose(lot, sample)};
  for (std::int64_t k = 0; k <= std::min({accept, bad, sample}); ++k) {
    Natural term = choose(bad, k);
    multiply_by_choice(term, lot - bad, sample - k);
    chance.part.add(term);
  }
  return decimal_of(std::move(chance.part), chance.whole, digits);
}

}  // namespace kitgap
