#include <algorithm>
#include <array>

#include "arrival/audit.h"
#include "supply/reading.h"
#include "text/person_table.h"
#include "value/unit.h"

namespace kitgap {
namespace {

const auto kColumns = std::to_array<ColumnWords>({
    {"part number", {"part number", "part no", "part no.", "number", "no.", "ref"}},
    {"part", {"part", "piece", "item"}},
    {"position", {"position", "where", "place", "side", "hand"}},
    {"counted", {"counted", "count", "qty", "quantity", "came"}},
    {"damaged", {"damaged", "broken", "bad"}},
    {"note", {"note", "notes", "remark", "remarks"}},
    {"bag", {"bag", "box", "tin", "shelf"}},
    {"sample pieces", {"sample pieces", "sample"}},
    {"sample weight", {"sample weight"}},
    {"full weight", {"full weight", "gross weight", "gross"}},
    {"empty weight", {"empty weight", "tare weight", "tare"}},
    {"scale step", {"scale step", "step"}},
    {"spread", {"spread"}},
    {"looked at", {"looked at"}},
    {"bad of these", {"bad of these"}},
});
enum Column : std::size_t {
  kNumber, kPart, kPosition, kCounted, kDamaged, kNote, kBag, kSamplePieces, kSampleWeight, kFullWeight, kEmptyWeight,
  kScaleStep, kSpread, kLookedAt, kBad
};

std::optional<Fraction> count_of_cell(const std::string& text) {
  try {
    auto count = parse_mixed_number(text);
    if (count && count->sign() >= 0 && *count <= Fraction(1'000'000'000)) return count;
  } catch (const FigureOverflow&) {  // no count
  }
  return std::nullopt;
}

// `2 %`, `0.02` or nothing.
std::optional<Fraction> share_of_cell(std::string text) {
  if (text.empty()) return Fraction(0);
  const bool is_percent = text.ends_with('%');
  if (is_percent) text.pop_back();
  while (text.ends_with(' ')) text.pop_back();
  auto share = count_of_cell(text);
  if (share && is_percent) share = *share / Fraction(100);
  return share;
}

// The weighing of a row that has one in place of a count; `wrong` says what it lacks.
template <class Cell>
std::optional<Weighing> weighing_of(const Cell& cell, std::string& wrong) {
  if (cell(kFullWeight).empty() && cell(kSampleWeight).empty()) return std::nullopt;
  const auto figure = [&](Column column) {
    auto read = count_of_cell(cell(column));
    if (!read && wrong.empty()) wrong = "counting by weight needs `" + std::string(kColumns[column].name) + "`";
    return read.value_or(Fraction(0));
  };
  Weighing weighing;
  weighing.sample_pieces = figure(kSamplePieces).to_integer().value_or(0);
  weighing.sample_weight = figure(kSampleWeight);
  weighing.gross_weight = figure(kFullWeight);
  weighing.resolution = figure(kScaleStep);
  if (!cell(kEmptyWeight).empty()) weighing.tare_weight = figure(kEmptyWeight);
  const auto spread = share_of_cell(cell(kSpread));
  if (!spread && wrong.empty()) wrong = "`" + cell(kSpread) + "` is no spread such as `2 %`";
  weighing.spread = spread.value_or(Fraction(0));
  if (wrong.empty()) wrong = what_is_wrong_with(weighing);
  return weighing;
}

}  // namespace

std::optional<std::vector<CountedRow>> read_counts(const std::filesystem::path& path, const Rules& rules, Sources& sources, Diagnostics& diagnostics,
                                                   std::span<const std::pair<std::string, std::string>> renamed, const std::string& sheet) {
  const PersonTableOptions options{.columns = kColumns, .renamed = renamed, .sheet = sheet, .may_lack_renamed = true};
  const auto table = read_person_table(path, options, sources, diagnostics);
  if (!table) return std::nullopt;
  const ColumnMap columns = map_columns(*table, options, diagnostics);
  std::vector<CountedRow> rows;
  for (std::size_t row = 0; row < table->row_count(); ++row) {
    const auto cell = [&](Column column) {
      return columns.columns[column] ? std::string(table->cell(row, *columns.columns[column])) : std::string();
    };
    CountedRow counted;
    counted.line = table->line(row);
    counted.as_typed = table->as_typed(row);
    counted.part_number = cell(kNumber);
    counted.part = cell(kPart);
    counted.note = cell(kNote);
    counted.bag = cell(kBag);
    std::string wrong_weighing;
    if (cell(kCounted).empty()) counted.weighing = weighing_of(cell, wrong_weighing);
    if (!cell(kLookedAt).empty()) counted.looked_at = count_of_cell(cell(kLookedAt));
    const auto bad = cell(kBad).empty() ? std::optional(Fraction(0)) : count_of_cell(cell(kBad));
    const auto count = count_of_cell(cell(kCounted));
    const auto damaged = cell(kDamaged).empty() ? std::optional(Fraction(0)) : count_of_cell(cell(kDamaged));
    const ReadPlace place = read_place(cell(kPosition));
    const auto position = rules.positions.find(cell(kPosition));
    if (table->kind(row) != RowKind::Line) {
      counted.set_aside = reason_of(table->kind(row));
      counted.is_silent = table->kind(row) == RowKind::Header || table->kind(row) == RowKind::Blank;
    } else if (counted.part_number.empty() && counted.part.empty()) {
      counted.set_aside = "it names neither a part number nor a part";
    } else if (!counted.part.empty() && !rules.find_part(counted.part)) {
      const std::string near = nearest(counted.part, rules.part_keys);
      counted.set_aside = "`" + counted.part + "` is no part of these packs" + (near.empty() ? "" : "; did you mean `" + near + "`?");
    } else if (counted.weighing && !wrong_weighing.empty()) {
      counted.set_aside = wrong_weighing;
    } else if ((!cell(kLookedAt).empty() && !counted.looked_at) || !bad || *bad > counted.looked_at.value_or(*bad)) {
      counted.set_aside = "`looked at` and `bad of these` are no sample";
    } else if (!count && !counted.weighing) {
      counted.set_aside = cell(kCounted).empty() ? "the count is empty: count these" : "`" + cell(kCounted) + "` is no count";
    } else if (!damaged || (count && *damaged > *count)) {
      counted.set_aside = "`" + cell(kDamaged) + "` damaged is no part of the count";
    } else if (!cell(kPosition).empty() && !position && place.hand == HandWord::None) {
      counted.set_aside = "`" + cell(kPosition) + "` is no position of these packs";
    }
    counted.counted = count.value_or(Fraction(0));
    counted.damaged = damaged.value_or(Fraction(0));
    counted.bad = bad.value_or(Fraction(0));
    if (place.hand == HandWord::Left) counted.hand = Hand::Left;
    if (place.hand == HandWord::Right) counted.hand = Hand::Right;
    if (position) {
      counted.leaves.assign(rules.positions.leaves(*position).begin(), rules.positions.leaves(*position).end());
      counted.hand = rules.positions.hand(*position);
    }
    rows.push_back(std::move(counted));
  }
  return rows;
}

}  // namespace kitgap
