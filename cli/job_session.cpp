#include "job_session.h"

#include <filesystem>

#include "job/packs.h"
#include "job/state.h"
#include "job/store.h"
#include "recording.h"
#include "tables.h"
#include "text/file.h"

namespace kitgap {
namespace {

// The one car of the job, or the one that --car names.
std::optional<std::string> car_of(const Arguments& arguments, const JobContents& contents, Terminal& terminal) {
  if (const auto name = arguments.value("--car")) return name;
  if (contents.cars.size() == 1) return contents.cars.front();
  std::string names;
  for (const std::string& car : contents.cars) names += (names.empty() ? "`" : ", `") + printable(car) + "`";
  terminal.say(contents.cars.empty() ? "kitgap: there is no car in this job yet\n`kitgap start --job FILE --rules DIR --name NAME` begins one\n"
                                     : "kitgap: name the car with --car: " + names + "\n");
  return std::nullopt;
}

std::vector<std::string> wanted_cars(const Arguments& arguments) {
  const auto name = arguments.value("--car");
  return name ? std::vector<std::string>{*name} : std::vector<std::string>{};
}

void lay_in_table(const Inputs& inputs, JobTable table, const std::string& name, std::vector<std::string>& paths, Sources& sources,
                  std::vector<std::int64_t>* records = nullptr) {
  std::string csv = table_csv(inputs.standing, table, *inputs.car_name, records);
  if (csv.empty()) return;
  sources.lay_in(name, std::move(csv));
  paths.insert(paths.begin(), name);
}

bool lay_in_job(const Arguments& arguments, Inputs& inputs, Sources& sources, Terminal& terminal) {
  std::optional<std::string> as_of;
  if (!read_as_of(arguments, as_of, terminal)) return false;
  const JobContents contents = read_job(*arguments.value("--job"), wanted_cars(arguments));
  inputs.car_name = car_of(arguments, contents, terminal);
  if (!inputs.car_name) return false;
  inputs.standing = standing_records(contents.records, as_of);
  inputs.cars = contents.cars.size();
  if (as_of && inputs.standing.empty()) throw JobRefused{"this job held nothing yet at the end of " + *as_of};
  const std::string begin = "job:" + *inputs.car_name + "/";
  inputs.car = begin + "car.json";
  sources.lay_in(inputs.car, car_json(inputs.standing, *inputs.car_name));
  if (inputs.lists.empty()) lay_in_table(inputs, JobTable::List, begin + "list.csv", inputs.lists, sources);
  lay_in_table(inputs, JobTable::Stock, "job:stock.csv", inputs.stocks, sources);
  std::vector<std::int64_t> order_records;
  lay_in_table(inputs, JobTable::Order, kJobOrder, inputs.orders, sources, &order_records);
  inputs.book = order_book(inputs.standing, order_records);
  if (contents.cars.size() > 1 && !arguments.has("--in-turn") && inputs.stocks.size() + inputs.orders.size() > 0) {
    terminal.say("stock and orders are shared with the job's other cars; here all of it is for `" + printable(*inputs.car_name) +
                 "`, --in-turn gives it what the cars before it leave\n");
  }
  if (!inputs.found) {
    std::vector<std::string> found;
    lay_in_table(inputs, JobTable::Found, begin + "found.csv", found, sources);
    if (!found.empty()) inputs.found = found.front();
  }
  if (inputs.rules.empty()) {
    inputs.rules = pack_folders(inputs.standing, *arguments.value("--job"), sources, terminal);
  }
  for (const char* file : {"list", "stock", "order", "found"}) {
    for (auto& pair : remembered_columns(inputs.standing, file)) inputs.renamed.push_back(std::move(pair));
  }
  return true;
}

}  // namespace

std::vector<std::string> pack_folders(const std::vector<Record>& standing, const std::string& job, Sources& sources, Terminal& terminal) {
  namespace fs = std::filesystem;
  std::vector<std::string> folders;
  std::error_code ignored;
  for (const PackInUse& pack : packs_in_use(standing)) {
    const fs::path path = pack.path;
    const fs::path beside = fs::path(job).parent_path() / path;
    if (fs::exists(path / "datapackage.json", ignored)) {
      folders.push_back(path.string());
    } else if (fs::exists(beside / "datapackage.json", ignored)) {
      folders.push_back(beside.string());
    } else if (const auto kept = lay_in_pack(standing, pack.name, pack.hash, sources)) {
      terminal.say("the pack `" + printable(pack.name) + "` is not at `" + printable(pack.path) + "`: the job's own copy is used\n");
      folders.push_back(*kept);
    } else {
      folders.push_back(path.string());  // the reader says what is missing
    }
  }
  return folders;
}

std::vector<Option> job_options() {
  return {{"--job", "FILE", "the job file to read the car, its list, counts, stock and orders from", false, false},
          {"--car", "NAME", "which car of the job", false, false},
          {"--in-turn", "", "with --car: only what the cars before it leave of stock and orders", false, false},
          as_of_option()};
}

std::optional<Inputs> inputs_of(const Arguments& arguments, Sources& sources, Terminal& terminal) {
  Inputs inputs;
  inputs.stocks = arguments.values("--stock");
  inputs.orders = arguments.values("--order");
  inputs.found = arguments.value("--found");
  inputs.rules = arguments.values("--rules");
  auto given = columns_of(arguments, terminal);
  if (!given) return std::nullopt;
  inputs.renamed = std::move(*given);
  inputs.given_columns = inputs.renamed.size();
  inputs.sheets = arguments.values("--sheet");
  const bool has_job = arguments.has("--job");
  auto list = arguments.positionals.begin();
  if (!has_job) {
    if (arguments.positionals.empty()) {
      terminal.say("kitgap: name a car file, or a job with --job\n");
      return std::nullopt;
    }
    inputs.car = *list++;
    if (arguments.has("--as-of") || arguments.has("--car") || arguments.has("--in-turn")) {
      terminal.say("kitgap: `--car`, `--in-turn` and `--as-of` go with `--job`\n");
      return std::nullopt;
    }
  }
  inputs.lists.assign(list, arguments.positionals.end());
  if (has_job && !lay_in_job(arguments, inputs, sources, terminal)) return std::nullopt;
  if (inputs.rules.empty()) {
    terminal.say(has_job ? "kitgap: this job names no packs yet: give them with --rules\n" : "kitgap: `--rules` is missing: a pack of rules\n");
    return std::nullopt;
  }
  return inputs;
}

}  // namespace kitgap
