#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "commands.h"
#include "job/orders.h"
#include "job/record.h"
#include "text/diagnostics.h"

namespace kitgap {

// What a command reads, from its arguments or from a job: paths for the readers, and what the job remembers.
struct Inputs {
  std::string car;
  std::vector<std::string> lists, stocks, orders;
  std::optional<std::string> found;
  std::vector<std::string> rules;
  std::vector<std::pair<std::string, std::string>> renamed;  // theirs=ours: those given first, then those the job remembers
  std::size_t given_columns = 0;                             // of `renamed`
  std::vector<std::string> sheets;                           // NAME, or FILE=NAME
  std::optional<std::string> car_name;    // in the job
  std::vector<Record> standing;           // the job's records; empty without one
  OrderBook book;                         // what came of `kJobOrder`
  std::size_t cars = 1;                   // in the job
};
inline constexpr const char* kJobOrder = "job:order.csv";

// --job, --car, --as-of
std::vector<Option> job_options();

// Where the packs of a job are: at the path it knows, beside the job file, or as it keeps them (said when so).
std::vector<std::string> pack_folders(const std::vector<Record>& standing, const std::string& job, Sources& sources, Terminal& terminal);

// With --job the car, its list and counts, the stock and the orders are the job's, laid into `sources`; what is named
// on the command line stands beside the stock and orders, and in place of the list and the counts. Only then SQLite
// is used at all. Nothing, said, when something is missing.
std::optional<Inputs> inputs_of(const Arguments& arguments, Sources& sources, Terminal& terminal);

}  // namespace kitgap
