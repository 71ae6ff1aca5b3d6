#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "need/knowledge.h"
#include "text/json.h"

namespace kitgap {

// What a line of a written report says, as far as it can be proven.
struct WrittenLine {
  const Json* json = nullptr;
  std::string id, status, part, position, parent;
  Range need, gap, have;
  bool stops_work = false;
  std::vector<std::size_t> needs;     // indices of NeedRow, in the order in which they are named
  std::vector<std::size_t> consumes;  // of ConsumesRow
  std::optional<Fraction> counted;    // on this car, per one parent
};

// Works the need of a line out again from the rows that the report names for it and for the assemblies above it, for
// every car that what is known allows. On purpose it shares nothing with the engine that made the report but the
// reader of the packs and the test whether a condition holds.
class NeedProof {
 public:
  // All references must outlive it. `known`: the values that each fact may have; with `is_free` derived facts are not
  // held against them, as the report ranges over both where they contradict each other.
  NeedProof(const Knowledge& knowledge, FactSets known, const std::vector<WrittenLine>& lines, bool is_free);

  // Nothing, with the reason in `why_not`, where the rows alone do not say it.
  std::optional<Range> need_of(const WrittenLine& line, std::string& why_not);

 private:
  struct Choice {
    std::size_t line;
    std::vector<std::uint32_t> practices;
    std::size_t taken = 0;
  };
  struct Split {
    FactId fact;
    std::vector<ValueSet> cells;
    std::size_t taken = 0;
  };
  bool gather(std::size_t line, std::vector<std::size_t>& lines, std::string& why_not) const;
  bool find_splits(const std::vector<std::size_t>& lines, std::string& why_not);
  void find_choices(const std::vector<std::size_t>& lines);
  std::optional<Fraction> need_here(std::size_t line, const FactSets& car) const;
  std::optional<Fraction> per_parent(std::size_t line, const FactSets& car) const;
  std::optional<Fraction> by_rows(std::size_t line, const FactSets& car) const;
  std::optional<Fraction> by_size(std::size_t line, const FactSets& car) const;
  std::optional<Fraction> value_of(const Figure& figure, const FactSets& car, std::span<const Fraction> inputs) const;
  std::uint32_t practice_at(std::size_t line) const;
  std::vector<std::size_t> parents_of(const WrittenLine& line) const;
  bool applies(ConditionId condition, const FactSets& car) const;

  const Rules& rules_;
  const Knowledge& knowledge_;
  FactSets known_;
  const std::vector<WrittenLine>& lines_;
  bool is_free_;
  std::map<std::pair<std::string, std::string>, std::vector<std::size_t>> by_part_;  // part, position
  std::vector<Split> splits_;
  std::vector<Choice> choices_;
};

}  // namespace kitgap
