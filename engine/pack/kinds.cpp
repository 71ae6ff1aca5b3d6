#include "pack/kinds.h"

namespace kitgap {
namespace {

template <class... Columns>
constexpr auto columns(Columns... names) {
  return std::array<ColumnWord, sizeof...(Columns)>{ColumnWord{names}...};
}

constexpr ColumnWord filled(std::string_view name) { return {name, true}; }
constexpr ColumnWord may(std::string_view name) { return {name, false}; }

constexpr auto kSuppliers = columns(filled("supplier"), may("shipping"), may("free shipping from"),
                                    may("minimum order"), may("currency"), may("lead time days"), may("return days"));
constexpr auto kFacts = columns(filled("fact"), filled("value"));
constexpr auto kParts = columns(filled("part"), may("name"), may("unit"), may("kind"), may("handed"), may("fits"),
                                may("area"), may("break rate"), may("batch"), may("aliases"));
constexpr auto kNeeds = columns(filled("parent"), may("at"), filled("part"), may("quantity"), may("effect"),
                                may("practice"), may("old"), may("stops"), may("basis"));
constexpr auto kOffers = columns(filled("supplier"), filled("part number"), may("name"), may("part"), may("position"),
                                 may("supplied as"), may("outline"), may("openings"), may("holes"), may("hardware"),
                                 may("stated pieces"), may("pack size"), may("price"), may("currency"), may("minimum"),
                                 may("lead time days"), may("returnable"), may("return days"), may("state"));
constexpr auto kContents = columns(filled("supplier"), filled("part number"), may("part"), may("inner number"),
                                   may("position"), filled("quantity"));
constexpr auto kSuppliedWithout = columns(may("supplier"), may("part number"), may("assembly"), filled("sub-part"),
                                          may("remedy"), may("minutes"));
constexpr auto kReplaces = columns(filled("from"), filled("to"), may("kind"), may("both ways"), may("change"));
constexpr auto kMoveOver = columns(filled("assembly"), filled("sub-part"), may("held by"), may("tool"), may("breaks"),
                                   may("record first"), may("judge"), may("if no good"), may("takes"), may("minutes"));
constexpr auto kPairings = columns(filled("part"), filled("other part"), may("ratio"), may("per"));
constexpr auto kLimits = columns(filled("part"), filled("property"), filled("test"), may("severity"), may("message"));
constexpr auto kSizes = columns(filled("part"), may("position"), may("width"), may("height"), may("perimeter"),
                                may("outline"));
constexpr auto kConsumes = columns(filled("assembly"), filled("part"), filled("quantity"), may("margin"), may("waste"));
constexpr auto kSteps = columns(filled("step"), may("fits"), may("after"), may("minutes"), may("tools"), may("hold"));
constexpr auto kCautions = columns(may("part"), may("step"), filled("text"));

constexpr auto kKinds = std::to_array<KindWord>({
    {TableKind::Suppliers, "suppliers", kSuppliers},
    {TableKind::Facts, "facts", kFacts},
    {TableKind::Parts, "parts", kParts},
    {TableKind::Needs, "needs", kNeeds},
    {TableKind::Offers, "offers", kOffers},
    {TableKind::Contents, "contents", kContents},
    {TableKind::SuppliedWithout, "supplied-without", kSuppliedWithout},
    {TableKind::Replaces, "replaces", kReplaces},
    {TableKind::MoveOver, "move-over", kMoveOver},
    {TableKind::Pairings, "pairings", kPairings},
    {TableKind::Limits, "limits", kLimits},
    {TableKind::Sizes, "sizes", kSizes},
    {TableKind::Consumes, "consumes", kConsumes},
    {TableKind::Steps, "steps", kSteps},
    {TableKind::Cautions, "cautions", kCautions},
});

constexpr bool in_enum_order() {
  for (std::size_t index = 0; index < kKinds.size(); ++index) {
    if (static_cast<std::size_t>(kKinds[index].kind) != index) return false;
  }
  return true;
}
static_assert(in_enum_order());

}  // namespace

std::span<const KindWord> table_kinds() { return kKinds; }

const KindWord& word_of(TableKind kind) { return kKinds[static_cast<std::size_t>(kind)]; }

std::optional<TableKind> find_table_kind(std::string_view word) {
  for (const KindWord& kind : kKinds) {
    if (kind.word == word) return kind.kind;
  }
  return std::nullopt;
}

}  // namespace kitgap
