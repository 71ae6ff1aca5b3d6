#pragma once

#include <cstdint>
#include <filesystem>
#include <map>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "condition/condition.h"
#include "pack/kinds.h"
#include "pack/positions.h"
#include "text/cache.h"
#include "text/csv.h"
#include "text/diagnostics.h"
#include "value/fraction.h"
#include "value/id.h"
#include "value/unit.h"

namespace re2 {
class RE2;
}

namespace kitgap {

// A row of a table of a pack, for reasons and messages.
struct RowPlace {
  std::uint32_t table = 0;
  std::uint32_t row = 0;
  friend auto operator<=>(RowPlace, RowPlace) = default;
};

// The conditions of a row, shared by all rows that ask the same.
using ConditionId = Id<struct ConditionTag>;
// A figure cell with its conversion into the unit it is wanted in, shared likewise.
using FigureId = Id<struct FigureTag>;
// A set of leaf positions, shared likewise. Set 0 is empty: nothing stated.
using PlacesId = Id<struct PlacesTag>;

enum class PartKind : std::uint8_t { Piece, Assembly, Opening, Hole, Consumable };
enum class Fits : std::uint8_t { Anywhere, ByHand, ByPosition };
enum class Effect : std::uint8_t { Sets, Adds, TakesAway, Drops };
enum class OldUse : std::uint8_t { May, Must, MustNot };
enum class Basis : std::uint8_t { CountedInShell, CountedOnOldPart, Table, Estimate };  // strongest first
enum class SuppliedAs : std::uint8_t { NotStated, Complete, Bare, Contents };
enum class Remedy : std::uint8_t { None, MoveOver, Cut, Drill, Mark, Buy };
enum class ReplaceKind : std::uint8_t { Replaces, Allowed, LooksAlike };

struct Figure {
  Quantity quantity;
  Fraction scale = 1;  // times this is the figure in the wanted unit
};

struct Property {
  std::string name;
  Fraction value;
  std::string unit;
  std::string text = {};  // where the unit is `text`: a word, such as a thread's designation
};

// A column of a `parts` table that the schema declares as a property.
struct PropertyColumn {
  std::string name;
  std::string unit;  // `text` for words
  std::uint32_t layer = 0;
};

struct PartRow {
  PartId part;
  std::string name;
  Unit unit = Unit::Each;
  PartKind kind = PartKind::Piece;
  bool is_handed = false;
  Fits fits = Fits::Anywhere;  // with the default of an empty cell filled in
  std::string area;
  std::optional<Fraction> break_rate;
  std::string batch;
  std::string aliases;
  std::vector<Property> properties;
  ConditionId condition;
  RowPlace place;
};

struct NeedRow {
  PartId parent;  // Rules::kCar for the car
  PartId part;
  PlacesId at;  // empty: every parent, or the position `car`
  FigureId quantity;
  ConditionId condition;
  std::uint32_t practice = 0;  // Rules::practices
  RowPlace place;
  Effect effect = Effect::Sets;
  Basis basis = Basis::Table;
  std::optional<OldUse> old;
  std::optional<bool> stops;
};

struct FactRow {
  FactId fact;
  ValueSet values;
  ConditionId condition;
  RowPlace place;
};

struct SupplierRow {
  std::string supplier;
  Fraction shipping;
  std::optional<Fraction> free_shipping_from;
  std::optional<Fraction> minimum_order;
  std::string currency;
  std::optional<Fraction> lead_time_days;
  std::optional<Fraction> return_days;
  ConditionId condition;
  RowPlace place;
};

// A place as an offer or a contents row states it.
struct StatedPlace {
  PlacesId places;          // a path: its leaves
  Hand hand = Hand::None;   // `left`, `right`, or the hand of the path
  bool is_pair = false;
  bool is_stated() const { return places.index != 0 || hand != Hand::None || is_pair; }
};

// outline, openings, holes, hardware: yes, no, or not stated.
struct Promises {
  std::optional<bool> outline;
  std::optional<bool> openings;
  std::optional<bool> holes;
  std::optional<bool> hardware;
};

struct OfferRow {
  OfferId offer;  // supplier and part number
  std::string name;
  std::optional<PartId> part;  // nothing: a kit
  StatedPlace position;
  SuppliedAs supplied_as = SuppliedAs::NotStated;
  Promises promises;
  std::optional<Fraction> stated_pieces;
  Fraction pack_size = 1;
  std::optional<Fraction> price;
  std::string currency;
  Fraction minimum = 1;
  std::optional<Fraction> lead_time_days;
  std::optional<bool> returnable;
  std::optional<Fraction> return_days;
  std::string state;
  ConditionId condition;
  RowPlace place;
};

struct ContentsRow {
  OfferId offer;
  std::optional<PartId> part;     // one of these two
  std::optional<OfferId> inner;   // a kit in the kit
  StatedPlace position;
  Fraction quantity = 1;
  ConditionId condition;
  RowPlace place;
};

struct SuppliedWithoutRow {
  std::string supplier;            // empty: any
  std::optional<OfferId> offer;    // one of these two
  std::optional<PartId> assembly;
  PartId sub_part;
  Remedy remedy = Remedy::None;
  std::optional<Fraction> minutes;
  ConditionId condition;
  RowPlace place;
};

struct ReplacesRow {
  std::string from;  // a part number as written, or a part's key
  std::string to;
  std::optional<PartId> from_part;
  std::optional<PartId> to_part;
  ReplaceKind kind = ReplaceKind::Replaces;
  bool both_ways = false;
  std::string change;
  ConditionId condition;
  RowPlace place;
};

// A small need that moving a piece over makes: `tab 4`, `glue 0.05 l`.
struct Takes {
  PartId part;
  Fraction quantity;
};

struct MoveOverRow {
  PartId assembly;
  PartId sub_part;
  std::string held_by, tool, breaks, record_first, judge, if_no_good;
  std::vector<Takes> takes;
  std::optional<Fraction> minutes;
  ConditionId condition;
  RowPlace place;
};

struct PairingRow {
  PartId part;
  PartId other;
  Fraction ratio = 1;  // pieces of `other` to one of `part`
  bool per_car = false;
  ConditionId condition;
  RowPlace place;
};

struct LimitRow {
  PartId part;
  std::string property;
  std::string test;
  ValueSet values;  // what passes: numbers with decimals, or texts where the test has quotes
  Severity severity = Severity::Warning;
  std::string message;
  ConditionId condition;
  RowPlace place;
};

// Lengths in metres, whatever the cells' units.
struct SizeRow {
  PartId part;
  PlacesId at;
  std::optional<Fraction> width, height, perimeter;
  std::string outline;  // points, as written; for pictures
  ConditionId condition;
  RowPlace place;
};

struct ConsumesRow {
  PartId assembly;
  PartId part;
  FigureId quantity;  // over kSizeNames
  std::optional<Fraction> margin;  // metres, or a share where `margin_is_share`
  bool margin_is_share = false;
  Fraction waste;                  // a share: 0.05 for 5 %
  ConditionId condition;
  RowPlace place;
};

struct StepRow {
  std::string step;
  std::vector<PartId> fits;
  std::vector<std::string> after;
  std::optional<Range> minutes;
  std::string tools;
  std::string hold;
  ConditionId condition;
  RowPlace place;
};

struct CautionRow {
  std::optional<PartId> part;
  std::string step;
  std::string text;
  ConditionId condition;
  RowPlace place;
};

struct PackInfo {
  std::string directory;
  std::string name;
  std::string version;
  std::string hash;  // of the manifest and all tables
};

struct TableInfo {
  std::uint32_t pack = 0;  // also the layer: general first
  std::string path;        // as given to the reader: directory and file
  std::string file;        // within the pack
  TableKind kind = TableKind::Needs;
  Table table;
  std::vector<std::pair<std::size_t, FactId>> fact_columns;
  std::optional<std::size_t> when_column, source_column, note_column;
};

// A text fact whose pattern splits it into further facts.
struct FactPattern {
  FactId fact;
  std::string text;  // as written
  std::shared_ptr<const re2::RE2> pattern;
  std::vector<std::pair<int, FactId>> groups;  // group number, fact
};

struct OfferKey {
  std::string supplier;
  std::string part_number;  // as written
};

// The names that a `consumes` quantity may use, in the order of its inputs; lengths in metres.
inline const std::vector<std::string> kSizeNames = {"width", "height", "perimeter", "area"};

// All packs together, general first. Rows keep their order of reading within a kind.
struct Rules {
  static constexpr PartId kCar{0};  // the parent of what the car itself calls for

