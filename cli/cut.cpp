#include "commands.h"
#include "measure/strip.h"
#include "report/pages.h"
#include "text/file.h"

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

int run_cut(const Arguments& arguments, Terminal& terminal) {
  const std::string format = arguments.value("--format").value_or("json");
  if (format != "text" && format != "json" && format != "svg" && format != "html") {
    terminal.say("kitgap: `" + printable(format) + "` is no format of `cut`; it writes text, json, svg or html\n");
    return kBadInput;
  }
  CutLimits limits;
  if (!read_time_limit(arguments, limits, terminal)) return kBadInput;
  Sources sources;
  Diagnostics diagnostics;
  const auto source = read_file(*arguments.value("--from"), sources, diagnostics);
  const auto job = source ? read_strip_job(*source, sources, diagnostics) : std::nullopt;
  if (!job) {
    terminal.say(layout(diagnostics, sources));
    return kBadInput;
  }
  const CutPlan plan = plan_cut(*job, limits);
  if (format == "html") terminal.print(cut_html(*job, plan));
  else terminal.print(format == "json" ? cut_json(*job, plan) : format == "svg" ? cut_svg(*job, plan) : cut_text(*job, plan));
  return kDone;
}

}  // namespace

Command cut_command() {
  return {.name = "cut",
          .group = Group::YourCar,
          .answers = "Film and padding laid on the roll: whole panels, the least length, and a picture to cut by.",
          .positionals = {},
          .options = {{"--from", "FILE.json", "the roll's width, whether panels may turn, and the panels", true, false},
                      {"--time-limit", "SECONDS", "stop earlier, with the length and the bound proven by then", false, false},
                      {"--format", "text|json|svg|html", "how to write it", false, false}},
          .examples = {},
          .run = run_cut};
}

}  // namespace kitgap
