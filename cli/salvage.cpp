#include "session.h"

namespace kitgap {
namespace {

int run_salvage(const Arguments& arguments, Terminal& terminal) { return run_report(arguments, terminal, salvage_text, salvage_json); }

}  // namespace

Command salvage_command() {
  return {.name = "salvage",
          .group = Group::YourCar,
          .answers = "What to take off the old parts before they go, how each piece comes off, and whether an old part may go.",
          .positionals = {{"CAR", "the car file; with --job the job's car", false, false}, {"LIST", "the planned parts", false, false}},
          .options = car_options({{"--only", "POSITION|PART", "one place or part", false, false}, {"--format", "text|json", "how to write it", false, false}}),
          .examples = {{"kitgap salvage data/demo/home/car.json data/demo/home/list.csv --rules rules/demo --found data/demo/home/found.csv", "the demonstration car's old panels"}},
          .run = run_salvage};
}

}  // namespace kitgap
