#include <algorithm>

#include "job/intake.h"
#include "job/store.h"
#include "need/found_read.h"
#include "need/own_pack.h"
#include "output.h"
#include "packs.h"
#include "recording.h"
#include "report/found.h"
#include "report/sheet.h"
#include "session.h"
#include "text/csv.h"
#include "text/file.h"

namespace kitgap {
namespace {

constexpr const char* kTyped = "the row typed";

// `part=panel-clip count=9` as a file of one row, so that one reader judges both.
bool lay_in_row(std::span<const std::string> words, Sources& sources, Terminal& terminal) {
  const auto entry = entry_of_words("", record_kind_of("found"), words, terminal);
  if (!entry) return false;
  std::string header;
  std::string row;
  for (std::size_t column = 0; column < entry->cells.size(); ++column) {
    header += (column == 0 ? "" : ",") + std::string(record_kinds()[entry->kind].columns[column]);
    if (column != 0) row += ",";
    append_csv_cell(row, entry->cells[column]);
  }
  sources.lay_in(kTyped, header + "\n" + row + "\n");
  return true;
}

bool is_row(const std::string& word) {
  return word.find('=') != std::string::npos && !is_there(word);
}

// Adds the rows to the job, those set aside said. False when none could be recorded.
bool record_rows(const Arguments& arguments, std::span<const std::string> words, Terminal& terminal) {
  const std::string job = *arguments.value("--job");
  const JobContents contents = read_job(job);
  const std::vector<Record> standing = standing_records(contents.records);
  const std::string car = arguments.value("--car").value_or(contents.cars.size() == 1 ? contents.cars.front() : "");
  if (car.empty()) throw JobRefused{"name the car with --car"};
  if (std::ranges::find(contents.cars, car) == contents.cars.end()) {
    const std::string near = nearest(car, contents.cars);
    throw JobRefused{"there is no car `" + car + "` in this job" + (near.empty() ? "\n`kitgap start --job` adds one" : "\ndid you mean `" + near + "`?")};
  }
  Sources sources;
  Diagnostics diagnostics;
  const bool is_typed = is_row(words.front());
  if (is_typed && !lay_in_row(words, sources, terminal)) return false;
  std::vector<std::string> folders = arguments.values("--rules");
  if (folders.empty()) folders = pack_folders(standing, job, sources, terminal);
  if (folders.empty()) throw JobRefused{"this job names no packs yet: give them with --rules"};
  const auto rules = read_packs(folders, sources, diagnostics);
  auto renamed = columns_of(arguments, terminal);
  if (!renamed) return false;
  std::vector<Entry> entries = entries_of_columns(JobTable::Found, *renamed, standing);
  const std::size_t names = entries.size();
  for (auto& pair : remembered_columns(standing, word_of(JobTable::Found))) renamed->push_back(std::move(pair));
  const std::vector<std::string> files = is_typed ? std::vector<std::string>{kTyped} : std::vector<std::string>(words.begin(), words.end());
  for (const std::string& file : files) {
    if (!rules) break;
    auto intake = entries_of_found(file, car, *rules, *renamed, sheet_of(file, arguments.values("--sheet")), sources, diagnostics);
    if (!intake) continue;
    say_intake(file, *intake, terminal);
    std::ranges::move(intake->entries, std::back_inserter(entries));
  }
  if (diagnostics.has_errors()) {
    terminal.say(layout(diagnostics, sources));
    return false;
  }
  if (entries.size() == names) throw JobRefused{"no row can be recorded; nothing was saved"};
  const Saved saved = add_records(job, entries, stamp_of(arguments, "found"), {}, contents.seal);
  const std::size_t counts = entries.size() - names;
  say_saved(std::to_string(counts) + (counts == 1 ? " count for `" : " counts for `") + car + "`, " +
                (counts == 1 ? "record " + std::to_string(saved.ids.back())
                           : "records " + std::to_string(saved.ids[names]) + " to " + std::to_string(saved.ids.back())),
            saved.backup_failed, terminal);
  return true;
}

// The car's session by the arguments that `check` would take: with its counts, or without.
bool open_car(Session& session, const Arguments& arguments, const std::string& car, const std::string& file, bool has_counts, Terminal& terminal) {
  Arguments plain = arguments;
  plain.positionals.clear();
  if (!arguments.has("--job")) plain.positionals.push_back(car);
  SharedSupplies turns;
  if (!take_turns(arguments, turns, terminal)) return false;
  if (!has_counts && arguments.has("--job")) plain.options["--in-turn"] = {};  // what is shared is said once
  auto inputs = inputs_of(plain, session.sources, terminal);
  if (!inputs) return false;
  if (!file.empty()) inputs->found = file;
  if (!has_counts) inputs->found.reset();
  session.shared = &turns;
  const bool is_open = open_session(session, std::move(*inputs), terminal);
  session.shared = nullptr;
  return is_open;
}

// Prints the rows of a `needs` table, or adds them to the pack of one's own that `--pack` names.
int deliver_needs(const std::string& rows, const Arguments& arguments, const Output& output, Terminal& terminal) {
  const auto pack = arguments.value("--pack");
  if (!pack) {
    deliver(output, rows, terminal);
    return kDone;
  }
  Sources sources;
  Diagnostics diagnostics;
  const std::filesystem::path path = std::filesystem::path(*pack) / "needs.csv";
  sources.lay_in("counts", rows);
  const auto counts = read_file("counts", sources, diagnostics);
  const auto file = read_file(path, sources, diagnostics);
  const auto there = file ? read_pack_table(*file, sources, diagnostics) : std::nullopt;
  const auto added = counts && there ? read_pack_table(*counts, sources, diagnostics) : std::nullopt;
  if (!added) {
    terminal.say(layout(diagnostics, sources) + "`kitgap start --pack " + printable(*pack) + "` begins a pack of your own\n");
    return kBadInput;
  }
  write_file(path, with_needs(*there, *added));
  terminal.say("wrote " + path.string() + ", " + std::to_string(added->row_count()) + (added->row_count() == 1 ? " row" : " rows") + " counted\n");
  return kDone;
}

int print_as_needs(const Arguments& arguments, std::span<const std::string> words, const Output& output, Terminal& terminal) {
  // A file alone tells no car: its rows then hold for any.
  if (!arguments.has("--job") && words.size() == 1) {
    Sources sources;
    Diagnostics diagnostics;
    const std::vector<std::string> folders = arguments.values("--rules");
    const auto rules = read_packs(folders, sources, diagnostics);
    const auto renamed = columns_of(arguments, terminal);
    if (!renamed) return kBadInput;
    const auto found = rules ? read_found(words.front(), *rules, sources, diagnostics, *renamed, sheet_of(words.front(), arguments.values("--sheet"))) : std::nullopt;
    if (diagnostics.has_errors() || !found) {
      terminal.say(layout(diagnostics, sources));
      return kBadInput;
    }
    say_rows(*found, terminal);
    return deliver_needs(counts_as_needs(*found, *rules, nullptr, ""), arguments, output, terminal);
  }
  Session session;
  const bool has_job = arguments.has("--job");
  if (!open_car(session, arguments, has_job ? "" : words[0], has_job ? "" : words[1], true, terminal)) return kBadInput;
  return deliver_needs(counts_as_needs(session.found, *session.rules, &*session.knowledge, session.car->name), arguments, output, terminal);
}

// What the counts say against the tables, and what they change.
int show(const Arguments& arguments, const std::string& car, const std::string& file, const Output& output, Terminal& terminal) {
  Session with;
  Session without;
  without.says_rows = false;
  if (!open_car(with, arguments, car, file, true, terminal) || !open_car(without, arguments, car, file, false, terminal)) return kBadInput;
  const auto now = report_of(with, !with.inputs.lists.empty(), terminal);
  const auto was = now ? report_of(without, !without.inputs.lists.empty(), terminal) : std::nullopt;
  if (!was) return kBadInput;
  const std::vector<Change> changes = changes_between(*was, *now);
  deliver(output, output.is("json") ? found_json(*now, with.found, *with.rules, changes) : found_text(*now, with.found, *with.rules, changes, output.width(terminal)), terminal);
  return kDone;
}

int print_sheet(const Arguments& arguments, const std::string& car, const Output& output, Terminal& terminal) {
  Session session;
  if (!open_car(session, arguments, car, "", true, terminal)) return kBadInput;
  auto report = report_of(session, !session.inputs.lists.empty(), terminal);
  if (!report) return kBadInput;
  if (const auto only = arguments.value("--only"); only && !keep_only(*report, *only)) {
    terminal.say("kitgap: `" + printable(*only) + "` is neither a position nor a part of this car\n");
    return kBadInput;
  }
  deliver(output, output.is("html")  ? sheet_html(found_sheet_of(*report))
                  : output.is("csv") ? count_sheet_csv(*report)
                                     : count_sheet_text(*report, output.width(terminal)),
          terminal);
  return kDone;
}

int found(const Arguments& arguments, Terminal& terminal) {
  if (arguments.has("--pack") && !arguments.has("--to-pack")) {
    terminal.say("kitgap found: `--pack` goes with `--to-pack`\n");
    return kBadInput;
  }
  if (arguments.has("--pack") && arguments.has("--out")) {
    terminal.say("kitgap found: with `--pack` the rows go into that pack; `--out` alone writes them to a file\n");
    return kBadInput;
  }
  const auto output = output_of(arguments, arguments.has("--count-sheet") ? std::vector<std::string>{"text", "csv", "html"} : std::vector<std::string>{"text", "json"}, terminal);
  if (!output) return kBadInput;
  const std::vector<std::string>& words = arguments.positionals;
  const bool has_job = arguments.has("--job");
  const std::size_t least = arguments.has("--count-sheet") || arguments.has("--to-pack") ? 1 : 2;
  if (!has_job && words.size() < least) {
    terminal.say(least == 1 ? "kitgap found: name a car file, or a job with --job\n"
                            : "kitgap found: name a car file and its counts, or a job with --job\n");
    return kBadInput;
  }
  if (arguments.has("--count-sheet")) return print_sheet(arguments, has_job ? "" : words[0], *output, terminal);
  if (arguments.has("--to-pack")) return print_as_needs(arguments, words, *output, terminal);
  if (!has_job) return show(arguments, words[0], words[1], *output, terminal);
  if (!words.empty() && !record_rows(arguments, words, terminal)) return kBadInput;
  return show(arguments, "", "", *output, terminal);
}

int run_found(const Arguments& arguments, Terminal& terminal) {
  return with_job(terminal, [&] { return found(arguments, terminal); });
}

}  // namespace

Command found_command() {
  return {.name = "found", .group = Group::YourCar,
          .answers = "What was counted on the old car and how good it is: recorded in a job, where it differs from the tables and what that changes; a sheet to count on; counts as rows of a pack.",
          .positionals = {{"CAR|FILE|COLUMN=VALUE", "with --job the counts: files, or one row as `part=panel-clip count=9`; without one a car file and its counts", false, true}},
          .options = car_options({{"--count-sheet", "", "print what is worth counting (csv, and html on a phone: to be filled in and given back)", false, false},
                                  {"--only", "POSITION|PART", "the sheet of one place or part", false, false},
                                  {"--to-pack", "", "print the counts as rows of a `needs` table, with their source", false, false},
                                  {"--pack", "DIR", "with --to-pack: put them into that pack of your own, in place of older counts of the same", false, false}, by_option(),
                                  {"--format", "text|json|csv|html", "how to write it", false, false}, out_option()}),
          .examples = {{"kitgap found data/demo/home/car.json data/demo/home/found.csv --rules rules/demo", "the demonstration's counts against the tables"},
                       {"kitgap found data/demo/home/car.json --count-sheet --only rear.left --rules rules/demo", "a sheet to take to the car"},
                       {"kitgap found data/demo/home/found.csv --to-pack --rules rules/demo", "the counts for the next person with this car"},
                       {"kitgap found --job shed.job parent=door-panel position=rear.left part=clip-hole count=9 \"counted in=shell\"", "one count into the job"}},
          .run = run_found};
}

}  // namespace kitgap
