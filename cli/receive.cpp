#include <filesystem>
#include <iostream>

#include "arrival/audit.h"
#include "arrival/settle.h"
#include "job/state.h"
#include "job/store.h"
#include "output.h"
#include "packs.h"
#include "receive_job.h"
#include "report/arrival.h"
#include "report/sheet.h"
#include "session.h"
#include "text/csv.h"
#include "text/file.h"

namespace kitgap {
namespace {

// What was ordered: an order file, or one pack of an offer by its number.
std::optional<std::vector<ReadList>> read_order(const std::string& what, Session& session, Terminal& terminal) {
  std::vector<ReadList> lists;
  if (session.sources.find_laid_in(what) != nullptr || is_there(what)) {
    auto list = read_list(what, ListKind::Order, session.inputs.renamed, session.sources, session.diagnostics, sheet_of(what, session.inputs.sheets));
    if (!list) return std::nullopt;
    if (what != kJobOrder) say_rows(*list, terminal);
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

// What is expected, opened to pieces. False, said, when something is refused.
bool open_order(Session& session, const Arguments& arguments, Terminal& terminal) {
  session.rules = read_packs(session.inputs.rules, session.sources, session.diagnostics);
  std::optional<std::vector<ReadList>> lists;
  if (session.rules) {
    // Without a car every content that depends on one is open.
    session.car = session.inputs.car.empty() ? Car{} : read_car(session.inputs.car, *session.rules, session.sources, session.diagnostics);
    lists = read_order(session.inputs.orders.front(), session, terminal);
    if (session.car) session.knowledge = Knowledge::of(*session.car, *session.rules, session.diagnostics);
  }
  if (session.diagnostics.has_errors() || !lists || !session.knowledge) {
    terminal.say(layout(session.diagnostics, session.sources));
    return false;
  }
  if (const auto id = arguments.value("--id")) {
    for (ReadLine& line : lists->front().lines) {
      if (line.set_aside.empty() && line.id != *id) line.set_aside = "of another order";
    }
  }
  session.needs = NeedModel::of(*session.knowledge, *session.car, session.found);
  session.lists = std::move(*lists);
  settle_order(session);
  session.supplies = Supplies::of(*session.needs, {session.lists.front()});
  return true;
}

std::string csv_row(const std::vector<std::string>& cells) {
  std::string row;
  for (std::size_t index = 0; index < cells.size(); ++index) {
    if (index != 0) row += ",";
    append_csv_cell(row, cells[index]);
  }
  return row + "\n";
}

// Each line that is expected, one by one, as rows of COUNTS; an empty answer leaves it uncounted.
std::string ask_counts(const ArrivalAudit& expected, Terminal& terminal) {
  std::string rows = "part number,part,position,counted,damaged\n";
  for (const ArrivalLine& line : expected.lines) {
    const std::string name = line.part_number + (line.part.empty() ? "" : " " + line.part) + (line.position.empty() ? "" : ", " + line.position);
    terminal.say(printable(name) + ": " + range_text(line.expected) + " expected\n  came, and how many damaged (`12`, `12 1`; empty: not counted) > ");
    std::string typed;
    if (!std::getline(std::cin, typed)) {
      terminal.say("\n");
      break;
    }
    const std::size_t first = typed.find_first_not_of(" \t\r");
    if (first == std::string::npos) continue;
    const std::size_t end = std::min(typed.find_first_of(" \t\r", first), typed.size());
    const std::size_t second = std::min(typed.find_first_not_of(" \t\r", end), typed.size());
    const std::size_t second_end = std::min(typed.find_first_of(" \t\r", second), typed.size());
    rows += csv_row({line.part_number, line.part, line.position, typed.substr(first, end - first), typed.substr(second, second_end - second)});
  }
  return rows;
}

// `counted=24 "part number=K-17"` as a file of one row, so that one reader judges both.
std::optional<std::string> typed_row(std::span<const std::string> words, Terminal& terminal) {
  std::vector<std::string> header;
  std::vector<std::string> cells;
  for (const std::string& word : words) {
    const std::size_t equals = word.find('=');
    if (equals == std::string::npos) {
      terminal.say("kitgap receive: `" + printable(word) + "` is no `COLUMN=VALUE`\n");
      return std::nullopt;
    }
    header.push_back(word.substr(0, equals));
    cells.push_back(word.substr(equals + 1));
  }
  return csv_row(header) + csv_row(cells);
}

// The counts of the command: a file, one row, or answers on the terminal. Nothing, said, when they cannot be read.
std::optional<std::vector<CountedRow>> counts_of(Session& session, std::span<const std::string> words, const Arguments& arguments, Terminal& terminal) {
  std::string path = words.empty() ? "the counts typed" : words.front();
  std::optional<std::string> rows;
  if (arguments.has("--ask")) {
    rows = ask_counts(audit_of(*session.needs, *session.supplies, {}, true), terminal);
  } else if (words.empty()) {
    terminal.say("kitgap receive: `COUNTS` is missing: a file, a row as `COLUMN=VALUE`, or --ask\n");
    return std::nullopt;
  } else if (path.find('=') != std::string::npos && !is_there(path)) {
    rows = typed_row(words, terminal);
    if (!rows) return std::nullopt;
  }
  if (rows) {
    path = "the counts typed";
    session.sources.lay_in(path, std::move(*rows));
  }
  auto counts = read_counts(path, *session.rules, session.sources, session.diagnostics, session.inputs.renamed, sheet_of(path, session.inputs.sheets));
  if (!counts || session.diagnostics.has_errors()) {
    terminal.say(layout(session.diagnostics, session.sources));
    return std::nullopt;
  }
  FileRows adding{.file = path, .read = counts->size()};
  std::vector<RowAside> aside;
  for (const CountedRow& row : *counts) {
    if (row.set_aside.empty()) ++adding.used;
    else if (!row.is_silent) aside.push_back({.line = row.line, .reason = row.set_aside});
  }
  say_rows(adding, aside, terminal);
  return counts;
}

// `--aql`, 2.5 % where nothing is said. Nothing, said, when the tables have no such one.
std::optional<Fraction> aql_of(const Arguments& arguments, const SamplingTables& tables, Terminal& terminal) {
  const std::string text = arguments.value("--aql").value_or("2.5");
  const auto aql = Fraction::parse(text);
  const auto known = tables.aqls();
  if (aql && std::find(known.begin(), known.end(), *aql) != known.end()) return aql;
  std::string all;
  for (const Fraction& one : known) all += (all.empty() ? "" : ", ") + one.to_text();
  terminal.say("kitgap receive: the standard has no AQL of `" + printable(text) + "` %; it has " + all + "\n");
  return std::nullopt;
}

std::optional<SamplingTables> sampling_tables(Session& session) {
  session.sources.lay_in("standards/sampling-code-letters.csv", kSamplingLetters);
  session.sources.lay_in("standards/sampling-plans.csv", kSamplingPlans);
  return read_sampling_tables("standards", session.sources, session.diagnostics);
}

int show_sheet(const Session& session, const Output& output, Terminal& terminal) {
  const ArrivalAudit expected = audit_of(*session.needs, *session.supplies, {}, true);
  deliver(output, output.is("html")  ? sheet_html(arrival_sheet_of(expected, *session.needs, session.inputs.orders.front()))
                  : output.is("csv") ? tick_sheet_csv(expected)
                                     : tick_sheet_text(expected, output.width(terminal)),
          terminal);
  return kDone;
}

int receive(const Arguments& arguments, Terminal& terminal) {
  const auto job = arguments.value("--job");
  if (arguments.has("--as") && (!job || arguments.has("--out"))) {
    terminal.say(job ? "kitgap receive: `--as` records in the job; there is nothing to write with `--out`\n" : "kitgap receive: `--as` goes with `--job`\n");
    return kBadInput;
  }
  if (arguments.has("--as")) return record_of_order(arguments, terminal);
  const auto output = output_of(arguments, arguments.has("--tick-sheet") ? std::vector<std::string>{"text", "csv", "html"} : std::vector<std::string>{"text", "json"}, terminal);
  if (!output) return kBadInput;
  if (arguments.has("--as-of") && (!job || !arguments.has("--tick-sheet"))) {
    terminal.say("kitgap receive: `--as-of` goes with `--job` and `--tick-sheet`; what is counted is recorded as of now\n");
    return kBadInput;
  }
  Session session;
  std::span<const std::string> words = arguments.positionals;
  std::string seal;
  auto given = columns_of(arguments, terminal);
  if (!given) return kBadInput;
  session.inputs.renamed = std::move(*given);
  session.inputs.sheets = arguments.values("--sheet");
  if (job) {
    if (!lay_in_orders(session, arguments, seal, terminal)) return kBadInput;
  } else {
    session.inputs.rules = arguments.values("--rules");
    session.inputs.car = arguments.value("--car").value_or("");
    if (session.inputs.rules.empty() || words.empty()) {
      terminal.say(words.empty() ? "kitgap receive: `OFFER|ORDER` is missing: a part number or the order file; or name a job with --job\n"
                                 : "kitgap receive: `--rules` is missing: a pack of rules\n");
      return kBadInput;
    }
    session.inputs.orders = {words.front()};
    words = words.subspan(1);
  }
  if (!open_order(session, arguments, terminal)) return kBadInput;
  if (arguments.has("--tick-sheet")) return show_sheet(session, *output, terminal);
  const auto counts = counts_of(session, words, arguments, terminal);
  const auto tables = sampling_tables(session);
  const auto aql = tables ? aql_of(arguments, *tables, terminal) : std::nullopt;
  if (!counts || !aql) return kBadInput;
  const ArrivalAudit audit = audit_of(*session.needs, *session.supplies, *counts, job.has_value());
  ArrivalNotes notes{.day = arguments.value("--date").value_or(""), .slip = arguments.value("--slip").value_or(""),
                     .sampling = sampling_of(audit, *counts, *tables, *aql), .records = {}};
  if (!check_day(notes.day, terminal)) return kBadInput;
  if (job) record_arrivals(session, audit, *counts, seal, arguments, notes, terminal);
  deliver(*output, output->is("json") ? arrival_json(audit, notes) : arrival_text(audit, notes, output->width(terminal)), terminal);
  return audit.is_right() ? kDone : kFoundWrong;
}

int run_receive(const Arguments& arguments, Terminal& terminal) {
  return with_job(terminal, [&] { return receive(arguments, terminal); });
}

}  // namespace

Command receive_command() {
  return {.name = "receive",
          .group = Group::YourCar,
          .answers = "The arrival audit: what was counted out of a parcel against what was ordered: over, short, damaged, of the wrong hand, pieces against the stated count. With --job it is recorded: what came is then in stock, the rest still on its way.",
          .positionals = {{"OFFER|ORDER", "a part number, or the order file; not with --job", false, false},
                          {"COUNTS", "what was counted, CSV or XLSX, or one row as `\"part number=K-17\" counted=24`", false, true}},
          .options = {{"--rules", "DIR", "a pack of rules, general first; with --job else those of the job", false, true},
                      {"--job", "FILE", "the job whose orders are expected, and that records what came", false, false},
                      {"--car", "CAR", "the car (its file, or its name in the job), where contents depend on it, and whose rework it is", false, false},
                      {"--id", "ORDER", "only this order", false, false},
                      {"--as-of", "DATE", "with --tick-sheet: what was expected at the end of that day (UTC)", false, false},
                      {"--tick-sheet", "", "print a sheet to count and tick on (csv, and html on a phone: to be filled in and given back as COUNTS)", false, false},
                      {"--ask", "", "ask for each count in turn", false, false},
                      {"--as", "KIND", "record something else of an order: `back order`, `substitute`, `return`, `credit`, `rework`; COLUMN=VALUE words say what", false, false},
                      {"--aql", "PERCENT", "bad pieces that may pass in lots of 300 and more, 2.5 if not stated", false, false},
                      {"--slip", "TEXT", "the number of the delivery note", false, false},
                      {"--bag", "BAG", "where it is put; a column `bag` says it row by row", false, false},
                      {"--date", "DATE", "the day it came; with --job else today", false, false},
                      by_option(),
                      {"--columns", "THEIRS=OURS", "a column of your files under another name, `,` between", false, true},
                      {"--sheet", "NAME|FILE=NAME", "the sheet of a workbook; else the first visible one that names your columns", false, true},
                      {"--format", "text|json|csv|html", "how to write it", false, false}, out_option()},
          .examples = {{"kitgap receive data/demo/home/order.csv data/demo/home/counts.csv --rules rules/demo", "the demonstration's parcel"},
                       {"kitgap receive --job shed.job --ask", "count a parcel in front of the screen"},
                       {"kitgap receive --job shed.job --as \"back order\" \"part number=K-17\" quantity=2 due=2027-05-01", "the supplier says what comes later"},
                       {"kitgap receive --job shed.job --as rework \"part number=K-17\" quantity=1 minutes=40 \"what=trim the lower edge\"", "keep a piece that needs work first"}},
          .run = run_receive};
}

}  // namespace kitgap
