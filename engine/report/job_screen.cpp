#include "report/job_screen.h"

#include <algorithm>
#include <set>

#include "report/layout.h"
#include "text/file.h"
#include "text/json.h"

namespace kitgap {
namespace {

// Whole hours, as one plans: up.
std::string hours_of(const Range& minutes) {
  const auto hours = [](const Fraction& figure) { return (figure / Fraction(60)).ceil().to_text(); };
  return hours(minutes.lo) == hours(minutes.hi) ? hours(minutes.hi) : hours(minutes.lo) + ".." + hours(minutes.hi);
}

std::string money_of(const CarScreen& car) {
  if (!car.money) return "?";
  return car.money->to_decimal().value_or(car.money->to_text()) + (car.money_is_least ? "+" : "");
}

}  // namespace

CarScreen car_screen(const Report& report, const std::optional<ReadyAnswer>& ready) {
  CarScreen screen{.car = report.car, .summary = report.summary, .money = {}, .minutes = {}, .stops = {}};
  for (const ReportLine& line : report.lines) {
    const bool is_short = line.status == Status::Short || line.status == Status::Missing || line.status == Status::DoesNotFit;
    screen.short_lines += is_short ? 1 : 0;
    const bool may_be_old = line.from_old.sign() > 0 || line.status == Status::MoveOver || (line.status == Status::ToSettle && line.remedy == "move over");
    screen.save += may_be_old ? 1 : 0;
    if (line.stops_work && line.folded_under.empty()) screen.stops.push_back(line.id);
  }
  screen.ask = report.to_settle.size() + report.ask_supplier.size();
  if (!ready) return screen;
  std::set<std::string> steps;
  for (const ReadyTask& task : ready->today) steps.insert(task.step);
  screen.ready_steps = steps.size();
  screen.blocked_steps = ready->blocked.size();
  screen.minutes = ready->minutes;
  return screen;
}

std::string job_screen_text(const std::vector<CarScreen>& cars, int width) {
  const auto columns = static_cast<std::size_t>(width);
  std::string out = "  " + padded("car", 20);
  for (const std::string_view column : {"stops", "short", "save", "ask", "ready", "wait"}) out += padded_left(column, 7);
  out += padded_left("money", 11) + "  hours\n";
  for (const CarScreen& car : cars) {
    std::string row = "  " + padded(printable(car.car), 20);
    for (const std::size_t figure : {car.summary.stopping, car.short_lines, car.save, car.ask, car.ready_steps, car.blocked_steps}) {
      row += padded_left(std::to_string(figure), 7);
    }
    out += row + padded_left(money_of(car), 11) + "  " + hours_of(car.minutes) + "\n";
  }
  out += "\n" + paragraph("stops: lines that stop the work; short: lines with something missing; save: lines that old pieces cover or may cover; "
                          "ask: things to look at and questions to suppliers; ready and wait: steps; money: what is still to buy, each car by itself "
                          "(`kitgap order` says what; +: at least); hours: work to the end.", 2, columns);
  out += paragraph("Cars share stock and orders in this order: what an earlier one may use is not there for a later one; `--car NAME --in-turn` shows one car so.", 2, columns);
  for (const CarScreen& car : cars) {
    if (car.stops.empty()) continue;
    std::string first;
    const std::size_t shown = std::min<std::size_t>(car.stops.size(), 3);
    for (std::size_t index = 0; index < shown; ++index) first += (index == 0 ? "" : ", ") + car.stops[index];
    out += beside(printable(car.car), 2, 20, "stopped by " + first + (shown == car.stops.size() ? "" : " and " + std::to_string(car.stops.size() - shown) + " more"), columns);
  }
  return out;
}

std::string job_screen_json(const std::vector<CarScreen>& cars) {
  JsonWriter json;
  json.begin_object().key("format").string("check-job/1").key("cars").begin_array();
  for (const CarScreen& car : cars) {
    const auto figure = [&](std::string_view key, std::size_t value) { json.key(key).number(static_cast<std::int64_t>(value)); };
    json.begin_object().key("car").string(car.car).key("stops_work").boolean(car.summary.stops_work);
    figure("needs", car.summary.needs);
    figure("stopping", car.summary.stopping);
    figure("short", car.short_lines);
    figure("save", car.save);
    figure("ask", car.ask);
    figure("ready_steps", car.ready_steps);
    figure("blocked_steps", car.blocked_steps);
    json.key("money");
    const auto money = car.money ? car.money->to_decimal() : std::nullopt;
    money ? json.number(*money) : json.null();
    json.key("money_is_least").boolean(car.money_is_least).key("minutes").begin_object();
    json.key("lo").number(car.minutes.lo.to_decimal().value_or("0")).key("hi").number(car.minutes.hi.to_decimal().value_or("0")).end_object();
    json.key("stops").begin_array();
    for (const std::string& id : car.stops) json.string(id);
    json.end_array().end_object();
  }
  return json.end_array().end_object().take();
}

std::string change_state(const std::optional<ReportLine>& line) {
  if (!line) return "not called for";
  return std::string(word_of(line->status)) + ", need " + range_text(line->need) + (line->unit == "each" ? "" : " " + line->unit) +
         (line->gap.hi.is_zero() ? "" : ", gap " + range_text(line->gap));
}

std::string changes_text(const std::vector<Change>& changes, std::size_t most, int width) {
  std::string out;
  const std::size_t shown = std::min(changes.size(), most);
  for (std::size_t index = 0; index < shown; ++index) {
    out += beside(changes[index].id, 2, 34, change_state(changes[index].was) + " -> " + change_state(changes[index].now), static_cast<std::size_t>(width));
  }
  if (shown < changes.size()) out += "  and " + std::to_string(changes.size() - shown) + " more\n";
  return out;
}

}  // namespace kitgap
