#include "match/sweep.h"

#include <algorithm>
#include <atomic>
#include <bit>
#include <chrono>
#include <charconv>
#include <mutex>
#include <numeric>
#include <span>
#include <thread>

#include "match/sweep_group.h"
#include "match/sweep_index.h"
#include "text/codes.h"
#include "text/csv.h"

namespace kitgap {
namespace {

using Clock = std::chrono::steady_clock;

double seconds_since(Clock::time_point begin) { return std::chrono::duration<double>(Clock::now() - begin).count(); }

std::string joined(const std::vector<std::string>& names) {
  std::string text;
  for (const std::string& name : names) text += (text.empty() ? "`" : ", `") + name + "`";
  return text;
}

class Run {
 public:
  Run(const SweepIndex& index, const SweepOptions& options, const std::function<void(std::string_view)>& write,
      const std::function<void(std::string_view)>& say)
      : index_(index), options_(options), write_(write), say_(say) {}

  void run(SweepSummary& summary) {
    const std::uint64_t cars = index_.input().car_ids.size();
    const auto slice = [&](std::uint64_t shard) {
      return static_cast<std::size_t>(static_cast<unsigned __int128>(cars) * shard / options_.shards);
    };
    const std::size_t begin = slice(options_.shard - 1);
    const std::size_t end = slice(options_.shard);
    has_ranges_ = find_ranges();
    if (!options_.only_summary) write_(has_ranges_ ? "car_id,item,total_lo,total_hi\n" : "car_id,item,total\n");
    std::size_t batch = options_.only_summary ? end - begin : 512;
    for (std::size_t at = begin; at < end; at += batch) {
      if (at != begin) batch = next_batch(batch);
      const std::size_t batch_end = std::min(end, at + batch);
      run_batch(at, batch_end);
      tell_progress(batch_end - begin, end - begin);
    }
    summary.cars = end - begin;
    summary.matches = sums_.matches;
    summary.may_match = sums_.may_match;
    summary.pairs = sums_.pairs;
    summary.sum = decimal_text(sums_.lo, index_.input().count_places);
    summary.sum_hi = decimal_text(sums_.hi, index_.input().count_places);
    summary.has_ranges = has_ranges_;
    if (sums_.gave_up) say_("where unknown facts are tangled, totals are sound bounds, perhaps wider than need be\n");
  }

 private:
  // Whether any total of any car hangs on an unknown fact; the same for every shard, so that the pieces fit together.
  bool find_ranges() const {
    const SweepInput& input = index_.input();
    CarGroup group(index_, false);
    for (std::size_t car = 0; car < input.car_ids.size(); ++car) {
      if (std::none_of(input.columns.begin(), input.columns.end(), [&](const auto& column) { return column.car_unknown[car]; })) continue;
      SweepSums sums;
      group.begin(static_cast<std::uint32_t>(car));
      group.add_car(static_cast<std::uint32_t>(car), nullptr, true, sums);
      if (sums.lo != sums.hi || sums.differs) return true;
    }
    return false;
  }

  // As many cars as fill some tens of megabytes of text, within the ceiling.
  std::size_t next_batch(std::size_t batch) const {
    const std::uint64_t wanted = std::min<std::uint64_t>(std::uint64_t{1} << 26, options_.memory_bytes / 8);
    const std::uint64_t per_car = std::max<std::uint64_t>(1, last_bytes_ / batch);
    return static_cast<std::size_t>(std::clamp<std::uint64_t>(wanted / per_car, 1, 1'000'000));
  }

  void run_batch(std::size_t begin, std::size_t end) {
    std::vector<std::uint32_t> cars(end - begin);
    std::iota(cars.begin(), cars.end(), static_cast<std::uint32_t>(begin));
    const std::vector<std::uint32_t> keys = keys_of(cars, begin);
    const std::size_t width = key_width();
    const auto key = [&](std::uint32_t car) { return std::span(keys).subspan((car - begin) * width, width); };
    std::stable_sort(cars.begin(), cars.end(), [&](auto a, auto b) {
      return std::lexicographical_compare(key(a).begin(), key(a).end(), key(b).begin(), key(b).end());
    });
    std::vector<std::size_t> first_of_group;
    for (std::size_t at = 0; at < cars.size(); ++at) {
      if (at == 0 || !std::equal(key(cars[at]).begin(), key(cars[at]).end(), key(cars[at - 1]).begin())) first_of_group.push_back(at);
    }
    first_of_group.push_back(cars.size());
    std::vector<std::string> texts(options_.only_summary ? 0 : cars.size());
    std::atomic<std::size_t> next{0};
    std::mutex adding;
    const auto work = [&] {
      CarGroup group(index_, has_ranges_);
      SweepSums sums;
      constexpr std::size_t kStep = 16;
      for (std::size_t from = next.fetch_add(kStep); from + 1 < first_of_group.size(); from = next.fetch_add(kStep)) {
        for (std::size_t at = from; at < std::min(from + kStep, first_of_group.size() - 1); ++at) {
          group.begin(cars[first_of_group[at]]);
          for (std::size_t car = first_of_group[at]; car < first_of_group[at + 1]; ++car) {
            group.add_car(cars[car], texts.empty() ? nullptr : &texts[cars[car] - begin], false, sums);
          }
        }
      }
      const std::lock_guard lock(adding);
      sums_ += sums;
    };
    const unsigned wanted = options_.threads != 0 ? options_.threads : std::max(1U, std::thread::hardware_concurrency());
    std::vector<std::thread> others;
    for (unsigned thread = 1; thread < wanted && thread < first_of_group.size() / 16; ++thread) others.emplace_back(work);
    work();
    for (std::thread& other : others) other.join();
    last_bytes_ = 0;
    for (const std::string& text : texts) {
      write_(text);
      last_bytes_ += text.size();
    }
  }

