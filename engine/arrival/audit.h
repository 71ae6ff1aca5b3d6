#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "cover/model.h"

namespace kitgap {

// One row of COUNTS: what somebody counted out of a parcel.
struct CountedRow {
  std::uint32_t line = 0;
  std::string part_number, part, note;
  std::vector<PositionId> leaves;
  Hand hand = Hand::None;
  Fraction counted;
  Fraction damaged;
  std::string as_typed;
  std::string set_aside;  // why it is no count; empty: it is one
};

// COUNTS of FORMATS, every row read or set aside. Nothing only where the file is no table.
[[nodiscard]] std::optional<std::vector<CountedRow>> read_counts(const std::filesystem::path& path, const Rules& rules, Sources& sources,
                                                                 Diagnostics& diagnostics);

// What should have come against what was counted, in pieces of the part's own unit.
struct ArrivalLine {
  std::optional<std::uint32_t> order_line;
  std::string part_number, part, position;
  std::string unit = "each";
  Range expected;
  std::optional<Fraction> counted;  // nothing: no row counts it
  Fraction damaged;
  Fraction over, lacking, wrong;    // wrong: of the other hand or place
  std::string says;
  bool is_right() const { return over.is_zero() && lacking.is_zero() && wrong.is_zero() && damaged.is_zero(); }
};

struct ArrivalAudit {
  std::vector<ArrivalLine> lines;
  std::vector<std::string> pieces;  // contents and counts against the stated number of pieces
  std::vector<CountedRow> set_aside;
  bool is_right() const;
};

// `supplies` are the order's lines opened to pieces; rows of COUNTS are matched by number, part and hand.
[[nodiscard]] ArrivalAudit audit_of(const NeedModel& needs, const Supplies& supplies, const std::vector<CountedRow>& counts);

}  // namespace kitgap
