#include <filesystem>

#include "arrival/audit.h"
#include "report/arrival.h"
#include "session.h"
#include "text/file.h"

namespace kitgap {
namespace {

// What was ordered: an order file, or one pack of an offer by its number.
std::optional<std::vector<ReadList>> read_order(const std::string& what, Session& session) {
  std::vector<ReadList> lists;
  if (std::filesystem::exists(what)) {
    auto list = read_list(what, ListKind::Order, {}, session.sources, session.diagnostics);
    if (!list) return std::nullopt;
    lists.push_back(std::move(*list));
    return lists;
  }
  const std::string number = normalised_part_number(what);
  std::vector<std::string> known;
  for (const OfferKey& key : session.rules->offer_keys) {
    known.push_back(key.part_number);
    if (normalised_part_number(key.part_number) != number) continue;
    ReadLine line;
    line.line = 1;
    line.as_typed = line.part_number = key.part_number;
    line.supplier = key.supplier;
    line.quantity.known = true;
    line.quantity.amount = 1;
    lists.push_back({.file = what, .kind = ListKind::Order, .lines = {std::move(line)}, .remarks = {}, .used = 1, .set_aside = 0});
    return lists;
  }
  session.diagnostics.add({.code = "unknown-offer", .span = {.source = session.sources.add(what, what), .line = 1, .column = 1,
                           .length = static_cast<std::uint32_t>(characters(what))},
                           .says = "`" + what + "` is neither a file nor an offer of these packs", .expected = "an order file or a part number",
                           .suggestion = nearest(what, known)});
  return std::nullopt;
}

int run_receive(const Arguments& arguments, Terminal& terminal) {
  const auto format = format_of(arguments, {"text", "json"}, terminal);
  if (!format) return kBadInput;
  Session session;
  std::vector<std::filesystem::path> directories;
  for (const std::string& directory : arguments.values("--rules")) directories.emplace_back(directory);
  session.rules = read_rules(directories, session.sources, session.diagnostics);
  std::optional<std::vector<ReadList>> lists;
  std::optional<std::vector<CountedRow>> counts;
  if (session.rules) {
    // Without a car every content that depends on one is open.
    session.car = arguments.has("--car") ? read_car(*arguments.value("--car"), *session.rules, session.sources, session.diagnostics) : Car{};
    lists = read_order(*arguments.positional(0), session);
    counts = read_counts(*arguments.positional(1), *session.rules, session.sources, session.diagnostics);
    if (session.car) session.knowledge = Knowledge::of(*session.car, *session.rules, session.diagnostics);
  }
  if (session.diagnostics.has_errors() || !lists || !counts) {
    terminal.say(layout(session.diagnostics, session.sources));
    return kBadInput;
  }
  session.needs = NeedModel::of(*session.knowledge, *session.car, session.found);
  session.supplies = Supplies::of(*session.needs, std::move(*lists));
  const ArrivalAudit audit = audit_of(*session.needs, *session.supplies, *counts);
  terminal.print(*format == "json" ? arrival_json(audit) : arrival_text(audit, terminal.width()));
  return audit.is_right() ? kDone : kFoundWrong;
}

}  // namespace

Command receive_command() {
  return {.name = "receive",
          .group = Group::YourCar,
          .answers = "The arrival audit: what was counted out of a parcel against what was ordered: over, short, damaged, of the wrong hand, pieces against the stated count.",
          .positionals = {{"OFFER|ORDER", "a part number, or the order file", true, false}, {"COUNTS", "what was counted, CSV or XLSX", true, false}},
          .options = {{"--rules", "DIR", "a pack of rules; general first", true, true},
                      {"--car", "CAR", "the car, where contents depend on it", false, false},
                      {"--format", "text|json", "how to write it", false, false}},
          .examples = {{"kitgap receive data/demo/home/order.csv data/demo/home/counts.csv --rules rules/demo", "the demonstration's parcel"}},
          .run = run_receive};
}

}  // namespace kitgap
