#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "commands.h"
#include "job_session.h"
#include "need/found_read.h"
#include "text/file.h"
#include "report/report.h"

namespace kitgap {

// What every command about a car reads first: packs, car, lists. Holds all that an answer refers to.
struct Session {
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
};

// The options that these commands share: --rules, --stock, --order, --found, --columns, --job, --car, --as-of.
std::vector<Option> car_options(std::vector<Option> further);

// Reads packs, car and lists and joins them: those of CAR [LIST], or a job's. False, with everything said on standard
// error, when something is refused.
bool open_session(Session& session, const Arguments& arguments, Terminal& terminal);
// Of a command whose positionals are not CAR [LIST].
bool open_session(Session& session, const std::string& car_path, const std::vector<std::string>& list_paths,
                  const Arguments& arguments, Terminal& terminal);
// The answer in words; nothing, said, when the tables contradict themselves for this car.
std::optional<Report> report_of(Session& session, bool has_list, Terminal& terminal);

// `--format`, one of `allowed`; the first is the default. Nothing when refused.
std::optional<std::string> format_of(const Arguments& arguments, const std::vector<std::string>& allowed, Terminal& terminal);

// A command that shows the report of CAR [LIST] in a face of its own, text or JSON.
int run_report(const Arguments& arguments, Terminal& terminal, std::string (*text)(const Report&, int), std::string (*json)(const Report&));

}  // namespace kitgap
