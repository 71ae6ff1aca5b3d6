#include "need/car.h"

#include <algorithm>
#include <array>

#include "pack/fact_value.h"
#include "text/codes.h"
#include "text/file.h"
#include "text/json.h"

namespace kitgap {
namespace {

class CarReader {
 public:
  CarReader(const Rules& rules, Sources& sources, Diagnostics& diagnostics)
      : rules_(rules), sources_(sources), diagnostics_(diagnostics) {}

  Car with_facts(const Json& facts, SourceId source, Car car) {
    source_ = source;
    car_ = std::move(car);
    read_facts(facts);
    return std::move(car_);
  }

  Car with_fact(FactId fact, const std::string& cell, const Span& span, Car car) {
    car_ = std::move(car);
    if (!cell.empty()) state_text(fact, cell, span);
    return std::move(car_);
  }

  std::optional<Car> read(const std::filesystem::path& path) {
    const std::size_t errors_before = diagnostics_.error_count();
    const auto source = read_file(path, sources_, diagnostics_);
    if (!source) return std::nullopt;
    source_ = *source;
    car_.name = path.stem().string();
    const std::string_view bytes = sources_.bytes(source_);
    const std::size_t first = bytes.find_first_not_of(" \t\r\n\xef\xbb\xbf");
    const bool is_json = first != std::string_view::npos && (bytes[first] == '{' || bytes[first] == '[');
    is_json || path.extension() == ".json" ? read_json() : read_csv();
    if (diagnostics_.error_count() != errors_before) return std::nullopt;
    return std::move(car_);
  }

 private:
  Span span_of(const Json& json) const { return {.source = source_, .line = json.line, .column = json.column}; }

  void error(Span span, std::string_view code, std::string says, std::string expected, std::string suggestion = {}) {
    diagnostics_.add({.code = code, .span = std::move(span), .says = std::move(says), .expected = std::move(expected),
                      .suggestion = std::move(suggestion)});
  }

  void read_json() {
    const auto json = parse_json(source_, sources_, diagnostics_);
    if (!json) return;
    if (!json->is_object()) return error(span_of(*json), code::kInvalidJson, "the car file is no object", "`{\"name\": ..., \"facts\": {...}}`");
    for (const auto& [name, value] : json->members) {
      if (name == "name") {
        if (!value.is_string()) error(span_of(value), code::kInvalidJson, "`name` is no text", "a short name in quotes");
        else car_.name = value.text;
      } else if (name == "facts") {
        read_facts(value);
      } else if (name == "work") {
        read_work(value);
      } else if (name == "dates") {
        read_dates(value);
      } else if (name != "note" && name != "format" && name != "$schema") {
        error(span_of(value), code::kInvalidJson, "`" + name + "` is no key of a car file",
              "`name`, `facts`, `work`, `dates` or `note`", nearest(name, {"name", "facts", "work", "dates", "note"}));
      }
    }
  }

  void read_facts(const Json& facts) {
    if (facts.is_null()) return;
    if (!facts.is_object()) return error(span_of(facts), code::kInvalidJson, "`facts` is no object", "`{\"body style\": \"estate\"}`");
    for (const auto& [name, value] : facts.members) {
      const auto fact = fact_named(name, span_of(value));
      if (!fact || value.is_null()) continue;
      if (value.is_string()) {
        state_text(*fact, value.text, span_of(value));
      } else if (const auto typed = fact_value_of(value, rules_.facts[fact->index].domain.type)) {
        state(*fact, *typed, span_of(value));
      } else {
        error(span_of(value), code::kUnknownValue, "this is no value of the fact `" + name + "`", expected_of(*fact));
      }
    }
  }

  std::optional<FactId> fact_named(std::string_view name, const Span& span) {
    if (const auto found = rules_.find_fact(name)) return found;
    std::vector<std::string> names;
    for (const Fact& fact : rules_.facts) names.push_back(fact.name);
    error(span, code::kUnknownFact, "`" + std::string(name) + "` is no fact of these packs", "a fact that a manifest declares",
          nearest(name, names));
    return std::nullopt;
  }

