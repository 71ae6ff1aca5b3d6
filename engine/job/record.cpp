#include "job/record.h"

#include "text/sha256.h"
#include "value/calendar.h"
#include "value/internal_error.h"

namespace kitgap {
namespace {

// Length before content, so that no two records share their bytes.
void add_counted(Sha256& hash, std::string_view bytes) {
  hash.add(std::to_string(bytes.size()));
  hash.add(":");
  hash.add(bytes);
}

}  // namespace

std::string_view Record::cell(std::string_view column) const {
  const auto index = find_record_column(kind, column);
  require(index.has_value(), "a column that is asked for is one of the record's kind");
  return cells[*index];
}

Entry entry_of(std::string car, std::string_view kind,
               const std::vector<std::pair<std::string_view, std::string>>& cells,
               std::optional<std::int64_t> corrects) {
  Entry entry{.car = std::move(car), .kind = record_kind_of(kind), .cells = {}, .corrects = corrects};
  entry.cells.resize(record_kinds()[entry.kind].columns.size());
  for (const auto& [column, text] : cells) {
    const auto index = find_record_column(entry.kind, column);
    require(index.has_value(), "a column that is recorded is one of the record's kind");
    entry.cells[*index] = text;
  }
  return entry;
}

std::string hash_of(const Record& record, std::string_view previous_hash) {
  const RecordKind& kind = record_kinds()[record.kind];
  Sha256 hash;
  for (const std::string_view part : {previous_hash, std::string_view(record.car), std::string_view(record.at),
                                      std::string_view(record.who), std::string_view(record.via), kind.word}) {
    add_counted(hash, part);
  }
  for (const std::int64_t number : {record.id, record.place, record.command, record.corrects.value_or(0)}) {
    add_counted(hash, std::to_string(number));
  }
  for (std::size_t column = 0; column < kind.columns.size(); ++column) {
    if (record.cells[column].empty()) continue;
    add_counted(hash, kind.columns[column]);
    add_counted(hash, record.cells[column]);
  }
  return hash.hex();
}

bool is_stamp_time(std::string_view text) {
  constexpr std::string_view kForm = "dddd-dd-ddTdd:dd:ddZ";
  if (text.size() != kForm.size()) return false;
  for (std::size_t index = 0; index < text.size(); ++index) {
    const bool is_digit = text[index] >= '0' && text[index] <= '9';
    if (kForm[index] == 'd' ? !is_digit : text[index] != kForm[index]) return false;
  }
  return parse_date(text.substr(0, 10)).has_value();
}

}  // namespace kitgap
