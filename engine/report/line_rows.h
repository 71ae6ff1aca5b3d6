#pragma once

#include <map>
#include <string>
#include <string_view>
#include <unordered_map>
#include <unordered_set>
#include <vector>

#include "report/markup.h"
#include "report/overview.h"

namespace kitgap {

// The rows of a page: one per line of the report, each opening to its why.

enum class RowFor { Gap, Keep, Open, Right };  // which figure comes first, and which notes

std::string place_name(std::string_view position);  // `front.left` as `front left`
// `9`, `9..11`, `7.22 m`; an estimate in a unit of measure is rounded up to hundredths, its why has it digit for digit.
std::string shown(const Range& range, const std::string& unit, bool is_estimate);
std::string plural(std::size_t count, std::string_view one, std::string_view many);

class LineRows {
 public:
  LineRows(const Report& report, Markup& page);

  // A table per place of the lines given by index, which are sorted by place; the heading is repeated where paper breaks.
  void by_place(const std::vector<std::size_t>& lines, RowFor purpose);
  void why(const ReportLine& line);  // reasons, sources, rivals: what `why` says of the line
  const ReportLine* find(const std::string& id) const;
  std::string name_of(const std::string& id) const;  // `panel clip, front left, on door trim panel`
  std::string anchor_of(const ReportLine& line) const;  // the id on the page; the report's own may hold blanks and quotes
  void link(const std::string& id);                     // to the line's row, by its name
  std::string part_name(const std::string& key) const;

 private:
  void row(const ReportLine& line, RowFor purpose);
  void figure(const ReportLine& line, RowFor purpose);
  void summary(const ReportLine& line, RowFor purpose);
  std::string what_to_do(const ReportLine& line, RowFor purpose) const;
  void take_off(const TakeOff& take_off);
  void folded(const ReportLine& line);
  void reasons(const ReportLine& line);
  void rivals(const RivalsText& rivals);
  void note(std::string_view label, std::string_view text);

  const Report& report_;
  Markup& page_;
  std::unordered_map<std::string_view, const ReportLine*> by_id_;
  std::unordered_map<std::string_view, std::string_view> names_;  // of parts
  std::unordered_map<std::string_view, std::vector<const ReportLine*>> folded_;
  std::unordered_set<std::string_view> placed_;  // lines whose id stands on the page already
};

}  // namespace kitgap
