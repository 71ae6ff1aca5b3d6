#include "sweep_packs.h"
#include "packs.h"

#include <unordered_map>

#include "cover/answer.h"
#include "report/report.h"
#include "text/codes.h"
#include "text/csv.h"
#include "text/file.h"
#include "text/json.h"

namespace kitgap {
namespace {

class PackSweep {
 public:
  PackSweep(const Arguments& arguments, const SweepOptions& options, const std::function<void(std::string_view)>& write,
            Terminal& terminal)
      : arguments_(arguments), options_(options), write_(write), terminal_(terminal) {}

  int run() {
    rules_ = read_packs(arguments_.values("--rules"), sources_, diagnostics_);
    const auto source = read_file(*arguments_.value("--cars"), sources_, diagnostics_);
    if (source) cars_ = read_pack_table(*source, sources_, diagnostics_);
    if (rules_ && cars_) match_columns();
    if (diagnostics_.has_errors()) {
      terminal_.say(layout(diagnostics_, sources_));
      return kBadInput;
    }
    return sweep_cars();
  }

 private:
  struct Column {
    std::size_t column;
    FactId fact;
  };

  void match_columns() {
    const auto id = cars_->find_column("car_id");
    if (!id) {
      diagnostics_.add({.code = code::kMissingColumn, .span = cars_->header_span(0), .says = "there is no column `car_id`",
                        .expected = "`car_id`, then a column per fact"});
      return;
    }
    id_column_ = *id;
    for (std::size_t column = 0; column < cars_->column_count(); ++column) {
      const std::string& name = cars_->header()[column];
      if (column == id_column_) continue;
      if (const auto fact = rules_->find_fact(name)) {
        columns_.push_back({column, *fact});
      } else if (options_.is_strict) {
        std::vector<std::string> names;
        for (const Fact& declared : rules_->facts) names.push_back(declared.name);
        diagnostics_.add({.code = code::kUnknownColumn, .span = cars_->header_span(column),
                          .says = "the column `" + name + "` is no fact of these packs",
                          .expected = "facts of the packs, as `--strict` asks", .suggestion = nearest(name, names)});
      } else {
        terminal_.say("kitgap sweep: passed over: `" + printable(name) + "`, no fact of these packs\n");
      }
    }
  }

  int sweep_cars() {
    const auto slice = [&](std::uint64_t shard) {
      return static_cast<std::size_t>(static_cast<unsigned __int128>(cars_->row_count()) * shard / options_.shards);
    };
    // Every car is read before the first is answered, so that a wrong cell leaves no half answer.
    std::vector<Car> read;
    for (std::size_t row = slice(options_.shard - 1); row < slice(options_.shard); ++row) read.push_back(car_of(row));
    if (diagnostics_.has_errors()) {
      terminal_.say(layout(diagnostics_, sources_));
      return kBadInput;
    }
    int status = kDone;
    std::size_t row = slice(options_.shard - 1);
    for (const Car& car : read) {
      JsonWriter json(JsonWriter::Layout::OneLine);
      json.begin_object().key("car_id").string(car.name);
      const Outcome& outcome = outcome_of(car, row++);
      if (outcome.error.empty()) {
        write_summary(json, outcome.summary);
      } else {
        json.key("error").string(outcome.error);
        status = kFoundWrong;
      }
      write_(json.end_object().take());
    }
    return status;
  }

  Car car_of(std::size_t row) {
    Car car;
    car.name = std::string(cars_->cell(row, id_column_));
    for (const Column& column : columns_) {
      const std::string cell(cars_->cell(row, column.column));
      if (!cell.empty()) read_car_fact(column.fact, cell, cars_->span(row, column.column), *rules_, sources_, car, diagnostics_);
    }
    return car;
  }

  struct Outcome {
    ReportSummary summary;
    std::string error;  // why there is none: the tables contradict themselves for this car
  };

  // Cars that say the same of every fact are worked out once.
  const Outcome& outcome_of(const Car& car, std::size_t row) {
    std::string key;
    for (const Column& column : columns_) {
      key += cars_->cell(row, column.column);
      key.push_back('\0');
    }
    const auto [known, is_new] = outcomes_.try_emplace(std::move(key));
    if (is_new) known->second = work_out(car);
    return known->second;
  }

  Outcome work_out(const Car& car) {
    Diagnostics diagnostics;
    Outcome outcome;
    const auto knowledge = Knowledge::of(car, *rules_, diagnostics);
    if (knowledge && !diagnostics.has_errors()) {
      const Found found;
      const NeedModel needs = NeedModel::of(*knowledge, car, found);
      const Supplies supplies = Supplies::of(needs, {});
      const CoverModel cover(needs, supplies);
      Problems problems(diagnostics);
      const Answer answer = answer_of(cover, problems);
      if (!diagnostics.has_errors()) outcome.summary = report_of(car, cover, found, answer, false).summary;
    }
    if (diagnostics.has_errors()) outcome.error = diagnostics.sorted().front().says;
    return outcome;
  }

  const Arguments& arguments_;
  const SweepOptions& options_;
  const std::function<void(std::string_view)>& write_;
  Terminal& terminal_;
  Sources sources_;
  Diagnostics diagnostics_;
  std::optional<Rules> rules_;
  std::optional<Table> cars_;
  std::size_t id_column_ = 0;
  std::vector<Column> columns_;
  std::unordered_map<std::string, Outcome> outcomes_;
};

}  // namespace

int sweep_packs(const Arguments& arguments, const SweepOptions& options, const std::function<void(std::string_view)>& write,
                Terminal& terminal) {
  return PackSweep(arguments, options, write, terminal).run();
}

}  // namespace kitgap
