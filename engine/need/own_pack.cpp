#include "need/own_pack.h"

#include <algorithm>
#include <map>
#include <set>

#include "text/json.h"

namespace kitgap {
namespace {

constexpr std::pair<const char*, const char*> kTables[] = {
    {"needs", "parent,at,part,quantity,basis,source,note\n"},
    {"suppliers",
     "supplier,shipping,free shipping from,minimum order,currency,lead time days,return days,source,note\n"},
    {"offers",
     "supplier,part number,name,part,position,outline,openings,holes,hardware,pack size,price,source,note\n"},
    {"contents", "supplier,part number,part,position,quantity,source,note\n"},
};

// Lower case letters, digits and `-`, as a Data Package is named.
std::string pack_name_of(std::string_view folder) {
  std::string name;
  for (const char c : folder) {
    const char lower = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    const bool is_plain = (lower >= 'a' && lower <= 'z') || (lower >= '0' && lower <= '9');
    if (is_plain)
      name += lower;
    else if (!name.empty() && name.back() != '-')
      name += '-';
  }
  while (!name.empty() && name.back() == '-') name.pop_back();
  return name.empty() ? "own-pack" : name;
}

// What a row says, beside which row it is.
bool is_said(std::string_view column) {
  return column == "quantity" || column == "old" || column == "stops" || column == "basis" ||
         column == "source" || column == "note";
}

using Row = std::map<std::string, std::string, std::less<>>;

std::map<std::string, std::string> key_of(const Row& row) {
  std::map<std::string, std::string> key;
  for (const auto& [column, cell] : row) {
    if (!is_said(column) && !cell.empty()) key[column] = cell;
  }
  return key;
}

void append_rows(const Table& table, std::vector<Row>& rows) {
  for (std::size_t at = 0; at < table.row_count(); ++at) {
    Row row;
    for (std::size_t column = 0; column < table.column_count(); ++column)
      row[table.header()[column]] = table.cell(at, column);
    rows.push_back(std::move(row));
  }
}

// Those of `there`; further ones before what rows say.
std::vector<std::string> columns_of(const Table& there, const Table& added) {
  std::vector<std::string> columns = there.header();
  for (const std::string& column : added.header()) {
    if (std::ranges::find(columns, column) != columns.end()) continue;
    columns.insert(is_said(column) ? columns.end() : std::ranges::find_if(columns, is_said), column);
  }
  return columns;
}

void append_row(std::string& out, const std::vector<std::string>& cells) {
  for (std::size_t cell = 0; cell < cells.size(); ++cell) {
    if (cell != 0) out += ',';
    append_csv_cell(out, cells[cell]);
  }
  out += '\n';
}

}  // namespace

std::vector<std::pair<std::string, std::string>> own_pack_of(std::string_view folder) {
  JsonWriter json;
  json.begin_object();
  json.key("name").string(pack_name_of(folder)).key("version").string("1.0.0");
  json.key("title").string("Counted on this car, and what suppliers quote");
  json.key("kitgap")
      .begin_object()
      .key("format")
      .number(1)
      .key("facts")
      .begin_array()
      .end_array()
      .key("positions")
      .begin_object()
      .end_object()
      .end_object();
  json.key("resources").begin_array();
  std::vector<std::pair<std::string, std::string>> files;
  for (const auto& [kind, header] : kTables) {
    const std::string file = std::string(kind) + ".csv";
    json.begin_object()
        .key("name")
        .string(kind)
        .key("path")
        .string(file)
        .key("type")
        .string("table")
        .key("format")
        .string("csv");
    json.key("mediatype").string("text/csv").key("encoding").string("utf-8");
    json.key("kitgap").begin_object().key("kind").string(kind).end_object().end_object();
    files.emplace_back(file, header);
  }
  json.end_array().end_object();
  files.emplace_back("datapackage.json", json.take());
  return files;
}

std::string with_needs(const Table& there, const Table& added) {
  std::vector<Row> rows;
  append_rows(there, rows);
  std::vector<Row> further;
  append_rows(added, further);
  for (Row& row : further) {
    const auto older =
        std::ranges::find_if(rows, [key = key_of(row)](const Row& other) { return key_of(other) == key; });
    if (older == rows.end())
      rows.push_back(std::move(row));
    else
      for (auto& [column, cell] : row) (*older)[column] = std::move(cell);
  }
  const std::vector<std::string> columns = columns_of(there, added);
  std::string out;
  append_row(out, columns);
  for (const Row& row : rows) {
    std::vector<std::string> cells;
    for (const std::string& column : columns)
      cells.push_back(row.contains(column) ? row.find(column)->second : "");
    append_row(out, cells);
  }
  return out;
}

}  // namespace kitgap
