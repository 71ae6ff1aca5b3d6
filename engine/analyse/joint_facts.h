#pragma once

#include <map>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "need/knowledge.h"
#include "pack/rules.h"

namespace kitgap {

// Cars as sets of values per fact, over the facts of two sets of packs together: what both call by one name and type is
// one fact, with the values that it has in both.
class JointFacts {
 public:
  using Box = std::map<std::size_t, ValueSet>;  // by joint fact; facts left out may be anything

  JointFacts(const Rules& before, const Rules& after);
  const std::string& name(std::size_t fact) const { return facts_[fact].name; }
  FactType type(std::size_t fact) const { return facts_[fact].domain->type; }
  const ValueSet& space(std::size_t fact) const { return facts_[fact].space; }

  enum class Side : std::uint8_t { Before, After };
  // Nothing when no car that both know is in it.
  std::optional<Box> box_of(Side side, const std::vector<std::pair<FactId, ValueSet>>& narrowed) const;
  std::optional<Box> box_of(Side side, const Condition& condition) const;  // residues do not count
  static std::optional<Box> common(const Box& a, const Box& b);
  // What of `from` is in none of `cover`: disjoint boxes, merged to few. Nothing is left out.
  std::vector<Box> minus(const std::vector<Box>& from, const std::vector<Box>& cover) const;
  // Disjoint boxes of the same cars, merged to few.
  std::vector<Box> merged(const std::vector<Box>& boxes) const { return minus(boxes, {}); }
  // A car of the box that both sets of packs allow; nothing when there is none.
  std::optional<std::vector<std::pair<std::size_t, FactValue>>> find_car(const Box& box, const Knowledge& before, const Knowledge& after) const;
  // `model year [1969..1970], body style "estate"`; `every car`.
  std::string in_words(const Box& box) const;

 private:
  struct Fact {
    std::string name;
    std::unique_ptr<FactDomain> domain;
    ValueSet space;
    std::optional<FactId> before, after;
  };
  bool is_possible(const Box& box, const Knowledge& knowledge, Side side) const;
  std::optional<FactId> own(std::size_t fact, Side side) const { return side == Side::Before ? facts_[fact].before : facts_[fact].after; }

  const Rules& before_;
  const Rules& after_;
  std::vector<Fact> facts_;
  std::map<FactId, std::size_t> of_before_, of_after_;
};

// The values of `set` that `domain` has, as a set of that domain.
ValueSet set_in(const FactDomain& domain, const ValueSet& set);

}  // namespace kitgap
