#pragma once

#include <functional>
#include <map>
#include <optional>
#include <unordered_map>
#include <vector>

#include "cover/assign.h"
#include "cover/model.h"

namespace kitgap {

// Pieces that cover a part of a need.
struct CoverPiece {
  enum class From : std::uint8_t { Item, Bundle, Work, Old, OldAssembly };
  From from = From::Item;
  std::uint32_t item = 0;   // Item, Bundle: the assembly's item
  LineId old_line;          // Old: whose old pieces; OldAssembly: the assembly's line
  Fraction quantity;
  bool is_stand_in = false;
  friend bool operator==(const CoverPiece&, const CoverPiece&) = default;
};

struct LineCover {
  Fraction need;
  Fraction have;
  std::vector<CoverPiece> pieces;
  Fraction gap() const { return need - have; }
  friend bool operator==(const LineCover&, const LineCover&) = default;
};
std::size_t hash_of(const LineCover& cover);

struct ArcFlow {
  std::uint32_t arc;  // index into the component's arcs
  Fraction quantity;
  friend bool operator==(const ArcFlow&, const ArcFlow&) = default;
};
using Flows = std::vector<ArcFlow>;
std::size_t hash_of(const Flows& flows);
std::size_t hash_of(const LexicalCost& cost);

// What was worked out in the completions of one car so far.
struct Worked {
  Remembered<LineFigure> figures{Asked::Kind::Figure};  // by line
  Remembered<LineCover> covers{Asked::Kind::Cover};     // by line
  Remembered<LexicalCost> gains;                        // by arc; nothing asks for them but the flows
  Remembered<Flows> flows{Asked::Kind::Flows};          // by component

  bool is_full() const { return figures.is_full() || covers.is_full() || gains.is_full() || flows.is_full(); }
  void forget() {
    figures.forget();
    covers.forget();
    gains.forget();
    flows.forget();
  }
};

// The best cover in one completion, worked out when asked: only what an answer depends on is looked at.
class Solver : private Completion::Worker {
 public:
  Solver(const CoverModel& model, Completion& completion, Problems& problems, Worked& worked)
      : model_(model), completion_(completion), worked_(worked), needs_(model.needs(), completion, problems, worked.figures) {
    completion.set_covers(this);
  }
  Solver(const Solver&) = delete;
  Solver& operator=(const Solver&) = delete;

  const LineCover& cover(LineId line);
  const LineFigure& figure(LineId line) { return needs_.figure(line); }
  Fraction need(LineId line);
  // Whether the item is there in this completion, and how many pieces of it.
  bool is_there(std::uint32_t item);
  Fraction quantity(std::uint32_t item);
  // What is left of an item after every need.
  Fraction left_over(std::uint32_t item);
  Completion& completion() { return completion_; }
  // The gap of `line` when only `rivals` (sorted, of its component, with it) call for what the supplies give.
  Fraction gap_among(LineId line, const std::vector<LineId>& rivals);
  // Pieces that could serve any of these lines of one component.
  struct Given {
    std::optional<std::uint32_t> item;  // empty: the old pieces of `old_line`
    LineId old_line;
    Fraction pieces;
  };
  std::vector<Given> given_to(const std::vector<LineId>& lines);
  // What assemblies bring to the line.
  Fraction covered_from_above(LineId line);

  // "Enough" of what has no written quantity.
  static Fraction enough() { return 1'000'000'000; }

 private:
  // A group of equal pieces of an assembly at a line, new or old.
  struct Units {
    std::optional<std::uint32_t> item;  // the item whose bundle they are or belong to; empty: old
    LineId old_line;
    Fraction count;
    bool is_stand_in = false;
  };
  // What one unit of an assembly gives to a line below it.
  struct Brought {
    Fraction by_bundle;
    Fraction by_work;
    Fraction from_old;  // openings and holes of or from the old assembly
  };
  struct Node {
    std::optional<std::uint32_t> item;
    LineId old_line;
    std::vector<PositionId> leaves;  // narrowed where the place was a question
    Hand hand = Hand::None;
    bool is_place_settled = true;
    Fraction quantity;
    std::uint32_t rank = 0;
  };

  struct Candidate {
    std::uint32_t arc;
    std::uint32_t node;
    std::uint32_t line;
  };

  std::uint32_t result_of(Asked asked) override;
  const Flows& flows(std::size_t component);
  // With `only`, the other lines of the component want nothing.
  Flows solve(std::size_t component, const std::vector<LineId>* only = nullptr);
  std::vector<Fraction> wanted_of(const Component& component, const std::vector<LineId>* only);
  std::vector<Candidate> candidates_of(const Component& component, const std::vector<Node>& nodes, const std::vector<Fraction>& wanted);
  std::vector<Node> nodes_of(const Component& component, std::size_t index);
  void split_by_place(Node node, std::size_t component, std::vector<Node>& nodes);
  std::vector<PositionId> places_of(std::uint32_t item, bool by_hand);
  Fraction old_quantity(LineId line);
  // What the components before this one use of the item, on the lines that are meant.
  Fraction used_before(std::uint32_t item, std::size_t component, const std::function<bool(LineId)>& is_meant = {});
  Fraction old_used_before(LineId old_line, std::size_t component);
  std::vector<Units> units_at(LineId assembly_line);
  Brought brought(const Units& unit, LineId assembly_line, LineId child);
  Brought brought_new(std::uint32_t item, LineId assembly_line, LineId child);
  std::optional<Fraction> listed(const SupplyItem& item, PartId part);
  Fraction share_of_listed(const SupplyItem& item, LineId child, const Fraction& listed);
  bool is_said_without(const CoverModel::Without& without, std::string_view supplier, Remedy& remedy);
  Brought instead_of_brought(Remedy remedy, LineId assembly_line, LineId child, const Fraction& wanted);
  std::optional<Remedy> remedy_of(const SupplyItem& item, PartId assembly, PartId sub_part);
  // What placing one unit of an assembly is worth beside the need itself: all that its bundle covers below.
  LexicalCost gains(const CoverArc& arc);
  void add_gains(const Units& unit, LineId line, LexicalCost& cost, int depth);
  Fraction small_need(LineId line);
  LineCover work_out(LineId line);

  const CoverModel& model_;
  Completion& completion_;
  Worked& worked_;
  Needs needs_;
};

}  // namespace kitgap
