#include "analyse/keyed_rows.h"

#include <algorithm>

#include "need/clashes.h"

namespace kitgap {
namespace {

constexpr auto kNeedKey = std::to_array<std::string_view>({"parent", "at", "part"});

std::span<const std::string_view> key_of(TableKind kind) {
  return kind == TableKind::Needs ? std::span<const std::string_view>(kNeedKey) : key_columns(kind);
}

}  // namespace

bool is_key_column(TableKind kind, std::string_view column) {
  const auto key = key_of(kind);
  return std::find(key.begin(), key.end(), column) != key.end();
}

std::vector<KeyedRow> keyed_rows(const Rules& rules, TableKind kind) {
  std::vector<KeyedRow> keyed;
  const auto add = [&](const auto& rows) {
    for (const auto& row : rows) {
      std::string key;
      for (const std::string_view column : key_of(kind)) key += rules.cell_of(row.place, column) + "\x1f";
      keyed.push_back({row.place, row.condition, std::move(key)});
    }
  };
  switch (kind) {
    case TableKind::Suppliers: add(rules.suppliers); break;
    case TableKind::Facts: add(rules.fact_rows); break;
    case TableKind::Parts: add(rules.parts); break;
    case TableKind::Needs: add(rules.needs); break;
    case TableKind::Offers: add(rules.offers); break;
    case TableKind::Contents: add(rules.contents); break;
    case TableKind::SuppliedWithout: add(rules.supplied_without); break;
    case TableKind::Replaces: add(rules.replaces); break;
    case TableKind::MoveOver: add(rules.move_over); break;
    case TableKind::Pairings: add(rules.pairings); break;
    case TableKind::Limits: add(rules.limits); break;
    case TableKind::Sizes: add(rules.sizes); break;
    case TableKind::Consumes: add(rules.consumes); break;
    case TableKind::Steps: add(rules.steps); break;
    case TableKind::Cautions: add(rules.cautions); break;
  }
  return keyed;
}

std::vector<std::pair<std::string, std::string>> said_by(const Rules& rules, RowPlace place) {
  const TableInfo& info = rules.tables[place.table];
  std::vector<std::pair<std::string, std::string>> said;
  for (std::size_t column = 0; column < info.table.header().size(); ++column) {
    const std::string& name = info.table.header()[column];
    const bool is_common = std::find(kCommonColumns.begin(), kCommonColumns.end(), name) != kCommonColumns.end();
    const bool is_fact = std::any_of(info.fact_columns.begin(), info.fact_columns.end(), [&](const auto& fact) { return fact.first == column; });
    const std::string_view cell = info.table.cell(place.row, column);
    if (is_common || is_fact || is_key_column(info.kind, name) || cell.empty()) continue;
    said.emplace_back(name, cell);
  }
  std::sort(said.begin(), said.end());
  return said;
}

std::string key_in_words(const Rules& rules, RowPlace place) {
  std::string words;
  for (const std::string_view column : key_of(rules.tables[place.table].kind)) {
    const std::string cell = rules.cell_of(place, column);
    if (!cell.empty()) words += (words.empty() ? "" : ", ") + std::string(column) + " `" + cell + "`";
  }
  return words;
}

std::string row_in_words(const Rules& rules, RowPlace place) {
  return rules.tables[place.table].path + ":" + std::to_string(rules.line_of(place));
}

}  // namespace kitgap
