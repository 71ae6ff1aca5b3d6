#include "order_cars.h"

#include <algorithm>
#include <chrono>

#include "value/calendar.h"

namespace kitgap {
namespace {

// JSON, or a table of facts and values.
bool is_car_file(const std::string& path, Sources& sources) {
  if (path.ends_with(".json")) return true;
  if (path.ends_with(".xlsx")) return false;
  Diagnostics ignored;
  const auto source = read_file(path, sources, ignored);
  if (!source) return false;
  std::string first(sources.line(*source, 1));
  if (first.starts_with("\xEF\xBB\xBF")) first.erase(0, 3);
  std::erase_if(first, [](char c) { return c == ' ' || c == '"' || c == '\r'; });
  std::ranges::transform(first, first.begin(), [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; });
  return first.starts_with("{") || first == "fact,value" || first == "fact;value" || first == "fact\tvalue";
}

bool add_session(std::unique_ptr<Session> session, const Arguments& of_car, OrderedCars& cars, Terminal& terminal) {
  session->shared = &cars.shared;
  if (!open_session(*session, of_car, terminal)) return false;
  Problems problems(session->diagnostics);
  Answer answer = answer_of(*session->cover, problems);
  if (session->diagnostics.has_errors()) {
    terminal.say(layout(session->diagnostics, session->sources));
    return false;
  }
  cars.shared.take(*session->cover, answer);
  cars.answers.push_back(std::move(answer));
  cars.sessions.push_back(std::move(session));
  return true;
}

// One set of positionals per car: a car file begins a car, what follows are its lists.
std::optional<std::vector<Arguments>> arguments_of_cars(const Arguments& arguments, Terminal& terminal) {
  std::vector<Arguments> of_cars;
  if (arguments.has("--job")) {
    const std::vector<std::string> names = cars_of_job(arguments);
    if (names.size() > 1 && !arguments.positionals.empty()) {
      terminal.say("kitgap order: a list goes with one car: name it with --car\n");
      return std::nullopt;
    }
    for (const std::string& name : names) {
      of_cars.push_back(names.size() > 1 ? of_car_in_turn(arguments, name) : arguments);
    }
    if (names.empty()) of_cars.push_back(arguments);
    return of_cars;
  }
  Sources sources;
  for (const std::string& path : arguments.positionals) {
    if (of_cars.empty() || is_car_file(path, sources)) {
      of_cars.push_back(arguments);
      of_cars.back().positionals.clear();
    }
    of_cars.back().positionals.push_back(path);
  }
  return of_cars;
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

std::int64_t day_now() {
  const auto since = std::chrono::system_clock::now().time_since_epoch();
  return std::chrono::duration_cast<std::chrono::hours>(since).count() / 24;
}

std::string some_of(const std::vector<std::string>& names) {
  constexpr std::size_t kShown = 8;
  std::string text;
  for (std::size_t at = 0; at < std::min(kShown, names.size()); ++at) text += (text.empty() ? "`" : ", `") + printable(names[at]) + "`";
  if (names.size() > kShown) text += " and " + std::to_string(names.size() - kShown) + " more";
  return text;
}

}  // namespace

std::vector<CarOfOrder> OrderedCars::cars() const {
  std::vector<CarOfOrder> out;
  for (std::size_t at = 0; at < sessions.size(); ++at) {
    const Session& session = *sessions[at];
    out.push_back({session.car->name, &*session.needs, &session.supplies->lists, &answers[at], &session.car->dates});
  }
  return out;
}

std::vector<const CoverModel*> OrderedCars::covers() const {
  std::vector<const CoverModel*> out;
  for (const auto& session : sessions) out.push_back(&*session->cover);
  return out;
}

bool read_cars(const Arguments& arguments, OrderedCars& cars, Terminal& terminal) {
  const auto of_cars = arguments_of_cars(arguments, terminal);
  if (!of_cars || !take_turns(arguments, cars.shared, terminal)) return false;
  for (const Arguments& of_car : *of_cars) {
    if (!add_session(std::make_unique<Session>(), of_car, cars, terminal)) return false;
  }
  // Two car files may bear one name, or none.
  std::map<std::string, int> names;
  for (const auto& session : cars.sessions) {
    if (const int count = names[session->car->name]++; count > 0) session->car->name += " #" + std::to_string(count + 1);
  }
  return true;
}

bool read_car_of(const std::string& name, const std::string& csv, const Arguments& arguments, OrderedCars& cars, Terminal& terminal) {
  auto session = std::make_unique<Session>();
  const std::string file = "the car of " + name;
  session->sources.lay_in(file, csv);
  Arguments of_car = arguments;
  of_car.positionals.insert(of_car.positionals.begin(), file);
  if (!add_session(std::move(session), of_car, cars, terminal)) return false;
  cars.sessions.back()->car->name = name;
  return true;
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

std::optional<CarPurchaseOptions> purchase_options(const Arguments& arguments, Terminal& terminal) {
  CarPurchaseOptions options;
  bool right = true;
  if (const auto confidence = figure_of(arguments, "--confidence", terminal, right)) options.confidence = *confidence;
  if (right && (options.confidence.sign() <= 0 || options.confidence >= Fraction(1))) {
    terminal.say("kitgap order: `--confidence` takes a number between 0 and 1\n");
    right = false;
  }
  options.hour_worth = figure_of(arguments, "--hour", terminal, right);
  options.assume_open = arguments.has("--assume");
  options.least = arguments.has("--least");
  options.today = day_now();
  if (const auto text = arguments.value("--today")) {
    const auto date = parse_date(*text);
    if (date) options.today = day_number_of(*date);
    if (!date) terminal.say("kitgap order: `" + printable(*text) + "` is no date; write it as 2026-03-01\n");
    right = right && date;
  }
  right = read_rates(arguments, options.rates, terminal) && right;
  return right ? std::optional(options) : std::nullopt;
}

void say_left_out(const CarPurchase& purchase, const CarPurchaseOptions& options, Terminal& terminal) {
  for (const std::string& currency : purchase.without_rate) {
    terminal.say("kitgap order: suppliers with prices in `" + printable(currency) + "` are left out: state what one is worth with `--rate " +
                 printable(currency) + "=NUMBER`\n");
  }
  for (const std::string& offer : purchase.without_price) {
    terminal.say("kitgap order: `" + printable(offer) + "` would serve but has no price: ask for it\n");
  }
  if (!purchase.without_minutes.empty()) {
    terminal.say("kitgap order: moved over as if it took no time, for no table states `minutes`: " + some_of(purchase.without_minutes) + "\n");
  }
  if (options.assume_open || purchase.open.empty()) return;
  terminal.say("kitgap order: not counted on where they may or may not fit: " + some_of(purchase.open) + "; `--assume` takes them as fitting\n");
}

}  // namespace kitgap
