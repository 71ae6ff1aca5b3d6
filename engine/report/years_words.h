#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analyse/years.h"

namespace kitgap {

// Lines that say the same at several positions.
struct YearsGroup {
  const YearsLine* line = nullptr;
  std::vector<std::string> positions;
};

// How the tables of years are worded, the same in every face. `years` must outlive it.
class YearsWords {
 public:
  explicit YearsWords(const Years& years);

  const std::vector<YearsGroup>& groups() const { return groups_; }
  std::string subject() const;  // `model year and body style`
  std::string packs() const;
  std::string held() const;     // `market "home"`; empty: nothing is held
  // The first number or date across, along which the figures run; nothing where no fact across has an order.
  std::optional<std::size_t> run() const { return run_; }

  std::string title(const YearsGroup& group) const;
  std::string title(const YearsOrder& order) const;
  // The values but those of `run()`: `saloon, estate`; `all` where they tell nothing apart.
  std::string who(const std::vector<ValueSet>& values) const;
  std::string when(const std::vector<ValueSet>& values) const;
  // ` (hangs on rear belts too)`, where a figure is a range because of facts that are not across.
  std::string hanging(const YearsGroup& group) const;
  // `at model year 1969, estate: 7 becomes 9, by needs-doors.csv:96 (source)`; none for what only mirrors another.
  std::vector<std::string> changes(const YearsGroup& group) const;
  // `2 packs of 25: C-25 of Pellwick; 1 more`; empty where nobody sells it.
  std::string how_to_buy(const YearsOrderCell& cell) const;

 private:
  std::string change(const YearsChange& change) const;

  const Years& years_;
  std::vector<YearsGroup> groups_;
  std::optional<std::size_t> run_;
};

std::string in_one(const std::vector<std::string>& words, std::string_view between);

}  // namespace kitgap
