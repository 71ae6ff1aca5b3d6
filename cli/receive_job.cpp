#include "receive_job.h"

#include <algorithm>
#include <array>

#include "job/packs.h"
#include "job/state.h"
#include "job/store.h"
#include "text/file.h"
#include "value/calendar.h"

namespace kitgap {
namespace {

constexpr auto kKindsOfOrder = std::to_array<std::string_view>({"back order", "substitute", "return", "credit", "rework"});

// The order line that the words name: by `id` and `line`, or by a part number that only one line has.
void name_order_line(Entry& entry, std::span<const Record> standing) {
  const auto column = [&](std::string_view name) { return find_record_column(entry.kind, name); };
  std::string& id = entry.cells[*column("id")];
  std::string& line = entry.cells[*column("line")];
  std::string number;
  if (const auto at = column("part number")) number = normalised_part_number(entry.cells[*at]);
  std::vector<const Record*> meant;
  const auto lines = present_records(standing, "order line", "");
  for (const Record& one : lines) {
    const bool is_named = (!number.empty() && normalised_part_number(one.cell("part number")) == number) || (number.empty() && !line.empty());
    const bool is_of = (id.empty() || one.cell("id") == id) && (line.empty() || one.cell("line") == line);
    if (is_named && is_of) meant.push_back(&one);
  }
  if (meant.size() == 1) {
    id = meant.front()->cell("id");
    line = meant.front()->cell("line");
    return;
  }
  std::string says = meant.empty() ? "no order line of this job is meant" : "several order lines are meant: name one with `id=` and `line=`";
  for (const Record& one : lines) {
    if (!meant.empty() && std::ranges::find(meant, &one) == meant.end()) continue;
    says += "\n  id=" + std::string(one.cell("id")) + " line=" + std::string(one.cell("line")) + "  " + std::string(one.cell("part number")) + " " +
            std::string(one.cell("description"));
  }
  throw JobRefused{says};
}

void check_cells(const Entry& entry, std::span<const std::string_view> asked_for) {
  const RecordKind& kind = record_kinds()[entry.kind];
  for (std::size_t at = 0; at < kind.columns.size(); ++at) {
    const std::string_view column = kind.columns[at];
    const std::string& cell = entry.cells[at];
    const bool is_figure = column == "quantity" || column == "minutes" || column == "amount";
    const bool is_day = column == "due" || column == "date" || column == "last day";
    const auto figure = Fraction::parse(cell);
    if (std::ranges::find(asked_for, column) != asked_for.end() && cell.empty()) throw JobRefused{"`" + std::string(column) + "=` is missing"};
    if (is_figure && !cell.empty() && (!figure || figure->sign() < 0)) throw JobRefused{"`" + cell + "` is no figure for `" + std::string(column) + "`"};
    if (is_day && !cell.empty() && !parse_date(cell)) throw JobRefused{"`" + cell + "` is no date; write it as 2027-03-01"};
    if (column == "kept" && !cell.empty() && cell != "yes" && cell != "no") throw JobRefused{"`kept` is `yes` or `no`, not `" + cell + "`"};
  }
}

std::vector<std::string_view> asked_for(std::string_view kind) {
  if (kind == "back order") return {"quantity"};
  if (kind == "substitute") return {"sent", "quantity", "kept"};
  if (kind == "return") return {"quantity", "reason"};
  if (kind == "credit") return {"amount"};
  return {"quantity", "minutes", "what"};
}

void set(Entry& entry, std::string_view column, const std::string& value) { entry.cells[*find_record_column(entry.kind, column)] = value; }

std::string car_of_job(const Arguments& arguments, const JobContents& contents) {
  const std::string car = arguments.value("--car").value_or(contents.cars.size() == 1 ? contents.cars.front() : "");
  if (car.empty() || std::ranges::find(contents.cars, car) != contents.cars.end()) return car;
  const std::string near = nearest(car, contents.cars);
  throw JobRefused{"there is no car `" + car + "` in this job" + (near.empty() ? "" : "\ndid you mean `" + near + "`?")};
}

}  // namespace

bool check_day(const std::string& day, Terminal& terminal) {
  if (day.empty() || parse_date(day)) return true;
  terminal.say("kitgap: `" + printable(day) + "` is no date; write it as 2027-03-01\n");
  return false;
}

bool lay_in_orders(Session& session, const Arguments& arguments, std::string& seal, Terminal& terminal) {
  const std::string job = *arguments.value("--job");
  std::optional<std::string> as_of;
  if (!read_as_of(arguments, as_of, terminal)) return false;
  const JobContents contents = read_job(job);
  seal = contents.seal;
  Inputs& inputs = session.inputs;
  inputs.standing = standing_records(contents.records, as_of);
  if (as_of && inputs.standing.empty()) throw JobRefused{"this job held nothing yet at the end of " + *as_of};
  inputs.rules = arguments.values("--rules");
  if (inputs.rules.empty()) inputs.rules = pack_folders(inputs.standing, job, session.sources, terminal);
  if (inputs.rules.empty()) throw JobRefused{"this job names no packs yet: give them with --rules"};
  std::vector<std::int64_t> rows;
  std::string orders = table_csv(inputs.standing, JobTable::Order, "", &rows);
  if (orders.empty()) throw JobRefused{"nothing is on order in this job" + (as_of ? " at the end of " + *as_of : "") + "\n`kitgap job take " + job + " --order FILE` takes an order into it"};
  session.sources.lay_in(kJobOrder, std::move(orders));
  inputs.orders = {kJobOrder};
  inputs.book = order_book(inputs.standing, rows);
  const std::string car = car_of_job(arguments, contents);
  if (car.empty()) return true;
  inputs.car = "job:" + car + "/car.json";
  session.sources.lay_in(inputs.car, car_json(inputs.standing, car));
  return true;
}

void record_arrivals(const Session& session, const ArrivalAudit& audit, const std::vector<CountedRow>& counts, const std::string& seal,
                     const Arguments& arguments, ArrivalNotes& notes, Terminal& terminal) {
  const Stamp stamp = stamp_of(arguments, "receive");
  if (notes.day.empty()) notes.day = stamp.at.substr(0, 10);
  const auto orders = present_records(session.inputs.standing, "order line", "");
  std::vector<std::int64_t> rows;
  (void)table_csv(session.inputs.standing, JobTable::Order, "", &rows);
  const ReadList& order = session.supplies->lists.front();
  std::vector<Entry> entries;
  for (const Taking& taking : audit.takings) {
    const ArrivalLine& line = audit.lines[taking.line];
    const CountedRow& row = counts[taking.row];
    Entry entry = entry_of("", "arrival", {{"slip", notes.slip}, {"part number", line.part_number}, {"part", line.part}, {"counted", taking.counted.to_text()},
                                           {"damaged", taking.damaged.is_zero() ? "" : taking.damaged.to_text()}, {"supplier", line.supplier},
                                           {"bag", row.bag.empty() ? arguments.value("--bag").value_or("") : row.bag}, {"date", notes.day}, {"note", row.note}});
    if (line.order_line && !taking.is_wrong) {
      // The rows of the order follow its header.
      const auto at = std::ranges::find(order.lines, *line.order_line, &ReadLine::line) - order.lines.begin() - 1;
      const auto record = std::ranges::find(orders, rows[static_cast<std::size_t>(at)], &Record::id);
      set(entry, "id", std::string(record->cell("id")));
      set(entry, "line", std::string(record->cell("line")));
      set(entry, "position", line.place);
    } else if (!row.leaves.empty()) {
      set(entry, "position", row.leaves.size() == 1 ? session.rules->positions.path(row.leaves.front()) : std::string(hand_word(row.hand)));
    } else {
      set(entry, "position", std::string(hand_word(row.hand)));
    }
    entries.push_back(std::move(entry));
  }
  if (entries.empty()) {
    terminal.say("nothing was counted, and nothing was saved\n");
    return;
  }
  const Saved saved = add_records(*arguments.value("--job"), entries, stamp, {}, seal);
  notes.records = saved.ids;
  say_saved(std::to_string(entries.size()) + (entries.size() == 1 ? " arrival, record " : " arrivals, records ") + std::to_string(saved.ids.front()) +
                (entries.size() == 1 ? "" : " to " + std::to_string(saved.ids.back())),
            saved.backup_failed, terminal);
}

int record_of_order(const Arguments& arguments, Terminal& terminal) {
  const std::string word = *arguments.value("--as");
  if (std::ranges::find(kKindsOfOrder, word) == kKindsOfOrder.end()) {
    const std::string near = nearest(word, {kKindsOfOrder.begin(), kKindsOfOrder.end()});
    throw JobRefused{"`" + word + "` is none of `back order`, `substitute`, `return`, `credit`, `rework`" + (near.empty() ? "" : "\ndid you mean `" + near + "`?")};
  }
  const std::string job = *arguments.value("--job");
  const JobContents contents = read_job(job);
  // An order line is named by its part number too, which not every kind records.
  std::vector<std::string> words = arguments.positionals;
  std::string number;
  const KindIndex kind = record_kind_of(word);
  if (!find_record_column(kind, "part number")) {
    const auto at = std::ranges::find_if(words, [](const std::string& one) { return one.starts_with("part number="); });
    if (at != words.end()) {
      number = at->substr(12);
      words.erase(at);
    }
  }
  auto entry = entry_of_words("", kind, words, terminal);
  if (!entry) return kBadInput;
  const auto standing = standing_records(contents.records);
  if (!number.empty()) {
    // Found through a kind that has the column, then carried over.
    Entry named = entry_of("", "return", {{"id", entry->cells[*find_record_column(kind, "id")]}, {"line", entry->cells[*find_record_column(kind, "line")]},
                                          {"part number", number}});
    name_order_line(named, standing);
    set(*entry, "id", named.cells[*find_record_column(named.kind, "id")]);
    set(*entry, "line", named.cells[*find_record_column(named.kind, "line")]);
  } else if (word == "back order" || word == "substitute" || word == "rework" || word == "return") {
    name_order_line(*entry, standing);
  }
  if (word == "rework") {
    const std::string car = car_of_job(arguments, contents);
    if (car.empty()) throw JobRefused{"name the car whose hours the rework is with --car"};
    set(*entry, "for car", car);
  }
  const auto needed = asked_for(word);
  check_cells(*entry, needed);
  const std::vector<Entry> entries = {std::move(*entry)};
  const Saved saved = add_records(job, entries, stamp_of(arguments, "receive"), {}, contents.seal);
  say_saved(word + ", record " + std::to_string(saved.ids.front()), saved.backup_failed, terminal);
  return kDone;
}

}  // namespace kitgap
