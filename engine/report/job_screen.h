#pragma once

#include <optional>
#include <string>
#include <vector>

#include "report/ready.h"
#include "report/report.h"

namespace kitgap {

// A shop's cars on one screen: where each stands.
struct CarScreen {
  std::string car;
  ReportSummary summary;
  std::size_t short_lines = 0;   // missing, short, or planned for another car
  std::size_t save = 0;          // lines that old pieces cover or may cover
  std::size_t ask = 0;           // facts and pieces to look at, and questions to suppliers
  std::size_t ready_steps = 0, blocked_steps = 0;
  std::optional<Fraction> money;  // what is still to buy, at the cheapest; nothing: not worked out
  bool money_is_least = false;    // not proven to the end, or something that no offer covers comes to it
  Range minutes;
  std::vector<std::string> stops;  // ids of lines that stop the work
};
CarScreen car_screen(const Report& report, const std::optional<ReadyAnswer>& ready);

std::string job_screen_text(const std::vector<CarScreen>& cars, int width);
std::string job_screen_json(const std::vector<CarScreen>& cars);

// `short, need 9, gap 2`, or `not called for`.
std::string change_state(const std::optional<ReportLine>& line);
// The lines that became different, a row each; at most `most`, then how many more.
std::string changes_text(const std::vector<Change>& changes, std::size_t most, int width);

}  // namespace kitgap
