#include "measure/strip.h"
#include "order_cars.h"
#include "output.h"
#include "recording.h"
#include "report/pages.h"
#include "text/file.h"
#include "value/unit.h"
#include "work/roll.h"

namespace kitgap {
namespace {

// Seconds, a plain number above zero and at most a day. False when refused.
bool read_time_limit(const Arguments& arguments, CutLimits& limits, Terminal& terminal) {
  const auto typed = arguments.value("--time-limit");
  if (!typed) return true;
  const auto seconds = Fraction::parse(*typed);
  if (!seconds || seconds->sign() <= 0 || *seconds > Fraction(86'400)) {
    terminal.say("kitgap: `" + printable(*typed) + "` is no number of seconds from 0 to 86400\n");
    return false;
  }
  limits.seconds = seconds->to_approximate();
  return true;
}

std::optional<StripJob> job_of_file(const std::string& path, Terminal& terminal) {
  Sources sources;
  Diagnostics diagnostics;
  const auto source = read_file(path, sources, diagnostics);
  auto job = source ? read_strip_job(*source, sources, diagnostics) : std::nullopt;
  if (!job) terminal.say(layout(diagnostics, sources));
  return job;
}

// `--width`, a length above zero, in millimetres.
std::optional<Fraction> roll_width(const Arguments& arguments, Terminal& terminal) {
  const std::string typed = arguments.value("--width").value_or("");
  const auto measured = parse_measured(typed);
  const auto width = measured ? convert(measured->quantity, measured->unit, Unit::Millimetre) : std::nullopt;
  if (width && width->sign() > 0) return width;
  terminal.say(typed.empty() ? "kitgap cut: `--width` is missing: how wide the roll is, as `1.5 m`\n"
                             : "kitgap cut: `" + printable(typed) + "` is no width of a roll; write it with its unit, as `1.5 m`\n");
  return std::nullopt;
}

// The part that is cut, which must be measured by area; nothing, said, when it is not one.
std::optional<PartId> cut_part(const Arguments& arguments, const Session& session, Terminal& terminal) {
  const auto name = arguments.value("--part");
  const auto part = name ? session.rules->find_part(*name) : std::nullopt;
  if (!part) {
    const std::string near = name ? nearest(*name, session.rules->part_keys) : "";
    terminal.say(name ? "kitgap cut: `" + printable(*name) + "` is no part of these packs\n" + (near.empty() ? "" : "did you mean `" + near + "`?\n")
                      : "kitgap cut: `--part` is missing: the film, padding or cloth that is cut\n");
    return std::nullopt;
  }
  const Unit unit = session.needs->part_row(*part).unit;
  if (dimension_of(unit) == Dimension::Area) return part;
  terminal.say("kitgap cut: `" + printable(*name) + "` is counted in " + std::string(word_of(unit)) + ", not by area\n");
  return std::nullopt;
}

// What the cars cut from one roll; a piece that may not be called for is laid all the same, and said.
std::optional<StripJob> job_of_cars(const Arguments& arguments, Terminal& terminal) {
  const auto width = roll_width(arguments, terminal);
  OrderedCars cars;
  if (!width || !read_cars(arguments, cars, terminal)) return std::nullopt;
  StripJob job{.strip_width = *width, .may_turn = arguments.has("--turn"), .panels = {}};
  for (std::size_t at = 0; at < cars.sessions.size(); ++at) {
    const Session& session = *cars.sessions[at];
    const std::string of = cars.sessions.size() > 1 ? session.car->name + ": " : "";
    const auto part = cut_part(arguments, session, terminal);
    if (!part) return std::nullopt;
    const RollPieces found = roll_pieces_of(*session.needs, cars.answers[at], *part);
    for (const std::string& aside : found.aside) terminal.say("not laid: " + printable(of + aside) + "\n");
    for (const RollPiece& piece : found.pieces) {
      const auto most = piece.count.hi.ceil().to_integer();
      if (!most || *most < 1) continue;
      const std::string name = of + piece.assembly + ", " + piece.position;
      if (piece.count.lo != piece.count.hi) terminal.say("perhaps not needed: " + printable(name) + "\n");
      job.panels.push_back({.panel = name, .width = piece.width, .height = piece.height, .quantity = *most});
    }
  }
  const std::string wrong = job.panels.empty() ? "nothing of it can be laid for this car" : what_is_wrong_with(job);
  if (wrong.empty()) return job;
  terminal.say("kitgap cut: " + printable(wrong) + "\n");
  return std::nullopt;
}

int cut(const Arguments& arguments, Terminal& terminal) {
  const bool has_file = arguments.has("--from");
  const auto output = output_of(arguments, has_file ? std::vector<std::string>{"json", "text", "svg", "html"} : std::vector<std::string>{"text", "json", "svg", "html"}, terminal);
  if (!output) return kBadInput;
  CutLimits limits;
  if (!read_time_limit(arguments, limits, terminal)) return kBadInput;
  if (!has_file && arguments.positionals.empty() && !arguments.has("--job")) {
    terminal.say("kitgap cut: name a car file, a job with --job, or the panels with --from\n");
    return kBadInput;
  }
  if (has_file && (!arguments.positionals.empty() || arguments.has("--job"))) {
    terminal.say("kitgap cut: `--from` stands in place of a car\n");
    return kBadInput;
  }
  const auto job = has_file ? job_of_file(*arguments.value("--from"), terminal) : job_of_cars(arguments, terminal);
  if (!job) return kBadInput;
  const CutPlan plan = plan_cut(*job, limits);
  if (!has_file) terminal.say("all lengths are in mm\n");
  deliver(*output, output->is("html")   ? cut_html(*job, plan)
                   : output->is("json") ? cut_json(*job, plan)
                   : output->is("svg")  ? cut_svg(*job, plan)
                                        : cut_text(*job, plan),
          terminal);
  return kDone;
}

int run_cut(const Arguments& arguments, Terminal& terminal) {
  return with_job(terminal, [&] { return cut(arguments, terminal); });
}

}  // namespace

Command cut_command() {
  return {.name = "cut",
          .group = Group::YourCar,
          .answers = "Film and padding laid on the roll: whole panels, the least length, and a picture to cut by.",
          .positionals = {{"CAR", "the car file; with --job the job's cars, all on one roll", false, false}, {"LIST", "the planned parts", false, true}},
          .options = car_options({{"--part", "PART", "the film, padding or cloth that is cut", false, false},
                                  {"--width", "LENGTH", "how wide the roll is: `1.5 m`", false, false},
                                  {"--turn", "", "panels may be turned: there is no pile, grain or pattern", false, false},
                                  {"--from", "FILE.json", "instead of a car: the roll's width, whether panels may turn, and the panels", false, false},
                                  {"--time-limit", "SECONDS", "stop earlier, with the length and the bound proven by then", false, false},
                                  {"--format", "text|json|svg|html", "how to write it; of --from else json", false, false}, out_option()}),
          .examples = {{"kitgap cut data/demo/home/car.json --part vapour-film --width \"1.5 m\" --turn --rules rules/demo", "the door film of the demonstration car"}},
          .run = run_cut};
}

}  // namespace kitgap
