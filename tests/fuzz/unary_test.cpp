// A cell of a pack: added as sets and residues or refused with a place inside the cell; and where it is added, the
// sets say of each value what the tests themselves say.
#include <cstdint>
#include <cstdlib>

#include "condition/condition.h"
#include "condition/typed_instead.h"
#include "text/file.h"

using namespace kitgap;

namespace {

const std::vector<Fact>& facts() {
  static const std::vector<Fact> kFacts{
      {"model year", {FactType::Number, true, {}, Fraction(1966), Fraction(1974)}},
      {"body style", {FactType::Text, true, {std::string("saloon"), std::string("estate")}, {}, {}}},
      {"built on", {FactType::Date, true, {}, {}, {}}},
      {"serial", {FactType::Number, true, {}, {}, {}}},
      {"heated", {FactType::Boolean, true, {}, {}, {}}},
  };
  return kFacts;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size < 1 || size > 4096) return 0;
  const std::uint32_t fact = data[0] % 6;
  const std::string cell(reinterpret_cast<const char*>(data) + 1, size - 1);
  if (!is_utf8(cell)) return 0;
  Sources sources;
  Diagnostics diagnostics;
  const Span span{sources.add("fuzz.csv", cell), 1, 1, static_cast<std::uint32_t>(characters(cell)), "A1"};
  Condition condition;
  const bool is_right = fact == 5 ? add_when(condition, cell, span, facts(), diagnostics)
                                  : add_cell(condition, FactId{fact}, cell, span, facts(), diagnostics);
  if (is_right == diagnostics.has_errors()) std::abort();
  static_cast<void>(layout(diagnostics, sources));
  if (!is_right) return 0;
  FactSets sets;
  for (const Fact& known : facts()) sets.push_back(ValueSet::all(known.domain));
  const Ternary open = holds(condition, sets, facts());
  for (FactSets one = sets; const FactValue& year : sets[0].values()) {
    one[0] = ValueSet::of(facts()[0].domain, year);
    const Ternary here = holds(condition, one, facts());
    if (open != Ternary::Open && here != open && here != Ternary::Open) std::abort();
  }
  return 0;
}
