#include "job/state.h"

#include <algorithm>
#include <map>
#include <set>

#include "job/orders.h"
#include "text/csv.h"
#include "text/json.h"
#include "value/fraction.h"

namespace kitgap {
namespace {

bool is_by(const Record& record, const std::optional<std::string>& day) {
  return !day || std::string_view(record.at).substr(0, 10) <= *day;
}

std::string key_of(const Record& record, std::size_t columns) {
  std::string key;
  for (std::size_t column = 0; column < columns; ++column) {
    key += std::to_string(record.cells[column].size()) + ":" + record.cells[column];
  }
  return key;
}

void append_row(std::string& out, const std::vector<std::string_view>& cells) {
  for (std::size_t index = 0; index < cells.size(); ++index) {
    if (index != 0) out += ",";
    append_csv_cell(out, cells[index]);
  }
  out += "\n";
}

struct TableForm {
  JobTable table;
  std::string_view kind;
  bool is_of_car;
};
constexpr TableForm kForms[] = {{JobTable::List, "list line", true},
                                {JobTable::Stock, "stock line", false},
                                {JobTable::Order, "order line", false},
                                {JobTable::Found, "found", true}};

// A line that was set to none is gone; an empty quantity is unknown, and stays.
bool is_none(const Record& record) {
  const auto column = find_record_column(record.kind, "quantity");
  return column && record.cells[*column] == "0";
}

// The day that the supplier named last.
std::string_view due_of(const Record& line, std::span<const Record> back_orders) {
  for (const Record& back_order : back_orders) {
    if (order_line_of(back_order) == order_line_of(line) && !back_order.cell("due").empty()) return back_order.cell("due");
  }
  return line.cell("due");
}

}  // namespace

std::vector<Record> standing_records(std::span<const Record> records, const std::optional<std::string>& as_of) {
  std::set<std::int64_t> gone;
  std::map<std::int64_t, std::int64_t> place_of;  // a correction stands where the first of its line stood
  for (const Record& record : records) {
    if (!is_by(record, as_of) || !record.corrects) continue;
    gone.insert(*record.corrects);
    const auto first = place_of.find(*record.corrects);
    place_of[record.id] = first == place_of.end() ? *record.corrects : first->second;
  }
  const KindIndex withdrawal = record_kind_of("withdrawal");
  std::vector<Record> standing;
  for (const Record& record : records) {
    if (is_by(record, as_of) && !gone.contains(record.id) && record.kind != withdrawal) standing.push_back(record);
  }
  const auto place = [&](const Record& record) {
    const auto found = place_of.find(record.id);
    return found == place_of.end() ? record.id : found->second;
  };
  std::ranges::stable_sort(standing, {}, place);
  return standing;
}

std::vector<Record> present_records(std::span<const Record> standing, std::string_view kind_word, std::string_view car) {
  const KindIndex kind = record_kind_of(kind_word);
  const std::size_t keys = record_kinds()[kind].key_columns;
  const KindIndex list = record_kind_of("list");
  std::vector<Record> present;
  std::map<std::string, std::size_t> by_key;
  for (const Record& record : standing) {
    if (record.car != car) continue;
    if (record.kind == list && kind_word == "list line") {
      present.clear();
      by_key.clear();
    }
    if (record.kind != kind) continue;
    if (keys == 0) {
      present.push_back(record);
      continue;
    }
    const auto [found, is_new] = by_key.try_emplace(key_of(record, keys), present.size());
    if (is_new) present.push_back(record);
    else present[found->second] = record;
  }
  return present;
}

std::string car_json(std::span<const Record> standing, std::string_view car) {
  JsonWriter json;
  json.begin_object().key("name").string(car).key("facts").begin_object();
  for (const Record& record : present_records(standing, "fact", car)) {
    json.key(record.cell("fact"));
    if (record.cell("value").empty()) json.null();
    else json.string(record.cell("value"));
  }
  json.end_object();
  const auto cars = present_records(standing, "car", car);
  if (!cars.empty() && !cars.back().cell("work").empty()) {
    json.key("work").begin_array();
    std::string_view rest = cars.back().cell("work");
    while (!rest.empty()) {
      const std::size_t end = std::min(rest.find(';'), rest.size());
      std::string_view word = rest.substr(0, end);
      while (word.starts_with(' ')) word.remove_prefix(1);
      while (word.ends_with(' ')) word.remove_suffix(1);
      if (!word.empty()) json.string(word);
      rest.remove_prefix(std::min(end + 1, rest.size()));
    }
    json.end_array();
  }
  const auto dates = present_records(standing, "date", car);
  if (!dates.empty()) {
    json.key("dates").begin_object();
    for (const Record& record : dates) {
      if (!record.cell("date").empty()) json.key(record.cell("step")).string(record.cell("date"));
    }
    json.end_object();
  }
  return json.end_object().take();
}

std::string table_csv(std::span<const Record> standing, JobTable table, std::string_view car,
                      std::vector<std::int64_t>* lines) {
  const TableForm& form = *std::ranges::find(kForms, table, &TableForm::table);
  const KindIndex kind = record_kind_of(form.kind);
  std::string out;
  std::vector<std::string_view> header;
  for (const std::string_view column : record_kinds()[kind].columns) {
    if (column != "line") header.push_back(column);
  }
  append_row(out, header);
  bool has_rows = false;
  const auto back_orders = table == JobTable::Order ? present_records(standing, "back order", "") : std::vector<Record>{};
  for (const Record& record : present_records(standing, form.kind, form.is_of_car ? car : std::string_view())) {
    if (is_none(record)) continue;
    std::vector<std::string_view> cells;
    // Who said so is the one named in the row, else the one who recorded it.
    for (const std::string_view column : header) {
      const std::string_view cell = record.cell(column);
      cells.push_back(column == "by" && cell.empty() ? std::string_view(record.who) : column == "due" ? due_of(record, back_orders) : cell);
    }
    append_row(out, cells);
    if (lines != nullptr) lines->push_back(record.id);
    has_rows = true;
  }
  if (table == JobTable::Stock) {
    for (const LooseRow& row : loose_arrivals(standing)) {
      append_row(out, {row.part_number, row.part, row.quantity + " pcs", row.position, row.supplier, row.bag, "", row.note});
      has_rows = true;
    }
  }
  return has_rows ? out : std::string{};
}

std::string_view word_of(JobTable table) {
  switch (table) {
    case JobTable::List: return "list";
    case JobTable::Stock: return "stock";
    case JobTable::Order: return "order";
    case JobTable::Found: return "found";
  }
  return "found";
}

std::vector<std::pair<std::string, std::string>> remembered_columns(std::span<const Record> standing, std::string_view file) {
  std::vector<std::pair<std::string, std::string>> pairs;
  for (const Record& record : present_records(standing, "columns", "")) {
    if (record.cell("file") == file) pairs.emplace_back(record.cell("theirs"), record.cell("ours"));
  }
  return pairs;
}

std::vector<PackInUse> packs_in_use(std::span<const Record> standing) {
  std::vector<PackInUse> packs;
  std::vector<Record> records = present_records(standing, "pack", "");
  std::ranges::stable_sort(records, {}, [](const Record& record) { return Fraction::parse(record.cell("place")).value_or(Fraction(1)); });
  for (const Record& record : records) {
    if (record.cell("place") == "0") continue;  // out of use
    packs.push_back({.name = std::string(record.cell("name")), .path = std::string(record.cell("path")),
                     .version = std::string(record.cell("version")), .hash = std::string(record.cell("hash"))});
  }
  return packs;
}

std::vector<PackChange> changed_packs(std::span<const Record> standing, std::span<const PackInUse> now) {
  std::vector<PackChange> changes;
  const auto then = packs_in_use(standing);
  for (const PackInUse& pack : now) {
    const auto was = std::ranges::find(then, pack.name, &PackInUse::name);
    if (was == then.end() || was->hash == pack.hash) continue;
    changes.push_back({.name = pack.name, .was_version = was->version, .is_version = pack.version,
                       .was_hash = was->hash, .is_hash = pack.hash});
  }
  return changes;
}

}  // namespace kitgap
