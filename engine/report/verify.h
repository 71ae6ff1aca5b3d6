#pragma once

#include <optional>
#include <string>
#include <vector>

#include "pack/rules.h"

namespace kitgap {

// A line, or another part of the report, that does not follow from what the report itself names.
struct Fault {
  std::string where;
  std::string says;
};

struct ReportProof {
  std::size_t lines = 0;
  std::size_t needs_proven = 0;  // worked out again from their rows alone
  std::size_t gaps = 0;
  std::size_t gaps_proven = 0;  // from their rivals
  std::vector<Fault> faults;
  std::vector<Fault> not_proven;  // lines whose rows alone do not say their figure, with why
};

// Proves a report that `check --format json` wrote: every need from the rows it names, every gap from its rivals,
// every sum, and by its seal that no hand changed an entry. Nothing, reported, when the file is no such report.
[[nodiscard]] std::optional<ReportProof> verify_report(SourceId report, const Rules& rules, Sources& sources, Diagnostics& diagnostics);

std::string verify_text(const ReportProof& verification, int width);
std::string verify_json(const ReportProof& verification);

}  // namespace kitgap
