#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "measure/sizes.h"
#include "text/diagnostics.h"
#include "value/fraction.h"

namespace kitgap {

enum class ThreadSystem : std::uint8_t { Metric, Unified, BritishAssociation };

// A thread of a standard, in millimetres. Inch sizes are exact: 25.4 mm to the inch.
struct Thread {
  std::string name;  // `M5`, `M8x1`, `No.10-32 UNF`, `7/16-20 UNF`, `2 BA`
  ThreadSystem system = ThreadSystem::Metric;
  Fraction diameter_mm;
  Fraction pitch_mm;
  std::string series;  // coarse, fine, UNC, UNF; empty for BA
  std::string note;
  std::string source;
  std::string basis;   // read, computed, memory
};

struct FlatsRow {
  Fraction across_flats_mm;
  std::string thread;  // `M8`, `3/8`: a size, not a thread
  std::string kind;    // bolt head, nut
  std::string system;
  bool is_old = false;  // withdrawn editions
  std::string note;
  std::string source;
  std::string basis;
};

struct PropertyClass {
  std::string name;  // `8.8`
  std::optional<Fraction> diameter_above_mm;
  std::optional<Fraction> diameter_to_mm;
  Fraction tensile_least_mpa;
  Fraction yield_nominal_mpa;
  Fraction proof_mpa;
  std::string note;
  std::string source;
};

struct RegulationRow {
  std::string regulation;
  std::string clause;
  std::string topic;
  std::string value;
  std::string unit;
  std::string note;
  std::string source;
  std::string basis;
};

// A gauge of wire by its number (`16`, `2/0`) and the section of its conductor.
struct WireGauge {
  std::string gauge;
  Fraction area_mm2;
  std::string source;
};

// The standards' tables about fasteners and wires, read once. Plain data: everything below is a function of it.
struct FastenerTables {
  std::vector<Thread> threads;
  std::vector<FlatsRow> flats;
  std::vector<PropertyClass> classes;
  std::vector<RegulationRow> belt_rules;
  std::vector<WireGauge> wires;
};

// Reads the CSV tables in `folder` (`data/standards`). Everything wrong in any of them is reported; then nothing is returned.
[[nodiscard]] std::optional<FastenerTables> read_fastener_tables(const std::filesystem::path& folder, Sources& sources,
                                                                 Diagnostics& diagnostics);
// The same tables as they stood in `data/standards` when the program was built; read at the first call.
const FastenerTables& built_in_fastener_tables();

// A thread as somebody wrote it: `M5`, `M5x0.8`, `M5 x 0,8`, `10-32`, `#10-32 UNF`, `7/16-20 UNF-2A`, `1/4 UNC`, `2 BA`.
struct TypedThread {
  ThreadSystem system = ThreadSystem::Metric;
  std::string size;                      // `M5`, `No.10`, `7/16`, `2 BA`
  Fraction diameter_mm;                  // 0 for BA: the table has it
  std::optional<Fraction> pitch_mm;      // not written: of the coarse series for metric, a question for inch threads
  std::string series;                    // UNC, UNF or empty
};
// Nothing when the text is no designation of these systems.
[[nodiscard]] std::optional<TypedThread> parse_thread(std::string_view text);

struct ThreadFinding {
  enum class Kind : std::uint8_t {
    Known,         // exactly one thread of the tables
    Several,       // several fit what was written; `candidates` has them
    UnknownPitch,  // the size is known, the pitch is not in the standard; `candidates`: those of the size
    UnknownSize,
  };
  Kind kind = Kind::UnknownSize;
  std::vector<std::size_t> candidates;  // indices into the tables' threads
  std::string says;
};
[[nodiscard]] ThreadFinding find_thread(const FastenerTables& tables, const TypedThread& typed);

// A thread that starts by hand in the other and then binds or strips: another system, diameters within 0.9 mm and pitches within
// 0.06 mm; or the same diameter (within 0.1 mm) with another pitch. Limits: common practice, no source.
struct NearMiss {
  std::size_t thread = 0;         // index into the tables' threads
  Fraction diameter_more_mm;      // of `thread` over the given one
  Fraction pitch_more_mm;
  bool same_diameter = false;
};
[[nodiscard]] std::vector<NearMiss> near_misses(const FastenerTables& tables, std::size_t thread);

// Everything that takes a spanner of that size: never an identification, even where one row is left (other makers, old
// editions, worn flats). `within_mm` widens the search for measured flats.
[[nodiscard]] std::vector<const FlatsRow*> threads_for_spanner(const FastenerTables& tables, const Fraction& across_flats_mm,
                                                               const Fraction& within_mm = 0);
// What to tell a person who knows only the spanner; always ends with what to measure instead.
std::string says_of_spanner(const FastenerTables& tables, const Fraction& across_flats_mm);

// The stress area of a thread in mm2, as bounds at most 2e-6 apart: pi / 4 (d - 0.9382 P)^2 for metric (ISO 898-1), pi / 4
// (D - 0.9743 / n)^2 for unified (ASME B1.1). For BA the metric formula is no standard's; nothing.
[[nodiscard]] std::optional<Bounds> stress_area_mm2(const Thread& thread);
// The class that applies to a diameter; nothing for a class that the table does not have.
[[nodiscard]] const PropertyClass* find_class(const FastenerTables& tables, std::string_view name, const Fraction& diameter_mm);

// Rows about a clause as a pack names it: `49 CFR 571.209 S4.1(f)`, the regulation, a blank, the clause.
[[nodiscard]] std::vector<const RegulationRow*> rows_of_clause(const FastenerTables& tables, std::string_view clause);

// Belt hardware: what the regulations say of the thread and the force, each with its clause and how it is known, and the caution.
// Never says that a belt or a bolt is safe.
struct BeltAdvice {
  std::string caution;
  std::vector<RegulationRow> clauses;
};
[[nodiscard]] BeltAdvice belt_advice(const FastenerTables& tables);

}  // namespace kitgap
