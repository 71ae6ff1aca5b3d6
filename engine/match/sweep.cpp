#include "match/sweep.h"

#include <algorithm>
#include <chrono>
#include <memory>
#include <tuple>

#include "match/compiled_table.h"
#include "match/sweep_cars.h"
#include "match/sweep_few.h"
#include "match/sweep_index.h"
#include "match/sweep_run.h"
#include "match/sweep_table.h"
#include "text/codes.h"

namespace kitgap {
namespace {

using Clock = std::chrono::steady_clock;

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

// Places the cars on the columns' lines.
PlacedCars placed_on(const std::vector<SweepColumn>& columns, const SweepCars& cars) {
  PlacedCars placed;
  placed.size = cars.size();
  for (const SweepColumn& column : columns) placed.columns.push_back(places_of(column, *cars.find(column.name)));
  return placed;
}

class Sweep {
 public:
  Sweep(const std::filesystem::path& rows, const SweepOptions& options, const std::function<void(std::string_view)>& write,
        const std::function<void(std::string_view)>& say, Sources& sources, Diagnostics& diagnostics)
      : rows_(rows), options_(options), write_(write), say_(say), sources_(sources), diagnostics_(diagnostics), compiled_(options.cache, rows) {}

  std::optional<SweepSummary> run(const std::filesystem::path& cars_path) {
    cars_ = read_sweep_cars(cars_path, sources_, diagnostics_);
    if (!cars_) return std::nullopt;
    std::tie(first_, last_) = slice_of(cars_->size(), options_);
    const std::optional<bool> from_compiled = run_compiled();
    const bool is_done = from_compiled ? *from_compiled : run_text();
    return is_done ? std::optional(summary_) : std::nullopt;
  }

 private:
  // From the index that an earlier sweep kept; nothing where there is none for these cars.
  std::optional<bool> run_compiled() {
    auto found = compiled_.find(*cars_);
    if (!found) return std::nullopt;
    const PlacedCars placed = placed_on(found->index->columns(), *cars_);
    if (!check_columns(found->index->columns(), *cars_, found->passed_over, options_, rows_, say_, sources_, diagnostics_)) return false;
    summary_.rows = found->index->row_count();
    summary_.from_cache = true;
    end_step(summary_.load_seconds);
    return match(*found->index, placed);
  }

  bool run_text() {
    const bool may_keep = options_.cache && (last_ - first_ > kFewCars || compiled_.was_asked());
    auto table = read_sweep_table(rows_, *cars_, sources_, diagnostics_, {}, may_keep);
    if (!table || !check_counts(*table)) return false;
    const PlacedCars placed = placed_on(table->columns, *cars_);
    const bool has_unknown = std::ranges::any_of(placed.columns, &CarPlaces::any_unknown);
    summary_.rows = table->row_items.size();
    if (!check_columns(table->columns, *cars_, table->passed_over, options_, rows_, say_, sources_, diagnostics_)) return false;
    end_step(summary_.load_seconds);
    const bool can_keep = !has_unknown && CompiledTable::can_keep(*table);
    if (last_ - first_ <= kFewCars && !has_unknown && !(can_keep && compiled_.was_asked())) {
      run_few_cars(*table, *cars_, placed, first_, last_, options_, write_, summary_);
      end_step(summary_.match_seconds);
      if (can_keep) compiled_.remember();
      return true;
    }
    CompiledTable::Columns columns{.content = std::move(table->content), .passed_over = std::move(table->passed_over), .by_cars = {}};
    for (const SweepColumn& column : table->columns) columns.by_cars.push_back(cars_->find(column.name)->type());
    const bool keeps_rows = has_unknown || SweepIndex::needs_rows(*table);
    const SweepIndex index(std::move(*table), keeps_rows);
    table.reset();
    if (can_keep) compiled_.keep(index, columns, *cars_);
    end_step(summary_.build_seconds);
    return match(index, placed);
  }

  bool match(const SweepIndex& index, const PlacedCars& placed) {
    summary_.index_bytes = index.bytes();
    if (index.bytes() > options_.memory_bytes) {
      refuse(code::kTooLarge, "the index of the rows takes " + std::to_string(index.bytes() >> 20) + " MiB", "`--memory` of more, or fewer rows");
      return false;
    }
    run_sweep(index, *cars_, placed, first_, last_, options_, write_, say_, summary_);
    end_step(summary_.match_seconds);
    return true;
  }

  bool check_counts(const SweepTable& table) {
    if (counts_fit(table)) return true;
    refuse(code::kAbsurdQuantity, "the counts add up to more than can be kept exactly",
           "counts that add up to less than 9 * 10^18 of their smallest decimal");
    return false;
  }

  void refuse(std::string_view code, std::string says, std::string expected) {
    diagnostics_.add({.code = code, .span = {.source = sources_.add(rows_.string(), "")}, .says = std::move(says), .expected = std::move(expected)});
  }

  void end_step(double& seconds) {
    const auto now = Clock::now();
    seconds = std::chrono::duration<double>(now - step_began_).count();
    step_began_ = now;
  }

  const std::filesystem::path& rows_;
  const SweepOptions& options_;
  const std::function<void(std::string_view)>& write_;
  const std::function<void(std::string_view)>& say_;
  Sources& sources_;
  Diagnostics& diagnostics_;
  CompiledTable compiled_;
  std::unique_ptr<SweepCars> cars_;
  std::size_t first_ = 0;  // of the shard's cars
  std::size_t last_ = 0;
  SweepSummary summary_;
  Clock::time_point step_began_ = Clock::now();
};

}  // namespace

std::optional<SweepSummary> sweep(const std::filesystem::path& rows, const std::filesystem::path& cars, const SweepOptions& options,
                                  const std::function<void(std::string_view)>& write,
                                  const std::function<void(std::string_view)>& say, Sources& sources,
                                  Diagnostics& diagnostics) {
  return Sweep(rows, options, write, say, sources, diagnostics).run(cars);
}

}  // namespace kitgap
