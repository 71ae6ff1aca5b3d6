#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "text/diagnostics.h"
#include "value/fraction.h"

namespace kitgap {

// Looking at some pieces of a large lot instead of all: single sampling, normal inspection, general level II of MIL-STD-105E (ISO
// 2859-1). It judges the lot's quality (damaged, wrong); it never counts the lot.

inline constexpr std::int64_t kLeastLotToSample = 300;  // below it count and look at everything; common practice, no source

struct CodeLetter {
  std::int64_t lot_from = 0;
  std::optional<std::int64_t> lot_to;  // nothing: and over
  std::string letter;
  std::int64_t sample_size = 0;
};

enum class Arrow : std::uint8_t { None, Down, Up };

struct PlanCell {
  std::string letter;
  Fraction aql_percent;
  Arrow arrow = Arrow::None;
  std::int64_t accept = 0;  // of cells without an arrow
  std::int64_t reject = 0;
};

struct SamplingTables {
  std::vector<CodeLetter> letters;  // by lot size; the order of the letters
  std::vector<PlanCell> cells;
  std::vector<Fraction> aqls() const;  // percent, rising
};

// Reads `sampling-code-letters.csv` and `sampling-plans.csv` from the folder of the standards' tables. Everything wrong is
// reported; nothing is returned then.
[[nodiscard]] std::optional<SamplingTables> read_sampling_tables(const std::filesystem::path& folder, Sources& sources,
                                                                 Diagnostics& diagnostics);

// The same two tables as they stood in `data/standards` when the program was built.
extern const char* const kSamplingLetters;
extern const char* const kSamplingPlans;

struct SamplingPlan {
  std::string lot_letter;   // by the size of the lot
  std::string plan_letter;  // where the arrows end
  std::int64_t sample_size = 0;  // pieces to look at; the whole lot where the plan's sample is as large or larger
  std::int64_t accept = 0;  // accept the lot with at most so many bad pieces
  std::int64_t reject = 0;
  bool inspect_all = false;
  friend bool operator==(const SamplingPlan&, const SamplingPlan&) = default;
};

// Nothing when the lot has fewer than 2 pieces or the tables have no such AQL (in percent).
[[nodiscard]] std::optional<SamplingPlan> plan_for(const SamplingTables& tables, std::int64_t lot_size, const Fraction& aql_percent);

// The chance that a plan accepts, worked out exactly and rounded to `digits` (1..15) digits after the point.
// From a long run of pieces of which the share `bad` (0..1, denominator at most 1,000,000) is bad. `sample` at most 2,000.
std::string acceptance_of_share(std::int64_t sample, std::int64_t accept, const Fraction& bad, int digits = 10);
// From a lot of `lot` pieces (at most 100,000) of which `bad` are bad.
std::string acceptance_of_lot(std::int64_t lot, std::int64_t bad, std::int64_t sample, std::int64_t accept, int digits = 10);

}  // namespace kitgap
