#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "report/report.h"
#include "supply/substitutions.h"

namespace kitgap {

// Puts recorded reasons, questions and actions into words: the one place that does.
class Wording {
 public:
  explicit Wording(const CoverModel& model) : model_(model), rules_(model.rules()) {}

  ReasonText reason(RowPlace place) const;
  ReasonText reason(const Contribution& contribution) const;
  CoveredText covered(const Covered& covered) const;
  RivalsText rivals(const Rivals& rivals) const;
  std::optional<TakeOff> take_off(const Line& line) const;
  std::string remedy(const Line& line) const;
  std::string action(const LineAnswer& answer, const ReportLine& text) const;
  // What is to be changed where another part stands in; empty where none does.
  std::string stand_in(const LineAnswer& answer) const;
  SettleText question(const OpenQuestion& question) const;
  SupplierQuestion supplier_question(const OpenQuestion& question, std::vector<std::string> lines) const;
  void read_as(std::uint32_t supply_line, ListText& text) const;

 private:
  std::string covered_action(const ReportLine& text) const;
  std::string make_it(const ReportLine& text) const;
  std::string conditions_of(ConditionId condition) const;
  std::string name_of(PartId part) const;
  // How far what is known of a number lies from where the tables change: of the fact itself, or of one it is derived from.
  std::string distance_of(FactId fact) const;
  std::string distance_among(FactId fact, const std::vector<ConditionId>& conditions) const;

  const CoverModel& model_;
  const Rules& rules_;
  mutable std::optional<StandInChanges> changes_;  // once something stands in
};

}  // namespace kitgap
