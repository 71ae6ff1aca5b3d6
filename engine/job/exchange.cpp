#include "job/exchange.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <map>

#include "text/codes.h"
#include "text/csv.h"
#include "text/file.h"
#include "text/json.h"
#include "text/utf8.h"

namespace kitgap {
namespace {

namespace fs = std::filesystem;

constexpr std::array<std::string_view, 8> kFrameColumns = {"record", "car", "place", "command", "at", "who", "via", "corrects"};

std::string file_of(const RecordKind& kind) { return std::string(kind.table) + ".csv"; }

void append_cell(std::string& row, std::string_view cell) {
  if (!row.empty() && !row.ends_with('\n')) row += ",";
  append_csv_cell(row, cell);
}

void write_record(JsonWriter& json, const Record& record) {
  const RecordKind& kind = record_kinds()[record.kind];
  json.begin_object().key("record").number(record.id).key("car");
  record.car.empty() ? json.null() : json.string(record.car);
  json.key("place").number(record.place).key("command").number(record.command).key("at").string(record.at);
  json.key("who").string(record.who).key("via").string(record.via).key("kind").string(kind.word).key("corrects");
  record.corrects ? json.number(*record.corrects) : json.null();
  json.key("cells").begin_object();
  for (std::size_t column = 0; column < kind.columns.size(); ++column) {
    if (!record.cells[column].empty()) json.key(kind.columns[column]).string(record.cells[column]);
  }
  json.end_object().end_object();
}

std::vector<std::string> frame_of(const Record& record) {
  return {std::to_string(record.id), record.car, std::to_string(record.place), std::to_string(record.command), record.at,
          record.who, record.via, record.corrects ? std::to_string(*record.corrects) : ""};
}

std::string kind_csv(const JobContents& contents, KindIndex index) {
  std::string out;
  std::string row;
  for (const std::string_view column : kFrameColumns) append_cell(row, column);
  for (const std::string_view column : record_kinds()[index].columns) append_cell(row, "its " + std::string(column));
  out = row + "\n";
  for (const Record& record : contents.records) {
    if (record.kind != index) continue;
    row.clear();
    bool is_first = true;
    const auto add = [&](std::string_view cell) {
      if (!is_first) row += ",";
      append_csv_cell(row, cell);
      is_first = false;
    };
    for (const std::string& cell : frame_of(record)) add(cell);
    for (const std::string& cell : record.cells) add(cell);
    out += row + "\n";
  }
  return out;
}

std::string job_csv(const JobContents& contents) {
  return "identity,version,commands,seal\n" + contents.identity + "," + std::to_string(contents.version) + "," +
         std::to_string(contents.commands) + "," + contents.seal + "\n";
}

std::optional<std::int64_t> number_of(std::string_view text) {
  std::int64_t value = 0;
  const auto [end, failed] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (failed != std::errc{} || end != text.data() + text.size()) return std::nullopt;
  return value;
}

// Reads an export, and reports what is not as an export writes it.
class Reader {
 public:
  Reader(Sources& sources, Diagnostics& diagnostics) : sources_(sources), diagnostics_(diagnostics) {}

  std::optional<JobContents> json(const fs::path& path) {
    const auto source = read_file(path, sources_, diagnostics_);
    if (!source) return std::nullopt;
    const auto parsed = parse_json(*source, sources_, diagnostics_);
    if (!parsed) return std::nullopt;
    source_ = *source;
    JobContents contents;
    if (text(*parsed, "format") != "job/1") return failed(*parsed, "this is no export of a job", "`\"format\": \"job/1\"`");
    contents.identity = text(*parsed, "identity");
    contents.seal = text(*parsed, "seal");
    contents.version = static_cast<int>(number(*parsed, "version").value_or(0));
    contents.commands = number(*parsed, "commands").value_or(0);
    const Json* records = parsed->find("records");
    if (records == nullptr || !records->is_array()) return failed(*parsed, "the records are missing", "`\"records\": [...]`");
    for (const Json& item : records->items) {
      auto record = record_of(item);
      if (!record) return std::nullopt;
      contents.records.push_back(std::move(*record));
    }
    return contents;
  }

