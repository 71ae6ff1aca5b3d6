#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "text/csv.h"

namespace kitgap {

// The files of a pack of one's own with nothing in it yet, by name: what is counted (`needs.csv`) and what
// suppliers quote (`suppliers.csv`, `offers.csv`, `contents.csv`) go in as plain rows; the manifest never
// needs to be touched. `folder` names the pack.
std::vector<std::pair<std::string, std::string>> own_pack_of(std::string_view folder);

// Rows of a `needs` table added to one that is there, as CSV. A row for the same thing on the same cars (same
// parent, place, part, practice and conditions) takes the place of the older one; columns that only one of
// them has are kept.
std::string with_needs(const Table& there, const Table& added);

}  // namespace kitgap
