#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <csignal>
#include <map>

#include "commands.h"
#include "output.h"
#include "purchase/car_purchase.h"
#include "purchase/order_file.h"
#include "purchase/order_text.h"
#include "session.h"
#include "text/file.h"

namespace kitgap {
namespace {

constexpr std::size_t kExplainUpTo = 5000;  // offers, above which each further search takes seconds

std::atomic<bool> stop_asked{false};
static_assert(std::atomic<bool>::is_always_lock_free);

// The first interrupt asks the search for what it has; a second one ends the program.
void listen_for_interrupt() {
  struct sigaction action {};
  action.sa_handler = [](int) { stop_asked = true; };
  action.sa_flags = static_cast<int>(SA_RESETHAND);
  ::sigaction(SIGINT, &action, nullptr);
}

std::optional<Fraction> figure_of(const Arguments& arguments, std::string_view option, Terminal& terminal, bool& right) {
  const auto text = arguments.value(option);
  if (!text) return std::nullopt;
  std::optional<Fraction> figure;
  try {
    figure = Fraction::parse(*text);
  } catch (const FigureOverflow&) {
  }
  if (figure && figure->sign() >= 0) return figure;
  terminal.say("kitgap order: `" + std::string(option) + "` takes a number, zero or more, not `" + printable(*text) + "`\n");
  right = false;
  return std::nullopt;
}

bool read_suppliers(const Arguments& arguments, std::string_view option, const PurchaseProblem& problem,
                    std::vector<std::string>& names, Terminal& terminal) {
  std::vector<std::string> known;
  for (const PurchaseSupplier& supplier : problem.suppliers) known.push_back(supplier.name);
  for (const std::string& name : arguments.values(option)) {
    if (std::find(known.begin(), known.end(), name) == known.end()) {
      const std::string near = nearest(name, known);
      terminal.say("kitgap order: no supplier is called `" + printable(name) + "`\n" +
                   (near.empty() ? "" : "did you mean `" + printable(near) + "`?\n"));
      return false;
    }
    names.push_back(name);
  }
  return true;
}

// Wishes of the command line, on top of the file's.
bool add_wishes(const Arguments& arguments, PurchaseProblem& problem, PlanOptions& options, Terminal& terminal) {
  bool right = true;
  if (const auto budget = figure_of(arguments, "--budget", terminal, right)) problem.budget = budget;
  if (const auto most = figure_of(arguments, "--suppliers", terminal, right)) {
    problem.max_suppliers = most->to_integer();
    if (!problem.max_suppliers) {
      terminal.say("kitgap order: `--suppliers` takes a whole number\n");
      right = false;
    }
  }
  if (const auto seconds = figure_of(arguments, "--time-limit", terminal, right)) {
    options.time_limit_seconds = seconds->to_approximate();
  }
  return right && read_suppliers(arguments, "--without", problem, problem.excluded_suppliers, terminal) &&
         read_suppliers(arguments, "--prefer", problem, problem.preferred_suppliers, terminal);
}

std::string progress_line(const PlanProgress& progress) {
  std::string line = "kitgap order: " + std::to_string(static_cast<int>(progress.seconds)) + " s";
  if (progress.best) line += ", best " + progress.best->to_text();
  if (progress.bound) line += ", nothing below " + progress.bound->to_text();
  if (progress.best && progress.bound && progress.best->sign() > 0) {
    const double gap = (*progress.best - *progress.bound).to_approximate() / progress.best->to_approximate();
    line += ", gap " + std::to_string(static_cast<int>(gap * 10000) / 100) + "." +
            std::to_string(static_cast<int>(gap * 10000) % 100 / 10) + " %";
  }
  return line + "\n";
}

std::optional<PurchaseProblem> problem_of_file(const std::string& path, Terminal& terminal) {
  Sources sources;
  Diagnostics diagnostics;
  const auto source = read_file(path, sources, diagnostics);
  auto problem = source ? read_purchase(*source, sources, diagnostics) : std::nullopt;
  if (const std::string said = layout(diagnostics, sources); !said.empty()) terminal.say(said);
  return problem;
}

// `--rate EUR=1.08`, repeated.
bool read_rates(const Arguments& arguments, std::map<std::string, Fraction>& rates, Terminal& terminal) {
  for (const std::string& text : arguments.values("--rate")) {
    const std::size_t equals = text.find('=');
    std::optional<Fraction> rate;
    try {
      if (equals != std::string::npos) rate = Fraction::parse(std::string_view(text).substr(equals + 1));
    } catch (const FigureOverflow&) {
    }
    if (!rate || rate->sign() <= 0 || equals == 0) {
      terminal.say("kitgap order: `--rate` takes `CURRENCY=NUMBER`, what one unit is worth, not `" + printable(text) + "`\n");
      return false;
    }
    rates[text.substr(0, equals)] = *rate;
  }
  return true;
}

std::optional<PurchaseProblem> problem_of_car(const Arguments& arguments, Terminal& terminal) {
  CarPurchaseOptions options;
  bool right = true;
  if (const auto confidence = figure_of(arguments, "--confidence", terminal, right)) options.confidence = *confidence;
  if (right && (options.confidence.sign() <= 0 || options.confidence >= Fraction(1))) {
    terminal.say("kitgap order: `--confidence` takes a number between 0 and 1\n");
    right = false;
  }
  if (!right || !read_rates(arguments, options.rates, terminal)) return std::nullopt;
  Session session;
  std::vector<std::string> lists;
  if (const auto list = arguments.positional(1)) lists.push_back(*list);
  if (!open_session(session, *arguments.positional(0), lists, arguments, terminal)) return std::nullopt;
  Problems problems(session.diagnostics);
  const Answer answer = answer_of(*session.cover, problems);
  if (session.diagnostics.has_errors()) {
    terminal.say(layout(session.diagnostics, session.sources));
    return std::nullopt;
  }
  CarPurchase purchase = car_purchase(*session.needs, session.supplies->lists, answer, options);
  for (const std::string& currency : purchase.without_rate) {
    terminal.say("kitgap order: suppliers with prices in `" + printable(currency) + "` are left out: state what one is worth with `--rate " +
                 printable(currency) + "=NUMBER`\n");
  }
  for (const std::string& offer : purchase.without_price) {
    terminal.say("kitgap order: `" + printable(offer) + "` would serve but has no price: ask for it\n");
  }
  return std::move(purchase.problem);
}

int run_order(const Arguments& arguments, Terminal& terminal) {
  const auto output = output_of(arguments, {"text", "json", "csv", "xlsx"}, terminal);
  if (!output) return kBadInput;
  const auto file = arguments.value("--from");
  const bool has_car = arguments.positional(0).has_value();
  if (file.has_value() == has_car) {
    terminal.say("kitgap order: name a car, or a file of needs and offers with `--from`\n");
    return kBadInput;
  }
  auto problem = file ? problem_of_file(*file, terminal) : problem_of_car(arguments, terminal);
  PlanOptions options;
  if (!problem || !add_wishes(arguments, *problem, options, terminal)) return kBadInput;
  options.explain = arguments.has("--explain") || (output->is("text") && problem->offers.size() <= kExplainUpTo);
  options.stop = &stop_asked;
  if (::isatty(STDERR_FILENO) == 1) {
    options.progress = [&](const PlanProgress& progress) { terminal.say(progress_line(progress)); };
  }
  listen_for_interrupt();
  const Plan plan = plan_purchase(*problem, options);
  if (output->is("json")) deliver(*output, order_json(*problem, plan), terminal);
  else if (output->is("text")) deliver(*output, order_text(*problem, plan, output->width(terminal)), terminal);
  else deliver_workbook(*output, order_workbook(*problem, plan), terminal);
  if (stop_asked) return 128 + SIGINT;
  return plan.uncovered.empty() ? kDone : kFoundWrong;
}

std::vector<Option> order_options() {
  std::vector<Option> options = car_options({{"--from", "FILE.json", "bare needs, suppliers and offers instead of a car", false, false},
                      {"--budget", "AMOUNT", "goods and shipping together cost no more", false, false},
                      {"--suppliers", "N", "at most so many parcels", false, false},
                      {"--without", "SUPPLIER", "nothing from there", false, true},
                      {"--prefer", "SUPPLIER", "wins over equally cheap ones", false, true},
                      {"--rate", "CURRENCY=NUMBER", "what one unit of a supplier's currency is worth", false, true},
                      {"--confidence", "P", "that pieces which can break are enough, 0.95 if not stated", false, false},
                      {"--time-limit", "SECONDS", "the best plan found by then, with its proven bound", false, false},
                      {"--explain", "", "what else could be done, in every format", false, false},
                      {"--format", "text|json|csv|xlsx", "how to write it", false, false},
                      out_option()});
  for (Option& option : options) option.required = false;  // `--rules` goes with a car only
  return options;
}

}  // namespace

Command order_command() {
  return {.name = "order",
          .group = Group::YourCar,
          .answers = "The cheapest purchase that covers the needs: what to buy, from whom, in which bags; proven, with what else could be done and what that costs more.",
          .positionals = {{"CAR", "the car file, JSON or CSV", false, false}, {"LIST", "the planned parts, CSV or XLSX", false, false}},
          .options = order_options(),
          .examples = {{"kitgap order data/demo/home/car.json data/demo/home/list.csv --rules rules/demo",
                        "what to buy for the demonstration car beyond its list"}},
          .run = run_order};
}

}  // namespace kitgap
