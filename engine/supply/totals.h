#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "supply/reading.h"

namespace kitgap {

// The sums of a list's rows, against what its rows of totals say.
class Totals {
 public:
  void add(const ReadLine& line);

  struct Check {
    std::string says;    // what the row is: a total, and whether it agrees
    std::string remark;  // empty where it agrees or says nothing that can be checked
  };
  // A row of totals: it may be of the rows since the last one or of all, in figures as typed or in lines.
  Check check(std::string_view quantity, bool decimal_comma);

 private:
  Fraction since_total_;
  Fraction all_;
  std::int64_t lines_since_total_ = 0;
  std::int64_t lines_ = 0;
  bool uncountable_ = false;
};

}  // namespace kitgap