  std::vector<PackInfo> packs;
  std::vector<TableInfo> tables;
  std::vector<Fact> facts;            // each as the most general pack declares it
  std::vector<ValueSet> fact_spaces;  // what higher packs leave of it; by FactId
  std::vector<FactPattern> patterns;
  Positions positions;

  std::vector<std::string> part_keys;  // by PartId; 0 is "car"
  std::unordered_map<std::string, PartId> part_by_key;
  std::vector<OfferKey> offer_keys;  // by OfferId
  std::map<std::pair<std::string, std::string>, OfferId> offer_by_key;  // supplier, normalised number
  std::vector<std::string> practices;  // 0 is ""
  std::vector<std::vector<PositionId>> places;
  std::vector<Condition> conditions;  // 0 holds always
  std::vector<Figure> figures;

  std::vector<PartRow> parts;
  std::vector<NeedRow> needs;
  std::vector<FactRow> fact_rows;
  std::vector<SupplierRow> suppliers;
  std::vector<OfferRow> offers;
  std::vector<ContentsRow> contents;
  std::vector<SuppliedWithoutRow> supplied_without;
  std::vector<ReplacesRow> replaces;
  std::vector<MoveOverRow> move_over;
  std::vector<PairingRow> pairings;
  std::vector<PropertyColumn> property_columns;
  std::vector<LimitRow> limits;
  std::vector<SizeRow> sizes;
  std::vector<ConsumesRow> consumes;
  std::vector<StepRow> steps;
  std::vector<CautionRow> cautions;