  std::optional<JobContents> folder(const fs::path& path) {
    JobContents contents;
    const auto job = table(path / "job.csv");
    if (!job) return std::nullopt;
    if (job->row_count() != 1 || job->column_count() != 4) return broken(*job, 0, "this is no `job.csv` of an export");
    contents.identity = job->cell(0, 0);
    contents.version = static_cast<int>(number_of(job->cell(0, 1)).value_or(0));
    contents.commands = number_of(job->cell(0, 2)).value_or(0);
    contents.seal = job->cell(0, 3);
    for (KindIndex kind = 0; kind < record_kinds().size(); ++kind) {
      const fs::path file = path / file_of(record_kinds()[kind]);
      std::error_code ignored;
      if (!fs::exists(file, ignored)) continue;  // no record of that kind, or the seal will tell
      const auto rows = table(file);
      if (!rows || !add_rows(*rows, kind, contents)) return std::nullopt;
    }
    std::ranges::sort(contents.records, {}, &Record::id);
    return contents;
  }

 private:
  std::optional<JobContents> failed(const Json& json, std::string says, std::string expected) {
    diagnostics_.add({.code = code::kInvalidJson, .span = {.source = source_, .line = json.line, .column = json.column},
                      .says = std::move(says), .expected = std::move(expected)});
    return std::nullopt;
  }
  std::optional<JobContents> broken(const Table& table, std::size_t row, std::string says) {
    diagnostics_.add({.code = code::kInvalidJson, .span = {.source = table.source(), .line = row < table.row_count() ? table.line(row) : 1, .column = 1},
                      .says = std::move(says), .expected = "the columns and numbers that `kitgap job export` writes"});
    return std::nullopt;
  }
  static std::string text(const Json& json, std::string_view key) {
    const Json* found = json.find(key);
    return found != nullptr && found->is_string() ? found->text : std::string{};
  }
  static std::optional<std::int64_t> number(const Json& json, std::string_view key) {
    const Json* found = json.find(key);
    return found != nullptr && found->is_number() ? number_of(found->text) : std::nullopt;
  }

  std::optional<Record> record_of(const Json& item) {
    const auto kind = find_record_kind(text(item, "kind"));
    const auto id = number(item, "record");
    const Json* cells = item.find("cells");
    if (!kind || !id || cells == nullptr || !cells->is_object()) {
      failed(item, "this is no record of an export", "a record with its number, its kind and its cells");
      return std::nullopt;
    }
    Record record{.id = *id, .car = text(item, "car"), .place = number(item, "place").value_or(0),
                  .command = number(item, "command").value_or(0), .at = text(item, "at"), .who = text(item, "who"),
                  .via = text(item, "via"), .kind = *kind, .corrects = number(item, "corrects"), .cells = {}};
    record.cells.resize(record_kinds()[*kind].columns.size());
    for (const auto& [name, value] : cells->members) {
      const auto column = find_record_column(*kind, name);
      if (!column || !value.is_string()) {
        failed(value, "`" + name + "` is no cell of a `" + std::string(record_kinds()[*kind].word) + "`", "a text");
        return std::nullopt;
      }
      record.cells[*column] = value.text;
    }
    return record;
  }

  std::optional<Table> table(const fs::path& path) {
    const auto source = read_file(path, sources_, diagnostics_);
    return source ? read_pack_table(*source, sources_, diagnostics_) : std::nullopt;
  }

  bool add_rows(const Table& rows, KindIndex kind, JobContents& contents) {
    const std::size_t columns = record_kinds()[kind].columns.size();
    if (rows.column_count() != kFrameColumns.size() + columns) {
      broken(rows, 0, "the columns are not those of an export");
      return false;
    }
    for (std::size_t row = 0; row < rows.row_count(); ++row) {
      const auto id = number_of(rows.cell(row, 0));
      const auto place = number_of(rows.cell(row, 2));
      const auto command = number_of(rows.cell(row, 3));
      if (!id || !place || !command) {
        broken(rows, row, "a number of this record cannot be read");
        return false;
      }
      Record record{.id = *id, .car = std::string(rows.cell(row, 1)), .place = *place, .command = *command,
                    .at = std::string(rows.cell(row, 4)), .who = std::string(rows.cell(row, 5)),
                    .via = std::string(rows.cell(row, 6)), .kind = kind, .corrects = number_of(rows.cell(row, 7)), .cells = {}};
      for (std::size_t column = 0; column < columns; ++column) {
        record.cells.emplace_back(rows.cell(row, kFrameColumns.size() + column));
      }
      contents.records.push_back(std::move(record));
    }
    return true;
  }

