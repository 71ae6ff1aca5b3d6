#pragma once

#include <optional>
#include <string>
#include <vector>

#include "need/car.h"
#include "pack/rules.h"

namespace kitgap {

// A stated value and what the tables derive do not go together.
struct FactContradiction {
  FactId fact;
  ValueSet stated;
  ValueSet derived;
  std::vector<RowPlace> because;  // empty: a pattern derived it
  std::optional<FactId> from;     // the fact whose pattern did
};

// What is known of one car: per fact the values it may still have, and how derived facts hang on others.
// `rules` must outlive it.
class Knowledge {
 public:
  // Works out derived facts. A car file whose text does not match its pattern is reported.
  static std::optional<Knowledge> of(const Car& car, const Rules& rules, Diagnostics& diagnostics);

  const Rules& rules() const { return *rules_; }
  // Before any splitting: what the car file and the derivations leave.
  const FactSets& sets() const { return sets_; }
  const std::vector<FactContradiction>& contradictions() const { return contradictions_; }
  std::vector<FactId> unknown() const;  // facts with more than one value left

  // Whether some car within `sets` agrees with every derivation.
  bool is_consistent(const FactSets& sets) const;
  // Whether a derivation joins this fact to others, so that narrowing it may rule something out.
  bool is_linked(FactId fact) const { return linked_[fact.index]; }

 private:
  struct Derivation {
    FactId fact;
    std::vector<const FactRow*> rows;  // highest layer first
  };
  void find_derivations();
  bool apply_patterns(const Car& car, Diagnostics& diagnostics);
  void settle_derivations();
  bool is_consistent_from(std::size_t derivation, FactSets& sets, std::size_t& budget) const;
  bool some_row_from(std::size_t derivation, std::size_t row, FactSets& sets, std::size_t& budget) const;
  void narrow_to_derived();

  const Rules* rules_ = nullptr;
  FactSets sets_;
  std::vector<Derivation> derivations_;  // a fact after those its rows read
  std::vector<bool> relaxed_;            // per derivation: stated against it, so both cars are kept
  std::vector<bool> linked_;
  std::vector<FactContradiction> contradictions_;
};

}  // namespace kitgap