  std::optional<PartId> find_part(std::string_view key) const;
  std::optional<FactId> find_fact(std::string_view name) const;
  std::uint32_t layer(RowPlace place) const { return tables[place.table].pack; }
  const std::vector<PositionId>& places_of(PlacesId id) const { return places[id.index]; }
  const Condition& condition(ConditionId id) const { return conditions[id.index]; }
  // The row's `source` and `note` cells; the line of its file.
  std::string_view source_of(RowPlace place) const;
  std::string_view note_of(RowPlace place) const;
  std::uint32_t line_of(RowPlace place) const { return tables[place.table].table.line(place.row); }
  // What the row says beyond its conditions, and its conditions, as a person would read them.
  std::string cell_of(RowPlace place, std::string_view column) const;
};

// What a limit lets pass is a set of one of these: figures with decimals, or words.
const FactDomain& domain_of_figures();
const FactDomain& domain_of_words();

// A text fact's pattern as it is compiled; the caller asks whether it is right.
std::shared_ptr<const re2::RE2> compiled_pattern(const std::string& pattern);
// The same pattern with its groups known by number only: for the first name that it meets, RE2 makes tables of all
// letters, which takes as long as a tenth of a gap report.
std::string without_group_names(std::string_view pattern);

// Reads every pack, general first: `datapackage.json` and all its tables. Everything wrong in any of them is
// reported in one run; nothing is returned then. `sources` must outlive the rules. Packs that were read before and have
// not changed are taken from `cache` in the form that reading them gave.
[[nodiscard]] std::optional<Rules> read_rules(std::span<const std::filesystem::path> directories, Sources& sources,
                                              Diagnostics& diagnostics, const std::optional<Cache>& cache = {});

// A part number as numbers are compared: letter case, blanks, dashes, dots, strokes and underlines dropped; nothing else is
// guessed.
std::string normalised_part_number(std::string_view number);

}  // namespace kitgap