  std::size_t key_width() const {
    return index_.vector_columns().size() + 2 * index_.asked_columns().size() + 1;
  }

  // What cars of one group have in common: their cells, their places in columns asked row by row, what is unknown.
  std::vector<std::uint32_t> keys_of(const std::vector<std::uint32_t>& cars, std::size_t begin) const {
    const SweepInput& input = index_.input();
    std::vector<std::uint32_t> keys(cars.size() * key_width());
    std::size_t at = 0;
    for (std::size_t car = begin; car < begin + cars.size(); ++car) {
      std::uint32_t unknown = 0;
      for (std::size_t number = 0; number < index_.vector_columns().size(); ++number) {
        const SweepColumn& column = input.columns[index_.vector_columns()[number]];
        keys[at++] = column.car_unknown[car] ? ~std::uint32_t{0} : index_.cell(number, column.car_places[car]);
      }
      for (const std::size_t asked : index_.asked_columns()) {
        const SweepColumn& column = input.columns[asked];
        const auto place = static_cast<std::uint64_t>(column.car_places[car]);
        keys[at++] = static_cast<std::uint32_t>(place);
        keys[at++] = static_cast<std::uint32_t>(place >> 32);
        unknown = unknown << 1 | (column.car_unknown[car] ? 1 : 0);
      }
      if (index_.serial_column() != SweepIndex::kNone && input.columns[index_.serial_column()].car_unknown[car]) unknown |= 1U << 31;
      keys[at++] = unknown;
    }
    return keys;
  }

  void tell_progress(std::size_t done, std::size_t all) {
    if (done == all || seconds_since(told_) < 2) return;
    told_ = Clock::now();
    say_("swept " + std::to_string(done) + " of " + std::to_string(all) + " cars\n");
  }

  const SweepIndex& index_;
  const SweepOptions& options_;
  const std::function<void(std::string_view)>& write_;
  const std::function<void(std::string_view)>& say_;
  SweepSums sums_;
  bool has_ranges_ = false;
  std::uint64_t last_bytes_ = 0;
  Clock::time_point told_ = Clock::now();
};

// The sum of all counts bounds every total: where it fits, nothing that follows can overflow.
bool counts_fit(const SweepInput& input) {
  std::int64_t sum = 0;
  for (const std::int64_t count : input.row_counts) {
    if (count == kFirstPlace || __builtin_add_overflow(sum, count < 0 ? -count : count, &sum)) return false;
  }
  return true;
}

bool check_columns(const SweepInput& input, const SweepOptions& options, const std::filesystem::path& rows,
                   const std::function<void(std::string_view)>& say, Sources& sources, Diagnostics& diagnostics) {
  std::vector<std::string> taken;
  for (const SweepColumn& column : input.columns) taken.push_back(column.name);
  say("conditions: " + (taken.empty() ? "none" : joined(taken)) + "\n");
  if (!input.unused_facts.empty()) say("facts that no row asks about: " + joined(input.unused_facts) + "\n");
  if (input.passed_over.empty()) return true;
  if (!options.is_strict) {
    say("passed over: " + joined(input.passed_over) + "\n");
    return true;
  }
  for (const std::string& name : input.passed_over) {
    diagnostics.add({.code = code::kUnknownColumn,
                     .span = {.source = sources.add(rows.string(), "")},
                     .says = "the column `" + name + "` is no fact of the cars",
                     .expected = "facts of the cars, `item` and `count`, as `--strict` asks"});
  }
  return false;
}

}  // namespace

std::optional<SweepSummary> sweep(const std::filesystem::path& rows, const std::filesystem::path& cars,
                                  const SweepOptions& options, const std::function<void(std::string_view)>& write,
                                  const std::function<void(std::string_view)>& say, Sources& sources,
                                  Diagnostics& diagnostics) {
  SweepSummary summary;
  const auto begin = Clock::now();
  const auto input = read_sweep(rows, cars, sources, diagnostics);
  if (!input || !check_columns(*input, options, rows, say, sources, diagnostics)) return std::nullopt;
  if (!counts_fit(*input)) {
    diagnostics.add({.code = code::kAbsurdQuantity,
                     .span = {.source = sources.add(rows.string(), "")},
                     .says = "the counts add up to more than can be kept exactly",
                     .expected = "counts that add up to less than 9 * 10^18 of their smallest decimal"});
    return std::nullopt;
  }
  summary.load_seconds = seconds_since(begin);
  const auto built = Clock::now();
  const SweepIndex index(*input);
  summary.build_seconds = seconds_since(built);
  summary.index_bytes = index.bytes();
  summary.rows = input->row_items.size();
  if (index.bytes() > options.memory_bytes) {
    diagnostics.add({.code = code::kTooLarge,
                     .span = {.source = sources.add(rows.string(), "")},
                     .says = "the index of the rows takes " + std::to_string(index.bytes() >> 20) + " MiB",
                     .expected = "`--memory` of more, or fewer rows"});
    return std::nullopt;
  }
  const auto matched = Clock::now();
  Run(index, options, write, say).run(summary);
  summary.match_seconds = seconds_since(matched);
  return summary;
}

}  // namespace kitgap
