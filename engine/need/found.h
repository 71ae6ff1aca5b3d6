#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "pack/rules.h"

namespace kitgap {

enum class CountedIn : std::uint8_t { NotSaid, Shell, OldPart };
enum class OldCondition : std::uint8_t { NotLookedAt, Good, Restorable, Broken, Absent };

// One record of what was counted or seen on this car.
struct FoundRecord {
  PartId parent;  // Rules::kCar for the car
  std::vector<PositionId> leaves;
  PartId part;
  Fraction count;
  CountedIn counted_in = CountedIn::NotSaid;
  OldCondition condition = OldCondition::NotLookedAt;
  std::string bag, photo, by, note;
  std::optional<std::int64_t> day;
  std::uint32_t line = 0;
  std::vector<std::pair<std::string, std::string>> as_typed;  // the cells by the names of FORMATS
};

// FOUND of FORMATS, row by row: read, or set aside with the reason.
struct Found {
  std::string file;
  std::vector<FoundRecord> records;
  struct SetAside {
    std::uint32_t line;
    std::string as_typed;
    std::string reason;
    bool is_silent = false;  // the header or a blank row: counted, but nothing to tell a person of
  };
  std::vector<SetAside> set_aside;
  std::vector<std::string> remarks;  // columns under another name, columns not used
};

// What the records say of one line (parent, position, part), later records before earlier ones.
struct CountOfLine {
  std::optional<Fraction> in_shell;     // per one parent
  std::optional<Fraction> on_old_part;  // per one parent
  bool is_recorded_as_old = false;      // some record says what is there as old pieces
  Fraction usable;                      // old pieces good or restorable
  Fraction not_looked_at;               // none or all of these
  Fraction present;                     // good, restorable or broken: there to mark out from
  std::string bag;
  std::uint32_t line = 0;               // the record that counted, for reasons
};
CountOfLine count_of(const Found& found, PartId parent, PositionId position, PartId part);

}  // namespace kitgap
