#include "job/intake.h"

#include <algorithm>
#include <array>

#include "need/car.h"
#include "need/found_read.h"
#include "text/person_table.h"

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
  const std::span<const ColumnWords> columns = table == JobTable::Found ? found_columns() : std::span<const ColumnWords>(kListColumns);
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

void add_car(const Car& car, const Rules& rules, const std::string& name, const std::string& look, std::vector<Entry>& entries) {
  std::string work;
  for (const std::string& place : car.work) work += (work.empty() ? "" : "; ") + place;
  entries.push_back(entry_of(name, "car", {{"name", name}, {"work", work}}));
  for (const Car::Statement& statement : car.statements) {
    const Fact& fact = rules.facts[statement.fact.index];
    const std::string value = statement.values.is_single() ? text_of(*statement.values.witness(), fact.domain.type)
                                                           : statement.values.to_unary_test();
    entries.push_back(entry_of(name, "fact", {{"fact", fact.name}, {"value", value}, {"look", look}}));
  }
  for (const auto& [step, day] : car.dates) entries.push_back(entry_of(name, "date", {{"step", step}, {"date", iso_date_of(day)}}));
}

}  // namespace kitgap
