#include "report/layout.h"
#include "report/ready.h"
#include "text/json.h"
#include "text/file.h"

namespace kitgap {
namespace {

std::string joined(const std::vector<std::string>& words, std::string_view between = ", ") {
  std::string out;
  for (const std::string& word : words) out += (out.empty() ? "" : std::string(between)) + printable(word);
  return out;
}

// Rounded up to hundredths, as one is asked to pay.
std::string money_text(const Fraction& minutes, const Fraction& rate) {
  return ((minutes * rate / Fraction(60) * Fraction(100)).ceil() / Fraction(100)).to_text();
}

std::string task_text(const ReadyTask& task, int width) {
  std::string says = printable(task.step);
  if (!task.position.empty()) says += " at " + printable(task.position);
  if (task.is_started) says += " (begun)";
  if (task.minutes) says += ": " + hours_text(*task.minutes) + (task.position.empty() ? "" : " for all its places");
  if (!task.bags.empty()) says += "; from " + joined(task.bags);
  else if (task.takes_parts) says += "; no bag is noted";
  if (!task.tools.empty()) says += "; tools: " + printable(task.tools);
  std::string out = paragraph(says, 2, static_cast<std::size_t>(width));
  for (const std::string& hold : task.holds) out += paragraph("before it counts as done, sign for: " + hold, 6, static_cast<std::size_t>(width));
  return out;
}

std::string waiting_text(const WaitingFor& part) {
  std::string says = part.quantity.to_text() + " more " + printable(part.part);
  if (!part.position.empty()) says += " at " + printable(part.position);
  return says + " (" + printable(how_text(part)) + ")";
}

void write_range(JsonWriter& json, std::string_view key, const Range& range) {
  json.key(key).begin_object().key("lo").number(range.lo.to_decimal().value_or("0"));
  json.key("hi").number(range.hi.to_decimal().value_or("0")).end_object();
}
void write_words(JsonWriter& json, std::string_view key, const std::vector<std::string>& words) {
  json.key(key).begin_array();
  for (const std::string& word : words) json.string(word);
  json.end_array();
}
void write_tasks(JsonWriter& json, std::string_view key, const std::vector<ReadyTask>& tasks) {
  json.key(key).begin_array();
  for (const ReadyTask& task : tasks) {
    json.begin_object().key("step").string(task.step).key("position");
    task.position.empty() ? json.null() : json.string(task.position);
    if (task.minutes) write_range(json, "minutes", *task.minutes);
    else json.key("minutes").null();
    json.key("tools").string(task.tools).key("started").boolean(task.is_started);
    write_words(json, "bags", task.bags);
    write_words(json, "holds", task.holds);
    json.end_object();
  }
  json.end_array();
}

}  // namespace

std::string hours_text(const Fraction& minutes) {
  const std::int64_t whole = minutes.ceil().to_integer().value_or(0);
  if (whole < 60) return std::to_string(whole) + " min";
  const std::string rest = std::to_string(whole % 60);
  return std::to_string(whole / 60) + " h" + (whole % 60 == 0 ? "" : " " + (rest.size() == 1 ? "0" + rest : rest));
}

std::string hours_text(const Range& minutes) {
  return minutes.is_exact_value() ? hours_text(minutes.lo) : hours_text(minutes.lo) + " to " + hours_text(minutes.hi);
}

std::string how_text(const WaitingFor& part) {
  switch (part.how) {
    case WaitingFor::How::OnOrder: return part.due.empty() ? "on order, no day known" : "due " + part.due;
    case WaitingFor::How::ToSettle: return "to settle first";
    case WaitingFor::How::Planned: return "planned, not ordered";
    case WaitingFor::How::WithAssembly: return "comes with its assembly if bought complete";
    case WaitingFor::How::ToBuy: return "to buy";
  }
  return {};
}

std::string ready_text(const ReadyAnswer& answer, int width) {
  const auto columns = static_cast<std::size_t>(width);
  std::string out = "Today, with what is here\n";
  if (answer.today.empty()) out += "  nothing\n";
  for (const ReadyTask& task : answer.today) out += task_text(task, width);
  if (!answer.instead.empty()) {
    static constexpr std::string_view kBest[] = {"most steps", "most minutes of work", "your order"};
    out += "\nNot beside those, for the store does not reach (chosen: " + std::string(kBest[static_cast<std::size_t>(answer.best)]) +
           (answer.is_exact ? ", proven" : ", good, not proven") + ")\n";
    for (const ReadyTask& task : answer.instead) out += task_text(task, width);
  }
  out += "\nWaiting\n";
  if (answer.blocked.empty()) out += "  nothing\n";
  for (const BlockedStep& blocked : answer.blocked) {
    std::vector<std::string> reasons;
    for (const std::string& step : blocked.steps) reasons.push_back(step);
    for (const WaitingFor& part : blocked.parts) reasons.push_back(waiting_text(part));
    out += paragraph(printable(blocked.step) + ": waits for " + joined(reasons) +
                         (blocked.bags.empty() ? "" : "; what is here lies in " + joined(blocked.bags)), 2, columns);
  }
  if (!answer.done.empty()) out += "\nDone\n" + paragraph(joined(answer.done), 2, columns);
  if (!answer.not_signed.empty()) out += "\nSaid to be done, but not signed for\n";
  for (const UnsignedStep& step : answer.not_signed) {
    for (const std::string& hold : step.holds) out += paragraph(printable(step.step) + ": " + hold, 2, columns);
  }
  out += "\nTo the end\n" + paragraph(hours_text(answer.minutes) + " of work, one step after the other" +
                                          (answer.minutes_logged.is_zero() ? "" : "; " + hours_text(answer.minutes_logged) + " logged"), 2, columns);
  if (!answer.rework_minutes.is_zero()) out += paragraph(hours_text(answer.rework_minutes) + " of it is rework on parts that were accepted so", 2, columns);
  if (answer.rate) {
    out += paragraph("at " + answer.rate->to_text() + " an hour: " + money_text(answer.minutes.lo, *answer.rate) +
                         (answer.minutes.is_exact_value() ? "" : " to " + money_text(answer.minutes.hi, *answer.rate)), 2, columns);
  }
  if (!answer.critical_path.empty()) {
    out += paragraph("the longest way, " + hours_text(answer.longest) + ": " + joined(answer.critical_path, " -> "), 2, columns);
  }
  if (!answer.hangs_on.empty()) out += paragraph("the range hangs most on: " + printable(answer.hangs_on), 2, columns);
  if (!answer.without_minutes.empty()) out += paragraph("no time is stated for, and not counted: " + joined(answer.without_minutes), 2, columns);
  out += paragraph(answer.to_buy == 0 ? std::string("nothing is left to buy")
                                      : std::to_string(answer.to_buy) + (answer.to_buy == 1 ? " kind of part" : " kinds of parts") + " still to buy or to settle, " +
                                            std::to_string(answer.to_buy_stopping) + " of them stop the work", 2, columns);
  if (!answer.windows.empty()) out += "\nLast day to return\n";
  for (const ReturnWindow& window : answer.windows) {
    const std::string what = printable(window.part_number) + (window.supplier.empty() ? "" : ", " + printable(window.supplier)) + ", came " + window.arrived;
    out += beside(!window.is_returnable ? "never" : window.last_day.value_or("not stated"), 2, 12, what, columns);
  }
  return out;
}

std::string ready_json(const ReadyAnswer& answer) {
  static constexpr std::string_view kBest[] = {"steps", "minutes", "order"};
  JsonWriter json;
  json.begin_object().key("format").string("ready/1").key("car").string(answer.car);
  write_words(json, "done", answer.done);
  json.key("not_signed").begin_array();
  for (const UnsignedStep& step : answer.not_signed) {
    json.begin_object().key("step").string(step.step);
    write_words(json, "holds", step.holds);
    json.end_object();
  }
  json.end_array();
  write_tasks(json, "today", answer.today);
  write_tasks(json, "instead", answer.instead);
  json.key("best").string(kBest[static_cast<std::size_t>(answer.best)]).key("exact").boolean(answer.is_exact);
  json.key("blocked").begin_array();
  for (const BlockedStep& blocked : answer.blocked) {
    json.begin_object().key("step").string(blocked.step);
    write_words(json, "steps", blocked.steps);
    write_words(json, "bags", blocked.bags);
    json.key("parts").begin_array();
    for (const WaitingFor& part : blocked.parts) {
      json.begin_object().key("part").string(part.part).key("position");
      part.position.empty() ? json.null() : json.string(part.position);
      json.key("short").number(part.quantity.to_decimal().value_or("0")).key("on_order").boolean(part.how == WaitingFor::How::OnOrder).key("how").string(how_text(part)).key("due");
      part.due.empty() ? json.null() : json.string(part.due);
      json.end_object();
    }
    json.end_array().end_object();
  }
  json.end_array();
  write_range(json, "minutes", answer.minutes);
  write_range(json, "longest", answer.longest);
  write_words(json, "critical_path", answer.critical_path);
  json.key("hangs_on");
  answer.hangs_on.empty() ? json.null() : json.string(answer.hangs_on);
  write_words(json, "without_minutes", answer.without_minutes);
  json.key("minutes_logged").number(answer.minutes_logged.to_decimal().value_or("0"));
  json.key("rework_minutes").number(answer.rework_minutes.to_decimal().value_or("0"));
  json.key("cost");
  if (answer.rate) {
    json.begin_object().key("rate").number(answer.rate->to_text()).key("lo").number(money_text(answer.minutes.lo, *answer.rate));
    json.key("hi").number(money_text(answer.minutes.hi, *answer.rate)).end_object();
  } else {
    json.null();
  }
  json.key("to_buy").number(static_cast<std::int64_t>(answer.to_buy)).key("to_buy_stopping").number(static_cast<std::int64_t>(answer.to_buy_stopping));
  json.key("return_windows").begin_array();
  for (const ReturnWindow& window : answer.windows) {
    json.begin_object().key("part_number").string(window.part_number).key("supplier").string(window.supplier).key("arrived").string(window.arrived);
    json.key("last_day");
    window.last_day && window.is_returnable ? json.string(*window.last_day) : json.null();
    json.key("returnable").boolean(window.is_returnable).end_object();
  }
  json.end_array();
  return json.end_object().take();
}

}  // namespace kitgap
