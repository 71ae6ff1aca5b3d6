#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "text/diagnostics.h"
#include "value/fraction.h"
#include "value/unit.h"

namespace kitgap {

// How a person's list, stock or order is read, row by row: nothing is guessed silently, nothing is dropped.

enum class ListKind : std::uint8_t { List, Stock, Order };

// What the amount of a quantity counts.
enum class Counts : std::uint8_t {
  Plain,  // a number alone (`3`, `x12`, `8 off`): what the part number buys; in STOCK single pieces (FORMATS)
  Pieces,   // `12 pcs`, `2 doz`, `2 sets of 5` (10): single pieces
  Pairs,    // `1 pr`: two pieces each, one of each hand where the part is handed
  Packs,    // `2 bags`, `bag/25 x2`: whole packs as sold, in any file
  Measure,  // `2 1/2 yd`: the amount is in `unit`
};

struct ReadQuantity {
  bool known = false;  // unset: `?`, `A/R`, `1 lot`, an empty cell or a question; neither zero nor one
  Counts counts = Counts::Plain;
  Fraction amount;  // below zero for a return; spare and back-ordered pieces included
  Unit unit = Unit::Each;
  Fraction spare;                     // `4 + 2 spare`: amount 6, of which 2 are meant as spare
  Fraction back_order;                // `6 (2 B/O)`: of the amount, what the supplier has not sent
  std::optional<Fraction> pack_size;  // `bag/25`: what the person says one pack holds; never a wanted amount
  bool is_return = false;
  bool operator==(const ReadQuantity&) const = default;
};

// Which hand was meant; what depends on the country or the steering side is settled later, or not at all.
enum class HandWord : std::uint8_t {
  None,
  Left,
  Right,
  Nearside,
  Offside,
  DriversSide,
  PassengersSide,
  Both
};

struct ReadPlace {
  std::string path;   // as typed without the hand words: `front.left`, `rear door`, `front`; empty where none
  std::string along;  // `front` or `rear` where a token such as `O/S/R` says so
  HandWord hand = HandWord::None;
  bool from_description = false;  // the hand was read out of the description, not the position
};

enum class SubstituteKind : std::uint8_t {
  Replaced,
  IfNone,
  Alternative
};  // SUPERSEDED BY, use ... if NLA, alt:
struct Substitute {
  SubstituteKind kind;
  std::string part_number;
};

// A range of chassis numbers or years as scribbled; a soft end (`late '71`, `(incl?)`) may lie on either side
// of the cut.
struct SerialRange {
  std::string as_typed;
  std::optional<std::int64_t> from;
  std::optional<std::int64_t> to;
  bool from_soft = false;
  bool to_soft = false;
  bool is_year = false;
};

// ISO, or both ways of reading it when the day and the month could change places.
struct ReadDate {
  std::string date;  // `1996-03-04`; empty where it is a question
  std::vector<std::string> could_be;
  std::string as_typed;
};

// So many pieces of a part, for a hand or place as `place_word` gives it.
struct PieceCount {
  std::string part;  // its key
  std::string place;
  Fraction pieces;
};

struct ReadLine {
  std::uint32_t line = 0;  // of the file (a sheet: its row), from 1
  std::string as_typed;
  std::string set_aside;    // why the row is no line; empty: it is used
  bool is_blank = false;    // set aside for holding nothing
  std::string part_number;  // as typed, trimmed
  std::string description;
  ReadQuantity quantity;
  std::string quantity_typed;  // what `quantity` was read from, with the unit where it has a column of its own
  ReadPlace place;
  std::string supplier;
  std::string bag;
  ReadDate due;
  std::string note;
  std::string id;
  std::string section;  // the heading it stands under
  std::vector<Substitute> substitutes;
  std::optional<SerialRange> serial;
  std::string read_as;                 // in words: "12 pieces of `K-17`, left"
  std::vector<std::string> questions;  // what must be settled: full sentences, each to be shown
  std::vector<std::string> doubts;  // what was read, but looks odd: a letter for a digit, a lost leading zero
  Span span;                        // of the part number's cell, else of the row
  // Never read from a file: pieces counted one by one, in place of what the number and the quantity give (a parcel
  // that came in part, stock that another car took). What is not named is not there.
  std::optional<std::vector<PieceCount>> pieces;
};

struct ReadList {
  std::string file;
  ListKind kind = ListKind::List;
  std::vector<ReadLine> lines;  // every row of the file, in order; used + set aside = all
  std::vector<std::string>
      remarks;  // delimiter, encoding, header, columns not used, totals that do not add up
  std::size_t used = 0;
  std::size_t set_aside = 0;
  std::vector<std::string> columns = {};    // as the file names them
  std::vector<std::size_t> unmatched = {};  // pairs of the renamed columns that the file lacks
};

// theirs=ours pairs of `--columns`.
using RenamedColumns = std::vector<std::pair<std::string, std::string>>;

// A pair that none of the files has a column for is reported; one file may lack what another has.
void check_renamed(std::span<const ReadList> lists, const RenamedColumns& renamed, Diagnostics& diagnostics);

// Reads a LIST, STOCK or ORDER. Nothing, with an error, only where the file as a whole cannot be read as a
// table.
// `sheet` names the sheet of a workbook; empty: see PersonTableOptions::sheet.
[[nodiscard]] std::optional<ReadList> read_list(const std::filesystem::path& path, ListKind kind,
                                                const RenamedColumns& renamed, Sources& sources,
                                                Diagnostics& diagnostics, const std::string& sheet = {});
// The same of a file that `sources` holds already.
[[nodiscard]] std::optional<ReadList> read_list(SourceId source, ListKind kind, const RenamedColumns& renamed,
                                                Sources& sources, Diagnostics& diagnostics,
                                                const std::string& sheet = {});

// The quantity of one cell alone; questions and doubts are added to.
ReadQuantity read_quantity(std::string_view text, bool decimal_comma, std::vector<std::string>& questions,
                           std::vector<std::string>& doubts);
// Hand and place words of one cell: `L/H`, `O/S/R`, `front driver's side`, `front.left`.
ReadPlace read_place(std::string_view text);

}  // namespace kitgap