  std::string expected_of(FactId fact) const {
    const Fact& declared = rules_.facts[fact.index];
    std::string test = rules_.fact_spaces[fact.index].to_unary_test();
    const FactDomain& domain = declared.domain;
    if (test == "-" && domain.least && domain.greatest) {
      test = "[" + text_of(FactValue(*domain.least), domain.type) + ".." + text_of(FactValue(*domain.greatest), domain.type) + "]";
    }
    static constexpr auto kWords = std::to_array<std::string_view>({"a number", "a text", "true or false", "a date such as `1970-03-01`"});
    const std::string type(kWords[static_cast<std::size_t>(declared.domain.type)]);
    return test == "-" ? type : type + " of `" + test + "`, or a test such as `" + test + "`";
  }

  void state(FactId fact, const FactValue& value, const Span& span) {
    const Fact& declared = rules_.facts[fact.index];
    if (!rules_.fact_spaces[fact.index].contains(value)) {
      std::vector<std::string> names;
      for (const FactValue& allowed : declared.domain.allowed) names.push_back(text_of(allowed, declared.domain.type));
      const std::string typed = text_of(value, declared.domain.type);
      return error(span, code::kUnknownValue, "`" + typed + "` is no value of the fact `" + declared.name + "`",
                   expected_of(fact), nearest(typed, names));
    }
    car_.statements.push_back({.fact = fact, .values = ValueSet::of(declared.domain, value), .span = span});
  }

  // A text is a value if it is an allowed one or the fact lists none, else a unary test.
  void state_text(FactId fact, const std::string& text, Span span) {
    const Fact& declared = rules_.facts[fact.index];
    const auto value = parse_fact_value(text, declared.domain.type);
    const bool is_value = value && (declared.domain.type != FactType::Text ? is_allowed(declared.domain, *value)
                                    : declared.domain.allowed.empty()      ? true
                                                                           : is_allowed(declared.domain, *value));
    if (is_value) return state(fact, declared.domain.type == FactType::Text ? FactValue(unquoted(text, declared)) : *value, span);
    Condition test;
    span.column += 1;  // past the quote
    if (!add_cell(test, fact, text, span, rules_.facts, diagnostics_)) return;
    if (test.tests.empty()) return;
    ValueSet values = test.tests[0].values & rules_.fact_spaces[fact.index];
    if (values.is_empty()) {
      return error(span, code::kUnknownValue, "no value of the fact `" + declared.name + "` passes `" + text + "`", expected_of(fact));
    }
    car_.statements.push_back({.fact = fact, .values = std::move(values), .span = span});
  }

  static std::string unquoted(const std::string& text, const Fact& fact) {
    if (fact.domain.allowed.empty()) return text;
    return std::get<std::string>(*parse_fact_value(text, FactType::Text));
  }

  void add_work(const std::string& word, const Span& span) {
    const bool is_area = std::ranges::any_of(rules_.parts, [&](const PartRow& row) { return row.area == word; });
    const auto part = rules_.find_part(word);
    if (is_area || (part && *part != Rules::kCar) || rules_.positions.find(word)) {
      car_.work.push_back(word);
      return;
    }
    std::vector<std::string> names = rules_.positions.paths();
    names.insert(names.end(), rules_.part_keys.begin(), rules_.part_keys.end());
    for (const PartRow& row : rules_.parts) names.push_back(row.area);
    error(span, code::kUnknownPart, "`" + word + "` is no part, area or position of these packs",
          "what the work is limited to, such as `front.left`", nearest(word, names));
  }

  void read_work(const Json& work) {
    if (work.is_null()) return;
    if (!work.is_array()) return error(span_of(work), code::kInvalidJson, "`work` is no list", "`[\"front.left\", \"carpet-set\"]` or null");
    for (const Json& item : work.items) {
      if (!item.is_string()) error(span_of(item), code::kInvalidJson, "an entry of `work` is no text", "a part, an area or a position");
      else add_work(item.text, span_of(item));
    }
  }

