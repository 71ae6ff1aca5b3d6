#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "text/archive.h"
#include "text/diagnostics.h"
#include "value/id.h"
#include "value/ternary.h"
#include "value/value_set.h"

namespace kitgap {

// The names a condition may use: the facts of all packs together.
struct Fact {
  std::string name;
  FactDomain domain;
  std::string ask = {};      // the question to a person
  std::string look_at = {};  // what to look at on the car
};

void visit_fields(auto& archive, Is<Fact> auto& fact) { archive(fact.name, fact.domain, fact.ask, fact.look_at); }

class Expression;  // a parsed S-FEEL or FEEL expression; immutable, shared

// What a row asks of a car: the product of one set of values per fact, and what relates several facts.
// Exact: a car matches if and only if every test contains its value and every residue is true.
struct Condition {
  struct Test {
    FactId fact;
    ValueSet values;
    Span span;  // the cell
  };
  struct Residue {
    std::shared_ptr<const Expression> expression;
    std::vector<FactId> facts;  // those it reads, in order
    Span span;
  };
  std::vector<Test> tests;  // by fact, at most one a fact
  std::vector<Residue> residues;
  bool always() const { return tests.empty() && residues.empty(); }
};

void visit_fields(auto& archive, Is<Condition::Test> auto& test) { archive(test.fact, test.values, test.span); }

// An expression does not outlive the run, what it was read from does: the cell, the column's fact (nothing: a `when`),
// and the node of it that is the residue.
struct ResidueText {
  std::string cell;
  std::optional<FactId> column;
  std::uint32_t root = 0;
};
ResidueText text_of(const Condition::Residue& residue);
// The expression as it was, read once more; null when the text is none of these facts.
std::shared_ptr<const Expression> read_again(const ResidueText& text, std::span<const Fact> facts);
void visit_fields(auto& archive, Is<ResidueText> auto& text) { archive(text.cell, text.column, text.root); }

// What is known of the car: per fact (by index) the set of values it may still have.
using FactSets = std::vector<ValueSet>;

// Reads a cell of a column named as `facts[fact]`: S-FEEL unary tests (OMG DMN, chapter 9), where a bare word that
// is an allowed value stands for that string. Adds a test, or a residue when the cell reads other facts.
// `-` and empty add nothing. What people type instead (`1968-1971`, `1968 on`, a date made by a spreadsheet) is
// reported with what to write. False when reported.
[[nodiscard]] bool add_cell(Condition& condition, FactId fact, std::string_view cell, const Span& span,
                            std::span<const Fact> facts, Diagnostics& diagnostics);
// Reads a `when` cell: any boolean expression. Conjunctions of tests on single facts become tests (so do
// disjunctions on one fact); the rest becomes residues.
[[nodiscard]] bool add_when(Condition& condition, std::string_view cell, const Span& span,
                            std::span<const Fact> facts, Diagnostics& diagnostics);

// Holds, fails or open for a car of which `sets` is known. A residue over known facts is evaluated; one that reads
// unknown facts is worked out exactly by listing or cutting their values where that is possible, else open.
Ternary holds(const Condition& condition, const FactSets& sets, std::span<const Fact> facts);

// With all facts but one known, a residue is a test of that one fact: exactly the values that pass. Nothing when it
// cannot be turned into a set.
std::optional<ValueSet> values_that_pass(const Condition::Residue& residue, FactId fact, const FactSets& sets,
                                         std::span<const Fact> facts);

// A quantity cell: an expression worked out in exact fractions, never rounded.
// `names` are further names in scope (sizes: `width`, `perimeter`), by position in `inputs` when evaluated.
struct Quantity {
  std::shared_ptr<const Expression> expression;
  std::optional<Fraction> constant;  // when it reads nothing
  std::vector<FactId> facts;         // facts it reads
  std::vector<FactType> types;       // of those facts
  std::vector<std::size_t> inputs;   // further names it reads
};
[[nodiscard]] std::optional<Quantity> parse_quantity(std::string_view cell, const Span& span,
                                                     std::span<const Fact> facts,
                                                     std::span<const std::string> names, Diagnostics& diagnostics);
// The cell it was read from; empty for one that was never a cell.
std::string_view text_of(const Quantity& quantity);
struct QuantityResult {
  std::optional<Fraction> value;  // nothing: `error` says why (`null`, no exact value, too large)
  std::string error;
};
// `values` gives each fact's single value; facts not read may be anything.
QuantityResult evaluate(const Quantity& quantity, const std::function<FactValue(FactId)>& value_of,
                        std::span<const Fraction> inputs);

}  // namespace kitgap
