// How fast a plain CSV of a person is read, in MB of file for a second of CPU, against libcsv (a reader in C by other
// people, RFC 4180) in the same run: the table with its header, headings and totals found, and the list with every
// row's meaning. Prints one JSON line; exits 1 where the readers count other rows or cells. Run by `reading.sh` beside it.
#include <csv.h>

#include <algorithm>
#include <cstdio>
#include <ctime>
#include <string>
#include <vector>

#include "supply/reading.h"
#include "text/person_table.h"

using namespace kitgap;

namespace {

constexpr int kRows = 95'000;
constexpr int kRuns = 7;

double cpu_seconds() {
  timespec time{};
  ::clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &time);
  return static_cast<double>(time.tv_sec) + static_cast<double>(time.tv_nsec) / 1e9;
}

std::string made_up_list() {
  std::string bytes = "part number,description,quantity,position,supplier,bag,note\n";
  for (int row = 0; row < kRows; ++row) {
    const std::string number = std::to_string(row);
    bytes += "K-" + number + ",door panel clip with a long name,";
    bytes += std::to_string(row % 50 + 1) + ",front.left,Supplier " + std::to_string(row % 9) + ",B" +
             std::to_string(row % 100);
    bytes += ",a note of the usual length about line " + number + "\n";
  }
  return bytes;
}

struct Seen {
  std::size_t rows = 0, cells = 0, bytes = 0;
  bool operator==(const Seen&) const = default;
};

Seen read_by_libcsv(const std::string& bytes) {
  Seen seen;
  csv_parser parser;
  csv_init(&parser, CSV_STRICT);
  const auto cell = [](void*, std::size_t length, void* into) {
    auto& so_far = *static_cast<Seen*>(into);
    ++so_far.cells, so_far.bytes += length;
  };
  const auto row = [](int, void* into) { ++static_cast<Seen*>(into)->rows; };
  csv_parse(&parser, bytes.data(), bytes.size(), cell, row, &seen);
  csv_fini(&parser, cell, row, &seen);
  csv_free(&parser);
  return seen;
}

Seen read_as_table(const std::string& bytes, bool counts_cells) {
  const std::vector<ColumnWords> columns = {{"part number", {"part number"}}, {"quantity", {"quantity"}}};
  Sources sources;
  Diagnostics diagnostics;
  const auto table = read_person_table(sources.add("list.csv", bytes), {columns, {}, {}}, sources, diagnostics);
  Seen seen;
  if (!table) return seen;
  seen.rows = table->row_count();
  for (std::size_t row = 0; counts_cells && row < seen.rows; ++row) {
    seen.cells += table->cell_count(row);
    for (std::size_t column = 0; column < table->cell_count(row); ++column) seen.bytes += table->cell(row, column).size();
  }
  return seen;
}

std::size_t read_as_list(const std::string& bytes) {
  Sources sources;
  Diagnostics diagnostics;
  const auto list = read_list(sources.add("list.csv", bytes), ListKind::List, {}, sources, diagnostics);
  return list ? list->used : 0;
}

// The best of some runs: others work on the same machine.
template <class Action>
double fastest(Action action) {
  double best = 1e9;
  for (int run = 0; run < kRuns; ++run) {
    const double start = cpu_seconds();
    action();
    best = std::min(best, cpu_seconds() - start);
  }
  return best;
}

}  // namespace

int main() {
  const std::string bytes = made_up_list();
  const double megabytes = static_cast<double>(bytes.size()) / 1e6;
  const Seen ours = read_as_table(bytes, true);
  Seen theirs;
  std::size_t used = 0;
  const double table = megabytes / fastest([&] { read_as_table(bytes, false); });
  const double peer = megabytes / fastest([&] { theirs = read_by_libcsv(bytes); });
  const double list = megabytes / fastest([&] { used = read_as_list(bytes); });
  std::printf(
      "{\"bench\": \"reading\", \"megabytes\": %.1f, \"rows\": %zu, \"table_mb_s\": %.0f, \"libcsv_mb_s\": %.0f, "
      "\"table_to_libcsv\": %.2f, \"list_mb_s\": %.0f, \"list_to_libcsv\": %.2f}\n",
      megabytes, ours.rows, table, peer, table / peer, list, list / peer);
  return ours == theirs && used == kRows ? 0 : 1;
}
