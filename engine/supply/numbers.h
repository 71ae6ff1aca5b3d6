#pragma once

#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "need/needs.h"
#include "supply/aliases.h"
#include "supply/supplies.h"

namespace kitgap {

// What a part number or a description can mean. `model` must outlive it. For one thread.
class NumberIndex {
 public:
  explicit NumberIndex(const NeedModel& model);
  // An own offer first (of the supplier where one is named), else the first number down the chain of replacements
  // that has one, else a part's key or alias. Several meanings are a question; none leaves the nearest numbers.
  SupplyLine meaning_of(const ReadLine& line) const;

 private:
  std::vector<Meaning> offers_of(std::string_view number, std::string_view supplier) const;
  std::optional<PartId> part_of(std::string_view text) const;
  const std::vector<std::string>& known() const;
  std::vector<std::string> keys_by_name(std::string_view text) const;
  const NeedModel& model_;
  std::map<std::string, std::vector<OfferId>, std::less<>> offers_by_number_;
  std::map<std::string, std::vector<const ReplacesRow*>, std::less<>> replaced_;
  std::map<std::string, PartId, std::less<>> parts_by_key_;
  Aliases aliases_;
  mutable std::vector<std::string> known_;  // all numbers and keys, once a line had no meaning
  mutable std::vector<std::string> names_;  // of the parts, likewise
};

}  // namespace kitgap
