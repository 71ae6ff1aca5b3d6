#include "match/sweep_run.h"

#include <algorithm>
#include <atomic>
#include <chrono>
#include <mutex>
#include <numeric>
#include <optional>
#include <span>
#include <thread>

#include "match/sweep_groups.h"
#include "match/sweep_known.h"
#include "match/sweep_unknown.h"

namespace kitgap {
namespace {

using Clock = std::chrono::steady_clock;

class Run {
 public:
  Run(const SweepIndex& index, const SweepCars& cars, const PlacedCars& placed, const SweepOptions& options,
      const std::function<void(std::string_view)>& write, const std::function<void(std::string_view)>& say)
      : index_(index), cars_(cars), placed_(placed), options_(options), write_(write), say_(say) {}

  void run(std::size_t begin, std::size_t end, SweepSummary& summary) {
    has_ranges_ = find_ranges();
    if (!options_.only_summary) write_(has_ranges_ ? "car_id,item,total_lo,total_hi\n" : "car_id,item,total\n");
    std::size_t batch = options_.only_summary ? end - begin : 512;
    for (std::size_t at = begin; at < end;) {
      const std::size_t batch_end = std::min(end, at + batch);
      run_batch(at, batch_end);
      tell_progress(batch_end - begin, end - begin);
      at = batch_end;
      batch = next_batch(batch);
    }
    summary.cars = end - begin;
    summary.matches = sums_.matches;
    summary.may_match = sums_.may_match;
    summary.pairs = sums_.pairs;
    summary.sum = decimal_text(sums_.lo, index_.count_places());
    summary.sum_hi = decimal_text(sums_.hi, index_.count_places());
    summary.has_ranges = has_ranges_;
    if (sums_.gave_up) say_("where unknown facts are tangled, totals are sound bounds, perhaps wider than need be\n");
  }

 private:
  // Whether any total of any car hangs on an unknown fact; the same for every shard, so that the pieces fit together.
  bool find_ranges() const {
    UnknownCars unknown(index_, placed_);
    for (std::size_t car = 0; car < placed_.size; ++car) {
      if (!placed_.has_unknown(car)) continue;
      SweepSums sums;
      unknown.add_car(static_cast<std::uint32_t>(car), nullptr, true, sums);
      if (sums.differs) return true;
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
    const CarGroups groups(index_, placed_, begin, end);
    std::vector<std::string> texts(options_.only_summary ? 0 : end - begin);
    std::atomic<std::size_t> next{0};
    std::mutex adding;
    const auto work = [&] {
      Worker worker(*this, begin, texts);
      for (std::size_t task = next.fetch_add(1); task < groups.task_count(); task = next.fetch_add(1)) {
        worker.add_task(groups, task);
      }
      const std::lock_guard lock(adding);
      sums_ += worker.sums;
    };
    const unsigned wanted = options_.threads != 0 ? options_.threads : std::max(1U, std::thread::hardware_concurrency());
    std::vector<std::thread> others;
    for (unsigned thread = 1; thread < wanted && thread < groups.task_count(); ++thread) others.emplace_back(work);
    work();
    for (std::thread& other : others) other.join();
    last_bytes_ = 0;
    for (const std::string& text : texts) {
      write_(text);
      last_bytes_ += text.size();
    }
  }

  // What one thread has of its own.
  struct Worker {
    Worker(const Run& run_of, std::size_t first, std::vector<std::string>& texts_of)
        : run(run_of),
          begin(first),
          texts(texts_of),
          known(run_of.index_, run_of.placed_),
          unknown(run_of.index_, run_of.placed_),
          lines(run_of.index_, run_of.has_ranges_) {}

    void add_task(const CarGroups& groups, std::size_t task) {
      if (groups.is_unknown(task)) {
        for (const std::uint32_t car : groups.unknown_cars(task)) add(car, [&](TotalLines* to) { unknown.add_car(car, to, false, sums); });
        return;
      }
      known.begin_selection(groups.first_cells(task));
      for (std::size_t group = groups.first_group(task); group < groups.first_group(task + 1); ++group) {
        known.begin_group(groups.other_cells(group), !texts.empty());
        for (const std::uint32_t car : groups.cars(group)) add(car, [&](TotalLines* to) { known.add_car(car, to, sums); });
      }
    }
    template <class Add>
    void add(std::uint32_t car, const Add& add_to) {
      if (texts.empty()) return add_to(nullptr);
      lines.begin_car(run.cars_.ids.text(car));
      add_to(&lines);
      texts[car - begin] = lines.text();
    }

    const Run& run;
    std::size_t begin;
    std::vector<std::string>& texts;
    KnownCars known;
    UnknownCars unknown;
    TotalLines lines;
    SweepSums sums;
  };

  void tell_progress(std::size_t done, std::size_t all) {
    if (done == all || Clock::now() - told_ < std::chrono::seconds(2)) return;
    told_ = Clock::now();
    say_("swept " + std::to_string(done) + " of " + std::to_string(all) + " cars\n");
  }

  const SweepIndex& index_;
  const SweepCars& cars_;
  const PlacedCars& placed_;
  const SweepOptions& options_;
  const std::function<void(std::string_view)>& write_;
  const std::function<void(std::string_view)>& say_;
  SweepSums sums_;
  bool has_ranges_ = false;
  std::uint64_t last_bytes_ = 0;
  Clock::time_point told_ = Clock::now();
};

}  // namespace

void run_sweep(const SweepIndex& index, const SweepCars& cars, const PlacedCars& placed, std::size_t begin, std::size_t end,
               const SweepOptions& options, const std::function<void(std::string_view)>& write, const std::function<void(std::string_view)>& say,
               SweepSummary& summary) {
  Run(index, cars, placed, options, write, say).run(begin, end, summary);
}

}  // namespace kitgap
