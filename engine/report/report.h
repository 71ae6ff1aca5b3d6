#pragma once

#include <optional>
#include <string>
#include <vector>

#include "report/rows.h"
#include "cover/answer.h"

namespace kitgap {

// The gap report in words and figures: every face (text, JSON, CSV, page) prints this and works out nothing.

struct ReasonText {
  std::string pack, file;
  std::uint32_t line = 0;
  std::string says;
  std::string source;
  std::string practice;
  std::vector<std::string> overrides;
  std::optional<Fraction> figure = {};  // of a count: per one parent
};

struct CoveredText {
  std::string from;  // list, stock, order, old, bundle, work
  std::optional<std::uint32_t> line;
  std::string part_number;
  Fraction quantity, quantity_hi;
  std::string bag;
};

struct OtherCount {
  std::string basis;
  Fraction quantity;
  std::string source;
};

// The gap is `wanted` less `from_above` (what assemblies bring) less `pieces` less `others_lack` (what the other rivals
// go short of).
struct RivalsText {
  std::vector<std::string> needs;
  std::vector<std::string> supplies;
  std::vector<CoveredText> given;  // the supplies with their pieces
  Fraction wanted, from_above, pieces, others_lack;
};

// How a piece of the old assembly comes off, for what is moved over.
struct TakeOff {
  std::string held_by, tool, breaks, record_first, judge, if_no_good, source;
  std::optional<Fraction> minutes;
};

struct ReportLine {
  std::string id;
  Status status = Status::Missing;
  std::string part, part_name, position, parent, area;
  PartKind kind = PartKind::Piece;
  bool is_exact = true;
  Range need, have, gap;
  std::string unit;
  Fraction in_hand, on_order, planned, from_old, by_work;
  Basis basis = Basis::Table;
  std::vector<OtherCount> other_counts;
  bool stops_work = false;
  std::string action;
  std::string stand_in;  // where another part stands in for it: what is to be changed
  std::optional<Promises> promises;
  std::string folded_under;
  std::vector<CoveredText> covered_by;
  std::vector<ReasonText> because;
  std::optional<RivalsText> rivals;
  std::optional<TakeOff> take_off;
  std::string remedy;  // what the tables say to do where a new assembly lacks it
};

struct SpareText {
  std::string part, part_name, hand, unit;
  Range quantity;
  Fraction meant, from_bags, over;
};

struct CheckText {
  std::string kind, severity, part, position, says, source;
  std::vector<std::string> lines;
};

struct SettleText {
  std::string about;  // fact, old part, list line, practice
  std::string fact, part, position;
  std::optional<std::uint32_t> line;
  std::size_t settles = 0;
  std::string ask, look_at;
  std::string distance;  // from what is known to the next cut, where numbers are
  std::vector<std::string> lines;
};

struct SupplierQuestion {
  std::string supplier, part_number, question;
  std::vector<std::string> lines;
};

struct ListText {
  std::string file;
  std::uint32_t line = 0;
  std::string as_typed, read_as, part_number, supplier;
  std::string reading;  // what the row says, before it is matched: number, amount, place, notes; also of rows set aside
  std::vector<std::string> parts;  // keys that it was read as
  std::string quantity;            // in words
  std::optional<Fit> fit;
  std::vector<std::string> fails, hangs_on;
  std::string set_aside;  // empty: used
  std::vector<std::string> nearest;
  std::vector<std::string> doubts;
  bool is_blank = false;
};

struct CautionText {
  std::string part, step, text, source;
  std::vector<std::string> lines;
};

// A step that fits one of the parts: what it takes and what comes before it.
struct StepText {
  std::string step, tools, hold;
  std::vector<std::string> parts, after;
  std::optional<Range> minutes;
};

struct ContradictionText {
  std::string says;
  std::vector<std::string> facts;
  std::vector<ReasonText> because;
};

struct FactText {
  std::string name;
  std::string value;  // as the expression language writes it; for an unknown one the tests that its values pass
  bool is_known = false;
  FactType type = FactType::Text;
};

struct PackText {
  std::string name, version, hash;
};

struct ReportSummary {
  std::size_t needs = 0;
  std::array<std::size_t, kStatusWords.size()> by_status{};
  std::size_t spare_lines = 0;
  std::size_t stopping = 0;  // lines that stop the work
  bool stops_work = false;
};

struct Change {
  std::string id;
  std::optional<ReportLine> was, now;
};

struct Report {
  std::vector<PackText> packs;
  std::string car;
  std::vector<std::string> work;  // what the car file limits the job to; empty: the whole car
  std::vector<FactText> facts;
  std::vector<ContradictionText> contradictions;
  ReportSummary summary;
  std::vector<ReportLine> lines;
  std::vector<SpareText> spare;
  std::vector<CheckText> checks;
  std::vector<SettleText> to_settle;
  std::vector<SupplierQuestion> ask_supplier;
  std::vector<ListText> list;
  std::vector<FileRows> rows;        // of the files read
  std::vector<std::string> remarks;  // on them
  std::vector<CautionText> cautions;
  std::vector<StepText> steps;
  bool has_list = false;
  bool is_half_page = false;  // kept to one place or part: nothing is folded, and the steps are shown
};

// `model` and what it refers to must outlive nothing: all text is copied.
Report report_of(const Car& car, const CoverModel& model, const Found& found, const Answer& answer, bool has_list);

// Keeps the lines of a position (a path) or a part, and what goes with them; the summary stays that of the whole.
// False when the word names neither a position nor a part of the report.
bool keep_only(Report& report, std::string_view position_or_part);
void keep_only(std::vector<Change>& changes, std::string_view position_or_part);

// What became different since the report that an earlier `check --format json` wrote. Nothing, reported, when the
// file is no such report.
[[nodiscard]] std::optional<std::vector<Change>> changes_since(SourceId earlier, const Sources& sources, const Report& now,
                                                               Diagnostics& diagnostics);

// The same between two reports at hand.
[[nodiscard]] std::vector<Change> changes_between(const Report& was, const Report& now);

std::string_view word_of(Basis basis);
std::string_view word_of(PartKind kind);
std::string range_text(const Range& range);  // `9`, `9..11`

class JsonWriter;
// The members of a `summary`, into an object that is open.
void write_summary(JsonWriter& json, const ReportSummary& summary);
std::string check_json(const Report& report, const std::vector<Change>* changes);
// The first half of the SHA-256 of an entry of a report as JSON on one line, its own `seal` left out: whether a hand
// changed it since.
std::string seal_of(std::string_view one_line);
std::string check_csv(const Report& report);
std::string check_text(const Report& report, const std::vector<Change>* changes, int width, bool colour);
std::string counts_text(const Report& report, int width);
// The questions to suppliers, a text for each, ready to send.
std::string letters_text(const Report& report, int width);
std::string counts_json(const Report& report);
// Only how each row was read, to be looked over before trusting.
std::string reading_text(const Report& report, int width);

}  // namespace kitgap
