#include "job/intake.h"

#include <algorithm>

#include "need/car.h"
#include "need/found_read.h"
#include "supply/reading_cells.h"
#include "text/person_table.h"

namespace kitgap {
namespace {

std::string_view kind_of(JobTable table) {
  switch (table) {
    case JobTable::List: return "list line";
    case JobTable::Stock: return "stock line";
    case JobTable::Order: return "order line";
    case JobTable::Found: return "found";
  }
  return "found";
}

Entry entry_of_line(const ReadLine& line, JobTable table, const std::string& car, const std::string& file) {
  const ListCells cells = cells_of(line);
  const std::string place = std::to_string(line.line);
  std::vector<std::pair<std::string_view, std::string>> named = {
      {"line", table == JobTable::List ? place : file + ":" + place},
      {"part number", cells.part_number}, {"description", cells.description}, {"quantity", cells.quantity}, {"position", cells.position},
      {"supplier", cells.supplier}, {"bag", cells.bag}, {"due", cells.due}, {"note", cells.note}};
  if (table == JobTable::Order) named.emplace_back("id", cells.id.empty() ? file : cells.id);
  return entry_of(table == JobTable::List ? car : "", kind_of(table), named);
}

}  // namespace

std::optional<Intake> entries_of_list(const std::filesystem::path& path, JobTable table, const std::string& car, const RenamedColumns& renamed,
                                      const std::string& sheet, Sources& sources, Diagnostics& diagnostics) {
  const ListKind kind = table == JobTable::Stock ? ListKind::Stock : table == JobTable::Order ? ListKind::Order : ListKind::List;
  const auto list = read_list(path, kind, renamed, sources, diagnostics, sheet);
  if (!list) return std::nullopt;
  const std::string file = path.filename().string();
  Intake intake;
  intake.remarks = list->remarks;
  intake.rows = list->lines.size();
  for (const ReadLine& line : list->lines) {
    if (line.set_aside.empty()) intake.entries.push_back(entry_of_line(line, table, car, file));
    else if (!line.is_blank && line.set_aside != reason_of(RowKind::Header)) intake.set_aside.push_back({.line = line.line, .reason = line.set_aside});
  }
  intake.used = list->used;
  if (table == JobTable::List) {
    intake.entries.insert(intake.entries.begin(), entry_of(car, "list", {{"file", file}, {"rows", std::to_string(intake.entries.size())}}));
  }
  return intake;
}

std::optional<Intake> entries_of_found(const std::filesystem::path& path, const std::string& car, const Rules& rules, const RenamedColumns& renamed,
                                       const std::string& sheet, Sources& sources, Diagnostics& diagnostics) {
  auto found = read_found(path, rules, sources, diagnostics, renamed, sheet);
  if (!found) return std::nullopt;
  Intake intake;
  intake.remarks = std::move(found->remarks);
  intake.rows = found->records.size() + found->set_aside.size();
  intake.used = found->records.size();
  for (const Found::SetAside& row : found->set_aside) {
    if (!row.is_silent) intake.set_aside.push_back({.line = row.line, .reason = row.reason});
  }
  for (const FoundRecord& record : found->records) {
    Entry entry = entry_of(car, "found", {});
    for (const auto& [column, text] : record.as_typed) {
      if (const auto at = find_record_column(entry.kind, column)) entry.cells[*at] = text;
    }
    intake.entries.push_back(std::move(entry));
  }
  return intake;
}

std::vector<Entry> entries_of_columns(JobTable table, const RenamedColumns& given, std::span<const Record> standing) {
  const std::string_view file = word_of(table);
  const auto remembered = remembered_columns(standing, file);
  std::vector<Entry> entries;
  for (const auto& pair : given) {
    if (std::ranges::find(remembered, pair) != remembered.end()) continue;
    entries.push_back(entry_of("", "columns", {{"file", std::string(file)}, {"theirs", pair.first}, {"ours", pair.second}}));
  }
  return entries;
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
