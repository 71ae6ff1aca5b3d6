#include "match/sweep.h"

#include <algorithm>
#include <chrono>

#include "match/sweep_cars.h"
#include "match/sweep_few.h"
#include "match/sweep_index.h"
#include "match/sweep_run.h"
#include "match/sweep_table.h"
#include "text/codes.h"

namespace kitgap {
namespace {

using Clock = std::chrono::steady_clock;

double seconds_since(Clock::time_point begin) { return std::chrono::duration<double>(Clock::now() - begin).count(); }

std::string joined(const std::vector<std::string>& names) {
  std::string text;
  for (const std::string& name : names) text += (text.empty() ? "`" : ", `") + name + "`";
  return text;
}

// The cars of the shard that is asked for: the slices of all cars together are the whole.
std::pair<std::size_t, std::size_t> slice_of(std::uint64_t cars, const SweepOptions& options) {
  const auto begin_of = [&](std::uint64_t shard) {
    return static_cast<std::size_t>(static_cast<unsigned __int128>(cars) * shard / options.shards);
  };
  return {begin_of(options.shard - 1), begin_of(options.shard)};
}

// The sum of all counts bounds every total: where it fits, nothing that follows can overflow.
bool counts_fit(const SweepTable& table) {
  std::int64_t sum = 0;
  for (const std::int64_t count : table.row_counts) {
    if (count == kFirstPlace || __builtin_add_overflow(sum, count < 0 ? -count : count, &sum)) return false;
  }
  return true;
}

bool check_columns(const std::vector<SweepColumn>& columns, const SweepCars& cars,
                   const std::vector<std::string>& passed_over, const SweepOptions& options,
                   const std::filesystem::path& rows, const std::function<void(std::string_view)>& say, Sources& sources,
                   Diagnostics& diagnostics) {
  std::vector<std::string> taken;
  for (const SweepColumn& column : columns) taken.push_back(column.name);
  std::vector<std::string> unused;
  for (const CarFact& fact : cars.facts) {
    if (!fact.name().empty() && std::find(taken.begin(), taken.end(), fact.name()) == taken.end()) unused.push_back(fact.name());
  }
  say("conditions: " + (taken.empty() ? "none" : joined(taken)) + "\n");
  if (!unused.empty()) say("facts that no row asks about: " + joined(unused) + "\n");
  if (passed_over.empty()) return true;
  if (!options.is_strict) {
    say("passed over: " + joined(passed_over) + "\n");
    return true;
  }
  for (const std::string& name : passed_over) {
    diagnostics.add({.code = code::kUnknownColumn,
                     .span = {.source = sources.add(rows.string(), "")},
                     .says = "the column `" + name + "` is no fact of the cars",
                     .expected = "facts of the cars, `item` and `count`, as `--strict` asks"});
  }
  return false;
}

}  // namespace

std::optional<SweepSummary> sweep(const std::filesystem::path& rows_path, const std::filesystem::path& cars_path,
                                  const SweepOptions& options, const std::function<void(std::string_view)>& write,
                                  const std::function<void(std::string_view)>& say, Sources& sources,
                                  Diagnostics& diagnostics) {
  SweepSummary summary;
  const auto begin = Clock::now();
  const auto cars = read_sweep_cars(cars_path, sources, diagnostics);
  if (!cars) return std::nullopt;
  auto table = read_sweep_table(rows_path, *cars, sources, diagnostics);
  if (!table) return std::nullopt;
  if (!counts_fit(*table)) {
    diagnostics.add({.code = code::kAbsurdQuantity,
                     .span = {.source = sources.add(rows_path.string(), "")},
                     .says = "the counts add up to more than can be kept exactly",
                     .expected = "counts that add up to less than 9 * 10^18 of their smallest decimal"});
    return std::nullopt;
  }
  PlacedCars placed;
  placed.size = cars->size();
  bool has_unknown = false;
  for (const SweepColumn& column : table->columns) {
    placed.columns.push_back(places_of(column, *cars->find(column.name)));
    has_unknown |= placed.columns.back().any_unknown;
  }
  summary.rows = table->row_items.size();
  if (!check_columns(table->columns, *cars, table->passed_over, options, rows_path, say, sources, diagnostics)) return std::nullopt;
  const auto [first, last] = slice_of(placed.size, options);
  summary.load_seconds = seconds_since(begin);
  if (last - first <= kFewCars && !has_unknown) {
    const auto matched = Clock::now();
    run_few_cars(*table, *cars, placed, first, last, options, write, summary);
    summary.match_seconds = seconds_since(matched);
    return summary;
  }
  const auto built = Clock::now();
  const bool keeps_rows = has_unknown || SweepIndex::needs_rows(*table);
  const SweepIndex index(std::move(*table), keeps_rows);
  table.reset();
  summary.build_seconds = seconds_since(built);
  summary.index_bytes = index.bytes();
  if (index.bytes() > options.memory_bytes) {
    diagnostics.add({.code = code::kTooLarge,
                     .span = {.source = sources.add(rows_path.string(), "")},
                     .says = "the index of the rows takes " + std::to_string(index.bytes() >> 20) + " MiB",
                     .expected = "`--memory` of more, or fewer rows"});
    return std::nullopt;
  }
  const auto matched = Clock::now();
  run_sweep(index, *cars, placed, first, last, options, write, say, summary);
  summary.match_seconds = seconds_since(matched);
  return summary;
}

}  // namespace kitgap
