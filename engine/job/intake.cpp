#include "job/intake.h"

#include <algorithm>
#include <array>
#include <map>
#include <tuple>

#include "text/csv.h"
#include "text/person_table.h"
#include "value/fraction.h"

namespace kitgap {
namespace {

// The usual synonyms of the columns of FORMATS.
const auto kListColumns = std::to_array<ColumnWords>({
    {"id", {"id", "order id", "order"}},
    {"part number", {"part number", "part no", "part no.", "part", "number", "no.", "pn", "p/n", "item no", "item"}},
    {"description", {"description", "desc", "name", "what"}},
    {"quantity", {"quantity", "qty", "count", "pcs", "amount"}},
    {"position", {"position", "where", "place", "side"}},
    {"supplier", {"supplier", "vendor", "from", "shop"}},
    {"bag", {"bag", "box", "tin", "shelf"}},
    {"due", {"due", "expected", "eta"}},
    {"note", {"note", "notes", "remark", "remarks"}},
});
const auto kFoundColumns = std::to_array<ColumnWords>({
    {"parent", {"parent", "on", "assembly", "of"}},
    {"position", {"position", "where", "place", "side"}},
    {"part", {"part", "piece", "item"}},
    {"count", {"count", "counted", "qty", "quantity", "number", "no."}},
    {"counted in", {"counted in", "seen in"}},
    {"condition", {"condition", "state"}},
    {"bag", {"bag", "box", "tin"}},
    {"photo", {"photo", "picture"}},
    {"date", {"date", "day"}},
    {"note", {"note", "notes", "remark", "remarks"}},
});

std::string_view kind_of(JobTable table) {
  switch (table) {
    case JobTable::List: return "list line";
    case JobTable::Stock: return "stock line";
    case JobTable::Order: return "order line";
    case JobTable::Found: return "found";
  }
  return "found";
}

}  // namespace

std::optional<Intake> entries_of_table(const std::filesystem::path& path, JobTable table, const std::string& car,
                                       const std::vector<std::pair<std::string, std::string>>& renamed, Sources& sources,
                                       Diagnostics& diagnostics) {
  const std::span<const ColumnWords> columns = table == JobTable::Found ? std::span<const ColumnWords>(kFoundColumns) : kListColumns;
  const PersonTableOptions options{.columns = columns, .renamed = renamed, .sheet = {}};
  const auto read = read_person_table(path, options, sources, diagnostics);
  if (!read) return std::nullopt;
  const ColumnMap map = map_columns(*read, options, diagnostics);
  const std::string file = path.filename().string();
  const bool is_of_car = table == JobTable::List || table == JobTable::Found;
  Intake intake;
  intake.remarks = map.said;
  for (const std::string& column : map.unused) intake.remarks.push_back("`" + column + "` is not used");
  for (std::size_t row = 0; row < read->row_count(); ++row) {
    if (read->kind(row) != RowKind::Line) continue;
    Entry entry = entry_of(is_of_car ? car : "", kind_of(table), {});
    const auto set = [&](std::string_view column, std::string text) {
      if (const auto at = find_record_column(entry.kind, column)) entry.cells[*at] = std::move(text);
    };
    for (std::size_t column = 0; column < columns.size(); ++column) {
      if (map.columns[column]) set(columns[column].name, std::string(read->cell(row, *map.columns[column])));
    }
    const std::string line = std::to_string(read->line(row));
    set("line", table == JobTable::List ? line : file + ":" + line);
    if (table == JobTable::Order && entry.cells[*find_record_column(entry.kind, "id")].empty()) set("id", file);
    intake.entries.push_back(std::move(entry));
    intake.lines.push_back(read->line(row));
  }
  if (table == JobTable::List) {
    intake.entries.insert(intake.entries.begin(), entry_of(car, "list", {{"file", file}, {"rows", std::to_string(intake.lines.size())}}));
    intake.lines.insert(intake.lines.begin(), 0);
  }
  return intake;
}

std::string counts_as_needs(std::span<const Record> standing, std::string_view car) {
  struct Count {
    std::map<std::string, std::pair<Fraction, std::string>> by_place;  // counted in: sum, source
  };
  std::map<std::tuple<std::string, std::string, std::string>, Count> counts;
  for (const Record& record : present_records(standing, "found", car)) {
    const std::string counted_in(record.cell("counted in"));
    const auto figure = Fraction::parse(record.cell("count"));
    if (counted_in.empty() || !figure) continue;
    auto& [sum, source] = counts[{std::string(record.cell("parent")), std::string(record.cell("position")), std::string(record.cell("part"))}]
                              .by_place[counted_in];
    sum += *figure;
    const std::string day = record.cell("date").empty() ? record.at.substr(0, 10) : std::string(record.cell("date"));
    source = "counted " + std::string(counted_in == "shell" ? "in the shell" : "on the old part") + " of `" + std::string(car) + "`, " + day +
             (record.who.empty() ? "" : ", " + record.who);
  }
  std::string out = "parent,at,part,quantity,source\n";
  for (const auto& [key, count] : counts) {
    const auto& [parent, position, part] = key;
    // A count in the shell beats one on the old part.
    const auto shell = count.by_place.find("shell");
    const auto& [sum, source] = shell != count.by_place.end() ? shell->second : count.by_place.begin()->second;
    for (const std::string& cell : {parent, position, part, sum.to_text()}) {
      append_csv_cell(out, cell);
      out += ",";
    }
    append_csv_cell(out, source);
    out += "\n";
  }
  return out;
}

}  // namespace kitgap
