#pragma once

#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "pack/rules.h"

namespace kitgap {

struct Json;

// One car as its file states it.
struct Car {
  struct Statement {
    FactId fact;
    ValueSet values;  // one value, or those that pass the test the person knows
    Span span;
  };
  std::string name;
  std::vector<Statement> statements;  // facts not stated or null are unknown
  std::vector<std::string> work;      // parts, areas, positions; empty: the whole car
  std::map<std::string, std::int64_t> dates;  // step: day on which it needs its parts
};

// CAR of FORMATS: JSON, or CSV of two columns. Refused whole when anything in it is wrong.
[[nodiscard]] std::optional<Car> read_car(const std::filesystem::path& path, const Rules& rules, Sources& sources,
                                          Diagnostics& diagnostics);

// The facts of a car as an object of JSON, in the form of a car file's `facts`, added to `car`.
void read_car_facts(const Json& facts, SourceId source, const Rules& rules, Sources& sources, Car& car, Diagnostics& diagnostics);
// One fact as a cell of a table states it, added to `car`; empty: not known.
void read_car_fact(FactId fact, const std::string& cell, const Span& span, const Rules& rules, Sources& sources, Car& car,
                   Diagnostics& diagnostics);

}  // namespace kitgap