  Sources& sources_;
  Diagnostics& diagnostics_;
  SourceId source_;
};

std::string cells_text(const Record& record) {
  const RecordKind& kind = record_kinds()[record.kind];
  std::string out;
  for (std::size_t column = 0; column < kind.columns.size(); ++column) {
    if (record.cells[column].empty()) continue;
    out += (out.empty() ? "" : "; ") + std::string(kind.columns[column]) + "=" + record.cells[column];
  }
  return out;
}

std::map<std::int64_t, std::int64_t> corrections_of(std::span<const Record> records) {
  std::map<std::int64_t, std::int64_t> by_corrected;
  for (const Record& record : records) {
    if (record.corrects) by_corrected[*record.corrects] = record.id;
  }
  return by_corrected;
}

}  // namespace

std::string job_json(const JobContents& contents) {
  JsonWriter json;
  json.begin_object().key("format").string("job/1").key("identity").string(contents.identity);
  json.key("version").number(std::int64_t{contents.version}).key("commands").number(contents.commands);
  json.key("seal").string(contents.seal).key("records").begin_array();
  for (const Record& record : contents.records) write_record(json, record);
  return json.end_array().end_object().take();
}

void export_job(const JobContents& contents, const fs::path& folder) {
  std::error_code error;
  fs::create_directories(folder, error);
  if (error) throw MachineFailure{"the folder `" + folder.string() + "` cannot be made: " + error.message()};
  for (KindIndex kind = 0; kind < record_kinds().size(); ++kind) {
    const bool is_used = std::ranges::any_of(contents.records, [&](const Record& record) { return record.kind == kind; });
    const fs::path file = folder / file_of(record_kinds()[kind]);
    // A file of an earlier export must not be read as part of this one.
    if (is_used) write_file(file, kind_csv(contents, kind));
    else fs::remove(file, error);
  }
  write_file(folder / "job.csv", job_csv(contents));
  write_file(folder / "job.json", job_json(contents));
}

std::optional<JobContents> read_export(const fs::path& path, Sources& sources, Diagnostics& diagnostics) {
  std::error_code ignored;
  Reader reader(sources, diagnostics);
  if (!fs::is_directory(path, ignored)) return reader.json(path);
  return fs::exists(path / "job.json", ignored) ? reader.json(path / "job.json") : reader.folder(path);
}

std::string history_text(std::span<const Record> records) {
  const auto corrected_by = corrections_of(records);
  std::string out;
  for (const Record& record : records) {
    out += std::to_string(record.id) + "  " + record.at + "  " + printable(record.who.empty() ? "-" : record.who) + "  " +
           (record.car.empty() ? "shared" : printable(record.car)) + "  " + std::string(record_kinds()[record.kind].word) +
           ": " + printable(cells_text(record));
    if (record.corrects) out += "  (corrects " + std::to_string(*record.corrects) + ")";
    const auto later = corrected_by.find(record.id);
    if (later != corrected_by.end()) out += "  (corrected by " + std::to_string(later->second) + ")";
    out += "\n";
  }
  return out;
}

std::string history_json(std::span<const Record> records) {
  JsonWriter json;
  json.begin_object().key("format").string("job-history/1").key("records").begin_array();
  for (const Record& record : records) write_record(json, record);
  return json.end_array().end_object().take();
}

std::string history_csv(std::span<const Record> records) {
  std::string out;
  for (const std::string_view column : kFrameColumns) out += std::string(column) + ",";
  out += "kind,cells\n";
  for (const Record& record : records) {
    for (const std::string& cell : frame_of(record)) {
      append_csv_cell(out, cell);
      out += ",";
    }
    append_csv_cell(out, record_kinds()[record.kind].word);
    out += ",";
    append_csv_cell(out, cells_text(record));
    out += "\n";
  }
  return out;
}

}  // namespace kitgap
