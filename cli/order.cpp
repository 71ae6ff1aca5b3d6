#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <csignal>

#include "commands.h"
#include "order_cars.h"
#include "order_record.h"
#include "output.h"
#include "purchase/order_file.h"
#include "purchase/order_text.h"
#include "purchase/savings.h"
#include "purchase/year_orders.h"
#include "recording.h"
#include "report/pages.h"
#include "report/wording.h"
#include "stated_facts.h"

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

// What the best answers could save, in the words of the report.
void add_savings(const OrderedCars& cars, const CarPurchase& purchase, const CarPurchaseOptions& options, const Plan& plan, const PlanOptions& plan_options,
                 OrderNotes& notes) {
  for (const QuestionSaving& saving : savings_of(cars.cars(), cars.covers(), purchase, options, plan, plan_options)) {
    const Session& session = *cars.sessions[saving.car];
    const OpenQuestion& question = cars.answers[saving.car].questions[saving.question];
    const Wording wording(*session.cover);
    const bool is_promise = question.unknown.kind == Unknown::Kind::Promise;
    const std::string words = is_promise ? wording.supplier_question(question, {}).question : wording.question(question).ask;
    notes.savings.push_back({words, session.car->name, saving.most, saving.exact});
  }
}

void print_plan(const Output& output, const PurchaseProblem& problem, const Plan& plan, const OrderNotes& notes, Terminal& terminal) {
  if (output.is("json")) deliver(output, order_json(problem, plan, notes), terminal);
  else if (output.is("text")) deliver(output, order_text(problem, plan, output.width(terminal), notes), terminal);
  else if (output.is("html")) deliver(output, order_html(problem, plan, notes), terminal);
  else deliver_workbook(output, order_workbook(problem, plan, notes), terminal);
}

PlanOptions plan_options(const Arguments& arguments, const Output& output, std::size_t offers, Terminal& terminal) {
  PlanOptions options;
  options.explain = arguments.has("--explain") || (output.is("text") && offers <= kExplainUpTo);
  options.stop = &stop_asked;
  if (::isatty(STDERR_FILENO) == 1 || arguments.has("--progress")) {
    options.progress = [&terminal](const PlanProgress& progress) { terminal.say(progress_line(progress)); };
  }
  return options;
}

int status_of(const Plan& plan) {
  if (stop_asked) return 128 + SIGINT;
  return plan.uncovered.empty() ? kDone : kFoundWrong;
}

int order_from_file(const Arguments& arguments, const Output& output, Terminal& terminal) {
  auto problem = problem_of_file(*arguments.value("--from"), terminal);
  if (!problem) return kBadInput;
  problem->assume_unstated_lead_time = problem->assume_unstated_lead_time || arguments.has("--assume");
  PlanOptions options = plan_options(arguments, output, problem->offers.size(), terminal);
  if (!add_wishes(arguments, *problem, options, terminal)) return kBadInput;
  listen_for_interrupt();
  const Plan plan = plan_purchase(*problem, options);
  print_plan(output, *problem, plan, {}, terminal);
  return status_of(plan);
}

int order_for_cars(const Arguments& arguments, const Output& output, Terminal& terminal) {
  const auto of_purchase = purchase_options(arguments, terminal);
  OrderedCars cars;
  if (!of_purchase || !read_cars(arguments, cars, terminal)) return kBadInput;
  CarPurchase purchase = car_purchase(cars.cars(), *of_purchase);
  say_left_out(purchase, *of_purchase, terminal);
  PlanOptions options = plan_options(arguments, output, purchase.problem.offers.size(), terminal);
  if (!add_wishes(arguments, purchase.problem, options, terminal)) return kBadInput;
  listen_for_interrupt();
  const Plan plan = plan_purchase(purchase.problem, options);
  if (options.explain) add_savings(cars, purchase, *of_purchase, plan, options, purchase.notes);
  print_plan(output, purchase.problem, plan, purchase.notes, terminal);
  if (const auto id = arguments.value("--record")) record_order(purchase.problem, plan, *id, of_purchase->today, arguments, terminal);
  return status_of(plan);
}

// `1968..1974`, `1968` or `1968,1970`.
std::optional<std::vector<std::string>> years_of(const std::string& text) {
  std::vector<std::string> years;
  for (std::size_t at = 0; at <= text.size();) {
    const std::size_t end = std::min(text.find(',', at), text.size());
    const std::string piece = text.substr(at, end - at);
    const std::size_t dots = piece.find("..");
    const auto first = Fraction::parse(piece.substr(0, dots));
    const auto last = dots == std::string::npos ? first : Fraction::parse(piece.substr(dots + 2));
    if (!first || !last || !first->is_whole() || !last->is_whole() || first->sign() <= 0 || *first > *last || *last > Fraction(9999)) return std::nullopt;
    const std::int64_t from = first->to_integer().value_or(0);
    const std::int64_t to = last->to_integer().value_or(0);
    if (to - from >= 100) return std::nullopt;
    for (std::int64_t year = from; year <= to; ++year) years.push_back(std::to_string(year));
    at = end + 1;
  }
  return years;
}

