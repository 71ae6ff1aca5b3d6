#pragma once

#include <optional>
#include <string>
#include <vector>

#include "arrival/audit.h"

namespace kitgap {

// What goes with an audit: the day of the parcel (ISO; empty: not said), what a sample says of large lots, and the
// records of a job that it made.
struct ArrivalNotes {
  std::string day;
  std::string slip;  // the supplier's own number of the parcel
  std::vector<std::string> sampling;
  std::vector<std::int64_t> records;
};

// The arrival audit for people, with a letter for each supplier that something is wrong with, and for programs
// (`receive/1`).
std::string arrival_text(const ArrivalAudit& audit, const ArrivalNotes& notes, int width);
std::string arrival_json(const ArrivalAudit& audit, const ArrivalNotes& notes);

// What is expected, to be counted and ticked: on paper, or as COUNTS to be filled in.
std::string tick_sheet_text(const ArrivalAudit& expected, int width);
std::string tick_sheet_csv(const ArrivalAudit& expected);

}  // namespace kitgap
