#include "measure/fastener.h"

#include <algorithm>

#include "measure/standard_table.h"
#include "measure/standards_data.h"
#include "text/utf8.h"
#include "value/internal_error.h"

namespace kitgap {
namespace {

Fraction inch() { return Fraction::of(254, 10); }

Fraction size_of(const Fraction& value) { return value.sign() < 0 ? -value : value; }

void read_threads(StandardTable table, ThreadSystem system, std::vector<Thread>& threads) {
  const bool is_inch = system == ThreadSystem::Unified;
  for (std::size_t row = 0; row < table.rows(); ++row) {
    Thread thread{.name = table.text(row, "thread"), .system = system, .diameter_mm = 0, .pitch_mm = 0, .series = "", .note = "",
                  .source = table.text(row, "source"), .basis = table.text(row, "basis")};
    if (is_inch) {
      const Fraction per_inch = table.figure(row, "threads_per_inch");
      thread.diameter_mm = table.figure(row, "diameter_in") * inch();
      if (per_inch.sign() > 0) thread.pitch_mm = inch() / per_inch;
    } else {
      thread.diameter_mm = table.figure(row, "diameter_mm");
      thread.pitch_mm = table.figure(row, "pitch_mm");
    }
    if (system != ThreadSystem::BritishAssociation) thread.series = table.text(row, "series");
    if (system == ThreadSystem::Metric) thread.note = table.text(row, "note");
    threads.push_back(std::move(thread));
  }
}

void read_flats(StandardTable table, std::vector<FlatsRow>& flats) {
  for (std::size_t row = 0; row < table.rows(); ++row) {
    flats.push_back({.across_flats_mm = table.figure(row, "across_flats_mm"), .thread = table.text(row, "thread"),
                     .kind = table.text(row, "kind"), .system = table.text(row, "system"), .is_old = table.text(row, "age") == "old",
                     .note = table.text(row, "note"), .source = table.text(row, "source"), .basis = table.text(row, "basis")});
  }
}

void read_classes(StandardTable table, std::vector<PropertyClass>& classes) {
  for (std::size_t row = 0; row < table.rows(); ++row) {
    classes.push_back({.name = table.text(row, "class"), .diameter_above_mm = table.figure_if_any(row, "diameter_from_mm"),
                       .diameter_to_mm = table.figure_if_any(row, "diameter_to_mm"), .tensile_least_mpa = table.figure(row, "tensile_least_mpa"),
                       .yield_nominal_mpa = table.figure(row, "yield_nominal_mpa"), .proof_mpa = table.figure(row, "proof_mpa"),
                       .note = table.text(row, "note"), .source = table.text(row, "source")});
  }
}

void read_rules(StandardTable table, std::vector<RegulationRow>& rules) {
  for (std::size_t row = 0; row < table.rows(); ++row) {
    rules.push_back({.regulation = table.text(row, "regulation"), .clause = table.text(row, "clause"), .topic = table.text(row, "topic"),
                     .value = table.text(row, "value"), .unit = table.text(row, "unit"), .note = table.text(row, "note"),
                     .source = table.text(row, "source"), .basis = table.text(row, "basis")});
  }
}

void read_wires(StandardTable table, std::vector<WireGauge>& wires) {
  for (std::size_t row = 0; row < table.rows(); ++row) {
    wires.push_back({.gauge = table.text(row, "awg"), .area_mm2 = table.figure(row, "area_mm2"), .source = table.text(row, "source")});
  }
}

bool is_same_size(const Thread& thread, const TypedThread& typed) {
  if (thread.system != typed.system) return false;
  return typed.system == ThreadSystem::BritishAssociation ? thread.name == typed.size : thread.diameter_mm == typed.diameter_mm;
}

// A metric thread without a pitch is of the coarse series; an inch thread without one may be either.
bool agrees(const Thread& thread, const TypedThread& typed) {
  if (!typed.series.empty() && thread.series != typed.series) return false;
  if (typed.pitch_mm) return thread.pitch_mm == *typed.pitch_mm;
  return typed.system != ThreadSystem::Metric || thread.series == "coarse";
}

std::string names_of(const FastenerTables& tables, const std::vector<std::size_t>& threads) {
  std::vector<std::string> names;
  for (const std::size_t thread : threads) names.push_back(tables.threads[thread].name);
  return listed_with_or(names);
}

// 3.14159265358979 to 3.1415926535898: a mathematical constant, cut off and one up.
Bounds quarter_pi() {
  const std::int64_t lo = 314'159'265'358'979, scale = 400'000'000'000'000;
  return {Fraction::of(lo, scale), Fraction::of(lo + 1, scale)};
}

}  // namespace

std::optional<FastenerTables> read_fastener_tables(const std::filesystem::path& folder, Sources& sources, Diagnostics& diagnostics) {
  const std::size_t errors = diagnostics.error_count();
  FastenerTables tables;
  const auto open = [&](const char* name) { return StandardTable::open(folder / name, sources, diagnostics); };
  if (auto table = open("metric-threads.csv")) read_threads(std::move(*table), ThreadSystem::Metric, tables.threads);
  if (auto table = open("unified-threads.csv")) read_threads(std::move(*table), ThreadSystem::Unified, tables.threads);
  if (auto table = open("ba-threads.csv")) read_threads(std::move(*table), ThreadSystem::BritishAssociation, tables.threads);
  if (auto table = open("across-flats.csv")) read_flats(std::move(*table), tables.flats);
  if (auto table = open("property-classes.csv")) read_classes(std::move(*table), tables.classes);
  if (auto table = open("belt-and-interior-rules.csv")) read_rules(std::move(*table), tables.belt_rules);
  if (auto table = open("wire-gauge.csv")) read_wires(std::move(*table), tables.wires);
  if (diagnostics.error_count() != errors) return std::nullopt;
  return tables;
}

const FastenerTables& built_in_fastener_tables() {
  static const FastenerTables built_in = [] {
    Sources sources;
    Diagnostics diagnostics;
    for (const BuiltInTable& table : kFastenerTables) sources.lay_in("standards/" + std::string(table.name), std::string(table.text));
    auto tables = read_fastener_tables("standards", sources, diagnostics);
    require(tables.has_value(), "the standards' tables that are built in can be read");
    return std::move(*tables);
  }();
  return built_in;
}

ThreadFinding find_thread(const FastenerTables& tables, const TypedThread& typed) {
  std::vector<std::size_t> of_size, fitting;
  for (std::size_t i = 0; i < tables.threads.size(); ++i) {
    if (!is_same_size(tables.threads[i], typed)) continue;
    of_size.push_back(i);
    if (agrees(tables.threads[i], typed)) fitting.push_back(i);
  }
  using Kind = ThreadFinding::Kind;
  if (of_size.empty()) return {Kind::UnknownSize, {}, "no table here has a thread of the size " + typed.size};
  if (fitting.empty()) {
    const std::string asked = typed.pitch_mm && typed.system == ThreadSystem::Metric ? " with a pitch of " + typed.pitch_mm->to_text() + " mm"
                              : typed.pitch_mm ? " with " + (inch() / *typed.pitch_mm).to_text() + " threads per inch" : "";
    return {Kind::UnknownPitch, of_size, "the standard has no " + typed.size + asked + "; it has " + names_of(tables, of_size)};
  }
  if (fitting.size() > 1) return {Kind::Several, fitting, typed.size + " may be " + names_of(tables, fitting) + ": count the threads"};
  return {Kind::Known, fitting, tables.threads[fitting.front()].name};
}

std::vector<NearMiss> near_misses(const FastenerTables& tables, std::size_t index) {
  const Thread& given = tables.threads.at(index);
  std::vector<NearMiss> near;
  for (std::size_t i = 0; i < tables.threads.size(); ++i) {
    const Thread& other = tables.threads[i];
    if (i == index) continue;
    const Fraction diameter = other.diameter_mm - given.diameter_mm;
    const Fraction pitch = other.pitch_mm - given.pitch_mm;
    const bool same_diameter = size_of(diameter) <= Fraction::of(1, 10) && !pitch.is_zero();
    const bool pitch_is_near = other.system != given.system && size_of(diameter) <= Fraction::of(9, 10) && size_of(pitch) <= Fraction::of(6, 100);
    if (same_diameter || pitch_is_near) near.push_back({i, diameter, pitch, same_diameter});
  }
  return near;
}

std::vector<const FlatsRow*> threads_for_spanner(const FastenerTables& tables, const Fraction& across_flats_mm, const Fraction& within_mm) {
  std::vector<const FlatsRow*> rows;
  for (const FlatsRow& row : tables.flats) {
    if (size_of(row.across_flats_mm - across_flats_mm) <= within_mm) rows.push_back(&row);
  }
  return rows;
}

std::string says_of_spanner(const FastenerTables& tables, const Fraction& across_flats_mm) {
  const auto rows = threads_for_spanner(tables, across_flats_mm);
  std::string says = "a spanner of " + across_flats_mm.to_text() + " mm ";
  if (rows.empty()) {
    says += "is in none of the tables here";
  } else {
    says += "fits ";
    for (std::size_t i = 0; i < rows.size(); ++i) {
      says += (i == 0 ? "" : "; ") + rows[i]->thread + " " + rows[i]->kind + " (" + rows[i]->system + (rows[i]->is_old ? ", old" : "") + ")";
    }
  }
  return says + ". A spanner does not identify a thread: measure the diameter and count the pitch";
}

std::optional<Bounds> stress_area_mm2(const Thread& thread) {
  if (thread.system == ThreadSystem::BritishAssociation) return std::nullopt;
  const Fraction share = thread.system == ThreadSystem::Metric ? Fraction::of(9'382, 10'000) : Fraction::of(9'743, 10'000);
  const Fraction diameter = thread.diameter_mm - share * thread.pitch_mm;
  const Bounds pi = quarter_pi();
  // Outward to millionths: the exact product would be finer than anybody needs and harder to go on with.
  const Fraction million = 1'000'000;
  return Bounds{(pi.lo * diameter * diameter * million).floor() / million, (pi.hi * diameter * diameter * million).ceil() / million};
}

const PropertyClass* find_class(const FastenerTables& tables, std::string_view name, const Fraction& diameter_mm) {
  const auto applies = [&](const PropertyClass& each) {
    return each.name == name && (!each.diameter_above_mm || diameter_mm > *each.diameter_above_mm) &&
           (!each.diameter_to_mm || diameter_mm <= *each.diameter_to_mm);
  };
  const auto found = std::find_if(tables.classes.begin(), tables.classes.end(), applies);
  return found == tables.classes.end() ? nullptr : &*found;
}

std::vector<const RegulationRow*> rows_of_clause(const FastenerTables& tables, std::string_view clause) {
  std::vector<const RegulationRow*> rows;
  for (const RegulationRow& row : tables.belt_rules) {
    if (row.regulation + " " + row.clause == clause) rows.push_back(&row);
  }
  return rows;
}

BeltAdvice belt_advice(const FastenerTables& tables) {
  BeltAdvice advice{
      .caution = "Belt bolts are safety parts: use only the bolts that belong to this belt and anchorage, never an ordinary bolt of the "
                 "same thread. This program counts them; it does not judge them. Have belts and anchorages checked by a licensed "
                 "workshop, and follow the code of your country.",
      .clauses = {}};
  for (const RegulationRow& rule : tables.belt_rules) {
    const bool is_about_belts = rule.regulation != "49 CFR 571.302";
    if (is_about_belts) advice.clauses.push_back(rule);
  }
  return advice;
}

}  // namespace kitgap