int order_by_year(const Arguments& arguments, const Output& output, Terminal& terminal) {
  const auto years = years_of(*arguments.value("--years"));
  if (!years) {
    terminal.say("kitgap order: `--years` takes years such as `1968..1974`, not `" + printable(*arguments.value("--years")) + "`\n");
    return kBadInput;
  }
  const auto of_purchase = purchase_options(arguments, terminal);
  std::vector<std::string> stated = arguments.values("--with");
  if (const auto body = arguments.value("--body")) stated.push_back("body style=" + *body);
  const auto facts = stated_facts(stated, "order", terminal);
  if (!of_purchase || !facts) return kBadInput;
  listen_for_interrupt();
  std::vector<YearOrder> orders;
  for (const std::string& year : *years) {
    OrderedCars cars;
    if (!read_car_of(year, *facts + "model year," + year + "\n", arguments, cars, terminal)) return kBadInput;
    YearOrder order{year, car_purchase(cars.cars(), *of_purchase), {}};
    PlanOptions options;
    options.stop = &stop_asked;
    if (orders.empty()) say_left_out(order.purchase, *of_purchase, terminal);
    if (!add_wishes(arguments, order.purchase.problem, options, terminal)) return kBadInput;
    order.plan = plan_purchase(order.purchase.problem, options);
    orders.push_back(std::move(order));
  }
  if (output.is("json")) deliver(output, year_orders_json(orders), terminal);
  else if (output.is("csv")) deliver(output, year_orders_csv(orders), terminal);
  else deliver(output, year_orders_text(orders, output.width(terminal)), terminal);
  int status = kDone;
  for (const YearOrder& order : orders) status = std::max(status, status_of(order.plan));
  return status;
}

int answer_order(const Arguments& arguments, Terminal& terminal) {
  const std::vector<std::string> formats = {"text", "json", "csv", "xlsx", "html"};
  const auto output = output_of(arguments, arguments.has("--years") ? std::vector<std::string>{"text", "json", "csv"} : formats, terminal);
  if (!output) return kBadInput;
  const int ways = (arguments.has("--from") ? 1 : 0) + (arguments.has("--years") ? 1 : 0) + (arguments.positional(0) || arguments.has("--job") ? 1 : 0);
  if (ways != 1) {
    terminal.say("kitgap order: name a car, a job with `--job`, model years with `--years`, or a file of needs and offers with `--from`\n");
    return kBadInput;
  }
  if (arguments.has("--record") && !arguments.has("--job")) {
    terminal.say("kitgap order: `--record` goes with `--job`\n");
    return kBadInput;
  }
  if (!arguments.has("--years") && (arguments.has("--body") || arguments.has("--with"))) {
    terminal.say("kitgap order: `--body` and `--with` go with `--years`\n");
    return kBadInput;
  }
  if (arguments.has("--from")) return order_from_file(arguments, *output, terminal);
  return arguments.has("--years") ? order_by_year(arguments, *output, terminal) : order_for_cars(arguments, *output, terminal);
}

int run_order(const Arguments& arguments, Terminal& terminal) {
  return with_job(terminal, [&] { return answer_order(arguments, terminal); });
}

std::vector<Option> order_options() {
  std::vector<Option> options = car_options({{"--from", "FILE.json", "bare needs, suppliers and offers instead of a car", false, false},
                      {"--years", "YEARS", "one order per model year, such as 1968..1974, and what is common to all", false, false},
                      {"--body", "STYLE", "with --years: the body style", false, false},
                      {"--with", "FACT=VALUE", "with --years: what else is true of the cars", false, true},
                      {"--budget", "AMOUNT", "goods and shipping together cost no more", false, false},
                      {"--suppliers", "N", "at most so many parcels", false, false},
                      {"--without", "SUPPLIER", "nothing from there", false, true},
                      {"--prefer", "SUPPLIER", "wins over equally cheap ones", false, true},
                      {"--rate", "CURRENCY=NUMBER", "what one unit of a supplier's currency is worth", false, true},
                      {"--confidence", "P", "that pieces which can break are enough, 0.95 if not stated", false, false},
                      {"--assume", "", "count on offers that may or may not fit, and on unstated lead times", false, false},
                      {"--least", "", "of a range buy the least that may be lacking, not the most", false, false},
                      {"--today", "DATE", "the day of the order, from which dates of steps are counted; else today", false, false},
                      {"--hour", "AMOUNT", "what an hour of moving parts over is worth: weighed against new ones", false, false},
                      {"--record", "ID", "put the order into the job under this name, for `receive`", false, false},
                      by_option(),
                      {"--time-limit", "SECONDS", "the best plan found by then, with its proven bound", false, false},
                      {"--progress", "", "best plan, bound and gap while it runs, also where no terminal is", false, false},
                      {"--explain", "", "what else could be done, in every format", false, false},
                      {"--format", "text|json|csv|html|xlsx", "how to write it", false, false},
                      out_option()});
  for (Option& option : options) option.required = false;  // `--rules` goes with a car only
  return options;
}

}  // namespace

Command order_command() {
  return {.name = "order",
          .group = Group::YourCar,
          .answers = "The cheapest purchase that covers the needs: what to buy, from whom, in which bags; proven, with what else could be done and what that costs more.",
          .positionals = {{"CAR [LIST]", "a car file and its planned parts; several cars share bags", false, true}},
          .options = order_options(),
          .examples = {{"kitgap order data/demo/home/car.json data/demo/home/list.csv --rules rules/demo",
                        "what to buy for the demonstration car beyond its list"},
                       {"kitgap order --years 1968..1970 --body estate --rules rules/demo --with market=home --format csv", "what estates of these years take, and what is common to all"}},
          .run = run_order};
}

}  // namespace kitgap
