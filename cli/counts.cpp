#include "session.h"

namespace kitgap {
namespace {

int run_counts(const Arguments& arguments, Terminal& terminal) { return run_report(arguments, terminal, counts_text, counts_json); }

}  // namespace

Command counts_command() {
  return {.name = "counts",
          .group = Group::YourCar,
          .answers = "Clips, seals, holes and fasteners of each panel, with the arithmetic, to be checked by hand in a minute.",
          .positionals = {{"CAR", "the car file; with --job the job's car", false, false}, {"LIST", "the planned parts", false, false}},
          .options = car_options({{"--only", "POSITION|PART", "one place or part", false, false}, {"--format", "text|json", "how to write it", false, false}}),
          .examples = {{"kitgap counts data/demo/home/car.json --rules rules/demo --only front.left", "one door's clips, seals and holes"}},
          .run = run_counts};
}

}  // namespace kitgap
