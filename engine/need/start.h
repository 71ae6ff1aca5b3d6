#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "pack/rules.h"

namespace kitgap {

// The facts to ask a person for, in the order of the packs: those that a table may work out come last, those that a
// pattern reads out of another are not asked.
std::vector<FactId> facts_to_ask(const Rules& rules);
// Whether the answers so far leave the fact one value.
bool is_worked_out(const Rules& rules, FactId fact, const std::vector<std::pair<FactId, std::string>>& answers);

struct AnswerReading {
  std::string value;  // as a car file holds it: a value, or a unary test; empty: not known
  std::string wrong;  // why it cannot be taken, with what is expected
};
// What may be typed, as a person reads it: `saloon, estate`, `1966..1974`, `yes, no`; empty: anything.
std::string choices_of(const Rules& rules, FactId fact);
// Reads what a person typed for a fact: a value, a test such as `>= 30400`, or nothing.
AnswerReading read_answer(const Rules& rules, FactId fact, std::string_view typed);

// One car of a table of cars, with its facts as a car file holds them.
struct CarRow {
  std::string name, work;
  std::uint32_t line = 0;
  std::vector<std::pair<FactId, std::string>> answers;
};
// A shop's cars: a column `name`, perhaps `work`, and one for each fact that is known of any. Everything wrong in it is
// reported; nothing is returned then.
[[nodiscard]] std::optional<std::vector<CarRow>> read_cars(const std::filesystem::path& path, const Rules& rules, Sources& sources,
                                                           Diagnostics& diagnostics);

// A car file with these answers, JSON.
std::string car_json(const Rules& rules, std::string_view name, const std::vector<std::pair<FactId, std::string>>& answers,
                     const std::vector<std::string>& work = {});

// Commented CSV templates of a person's files: file name and content.
std::vector<std::pair<std::string, std::string>> templates_of(const Rules& rules);

}  // namespace kitgap
