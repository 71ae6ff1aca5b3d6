#include "session.h"

#include <algorithm>

#include "job/packs.h"
#include "job/state.h"
#include "job/store.h"
#include "packs.h"
#include "recording.h"

namespace kitgap {

std::vector<Option> car_options(std::vector<Option> further) {
  std::vector<Option> options = {
      {"--rules", "DIR", "a pack of rules; general first, the marque's after it", false, true},
      {"--stock", "FILE", "what lies here, CSV or XLSX", false, true},
      {"--order", "FILE", "what is on its way", false, true},
      {"--found", "FILE", "what was counted on the old car", false, false},
  };
  const std::vector<Option> of_tables = table_options();
  options.insert(options.end(), of_tables.begin(), of_tables.end());
  const std::vector<Option> of_job = job_options();
  options.insert(options.end(), of_job.begin(), of_job.end());
  options.insert(options.end(), further.begin(), further.end());
  return options;
}

void settle_order(Session& session) {
  const auto order = std::ranges::find(session.lists, std::string(kJobOrder), &ReadList::file);
  if (order == session.lists.end() || (session.inputs.book.deliveries.empty() && session.inputs.book.still_to_come.empty())) return;
  const auto file = static_cast<std::size_t>(order - session.lists.begin());
  const Supplies opened = Supplies::of(*session.needs, session.lists);
  OrderBook book = session.inputs.book;
  // The rows of the job's order follow the header.
  for (Delivery& delivery : book.deliveries) ++delivery.row;
  for (StillToCome& still : book.still_to_come) ++still.row;
  Settled settled = settle(*session.needs, opened, file, book.deliveries, book.still_to_come);
  session.lists[file] = std::move(settled.order);
  session.lists.push_back(std::move(settled.stock));
}

namespace {

// Packs that are not what they were when the job took them.
std::vector<PackChange> changed_packs_of(const Session& session) {
  std::vector<PackInUse> now;
  for (const PackInfo& pack : session.rules->packs) now.push_back({.name = pack.name, .path = pack.directory, .version = pack.version, .hash = pack.hash});
  return changed_packs(session.inputs.standing, now);
}

void say_changed_packs(const Session& session, Terminal& terminal) {
  for (const PackChange& change : changed_packs_of(session)) {
    terminal.say("the pack `" + printable(change.name) + "` has changed since this job took it (" + printable(change.was_version) + ", " +
                 change.was_hash.substr(0, 8) + " then; " + printable(change.is_version) + ", " + change.is_hash.substr(0, 8) +
                 " now)\n");
  }
}

bool read_session(Session& session, Terminal& terminal) {
  const Inputs& inputs = session.inputs;
  session.rules = read_packs(inputs.rules, session.sources, session.diagnostics);
  if (session.rules) say_changed_packs(session, terminal);
  if (session.rules) session.car = read_car(inputs.car, *session.rules, session.sources, session.diagnostics);
  const auto read_lists = [&](const std::vector<std::string>& paths, ListKind kind) {
    for (const std::string& path : paths) {
      if (auto list = read_list(path, kind, inputs.renamed, session.sources, session.diagnostics, sheet_of(path, inputs.sheets))) {
        session.lists.push_back(std::move(*list));
      }
    }
  };
  read_lists(inputs.lists, ListKind::List);
  read_lists(inputs.stocks, ListKind::Stock);
  read_lists(inputs.orders, ListKind::Order);
  // What the job remembers may be of a file that is not at hand.
  const RenamedColumns given(inputs.renamed.begin(), inputs.renamed.begin() + static_cast<std::ptrdiff_t>(inputs.given_columns));
  if (!session.diagnostics.has_errors()) check_renamed(session.lists, given, session.diagnostics);
  if (inputs.found && session.rules) {
    if (auto read = read_found(*inputs.found, *session.rules, session.sources, session.diagnostics, inputs.renamed, sheet_of(*inputs.found, inputs.sheets))) session.found = std::move(*read);
  }
  if (session.car && session.rules && !session.diagnostics.has_errors()) session.knowledge = Knowledge::of(*session.car, *session.rules, session.diagnostics);
  if (session.diagnostics.has_errors() || !session.knowledge) {
    terminal.say(layout(session.diagnostics, session.sources));
    return false;
  }
  session.needs = NeedModel::of(*session.knowledge, *session.car, session.found);
  settle_order(session);
  if (session.shared != nullptr && !session.shared->is_empty()) {
    session.lists = session.shared->left_of(*session.needs, Supplies::of(*session.needs, session.lists));
  }
  session.supplies = Supplies::of(*session.needs, std::move(session.lists));
  session.cover.emplace(*session.needs, *session.supplies);
  if (session.says_rows && (session.shared == nullptr || session.shared->is_empty())) {
    for (const FileRows& rows : rows_of(*session.supplies, Found{})) {
      if (!rows.file.starts_with("job:")) say_rows(rows, {}, terminal);
    }
    if (inputs.found && !inputs.found->starts_with("job:")) say_rows(session.found, terminal);
  }
  return true;
}

}  // namespace

bool open_session(Session& session, const Arguments& arguments, Terminal& terminal) {
  auto inputs = inputs_of(arguments, session.sources, terminal);
  if (!inputs) return false;
  session.inputs = std::move(*inputs);
  return read_session(session, terminal);
}

bool open_session(Session& session, Inputs inputs, Terminal& terminal) {
  session.inputs = std::move(inputs);
  return read_session(session, terminal);
}

std::optional<std::vector<Change>> changes_by_packs(const Session& session, const Arguments& arguments, const Report& now, Terminal& terminal) {
  if (changed_packs_of(session).empty()) return std::nullopt;
  SharedSupplies turns;
  Session before;
  before.says_rows = false;
  before.shared = &turns;
  auto inputs = take_turns(arguments, turns, terminal) ? inputs_of(arguments, before.sources, terminal) : std::nullopt;
  if (!inputs) return std::nullopt;
  for (std::string& folder : inputs->rules) {
    const auto pack = std::ranges::find(session.rules->packs, folder, &PackInfo::directory);
    const auto used = packs_in_use(inputs->standing);
    const auto known = pack == session.rules->packs.end() ? used.end() : std::ranges::find(used, pack->name, &PackInUse::name);
    if (known == used.end() || known->hash == pack->hash) continue;
    const auto kept = lay_in_pack(inputs->standing, known->name, known->hash, before.sources);
    if (!kept) {
      terminal.say("the job does not keep the pack `" + printable(known->name) + "` as it was: what its change does cannot be told\n");
      return std::nullopt;
    }
    folder = *kept;
  }
  if (!open_session(before, std::move(*inputs), terminal)) return std::nullopt;
  const auto was = report_of(before, !before.inputs.lists.empty(), terminal);
  if (!was) return std::nullopt;
  return changes_between(*was, now);
}

bool open_session(Session& session, const std::string& car_path, const std::vector<std::string>& list_paths,
                  const Arguments& arguments, Terminal& terminal) {
  Arguments plain = arguments;
  plain.positionals = {car_path};
  plain.positionals.insert(plain.positionals.end(), list_paths.begin(), list_paths.end());
  return open_session(session, plain, terminal);
}

std::optional<Report> report_of(Session& session, bool has_list, Terminal& terminal) {
  Problems problems(session.diagnostics);
  const Answer answer = answer_of(*session.cover, problems);
  if (session.diagnostics.has_errors()) {
    terminal.say(layout(session.diagnostics, session.sources));
    return std::nullopt;
  }
  if (session.shared != nullptr) session.shared->take(*session.cover, answer);
  return report_of(*session.car, *session.cover, session.found, answer, has_list);
}

std::vector<std::string> cars_of_job(const Arguments& arguments) {
  if (!arguments.has("--job")) return {};
  if (const auto car = arguments.value("--car")) return {*car};
  std::vector<std::string> cars;
  for (const Record& record : read_job(*arguments.value("--job")).records) {
    if (!record.car.empty() && std::ranges::find(cars, record.car) == cars.end()) cars.push_back(record.car);
  }
  return cars;
}

Arguments of_car_in_turn(const Arguments& arguments, const std::string& car) {
  Arguments of_car = arguments;
  of_car.options["--car"] = {car};
  of_car.options["--in-turn"] = {};
  return of_car;
}

bool take_turns(const Arguments& arguments, SharedSupplies& shared, Terminal& terminal) {
  if (!arguments.has("--in-turn")) return true;
  const auto car = arguments.value("--car");
  if (!car || !arguments.has("--job")) {
    terminal.say("kitgap: `--in-turn` goes with `--job` and `--car`; all cars of a job are always taken in turn\n");
    return false;
  }
  Arguments of_job;
  for (const char* option : {"--job", "--as-of", "--rules", "--stock", "--order", "--columns", "--sheet"}) {
    if (arguments.has(option)) of_job.options[option] = arguments.values(option);
  }
  for (const std::string& before : cars_of_job(of_job)) {
    if (before == *car) break;
    Session session;
    session.shared = &shared;
    if (!open_session(session, of_car_in_turn(of_job, before), terminal)) return false;
    Problems problems(session.diagnostics);
    const Answer answer = answer_of(*session.cover, problems);
    if (session.diagnostics.has_errors()) {
      terminal.say(layout(session.diagnostics, session.sources));
      return false;
    }
    shared.take(*session.cover, answer);
  }
  return true;
}

int for_each_car(const Arguments& arguments, Terminal& terminal, const std::function<int(const Arguments&, SharedSupplies&)>& work) {
  SharedSupplies shared;
  const std::vector<std::string> cars = cars_of_job(arguments);
  if (cars.size() <= 1) return take_turns(arguments, shared, terminal) ? work(arguments, shared) : kBadInput;
  if (arguments.value("--format").value_or("text") != "text") {
    terminal.say("kitgap: name the car with --car; only text is written for all cars of a job at once\n");
    return kBadInput;
  }
  int status = kDone;
  for (const std::string& car : cars) {
    if (car != cars.front()) terminal.print("\n");
    status = std::max(status, work(of_car_in_turn(arguments, car), shared));
    if (status >= kBadInput) return status;
  }
  return status;
}

std::optional<std::string> format_of(const Arguments& arguments, const std::vector<std::string>& allowed, Terminal& terminal) {
  const std::string format = arguments.value("--format").value_or(allowed.front());
  if (std::ranges::find(allowed, format) != allowed.end()) return format;
  std::string words;
  for (const std::string& word : allowed) words += (words.empty() ? "`" : ", `") + word + "`";
  const std::string near = nearest(format, allowed);
  terminal.say("kitgap: `" + printable(format) + "` is no format of this command; it writes " + words + (near.empty() ? "\n" : "\ndid you mean `" + near + "`?\n"));
  return std::nullopt;
}

namespace {

int show_report(const Arguments& arguments, SharedSupplies& shared, Terminal& terminal, std::string (*text)(const Report&, int),
                std::string (*json)(const Report&)) {
  const auto format = format_of(arguments, {"text", "json"}, terminal);
  if (!format) return kBadInput;
  Session session;
  session.shared = &shared;
  if (!open_session(session, arguments, terminal)) return kBadInput;
  std::optional<Report> report = report_of(session, !session.inputs.lists.empty(), terminal);
  if (!report) return kBadInput;
  if (const auto only = arguments.value("--only"); only && !keep_only(*report, *only)) {
    terminal.say("kitgap: `" + printable(*only) + "` is neither a position nor a part of this report\n");
    return kBadInput;
  }
  terminal.print(*format == "json" ? json(*report) : text(*report, terminal.width()));
  return kDone;
}

}  // namespace

int run_report(const Arguments& arguments, Terminal& terminal, std::string (*text)(const Report&, int), std::string (*json)(const Report&)) {
  return with_job(terminal, [&] {
    return for_each_car(arguments, terminal, [&](const Arguments& of_car, SharedSupplies& shared) { return show_report(of_car, shared, terminal, text, json); });
  });
}

}  // namespace kitgap
