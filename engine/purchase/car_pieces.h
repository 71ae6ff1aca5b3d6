#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "cover/answer.h"

namespace kitgap {

// What one pack of an offer could do for one car.
struct OfferOnCar {
  struct Piece {
    std::string key;  // part, place and number: the same piece of the offer on every car
    PartId part;
    Fraction quantity;
    std::set<LineId> lines;      // where it may go
    std::set<LineId> stands_in;  // of these, where it is no more than a stand-in
  };
  std::vector<Piece> pieces;
  std::map<LineId, Fraction> with_assembly;  // what an assembly of it brings to lines of its own
  std::set<LineId> assemblies;               // lines that an assembly of it covers
  bool is_open = false;                      // pieces could go to further lines if something turns out so
};

// Looks at offers for one car. `gaps`: the lines that lack something, and how much.
class CarPieces {
 public:
  CarPieces(const NeedModel& needs, const std::vector<ReadList>& lists, const std::map<LineId, Fraction>& gaps, bool assume_open);

  // Offers that hold a part which is lacking, at any depth.
  std::vector<OfferId> offers() const;
  OfferOnCar look(OfferId offer) const;
  const Supplies& supplies() const { return supplies_; }

 private:
  bool could_serve(OfferId offer, int depth) const;
  void add_arcs(const Supplies& probe, const CoverModel& cover, OfferOnCar& out) const;
  void add_bundles(OfferId offer, OfferOnCar& out) const;
  // A piece of unstated place is no question where the car has but one place for it.
  Ternary may_go(const CoverModel& cover, const CoverArc& arc, bool has_several_places) const;
  std::optional<Fraction> greatest_gap(const CoverModel& cover, LineId line) const;

  const NeedModel& needs_;
  const Rules& rules_;
  const std::vector<ReadList>& lists_;
  const std::map<LineId, Fraction>& gaps_;
  bool assume_open_;
  Supplies supplies_;
  std::set<PartId> parts_;
};

}  // namespace kitgap
