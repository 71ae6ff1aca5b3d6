#pragma once

#include <string>
#include <vector>

#include "analyse/row_merges.h"
#include "pack/rules.h"
#include "text/diagnostics.h"

namespace kitgap {

// One change to a row: a cell rewritten, or the row taken out.
struct RowEdit {
  RowPlace place;
  std::string column;  // empty: the row goes
  std::string cell;
  std::string says;    // why, for people
};

// What could be done about the findings that have one plain repair: rows that could be one are put together, and of two
// rows that clash the earlier is narrowed to what the later one leaves it. Which of two figures is right no table tells:
// to be looked over, not to be trusted. Rows are changed once at most.
std::vector<RowEdit> proposed_edits(const Rules& rules);

// A file as it would be; nothing else in it changes, not a byte.
struct ProposedFile {
  std::string name;  // the path as the person gave it
  std::string before, after;
  std::vector<std::string> says;  // a line per change
};
std::vector<ProposedFile> proposed_files(const Rules& rules, const Sources& sources, const std::vector<RowEdit>& edits);

// `--- NAME`, `+++ NAME` and hunks with three lines about each change, as `patch` takes it.
std::string unified_diff(const std::string& name, std::string_view before, std::string_view after);

}  // namespace kitgap
