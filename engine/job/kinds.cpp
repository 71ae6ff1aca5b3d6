#include "job/kinds.h"

#include <algorithm>
#include <array>

#include "value/internal_error.h"

namespace kitgap {
namespace {

using Words = std::string_view;

// A column here is a column of the kind's table; the words are those of FORMATS where it has them.
constexpr auto kCar = std::to_array<Words>({"name", "work", "note"});
constexpr auto kFact = std::to_array<Words>({"fact", "value", "look", "date", "note"});
constexpr auto kPack = std::to_array<Words>({"name", "path", "version", "hash", "place"});
constexpr auto kColumns = std::to_array<Words>({"file", "theirs", "ours"});
constexpr auto kDate = std::to_array<Words>({"step", "date"});
constexpr auto kList = std::to_array<Words>({"file", "rows"});
constexpr auto kListLine = std::to_array<Words>({"line", "part number", "description", "quantity", "position",
                                                 "supplier", "bag", "due", "note"});
constexpr auto kStockLine = kListLine;
constexpr auto kOrderLine = std::to_array<Words>({"id", "line", "part number", "description", "quantity",
                                                  "position", "supplier", "bag", "due", "note"});
constexpr auto kArrival = std::to_array<Words>({"id", "line", "slip", "part number", "part", "position", "counted",
                                                "damaged", "supplier", "bag", "date", "note"});
constexpr auto kBackOrder = std::to_array<Words>({"id", "line", "quantity", "due", "note"});
constexpr auto kSubstitute = std::to_array<Words>({"id", "line", "part number", "sent", "quantity", "kept", "note"});
constexpr auto kReturn = std::to_array<Words>({"id", "line", "part number", "quantity", "reason", "date", "last day",
                                               "note"});
constexpr auto kCredit = std::to_array<Words>({"id", "line", "supplier", "amount", "currency", "date", "note"});
constexpr auto kRework = std::to_array<Words>({"id", "line", "part", "quantity", "minutes", "what", "note", "for car"});
constexpr auto kFound = std::to_array<Words>({"parent", "position", "part", "count", "counted in", "condition", "bag",
                                              "photo", "date", "note", "by"});
constexpr auto kStep = std::to_array<Words>({"step", "state", "date", "note"});
constexpr auto kHours = std::to_array<Words>({"step", "minutes", "date", "note"});
constexpr auto kHold = std::to_array<Words>({"step", "caution", "name", "date"});
constexpr auto kGate = std::to_array<Words>({"part", "position", "gate", "passed", "date", "note"});
constexpr auto kAnswer = std::to_array<Words>({"supplier", "part number", "sub-part", "answer", "date", "note"});
// A file of a pack as it was when the job took it, in pieces that fit a cell; `hash` is that of the pack.
constexpr auto kPackFile = std::to_array<Words>({"hash", "file", "piece", "content"});
constexpr auto kWithdrawal = std::to_array<Words>({"reason"});

constexpr auto kWords = std::to_array<std::array<Words, 3>>({
    {"name", "", ""},
    {"fact", "", ""},
    {"name", "hash", ""},
    {"file", "theirs", "ours"},
    {"step", "", ""},
    {"line", "", ""},
    {"id", "line", ""},
    {"part number", "", ""},
    {"part", "", ""},
    {"step", "state", ""},
    {"step", "minutes", ""},
    {"step", "caution", "name"},
    {"part", "gate", "passed"},
    {"supplier", "sub-part", ""},
    {"hash", "file", "piece"},
});
constexpr std::span<const Words> needs(std::size_t row, std::size_t count) {
  return std::span<const Words>(kWords[row]).first(count);
}

constexpr auto kKinds = std::to_array<RecordKind>({
    {"car", "car", true, 0, kCar, needs(0, 1)},
    {"fact", "fact", true, 1, kFact, needs(1, 1)},
    {"pack", "pack", false, 1, kPack, needs(2, 2)},
    {"columns", "columns", false, 2, kColumns, needs(3, 3)},
    {"date", "date", true, 1, kDate, needs(4, 1)},
    {"list", "list", true, 0, kList, {}},
    {"list line", "list_line", true, 1, kListLine, needs(5, 1)},
    {"stock line", "stock_line", false, 1, kStockLine, needs(5, 1)},
    {"order line", "order_line", false, 2, kOrderLine, needs(6, 2)},
    {"arrival", "arrival", false, 0, kArrival, {}},
    {"back order", "back_order", false, 2, kBackOrder, needs(6, 2)},
    {"substitute", "substitute", false, 0, kSubstitute, {}},
    {"return", "return", false, 0, kReturn, {}},
    {"credit", "credit", false, 0, kCredit, {}},
    {"rework", "rework", false, 0, kRework, {}, 1, 1, 3},
    {"found", "found", true, 0, kFound, needs(8, 1), 1, 1, 2},
    {"step", "step", true, 1, kStep, needs(9, 2)},
    {"hours", "hours", true, 0, kHours, needs(10, 2)},
    {"hold", "hold", true, 2, kHold, needs(11, 3)},
    {"gate", "gate", true, 3, kGate, needs(12, 3)},
    {"answer", "answer", false, 3, kAnswer, needs(13, 2)},
    {"withdrawal", "withdrawal", false, 0, kWithdrawal, {}},
    {"pack file", "pack_file", false, 3, kPackFile, needs(14, 3), 2},
});

}  // namespace

std::span<const RecordKind> record_kinds() { return kKinds; }

std::optional<KindIndex> find_record_kind(std::string_view word) {
  const auto found = std::ranges::find(kKinds, word, &RecordKind::word);
  if (found == kKinds.end()) return std::nullopt;
  return static_cast<KindIndex>(found - kKinds.begin());
}

KindIndex record_kind_of(std::string_view word) {
  const auto kind = find_record_kind(word);
  require(kind.has_value(), "a record has a kind of the table of kinds");
  return *kind;
}

std::optional<std::size_t> find_record_column(KindIndex kind, std::string_view column) {
  const auto columns = kKinds[kind].columns;
  const auto found = std::ranges::find(columns, column);
  if (found == columns.end()) return std::nullopt;
  return static_cast<std::size_t>(found - columns.begin());
}

}  // namespace kitgap
