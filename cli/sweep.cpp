#include <unistd.h>

#include <cerrno>
#include <charconv>
#include <cstdio>
#include <cstring>
#include <utility>

#include "commands.h"
#include "match/sweep.h"
#include "output.h"
#include "sweep_packs.h"
#include "text/diagnostics.h"
#include "text/file.h"
#include "text/json.h"

namespace kitgap {
namespace {

// Standard output, or a file that is written beside and renamed when whole, so that a broken run leaves none.
class OutputFile {
 public:
  OutputFile(std::optional<std::string> path, Terminal& terminal) : path_(std::move(path)), terminal_(terminal) {
    if (!path_) return;
    file_ = std::fopen((*path_ + kPart).c_str(), "wbe");
    if (file_ == nullptr) fail();
  }
  ~OutputFile() {
    if (file_ == nullptr) return;
    std::fclose(file_);
    std::remove((*path_ + kPart).c_str());
  }
  OutputFile(const OutputFile&) = delete;
  OutputFile& operator=(const OutputFile&) = delete;

  void write(std::string_view text) {
    if (!path_) {
      terminal_.print(text);
    } else if (std::fwrite(text.data(), 1, text.size(), file_) != text.size()) {
      fail();
    }
  }
  void close() {
    if (file_ == nullptr) return;
    const bool flushed = std::fflush(file_) == 0 && ::fsync(::fileno(file_)) == 0;
    const bool closed = std::fclose(std::exchange(file_, nullptr)) == 0;
    if (!flushed || !closed || std::rename((*path_ + kPart).c_str(), path_->c_str()) != 0) fail();
  }

 private:
  static constexpr const char* kPart = ".part";
  [[noreturn]] void fail() { throw MachineFailure{"cannot write `" + *path_ + "`: " + std::strerror(errno)}; }

  std::optional<std::string> path_;
  Terminal& terminal_;
  std::FILE* file_ = nullptr;
};

// A whole number of 1 or more; nothing for anything else.
std::optional<std::uint64_t> whole_number(std::string_view text) {
  std::uint64_t value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc() || end != text.data() + text.size() || value == 0) return std::nullopt;
  return value;
}

// `K/N`: the Kth of N slices.
bool read_shard(std::string_view text, SweepOptions& options) {
  const auto slash = text.find('/');
  if (slash == std::string_view::npos) return false;
  const auto shard = whole_number(text.substr(0, slash));
  const auto shards = whole_number(text.substr(slash + 1));
  if (!shard || !shards || *shard > *shards) return false;
  options.shard = *shard;
  options.shards = *shards;
  return true;
}

bool read_options(const Arguments& arguments, SweepOptions& options, Terminal& terminal) {
  options.is_strict = arguments.has("--strict");
  options.only_summary = arguments.has("--summary");
  options.cache = Cache::of_user();
  if (const auto text = arguments.value("--threads")) {
    const auto threads = whole_number(*text);
    if (!threads || *threads > 1024) {
      terminal.say("kitgap sweep: `--threads` takes a whole number from 1 to 1024\n");
      return false;
    }
    options.threads = static_cast<unsigned>(*threads);
  }
  if (const auto text = arguments.value("--memory")) {
    const auto megabytes = whole_number(*text);
    if (!megabytes || *megabytes > (std::uint64_t{1} << 30)) {
      terminal.say("kitgap sweep: `--memory` takes a whole number of MiB\n");
      return false;
    }
    options.memory_bytes = *megabytes << 20;
  }
  if (const auto text = arguments.value("--shard"); text && !read_shard(*text, options)) {
    terminal.say("kitgap sweep: `--shard` takes `K/N`, the Kth of N slices of the cars, such as `3/8`\n");
    return false;
  }
  return true;
}

std::string summary_json(const SweepSummary& summary) {
  JsonWriter writer(JsonWriter::Layout::OneLine);
  writer.begin_object();
  writer.key("cars").number(static_cast<std::int64_t>(summary.cars));
  writer.key("rows").number(static_cast<std::int64_t>(summary.rows));
  writer.key("matches").number(static_cast<std::int64_t>(summary.matches));
  writer.key("pairs").number(static_cast<std::int64_t>(summary.pairs));
  writer.key("sum").number(summary.sum);
  if (summary.has_ranges) {
    writer.key("sum_hi").number(summary.sum_hi);
    writer.key("may_match").number(static_cast<std::int64_t>(summary.may_match));
  }
  writer.end_object();
  return writer.take();
}

std::string timings_json(const SweepSummary& summary) {
  JsonWriter writer(JsonWriter::Layout::OneLine);
  writer.begin_object();
  writer.key("load").number(seconds_text(summary.load_seconds));
  writer.key("build").number(seconds_text(summary.build_seconds));
  writer.key("match").number(seconds_text(summary.match_seconds));
  writer.key("index_bytes").number(static_cast<std::int64_t>(summary.index_bytes));
  writer.key("from_cache").boolean(summary.from_cache);
  writer.end_object();
  return writer.take();
}

int run(const Arguments& arguments, Terminal& terminal) {
  SweepOptions options;
  if (!read_options(arguments, options, terminal)) return kBadInput;
  Sources sources;
  Diagnostics diagnostics;
  if (arguments.has("--table") == arguments.has("--rules")) {
    terminal.say("kitgap sweep: give `--table ROWS.csv`, or `--rules DIR` for the gap summary of each car\n");
    return kBadInput;
  }
  OutputFile out(arguments.value("--out"), terminal);
  const std::function<void(std::string_view)> write = [&](std::string_view text) { out.write(text); };
  if (arguments.has("--rules")) {
    const int status = sweep_packs(arguments, options, write, terminal);
    if (status < kBadInput) out.close();
    return status;
  }
  const auto summary = sweep(
      *arguments.value("--table"), *arguments.value("--cars"), options, write,
      [&](std::string_view text) { terminal.say("kitgap sweep: " + std::string(text)); }, sources, diagnostics);
  if (!summary) {
    terminal.say(layout(diagnostics, sources));
    return kBadInput;
  }
  out.close();
  if (options.only_summary) terminal.print(summary_json(*summary));
  if (arguments.has("--timings")) terminal.say(timings_json(*summary));
  return kDone;
}

}  // namespace

Command sweep_command() {
  return {.name = "sweep",
          .group = Group::ForPrograms,
          .answers = "what applies to each of many cars, summed by item",
          .positionals = {},
          .options = {{.name = "--table", .value = "ROWS.csv", .says = "conditions, then `item,count`"},
                      {.name = "--rules",
                       .value = "DIR",
                       .says = "packs instead: the gap summary of each car, a line of JSON per car; general first",
                       .repeats = true},
                      {.name = "--cars", .value = "CARS.csv", .says = "`car_id`, then a column per fact; empty: unknown", .required = true},
                      {.name = "--out", .value = "FILE.csv", .says = "write the totals there"},
                      {.name = "--summary", .value = "", .says = "only the sums over all cars, as JSON"},
                      {.name = "--shard", .value = "K/N", .says = "the Kth of N slices of the cars"},
                      {.name = "--threads", .value = "N", .says = "so many at once; else as many as the machine has"},
                      {.name = "--memory", .value = "MIB", .says = "ceiling for the index and the text held; else 4096"},
                      {.name = "--strict", .value = "", .says = "refuse columns of the rows that are no facts"},
                      {.name = "--timings", .value = "", .says = "seconds of load, build and match, on standard error"}},
          .examples = {},
          .run = run};
}

}  // namespace kitgap
