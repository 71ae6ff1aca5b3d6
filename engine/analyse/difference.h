#pragma once

#include <string>
#include <utility>
#include <vector>

#include "analyse/joint_facts.h"
#include "analyse/years.h"

namespace kitgap {

// For which cars two sets of packs differ, and how: exact boxes, each with a car in it. A box speaks of every car in it
// that the `facts` tables of both allow; cars that only one of the two can name are told by the facts that changed.
struct PackDifference {
  using Tests = std::vector<std::pair<std::string, std::string>>;
  using Car = std::vector<std::pair<std::string, std::string>>;  // fact, value as the language writes it
  struct FactChange {
    std::string fact;
    std::string says;  // `only the new packs know it`, `may also be "van"`
  };
  // What the cars of the box call for on one line.
  struct Figure {
    Range need;                      // lo..hi over rival practices
    bool stops = true;
    OldUse old = OldUse::May;
    std::vector<YearsRow> because;
  };
  struct NeedChange {
    std::string id, part, part_name, position, parent, unit;
    Tests box;
    Car witness;
    Figure was, now;
    bool follows = false;  // a line above it changes for some of these cars too
    bool is_exact = true;
  };
  // What one row says and no row of the other says so, for the cars of the box.
  struct RowChange {
    std::string kind, key;
    Tests box;
    Car witness;
    Tests was, now;        // columns and cells that differ; both filled: changed
    bool is_added = false, is_gone = false;
    std::vector<YearsRow> was_rows, now_rows;
  };
  std::vector<Years::Pack> before, after;
  std::vector<FactChange> facts;
  std::vector<std::string> positions_added, positions_gone;
  std::vector<NeedChange> needs;  // by position, parent, part
  std::vector<RowChange> rows;    // of all kinds but needs
  std::size_t left_out = 0;       // past kMostChanges of a kind
  bool is_empty() const { return facts.empty() && positions_added.empty() && positions_gone.empty() && needs.empty() && rows.empty(); }
};

inline constexpr std::size_t kMostChanges = 5'000;

PackDifference difference_between(const Rules& before, const Rules& after);

std::string difference_text(const PackDifference& difference);
std::string difference_json(const PackDifference& difference);  // `rules-difference/1`

// Parts of it.
void find_need_changes(const Rules& before, const Rules& after, const JointFacts& facts, PackDifference& out);
void find_row_changes(const Rules& before, const Rules& after, const JointFacts& facts, PackDifference& out);
PackDifference::Tests tests_in_words(const JointFacts& facts, const JointFacts::Box& box);
PackDifference::Car car_in_words(const JointFacts& facts, const std::vector<std::pair<std::size_t, FactValue>>& car);

}  // namespace kitgap
