#pragma once

#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "arrival/sharing.h"
#include "commands.h"
#include "job_session.h"
#include "tables.h"
#include "need/found_read.h"
#include "text/file.h"
#include "report/report.h"

namespace kitgap {

// What every command about a car reads first: packs, car, lists. Holds all that an answer refers to.
struct Session {
  SharedSupplies* shared = nullptr;  // what cars before this one took of stock and orders; this one's is added
  Inputs inputs;
  Sources sources;
  Diagnostics diagnostics;
  std::optional<Rules> rules;
  std::optional<Car> car;
  Found found;
  std::vector<ReadList> lists;
  std::optional<Knowledge> knowledge;
  std::optional<NeedModel> needs;
  std::optional<Supplies> supplies;
  std::optional<CoverModel> cover;
  bool says_rows = true;  // how the rows of files add up goes to standard error; a report may say it itself
};

// The options that these commands share: --rules, --stock, --order, --found, --columns, --job, --car, --as-of.
std::vector<Option> car_options(std::vector<Option> further);

// Reads packs, car and lists and joins them: those of CAR [LIST], or a job's. False, with everything said on standard
// error, when something is refused.
bool open_session(Session& session, const Arguments& arguments, Terminal& terminal);
// Of a command whose positionals are not CAR [LIST].
bool open_session(Session& session, const std::string& car_path, const std::vector<std::string>& list_paths,
                  const Arguments& arguments, Terminal& terminal);
// The same with the inputs of a job at hand, already laid into the session's sources.
bool open_session(Session& session, Inputs inputs, Terminal& terminal);
// Of the job's order, among the session's lists: what came of it is moved to a list of stock; the rest is still on its way.
void settle_order(Session& session);
// The answer in words; nothing, said, when the tables contradict themselves for this car.
std::optional<Report> report_of(Session& session, bool has_list, Terminal& terminal);
// What the packs' change since the job took them does to this car: the report by the packs as the job keeps them against
// `now`. Nothing when none has changed, or when it cannot be worked out, which is said.
std::optional<std::vector<Change>> changes_by_packs(const Session& session, const Arguments& arguments, const Report& now, Terminal& terminal);

// `--format`, one of `allowed`; the first is the default. Nothing when refused.
std::optional<std::string> format_of(const Arguments& arguments, const std::vector<std::string>& allowed, Terminal& terminal);

// Runs `work` for the car that is meant, or, with a job and no --car, for each of its cars in the order in which they came
// into it: what an earlier one may use of stock and orders is not there for a later one. The worst status of all.
int for_each_car(const Arguments& arguments, Terminal& terminal, const std::function<int(const Arguments&, SharedSupplies&)>& work);
// With --in-turn, notes what the cars before the one named with --car may use of stock and orders, so that it gets what they
// leave: the figures that `check --job` shows for it among all. False, said, when that cannot be done.
bool take_turns(const Arguments& arguments, SharedSupplies& shared, Terminal& terminal);
// The arguments for one of several cars that are asked in turn.
Arguments of_car_in_turn(const Arguments& arguments, const std::string& car);
// The cars of the job that the arguments name, in that order; of no job: none.
std::vector<std::string> cars_of_job(const Arguments& arguments);

// A command that shows the report of CAR [LIST] in a face of its own, text or JSON.
int run_report(const Arguments& arguments, Terminal& terminal, std::string (*text)(const Report&, int), std::string (*json)(const Report&));

}  // namespace kitgap
