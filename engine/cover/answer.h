#pragma once

#include <array>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "cover/solve.h"

namespace kitgap {

enum class Status : std::uint8_t { Covered, MoveOver, ToSettle, Short, Missing, DoesNotFit };

struct StatusWord {
  Status status;
  std::string_view word;
};
inline constexpr auto kStatusWords = std::to_array<StatusWord>({
    {Status::Covered, "covered"},
    {Status::MoveOver, "move over"},
    {Status::ToSettle, "to settle"},
    {Status::Short, "short"},
    {Status::Missing, "missing"},
    {Status::DoesNotFit, "does not fit"},
});
inline constexpr std::string_view word_of(Status status) { return kStatusWords[static_cast<std::size_t>(status)].word; }

struct Covered {
  CoverPiece::From from = CoverPiece::From::Item;
  std::uint32_t item = 0;
  LineId old_line;
  bool is_stand_in = false;
  Range quantity;  // least and greatest over completions
};

// The smallest set of needs that, alone with the supplies that can serve them, gives the gap:
// wanted - from_above - pieces - others_lack.
struct Rivals {
  std::vector<LineId> needs;
  std::vector<Solver::Given> given;
  Fraction wanted;
  Fraction from_above;  // of that, what assemblies bring
  Fraction pieces;      // loose ones and old ones
  Fraction others_lack;  // what the other rivals go short of, solved alone with them
};

struct LineAnswer {
  LineId line;
  bool is_exact = true;
  Range need, have, gap;
  Fraction in_hand, on_order, planned, from_old, by_work;  // least over completions
  Status status = Status::Missing;
  bool stops = false;
  Basis basis = Basis::CountedInShell;  // weakest over completions
  bool has_old_in_some = false;
  bool has_stand_in = false;
  std::vector<Covered> covered_by;
  std::vector<Contribution> because;
  std::optional<Fraction> table_figure;  // per parent, where a count stands over it
  std::optional<LineId> folded_under;
  std::optional<Rivals> rivals;
};

enum class Fit : std::uint8_t { Yes, No, Open };

struct LineFit {
  std::uint32_t supply_line = 0;
  Fit fit = Fit::Yes;
  std::vector<std::string> fails;    // the conditions that no such car passes
  std::vector<FactId> hangs_on;
};

struct SpareAnswer {
  PartId part;
  Hand hand = Hand::None;
  Range quantity;
  Fraction meant, from_bags, over;
};

enum class CheckKind : std::uint8_t { Pieces, Pairing, Holes, Limit, Replaced, Hands };
inline constexpr auto kCheckWords = std::to_array<std::string_view>({"pieces", "pairing", "holes", "limit", "replaced", "hands"});

struct Check {
  CheckKind kind = CheckKind::Pieces;
  Severity severity = Severity::Warning;
  PartId part;
  std::optional<PositionId> position;
  std::string says;
  std::string source;
  std::vector<LineId> lines;
  std::vector<std::uint32_t> supply_lines;
};

struct OpenQuestion {
  Unknown unknown;
  std::vector<LineId> lines;  // hang on it
  std::size_t settles = 0;
};

struct CautionAnswer {
  std::uint32_t row = 0;  // CautionRow
  std::vector<LineId> lines;
};

// Everything the report says, decided; nothing in words yet but the checks.
struct Answer {
  std::vector<LineAnswer> lines;  // those with a need, sorted by position, parent and part
  std::vector<SpareAnswer> spare;
  std::vector<Check> checks;
  std::vector<OpenQuestion> questions;  // those that settle most first
  std::vector<LineFit> fits;            // per line of the supplies
  std::vector<CautionAnswer> cautions;
  bool stops_work = false;

  const LineAnswer* find(LineId line) const;
};

// Cannot fail but for contradictions in the tables that touch this car: they go to `problems`.
[[nodiscard]] Answer answer_of(const CoverModel& model, Problems& problems);

// Parts of `answer_of`, run in this order.
void add_checks(const CoverModel& model, Answer& answer);
void add_limit_checks(const CoverModel& model, Answer& answer);  // by `add_checks`: limits, threads and what else a description states
void add_cautions(const CoverModel& model, Answer& answer);
std::vector<LineFit> fits_of(const CoverModel& model, Recall& recall);
bool fits_never(const CoverModel& model, const SupplyItem& item);  // whatever the car's open facts turn out to be
std::optional<Rivals> rivals_of(const CoverModel& model, Solver& solver, LineId line, const Fraction& gap);

// One explored completion of a component, for what its questions settle.
struct Leaf {
  std::size_t sets = 0;  // which of the sets of facts below
  std::vector<std::pair<Question, std::uint32_t>> choices;
  std::vector<bool> is_short;  // per line of the component
};
struct Leaves {
  std::vector<FactSets> sets;  // those that differ
  std::vector<Leaf> leaves;
  bool is_cut = false;  // there are more, which were not looked at or not kept
};
void add_questions(const CoverModel& model, const Component& component, const Recall& recall, const Leaves& leaves, Answer& answer);

}  // namespace kitgap
