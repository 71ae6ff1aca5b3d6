#include <algorithm>
#include <array>

#include "need/found_read.h"
#include "pack/fact_value.h"
#include "text/file.h"
#include "text/utf8.h"

namespace kitgap {
namespace {

const auto kColumns = std::to_array<ColumnWords>({
    {"parent", {"parent", "on", "assembly", "of"}},
    {"position", {"position", "where", "place", "side"}},
    {"part", {"part", "piece", "item"}},
    {"count", {"count", "counted", "qty", "quantity", "number", "no."}},
    {"counted in", {"counted in", "seen in"}},
    {"condition", {"condition", "state"}},
    {"bag", {"bag", "box", "tin"}},
    {"photo", {"photo", "picture"}},
    {"date", {"date", "day"}},
    {"by", {"by", "who"}},
    {"note", {"note", "notes", "remark", "remarks"}},
});
enum Column : std::size_t { kParent, kPosition, kPart, kCount, kCountedIn, kCondition, kBag, kPhoto, kDate, kBy, kNote };

class FoundReader {
 public:
  FoundReader(const Rules& rules, const PersonTable& table, const ColumnMap& columns, Found& found)
      : rules_(rules), table_(table), columns_(columns), found_(found) {}

  void read() {
    for (std::size_t row = 0; row < table_.row_count(); ++row) {
      row_ = row;
      reason_.clear();
      if (table_.kind(row) != RowKind::Line) {
        reason_ = reason_of(table_.kind(row));
      } else {
        read_row();
      }
      if (!reason_.empty()) found_.set_aside.push_back({.line = table_.line(row), .as_typed = table_.as_typed(row), .reason = reason_,
                                                              .is_silent = table_.kind(row) == RowKind::Header || table_.kind(row) == RowKind::Blank});
    }
  }

 private:
  std::string cell(Column column) const {
    const auto at = columns_.columns[column];
    return at ? std::string(table_.cell(row_, *at)) : std::string();
  }

  template <class Value>
  Value word(Column column, const std::vector<std::pair<std::string_view, Value>>& words, Value otherwise) {
    const std::string typed = cell(column);
    if (typed.empty()) return otherwise;
    const std::string lower = folded(typed);
    for (const auto& [word, value] : words) {
      if (word == lower) return value;
    }
    std::vector<std::string> candidates;
    for (const auto& [word, value] : words) candidates.emplace_back(word);
    refuse("`" + typed + "` is no word of `" + std::string(kColumns[column].name) + "`, expected " + listed_with_or(candidates), nearest(lower, candidates));
    return otherwise;
  }

  void refuse(std::string says, const std::string& suggestion = {}) {
    if (reason_.empty()) reason_ = says + (suggestion.empty() ? "" : "; did you mean `" + suggestion + "`?");
  }

  std::optional<PartId> part_of(Column column) {
    const std::string key = cell(column);
    if (column == kParent && key == "car") return Rules::kCar;
    if (const auto found = rules_.find_part(key)) return found;
    refuse(key.empty() ? "the row names no " + std::string(kColumns[column].name) : "`" + key + "` is no part of these packs",
           nearest(key, rules_.part_keys));
    return std::nullopt;
  }

  void read_row() {
    FoundRecord record;
    record.line = table_.line(row_);
    const auto parent = cell(kParent).empty() ? std::optional(Rules::kCar) : part_of(kParent);
    const auto part = part_of(kPart);
    const std::string path = cell(kPosition).empty() ? "car" : cell(kPosition);
    const auto position = rules_.positions.find(path);
    if (!position) refuse("`" + path + "` is no position of these packs", nearest(path, rules_.positions.paths()));
    record.counted_in = word<CountedIn>(kCountedIn, {{"shell", CountedIn::Shell}, {"old part", CountedIn::OldPart}}, CountedIn::NotSaid);
    record.condition = word<OldCondition>(kCondition, {{"good", OldCondition::Good}, {"restorable", OldCondition::Restorable},
                                                       {"broken", OldCondition::Broken}, {"absent", OldCondition::Absent}}, OldCondition::NotLookedAt);
    read_count(record, part);
    record.bag = cell(kBag);
    record.photo = cell(kPhoto);
    record.by = cell(kBy);
    record.note = cell(kNote);
    if (const std::string date = cell(kDate); !date.empty()) {
      record.day = parse_iso_date(date);
      if (!record.day) refuse("`" + date + "` is no date such as `2027-02-06`");
    }
    if (!reason_.empty() || !parent || !part || !position) return;
    record.parent = *parent;
    record.part = *part;
    record.leaves.assign(rules_.positions.leaves(*position).begin(), rules_.positions.leaves(*position).end());
    for (std::size_t column = 0; column < kColumns.size(); ++column) {
      if (std::string typed = cell(static_cast<Column>(column)); !typed.empty()) record.as_typed.emplace_back(kColumns[column].name, std::move(typed));
    }
    found_.records.push_back(std::move(record));
  }

  void read_count(FoundRecord& record, std::optional<PartId> part) {
    const std::string typed = cell(kCount);
    Unit unit = Unit::Each;
    for (const PartRow& row : rules_.parts) {
      if (part && row.part == *part) unit = row.unit;
    }
    try {
      auto count = parse_mixed_number(typed);
      if (const auto measured = parse_measured(typed)) count = convert(measured->quantity, measured->unit, unit);
      if (!count || count->sign() < 0 || *count > Fraction(1'000'000'000)) return refuse(typed.empty() ? "the count is empty: count these" : "`" + typed + "` is no count");
      record.count = *count;
    } catch (const FigureOverflow&) {
      refuse("`" + typed + "` is no count");
    }
  }

  const Rules& rules_;
  const PersonTable& table_;
  const ColumnMap& columns_;
  Found& found_;
  std::size_t row_ = 0;
  std::string reason_;
};

}  // namespace

std::span<const ColumnWords> found_columns() { return kColumns; }

std::optional<Found> read_found(const std::filesystem::path& path, const Rules& rules, Sources& sources, Diagnostics& diagnostics,
                                std::span<const std::pair<std::string, std::string>> renamed, const std::string& sheet) {
  const PersonTableOptions options{.columns = kColumns, .renamed = renamed, .sheet = sheet, .may_lack_renamed = true};
  const auto table = read_person_table(path, options, sources, diagnostics);
  if (!table) return std::nullopt;
  const ColumnMap columns = map_columns(*table, options, diagnostics);
  Found found{.file = path.string(), .records = {}, .set_aside = {}, .remarks = columns.said};
  for (const std::string& column : columns.unused) found.remarks.push_back("not used: `" + column + "`");
  FoundReader(rules, *table, columns, found).read();
  return found;
}

}  // namespace kitgap
