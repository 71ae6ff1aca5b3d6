#pragma once

#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "arrival/sampling.h"
#include "arrival/weighing.h"
#include "cover/model.h"

namespace kitgap {

// One row of COUNTS: what somebody counted out of a parcel.
struct CountedRow {
  std::uint32_t line = 0;
  std::string part_number, part, bag, note;
  std::vector<PositionId> leaves;
  Hand hand = Hand::None;
  Fraction counted;
  Fraction damaged;
  std::optional<Weighing> weighing;   // in place of the count
  std::optional<Fraction> looked_at;  // of a large lot: how many were looked at, and how many of these were bad
  Fraction bad;
  std::string as_typed;
  std::string set_aside;  // why it is no count; empty: it is one
  bool is_silent = false;  // set aside as the header or a blank row: nothing to tell a person of
};

// COUNTS of FORMATS, every row read or set aside. Beside its columns it may have `bag`, those of a weighing (`sample
// pieces`, `sample weight`, `full weight`, `empty weight`, `scale step`, `spread`) and of a sample (`looked at`, `bad of these`). Nothing only where the file is no table.
[[nodiscard]] std::optional<std::vector<CountedRow>> read_counts(const std::filesystem::path& path, const Rules& rules, Sources& sources,
                                                                 Diagnostics& diagnostics,
                                                                 std::span<const std::pair<std::string, std::string>> renamed = {},
                                                                 const std::string& sheet = {});

// What should have come against what was counted, in pieces of the part's own unit.
struct ArrivalLine {
  std::optional<std::uint32_t> order_line;
  std::string part_number, part, position;
  std::string place;     // as `place_word` gives it
  std::string supplier;  // empty: the order line names no offer
  std::optional<Fraction> return_days;  // of the offer, else of its supplier
  bool is_returnable = true;
  std::string unit = "each";
  Range expected;
  std::optional<Fraction> counted;  // nothing: no row counts it
  Fraction damaged;
  std::size_t counts_row = 0;       // of what nobody ordered: the row that counts it
  Fraction over, lacking, wrong;    // wrong: of the other hand or place
  std::string says;
  bool is_right() const { return over.is_zero() && lacking.is_zero() && wrong.is_zero() && damaged.is_zero(); }
};

// What one row of COUNTS gave to one line.
struct Taking {
  std::size_t line = 0;  // index into ArrivalAudit::lines
  std::size_t row = 0;   // index into the rows given
  Fraction counted, damaged;
  bool is_wrong = false;  // of the other hand or place: it came, but not for this line
};

struct ArrivalAudit {
  std::vector<ArrivalLine> lines;
  std::vector<Taking> takings;
  std::vector<std::string> pieces;  // contents and counts against the stated number of pieces
  std::vector<CountedRow> set_aside;
  bool is_right() const;
};

// `supplies` are the order's lines opened to pieces; rows of COUNTS are matched by number, part and hand. A row by weight
// counts what it must be at least; where that leaves it open whether a piece is missing, it is set aside: count by hand.
// With `is_part` the counts are of one parcel of several: what nobody counted is still on its way.
[[nodiscard]] ArrivalAudit audit_of(const NeedModel& needs, const Supplies& supplies, const std::vector<CountedRow>& counts, bool is_part = false);

// Large lots of what was counted, judged by a sample: what to look at, and what the look says of the lot.
[[nodiscard]] std::vector<std::string> sampling_of(const ArrivalAudit& audit, const std::vector<CountedRow>& counts,
                                                   const SamplingTables& tables, const Fraction& aql_percent);

}  // namespace kitgap
