#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "commands.h"
#include "job/record.h"
#include "text/diagnostics.h"

namespace kitgap {

// What a command reads, from its arguments or from a job: paths for the readers, and what the job remembers.
struct Inputs {
  std::string car;
  std::vector<std::string> lists, stocks, orders;
  std::optional<std::string> found;
  std::vector<std::string> rules;
  std::vector<std::pair<std::string, std::string>> renamed;  // theirs=ours
  std::optional<std::string> car_name;    // in the job
  std::vector<Record> standing;           // the job's records; empty without one
};

// --job, --car, --as-of
std::vector<Option> job_options();

// With --job the car, its list and counts, the stock and the orders are the job's, laid into `sources`; what is named
// on the command line stands beside the stock and orders, and in place of the list and the counts. Only then SQLite
// is used at all. Nothing, said, when something is missing.
std::optional<Inputs> inputs_of(const Arguments& arguments, Sources& sources, Terminal& terminal);

}  // namespace kitgap
