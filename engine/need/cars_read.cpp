#include <set>

#include "need/start.h"
#include "text/codes.h"
#include "text/person_table.h"

namespace kitgap {
namespace {

class CarsReader {
 public:
  CarsReader(const Rules& rules, const PersonTable& table, const ColumnMap& columns, Diagnostics& diagnostics)
      : rules_(rules), table_(table), columns_(columns), diagnostics_(diagnostics) {}

  std::vector<CarRow> read() {
    std::vector<CarRow> cars;
    std::set<std::string> names;
    for (std::size_t row = 0; row < table_.row_count(); ++row) {
      if (table_.kind(row) == RowKind::Header || table_.kind(row) == RowKind::Blank || table_.kind(row) == RowKind::Title) continue;
      CarRow car = car_of(row);
      if (!car.name.empty() && !names.insert(car.name).second) {
        error(code::kDuplicateKey, row, *columns_.columns[0], "a second car is called `" + car.name + "`", "a name for each car");
      }
      cars.push_back(std::move(car));
    }
    return cars;
  }

 private:
  void error(std::string_view code, std::size_t row, std::size_t column, std::string says, std::string expected) {
    diagnostics_.add({.code = code, .span = table_.span(row, column), .says = std::move(says), .expected = std::move(expected)});
  }

  CarRow car_of(std::size_t row) {
    CarRow car;
    car.line = table_.line(row);
    car.name = table_.cell(row, *columns_.columns[0]);
    if (car.name.empty()) error(code::kMissingCell, row, *columns_.columns[0], "this car has no name", "a short name");
    if (columns_.columns[1]) car.work = table_.cell(row, *columns_.columns[1]);
    for (std::uint32_t fact = 0; fact < rules_.facts.size(); ++fact) {
      const auto column = columns_.columns[fact + 2];
      if (!column) continue;
      AnswerReading reading = read_answer(rules_, FactId{fact}, table_.cell(row, *column));
      if (!reading.wrong.empty()) error(code::kUnknownValue, row, *column, reading.wrong, "");
      else if (!reading.value.empty()) car.answers.emplace_back(FactId{fact}, std::move(reading.value));
    }
    return car;
  }

  const Rules& rules_;
  const PersonTable& table_;
  const ColumnMap& columns_;
  Diagnostics& diagnostics_;
};

}  // namespace

std::optional<std::vector<CarRow>> read_cars(const std::filesystem::path& path, const Rules& rules, Sources& sources, Diagnostics& diagnostics) {
  const std::size_t errors_before = diagnostics.error_count();
  std::vector<ColumnWords> words = {{"name", {"name", "car", "car_id", "car id"}}, {"work", {"work"}}};
  for (const Fact& fact : rules.facts) words.push_back({fact.name, {fact.name}});
  const PersonTableOptions options{.columns = words, .renamed = {}, .sheet = {}};
  const auto table = read_person_table(path, options, sources, diagnostics);
  if (!table) return std::nullopt;
  const ColumnMap columns = map_columns(*table, options, diagnostics);
  const Span whole{.source = table->source()};
  if (!columns.columns[0]) {
    diagnostics.add({.code = code::kMissingColumn, .span = whole, .says = "there is no column `name`", .expected = "`name`, `work` and a column for each fact"});
    return std::nullopt;
  }
  std::vector<std::string> facts;
  for (const Fact& fact : rules.facts) facts.push_back(fact.name);
  for (const std::string& column : columns.unused) {
    diagnostics.add({.code = code::kUnknownFact, .span = whole, .says = "the column `" + column + "` is no fact of these packs",
                     .expected = "`name`, `work` and a column for each fact", .suggestion = nearest(column, facts)});
  }
  std::vector<CarRow> cars = CarsReader(rules, *table, columns, diagnostics).read();
  if (cars.empty()) diagnostics.add({.code = code::kMissingCell, .span = whole, .says = "there is no car in this table", .expected = "a row for each car"});
  if (diagnostics.error_count() != errors_before) return std::nullopt;
  return cars;
}

}  // namespace kitgap