  void add_date(const std::string& step, const std::string& text, const Span& span) {
    const auto day = parse_iso_date(text);
    if (!day) return error(span, code::kInvalidCell, "`" + text + "` is no date", "a date such as `2027-03-01`");
    std::vector<std::string> steps;
    for (const StepRow& row : rules_.steps) steps.push_back(row.step);
    if (std::ranges::find(steps, step) == steps.end()) {
      return error(span, code::kUnknownStep, "`" + step + "` is no step of these packs", "a step of a `steps` table", nearest(step, steps));
    }
    car_.dates[step] = *day;
  }

  void read_dates(const Json& dates) {
    if (dates.is_null()) return;
    if (!dates.is_object()) return error(span_of(dates), code::kInvalidJson, "`dates` is no object", "`{\"step\": \"2027-03-01\"}` or null");
    for (const auto& [step, day] : dates.members) {
      if (!day.is_string()) error(span_of(day), code::kInvalidJson, "the date of a step is no text", "a date such as `\"2027-03-01\"`");
      else add_date(step, day.text, span_of(day));
    }
  }

  // Two columns: what, and its value. `name`, `work` (`;` between) and `date of STEP` stand beside the facts.
  void read_csv() {
    const auto table = read_pack_table(source_, sources_, diagnostics_);
    if (!table) return;
    if (table->column_count() != 2) {
      return error(table->header_span(0), code::kWrongColumnCount, "a car file has two columns, not " + std::to_string(table->column_count()),
                   "`fact,value`");
    }
    // Without a heading the first row is a fact like the others.
    if (table->header()[0] == "name" || rules_.find_fact(table->header()[0])) {
      read_pair(table->header()[0], table->header()[1], table->header_span(0), table->header_span(1));
    }
    for (std::size_t row = 0; row < table->row_count(); ++row) {
      read_pair(std::string(table->cell(row, 0)), std::string(table->cell(row, 1)), table->span(row, 0), table->span(row, 1));
    }
  }

  void read_pair(const std::string& what, const std::string& value, const Span& what_span, const Span& span) {
    if (what == "name") {
      car_.name = value;
    } else if (what == "work") {
      add_words(value, span);
    } else if (what.starts_with("date of ")) {
      add_date(what.substr(8), value, span);
    } else if (const auto fact = fact_named(what, what_span); fact && !value.empty()) {
      state_text(*fact, value, span);
    }
  }

  void add_words(std::string_view cell, const Span& span) {
    while (!cell.empty()) {
      const std::size_t end = cell.find(';');
      std::string word(cell.substr(0, end));
      word.erase(0, word.find_first_not_of(' '));
      word.erase(word.find_last_not_of(' ') + 1);
      if (!word.empty()) add_work(word, span);
      if (end == std::string_view::npos) return;
      cell.remove_prefix(end + 1);
    }
  }

  const Rules& rules_;
  Sources& sources_;
  Diagnostics& diagnostics_;
  SourceId source_;
  Car car_;
};

}  // namespace

std::optional<Car> read_car(const std::filesystem::path& path, const Rules& rules, Sources& sources, Diagnostics& diagnostics) {
  return CarReader(rules, sources, diagnostics).read(path);
}

void read_car_facts(const Json& facts, SourceId source, const Rules& rules, Sources& sources, Car& car, Diagnostics& diagnostics) {
  car = CarReader(rules, sources, diagnostics).with_facts(facts, source, std::move(car));
}

void read_car_fact(FactId fact, const std::string& cell, const Span& span, const Rules& rules, Sources& sources, Car& car,
                   Diagnostics& diagnostics) {
  car = CarReader(rules, sources, diagnostics).with_fact(fact, cell, span, std::move(car));
}

}  // namespace kitgap
