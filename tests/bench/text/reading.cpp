// How fast a plain CSV of a person is read, in MB of file for a second of CPU, against a reader in its
// simplest form that only cuts cells apart. Prints one JSON line; exits 1 below the goal of 400 MB/s
// (optimised builds).
#include <algorithm>
#include <cstdio>
#include <ctime>
#include <string>
#include <vector>

#include "supply/reading.h"
#include "text/person_table.h"

using namespace kitgap;

namespace {

constexpr int kRows = 240'000;
constexpr int kRuns = 5;
constexpr double kGoal = 400;

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
    bytes += std::to_string(row % 50) + ",front.left,Supplier " + std::to_string(row % 9) + ",B" +
             std::to_string(row % 100);
    bytes += ",a note of the usual length about line " + number + "\n";
  }
  return bytes;
}

std::size_t read_simply(const std::string& bytes) {
  std::vector<std::vector<std::string>> rows(1);
  std::string cell;
  bool quoted = false;
  for (const char byte : bytes) {
    if (byte == '"')
      quoted = !quoted;
    else if (quoted || (byte != ',' && byte != '\n'))
      cell += byte;
    else {
      rows.back().push_back(cell);
      cell.clear();
      if (byte == '\n') rows.emplace_back();
    }
  }
  return rows.size() - 1;
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
  const std::vector<ColumnWords> columns = {{"part number", {"part number"}}, {"quantity", {"quantity"}}};
  std::size_t rows = 0, simple_rows = 0;
  const auto table = [&] {
    Sources sources;
    Diagnostics diagnostics;
    const auto read =
        read_person_table(sources.add("list.csv", bytes), {columns, {}, {}}, sources, diagnostics);
    rows = read ? read->row_count() : 0;
  };
  const auto list = [&] {
    Sources sources;
    Diagnostics diagnostics;
    static_cast<void>(read_list(sources.add("list.csv", bytes), ListKind::List, {}, sources, diagnostics));
  };
  const double ours = megabytes / fastest(table);
  const double simple = megabytes / fastest([&] { simple_rows = read_simply(bytes); });
  const double with_meaning = megabytes / fastest(list);
  std::printf(
      "{\"bench\": \"reading\", \"megabytes\": %.1f, \"rows\": %zu, \"table_mb_s\": %.0f, "
      "\"simple_reader_mb_s\": %.0f, \"list_mb_s\": %.0f}\n",
      megabytes, rows, ours, simple, with_meaning);
  return rows == simple_rows && ours >= kGoal ? 0 : 1;
}
